//! `caneplot plugins`: which there are, what each does, and trusting one.

use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use caneplot_plugin::manifest::{Needs, OptionSpec, Suits};

use crate::host::find::{self, Candidate, plugin_name};
use crate::host::trust::{self, Trusted, record_path};
use crate::host::{self, Discovery, Limits, Origin, Plugin, PluginError};

/// Options and subcommands of `caneplot plugins`.
#[derive(Debug, Clone, clap::Args)]
pub struct PluginsArgs {
    /// A further folder with plugins, searched first (may be given several times)
    #[arg(long = "plugin-dir", value_name = "FOLDER", global = true)]
    pub plugin_dir: Vec<PathBuf>,
    /// What to do
    #[command(subcommand)]
    pub command: PluginsCommand,
}

/// Subcommands of `caneplot plugins`.
#[derive(Debug, Clone, clap::Subcommand)]
pub enum PluginsCommand {
    /// List the plugins that can be used, and those that cannot with the reason
    List,
    /// Show what a plugin does, its options and what it needs of a trial
    Show {
        /// Name of the plugin
        name: String,
    },
    /// Trust a plugin that did not come with the program
    Trust {
        /// The plugin's file
        file: PathBuf,
    },
}

/// Runs `caneplot plugins`.
///
/// # Errors
/// The system's, where `out` or `err` cannot be written.
pub fn run(args: &PluginsArgs, out: &mut dyn Write, err: &mut dyn Write) -> io::Result<ExitCode> {
    let limits = Limits::default();
    match &args.command {
        PluginsCommand::List => {
            let found = host::discover(&args.plugin_dir, &limits);
            list(&found, out)?;
            for refused in &found.refused {
                write!(err, "{refused}")?;
            }
            Ok(ExitCode::SUCCESS)
        }
        PluginsCommand::Show { name } => {
            match host::discover(&args.plugin_dir, &limits).plugin(name) {
                Ok(plugin) => show(plugin, out).map(|()| ExitCode::SUCCESS),
                Err(error) => failed(&error.to_string(), err),
            }
        }
        PluginsCommand::Trust { file } => match trust_file(file, &limits) {
            Ok(told) => write!(out, "{told}").map(|()| ExitCode::SUCCESS),
            Err(reason) => failed(&reason, err),
        },
    }
}

fn failed(reason: &str, err: &mut dyn Write) -> io::Result<ExitCode> {
    writeln!(err, "error: {reason}")?;
    Ok(ExitCode::FAILURE)
}

fn list(found: &Discovery, out: &mut dyn Write) -> io::Result<()> {
    let width = |of: fn(&Plugin) -> &str| {
        found
            .plugins
            .iter()
            .map(|plugin| of(plugin).chars().count())
            .max()
            .unwrap_or(0)
    };
    let name = width(|plugin| &plugin.name);
    let version = width(|plugin| &plugin.manifest.version);
    for plugin in &found.plugins {
        writeln!(
            out,
            "{:name$}  {:version$}  {}",
            plugin.name, plugin.manifest.version, plugin.manifest.purpose
        )?;
        if plugin.origin != Origin::Shipped {
            writeln!(
                out,
                "{:name$}  {:version$}  ({}: {})",
                "",
                "",
                plugin.origin.words(),
                plugin.path.display()
            )?;
        }
    }
    Ok(())
}

fn show(plugin: &Plugin, out: &mut dyn Write) -> io::Result<()> {
    let manifest = &plugin.manifest;
    writeln!(out, "{} {}", manifest.name, manifest.version)?;
    writeln!(out, "{}", manifest.purpose)?;
    if !manifest.gives.is_empty() {
        writeln!(out, "\nGives: {}", manifest.gives.join(", "))?;
    }
    let needs = needs(&manifest.needs);
    if !needs.is_empty() {
        writeln!(out, "\nNeeds: {}", needs.join(", "))?;
    }
    writeln!(
        out,
        "\nWhere a trial names no analyses: {}",
        suits(&manifest.suits)
    )?;
    if !manifest.options.is_empty() {
        writeln!(out, "\nOptions in trial.toml, under [analyses]:")?;
        for option in &manifest.options {
            writeln!(out, "  {} = {}", option.name, shown_default(option))?;
            writeln!(out, "      {}; {}", option.help, option.kind.wanted())?;
        }
    }
    if !manifest.citations.is_empty() {
        writeln!(out, "\nRests on:")?;
        for citation in &manifest.citations {
            writeln!(out, "  {citation}")?;
        }
    }
    writeln!(
        out,
        "\nFile: {} ({})",
        plugin.path.display(),
        plugin.origin.words()
    )?;
    writeln!(out, "SHA-256: {}", plugin.sha256)
}

fn shown_default(option: &OptionSpec) -> String {
    if option.default.is_null() {
        "(left out)".to_owned()
    } else {
        option.default.to_string()
    }
}

fn needs(needs: &Needs) -> Vec<&'static str> {
    [
        (needs.response, "a response"),
        (needs.ratio, "a ratio"),
        (needs.numeric_factor, "a factor whose levels are numbers"),
        (needs.vines, "records of single vines"),
        (needs.counts, "a count out of a count"),
        (needs.seasons, "several seasons on the same plots"),
        (needs.field, "the places of plots in the field"),
    ]
    .into_iter()
    .filter_map(|(needed, words)| needed.then_some(words))
    .collect()
}

/// Which trials get an analysis that they do not name.
fn suits(suits: &Suits) -> String {
    if suits.on_request {
        return "not run".to_owned();
    }
    let words: Vec<&str> = [
        (suits.complete, "complete, balanced and without covariates"),
        (suits.incomplete, "with gaps, unbalanced or with covariates"),
        (suits.counted, "with counts"),
        (suits.yield_parts, "with a crop and a part of it"),
    ]
    .into_iter()
    .filter_map(|(suited, words)| suited.then_some(words))
    .collect();
    if words.is_empty() {
        "run where the trial has what it needs".to_owned()
    } else {
        format!("run in trials {}", words.join("; "))
    }
}

/// Trusts a file: it must be a plugin that loads, and nobody else may be able to replace it.
fn trust_file(file: &Path, limits: &Limits) -> Result<String, String> {
    let path = file
        .canonicalize()
        .map_err(|error| format!("{}: {error}", file.display()))?;
    let name = path.file_name().and_then(plugin_name).ok_or_else(|| {
        format!(
            "{} is not named as a plugin: that is {}, the name made of a-z, 0-9 and _",
            file.display(),
            libloading::library_filename("name").display()
        )
    })?;
    let data = find::data_folder()
        .ok_or("there is no home folder to record it in: set CANEPLOT_DATA_DIR")?;
    let bytes = std::fs::read(&path).map_err(|error| format!("{}: {error}", path.display()))?;
    let hash = crate::hash::sha256(&bytes);
    let candidate = Candidate {
        name: name.clone(),
        path,
        origin: Origin::User,
    };
    let words = |error: PluginError| error.to_string();
    trust::check_not_world_writable(&candidate).map_err(words)?;
    let plugin = host::admit(&candidate, &Trusted::of(&name, &hash), limits)
        .map_err(words)?
        .ok_or_else(|| format!("{} is not a plugin", candidate.path.display()))?;
    Trusted::read(&data)?.record(&data, &name, &hash)?;
    Ok(format!(
        "trusted {name} {}: {}\nSHA-256 {hash}, recorded in {}\n{}",
        plugin.manifest.version,
        plugin.manifest.purpose,
        record_path(&data).display(),
        where_to_put(&candidate.path, &data)
    ))
}

fn where_to_put(path: &Path, data: &Path) -> String {
    let folder = data.join("plugins");
    let there = folder.canonicalize().ok();
    if there.is_some() && path.parent() == there.as_deref() {
        String::new()
    } else {
        format!(
            "to have it found, copy it to {} or give --plugin-dir\n",
            folder.display()
        )
    }
}
