//! `caneplot verify`: is a report what its record says, and what its trial gives today?

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::Args;

use super::PluginArguments;
use super::check::print;
use crate::hash::sha256;
use crate::pages::Paper;
use crate::write::folder::MANIFEST;
use crate::write::manifest::RunRecord;

/// What `verify` takes.
#[derive(Debug, Args)]
pub struct VerifyArguments {
    /// Folder of the report
    #[arg(value_name = "REPORT")]
    report: PathBuf,
    /// Compute the report again from this trial and compare every file
    #[arg(long, value_name = "TRIAL")]
    trial: Option<PathBuf>,
    #[command(flatten)]
    plugins: PluginArguments,
}

/// Prints every difference; exit status 1 where there is one.
#[allow(clippy::print_stdout, reason = "the verdict is the command's answer")]
#[must_use]
pub fn run(arguments: &VerifyArguments) -> ExitCode {
    let differences = record(&arguments.report).and_then(|record| {
        let mut differences = changed_files(&arguments.report, &record)?;
        if let Some(trial) = &arguments.trial {
            differences.extend(recomputed(arguments, trial, &record)?);
        }
        Ok((record, differences))
    });
    match differences {
        Ok((record, differences)) if differences.is_empty() => {
            let how = if arguments.trial.is_some() {
                "and computed again "
            } else {
                ""
            };
            println!(
                "{}: {} files compared {how}without a difference",
                arguments.report.display(),
                record.outputs.len()
            );
            ExitCode::SUCCESS
        }
        Ok((_, differences)) => {
            for difference in &differences {
                eprintln!("difference: {difference}");
            }
            println!(
                "{}: {} differences",
                arguments.report.display(),
                differences.len()
            );
            ExitCode::FAILURE
        }
        Err(why) => {
            eprintln!("error: {why}");
            ExitCode::FAILURE
        }
    }
}

fn record(report: &Path) -> Result<RunRecord, String> {
    let path = report.join(MANIFEST);
    let text = fs::read_to_string(&path).map_err(|error| {
        format!(
            "{} is not a report: cannot read its {MANIFEST} ({error})",
            report.display()
        )
    })?;
    serde_json::from_str(&text).map_err(|error| format!("{} is damaged: {error}", path.display()))
}

/// Files whose bytes are not those the record names, files missing, files added.
fn changed_files(report: &Path, record: &RunRecord) -> Result<Vec<String>, String> {
    let mut differences = Vec::new();
    for output in &record.outputs {
        match fs::read(report.join(&output.path)) {
            Ok(bytes) if sha256(&bytes) == output.sha256 => {}
            Ok(_) => differences.push(format!("{} was changed after it was written", output.path)),
            Err(_) => differences.push(format!("{} is missing", output.path)),
        }
    }
    let known: BTreeSet<&str> = record
        .outputs
        .iter()
        .map(|output| output.path.as_str())
        .collect();
    for path in files_under(report, report)? {
        if path != MANIFEST && !known.contains(path.as_str()) {
            differences.push(format!("{path} does not belong to the report"));
        }
    }
    Ok(differences)
}

/// Paths of all files, relative to `root`, sorted.
fn files_under(root: &Path, folder: &Path) -> Result<Vec<String>, String> {
    let unreadable = |error: std::io::Error| format!("cannot read {}: {error}", folder.display());
    let mut paths = Vec::new();
    for entry in fs::read_dir(folder).map_err(unreadable)? {
        let path = entry.map_err(unreadable)?.path();
        if path.is_dir() {
            paths.extend(files_under(root, &path)?);
        } else if let Ok(relative) = path.strip_prefix(root) {
            let parts: Vec<String> = relative
                .iter()
                .map(|part| part.to_string_lossy().into_owned())
                .collect();
            paths.push(parts.join("/"));
        }
    }
    paths.sort();
    Ok(paths)
}

/// The trial computed again: what differs, with the likely cause first.
fn recomputed(
    arguments: &VerifyArguments,
    trial: &Path,
    old: &RunRecord,
) -> Result<Vec<String>, String> {
    let scratch =
        tempfile::tempdir().map_err(|error| format!("no room for a second run: {error}"))?;
    let mut settings = arguments.plugins.settings(scratch.path().to_owned());
    // A report that has sheets of paper gets them again.
    settings.paper = Paper::ALL
        .into_iter()
        .find(|paper| old.outputs.iter().any(|file| file.path == paper.report()));
    let done = crate::run(trial, &settings).map_err(|found| {
        print(&found);
        format!("{} cannot be computed again", trial.display())
    })?;
    let new = record(&done.place)?;
    let mut differences = Vec::new();
    if old.version != new.version {
        differences.push(format!(
            "the report was made by version {}, this is {}",
            old.version, new.version
        ));
    }
    if old.seed != new.seed {
        differences.push(format!("the seed was {}, now it is {}", old.seed, new.seed));
    }
    for (what, before, after) in [
        ("input", &old.inputs, &new.inputs),
        ("output", &old.outputs, &new.outputs),
    ] {
        for file in before.iter().filter(|file| !after.contains(file)) {
            let now = after.iter().any(|other| other.path == file.path);
            let how = if now { "differs" } else { "is no longer there" };
            differences.push(format!("{what} {} {how}", file.path));
        }
        for file in after
            .iter()
            .filter(|file| !before.iter().any(|other| other.path == file.path))
        {
            differences.push(format!("{what} {} is new", file.path));
        }
    }
    for plugin in &old.plugins {
        let Some(now) = new.plugins.iter().find(|now| now.name == plugin.name) else {
            differences.push(format!("plugin {} did not run this time", plugin.name));
            continue;
        };
        if now.version != plugin.version || now.options != plugin.options {
            differences.push(format!(
                "plugin {} is version {} now, or has other options ({} then)",
                plugin.name, now.version, plugin.version
            ));
        } else if now.sha256 != plugin.sha256 {
            // Another compiler or machine gives another library; only its findings can tell.
            eprintln!(
                "note: plugin {} is another build of version {}",
                plugin.name, now.version
            );
        }
    }
    Ok(differences)
}
