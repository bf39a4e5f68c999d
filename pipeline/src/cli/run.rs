//! `caneplot run`: trials in, reports out.

use std::path::PathBuf;
use std::process::ExitCode;

use clap::Args;

use super::PluginArguments;
use super::check::{counted, print};
use crate::diagnostic::Severity;

/// What `run` takes.
#[derive(Debug, Args)]
pub struct RunArguments {
    /// Trial folders
    #[arg(required = true, value_name = "TRIAL")]
    trials: Vec<PathBuf>,
    /// Folder for the reports; each gets the name of its trial
    #[arg(long, value_name = "FOLDER", default_value = "reports")]
    out: PathBuf,
    #[command(flatten)]
    plugins: PluginArguments,
}

/// Runs each trial; a broken one does not stop the others.
#[allow(
    clippy::print_stdout,
    reason = "the places of the reports are the command's answer"
)]
#[must_use]
pub fn run(arguments: &RunArguments) -> ExitCode {
    let settings = arguments.plugins.settings(arguments.out.clone());
    let mut all_well = true;
    for folder in &arguments.trials {
        match crate::run(folder, &settings) {
            Ok(done) => {
                let warnings: Vec<_> = done
                    .remarks
                    .iter()
                    .filter(|one| one.severity == Severity::Warning)
                    .cloned()
                    .collect();
                print(&warnings);
                for sentence in &done.lacking {
                    eprintln!("error: {sentence}");
                }
                all_well &= done.lacking.is_empty();
                println!(
                    "{}: {}{}",
                    folder.display(),
                    done.place.join("report.md").display(),
                    if done.lacking.is_empty() {
                        ""
                    } else {
                        " (incomplete)"
                    }
                );
            }
            Err(found) => {
                print(&found);
                eprintln!(
                    "{}: {}; no report was written, and an earlier one is as it was",
                    folder.display(),
                    counted(&found)
                );
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
