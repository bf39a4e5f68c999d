//! `caneplot bulletin`: a report told again for growers.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::Args;

use super::PluginArguments;
use super::check::{counted, print};
use crate::bulletin::edits::EDITS_FILE;
use crate::bulletin::reading::{self, Counts};
use crate::bulletin::{self, Bulletin};
use crate::diagnostic::{Diagnostic, Severity};
use crate::earlier;
use crate::messages::Language;
use crate::trial::file::TRIAL_FILE;

/// What `bulletin` takes.
#[derive(Debug, Args)]
pub struct BulletinArguments {
    /// Folder of a report, or of a trial, which is run first
    #[arg(value_name = "REPORT|TRIAL")]
    folder: PathBuf,
    /// What you decide about it [default: bulletin.toml of the trial folder]
    #[arg(long, value_name = "FILE")]
    edits: Option<PathBuf>,
    /// Language: en or es; es-MX and es-US write numbers with a point
    #[arg(long, value_name = "LANGUAGE", default_value = "en")]
    language: String,
    /// Folder for the bulletin, which gets the name of its trial; and for the report of a trial
    #[arg(long, value_name = "FOLDER", default_value = "reports")]
    out: PathBuf,
    /// List the values that added sentences may call by name, and write nothing
    #[arg(long)]
    list_values: bool,
    #[command(flatten)]
    plugins: PluginArguments,
}

/// Writes the bulletin; a mistake in the edits leaves an earlier one as it was.
#[allow(
    clippy::print_stdout,
    reason = "the place of the bulletin is the command's answer"
)]
#[must_use]
pub fn run(arguments: &BulletinArguments) -> ExitCode {
    match made(arguments) {
        Ok(()) => ExitCode::SUCCESS,
        Err(found) => {
            print(&found);
            eprintln!(
                "{}: {}; no bulletin was written, and an earlier one is as it was",
                arguments.folder.display(),
                counted(&found)
            );
            ExitCode::FAILURE
        }
    }
}

#[allow(
    clippy::print_stdout,
    reason = "the place of the bulletin is the command's answer"
)]
fn made(arguments: &BulletinArguments) -> Result<(), Vec<Diagnostic>> {
    let language = Language::new(&arguments.language).map_err(|fault| vec![fault])?;
    let mut told = Vec::new();
    let edits_file = edits_file(arguments);
    let edits = bulletin::edits(edits_file.as_deref(), &language, &mut told)?;
    let folder = report(arguments, &mut told)?;
    let report = earlier::read(&folder).map_err(|fault| vec![fault])?;
    let made = bulletin::bulletin(&report, edits, &language)?;
    if arguments.list_values {
        for (name, value) in made.values.all() {
            println!("{{{name}}} = {value}");
        }
        return Ok(());
    }
    let place = bulletin::write(
        &made,
        &report,
        edits_file.as_deref(),
        &language,
        &arguments.out,
    )
    .map_err(|fault| vec![fault])?;
    told.extend(made.told.iter().cloned());
    print(&told);
    println!(
        "{}: {}{}",
        arguments.folder.display(),
        place.join("bulletin.md").display(),
        ease(&made, &language)
    );
    Ok(())
}

/// The edits asked for, or those of a trial folder that has some.
fn edits_file(arguments: &BulletinArguments) -> Option<PathBuf> {
    let own = || {
        let file = arguments.folder.join(EDITS_FILE);
        (is_trial(&arguments.folder) && file.exists()).then_some(file)
    };
    arguments.edits.clone().or_else(own)
}

fn is_trial(folder: &Path) -> bool {
    folder.join(TRIAL_FILE).exists()
}

/// The folder of the report: the one given, or that of the trial given, written now.
fn report(
    arguments: &BulletinArguments,
    told: &mut Vec<Diagnostic>,
) -> Result<PathBuf, Vec<Diagnostic>> {
    if !is_trial(&arguments.folder) {
        return Ok(arguments.folder.clone());
    }
    let settings = arguments.plugins.settings(arguments.out.clone());
    let done = crate::run(&arguments.folder, &settings)?;
    told.extend(
        done.remarks
            .into_iter()
            .filter(|one| one.severity == Severity::Warning),
    );
    told.extend(done.lacking.into_iter().map(|sentence| {
        Diagnostic::warning("report-incomplete", sentence)
            .help("the bulletin tells only what the report holds")
    }));
    Ok(done.place)
}

/// How hard it is to read, in words.
fn ease(made: &Bulletin, language: &Language) -> String {
    let prose = reading::prose(&made.markdown);
    let said = match language.code() {
        "es" => Counts::spanish(&prose)
            .fernandez_huerta()
            .map(|ease| format!(" (reading ease {ease:.0} of 100)")),
        _ => Counts::english(&prose)
            .flesch_kincaid()
            .map(|grade| format!(" (reads at school grade {grade:.1})")),
    };
    said.unwrap_or_default()
}
