//! `manifest.json`: what went in, what came out, with what, so that a report can be checked.

use serde::{Deserialize, Serialize};

/// Version of the manifest's form.
pub const MANIFEST_SCHEMA: u32 = 1;

/// The record of one run.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RunRecord {
    /// [`MANIFEST_SCHEMA`].
    pub schema: u32,
    /// The program.
    pub program: String,
    /// Its version.
    pub version: String,
    /// When, UTC: the only thing in a report that a clock decides; comparisons leave it out.
    pub written: String,
    /// Name of the trial's folder.
    pub trial: String,
    /// Seed of anything random.
    pub seed: u64,
    /// Whether every analysis gave its findings.
    pub complete: bool,
    /// Files read, the trial file first.
    pub inputs: Vec<FileRecord>,
    /// Plugins used.
    pub plugins: Vec<PluginRecord>,
    /// Analyses left out of a trial that names none.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub left_out: Vec<LeftOut>,
    /// Files written, this one left out.
    pub outputs: Vec<FileRecord>,
}

/// A file and its hash.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct FileRecord {
    /// Relative to the trial's or the report's folder, `/` between folders.
    pub path: String,
    /// SHA-256 of its bytes.
    pub sha256: String,
    /// Its size.
    pub bytes: u64,
}

/// A plugin and its hash.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PluginRecord {
    /// Name.
    pub name: String,
    /// Version.
    pub version: String,
    /// SHA-256 of the library file.
    pub sha256: String,
    /// Options it ran with, defaults included.
    pub options: serde_json::Value,
    /// Why it was run, where the trial names no analyses.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub why: Option<String>,
}

/// An analysis that was left out.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LeftOut {
    /// Name of the plugin.
    pub name: String,
    /// Why.
    pub why: String,
}
