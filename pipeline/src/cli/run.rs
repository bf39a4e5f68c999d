//! `caneplot run`: trials in, reports out; a summary where there are several.

use std::path::PathBuf;
use std::process::ExitCode;

use clap::Args;

use super::PluginArguments;
use super::check::{counted, print};
use crate::diagnostic::Severity;
use crate::pages::Paper;
use crate::several::{self, Ran};

/// What `run` takes.
#[derive(Debug, Args)]
pub struct RunArguments {
    /// Trial folders
    #[arg(required = true, value_name = "TRIAL")]
    trials: Vec<PathBuf>,
    /// Folder for the reports; each gets the name of its trial
    #[arg(long, value_name = "FOLDER", default_value = "reports")]
    out: PathBuf,
    /// Write the report as PDF too
    #[arg(long)]
    pdf: bool,
    /// Paper of the PDF
    #[arg(long, value_name = "SIZE", default_value = "a4", requires = "pdf")]
    paper: Paper,
    #[command(flatten)]
    plugins: PluginArguments,
}

/// Runs the trials side by side; a broken one does not stop the others. Exit status 1 where a report
/// is not there or lacks something.
#[allow(
    clippy::print_stdout,
    reason = "the places of the reports are the command's answer"
)]
#[must_use]
pub fn run(arguments: &RunArguments) -> ExitCode {
    let mut settings = arguments.plugins.settings(arguments.out.clone());
    settings.paper = arguments.pdf.then_some(arguments.paper);
    let trials = match several::run(&arguments.trials, &settings) {
        Ok(trials) => trials,
        Err(found) => {
            print(&found);
            return ExitCode::FAILURE;
        }
    };
    let mut all_well = true;
    for one in &trials {
        all_well &= told(one);
    }
    if trials.len() > 1 {
        let table = several::summary(&trials);
        print!("\n{}", several::for_terminal(&table));
        match several::write(&table, &arguments.out) {
            Ok(()) => println!("{}", arguments.out.join(several::SUMMARY[0]).display()),
            Err(fault) => {
                print(&[fault]);
                all_well = false;
            }
        }
    }
    if all_well {
        ExitCode::SUCCESS
    } else {
        ExitCode::FAILURE
    }
}

/// Prints how a trial came out; whether its report is whole.
#[allow(
    clippy::print_stdout,
    reason = "the place of the report is the command's answer"
)]
fn told(one: &Ran) -> bool {
    let folder = one.folder.display();
    match &one.outcome {
        Ok(done) => {
            let warnings = done
                .remarks
                .iter()
                .filter(|one| one.severity == Severity::Warning);
            print(&warnings.cloned().collect::<Vec<_>>());
            for sentence in &done.lacking {
                eprintln!("error: {sentence}");
            }
            for sentence in &done.told {
                eprintln!("note: {sentence}");
            }
            let whole = done.lacking.is_empty();
            let state = if whole { "" } else { " (incomplete)" };
            let report = done.place.join("report.md");
            println!("{folder}: {}{state}", report.display());
            whole
        }
        Err(found) => {
            print(found);
            eprintln!(
                "{folder}: {}; no report was written, and an earlier one is as it was",
                counted(found)
            );
            false
        }
    }
}
