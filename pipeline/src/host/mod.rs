//! Plugins: found in fixed folders, trusted by their hash, run in worker processes.
//!
//! [`discover`] finds them and reads their manifests; [`options::jobs`] makes jobs of what a trial
//! asks for, [`choose::chosen`] of what suits a trial that asks for nothing; [`run_jobs`] runs these side by side. Nothing a plugin does (panic, crash, hang, flood)
//! ends more than its own worker.

use std::path::{Path, PathBuf};
use std::time::Duration;

use caneplot_plugin::{Findings, Manifest, Request};

use crate::diagnostic::{Diagnostic, Place};

mod answer;
mod balance;
pub mod choose;
mod confine;
mod discover;
pub mod error;
mod export;
pub mod find;
mod job;
mod open;
pub mod options;
mod process;
mod run;
pub mod trust;
pub mod worker;

pub use discover::{admit, discover};
pub use error::PluginError;
pub use find::Origin;
pub use run::{run_jobs, run_without_tables};

/// A plugin that may be loaded, with what it says of itself.
#[derive(Debug, Clone)]
pub struct Plugin {
    /// Name.
    pub name: String,
    /// Its file, absolute and without links.
    pub path: PathBuf,
    /// SHA-256 of the file.
    pub sha256: String,
    /// How it was found.
    pub origin: Origin,
    /// What it says of itself.
    pub manifest: Manifest,
}

/// What a worker may use, and which program it is.
#[derive(Debug, Clone)]
pub struct Limits {
    /// Time by the wall clock.
    pub wall: Duration,
    /// Address space in bytes (where the system can limit it).
    pub memory: u64,
    /// The program that is started as a worker and beside which its plugins lie; this program
    /// itself where nothing is said, which a test is not.
    pub program: Option<PathBuf>,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            wall: Duration::from_secs(120),
            memory: 4 << 30,
            program: None,
        }
    }
}

impl Limits {
    fn program(&self) -> Result<PathBuf, String> {
        let words = |error: std::io::Error| format!("this program cannot find itself: {error}");
        match &self.program {
            Some(path) => path.canonicalize().map_err(words),
            None => find::own_file().map_err(words),
        }
    }
}

/// What was found.
#[derive(Debug, Clone, Default)]
pub struct Discovery {
    /// Plugins that may be used, by name.
    pub plugins: Vec<Plugin>,
    /// Why others may not, for the user.
    pub refused: Vec<Diagnostic>,
    /// The same as errors, each with the plugin's name.
    pub errors: Vec<PluginError>,
}

impl Discovery {
    /// A plugin by its name.
    ///
    /// # Errors
    /// Why it was refused, or that there is none, with the nearest name there is.
    pub fn plugin(&self, name: &str) -> Result<&Plugin, PluginError> {
        if let Some(plugin) = self.plugins.iter().find(|plugin| plugin.name == name) {
            return Ok(plugin);
        }
        if let Some(error) = self.errors.iter().find(|error| error.plugin() == name) {
            return Err(error.clone());
        }
        let names = self.plugins.iter().map(|plugin| plugin.name.as_str());
        Err(PluginError::NotFound {
            plugin: name.to_owned(),
            nearest: crate::diagnostic::nearest(name, names).map(ToOwned::to_owned),
        })
    }

    fn refuse(&mut self, error: PluginError) {
        self.refused
            .push(Diagnostic::warning("plugin-refused", error.to_string()));
        self.errors.push(error);
    }
}

/// One analysis to run.
#[derive(Debug, Clone)]
pub struct Job<'a> {
    /// The plugin.
    pub plugin: &'a Plugin,
    /// Options, trial, seed.
    pub request: Request,
}

/// What came of a job.
#[derive(Debug, Clone)]
pub struct Outcome {
    /// Name of the plugin.
    pub name: String,
    /// Its version.
    pub version: String,
    /// SHA-256 of its file.
    pub sha256: String,
    /// The findings, checked, or why there are none.
    pub result: Result<Findings, PluginError>,
    /// What it printed and logged.
    pub log: String,
    /// What the user should know beside: how far it was confined, where a failed job is kept.
    pub notes: Vec<String>,
}

/// A place that names a file as a whole.
fn whole_file(path: &Path) -> Place {
    Place::whole(path)
}
