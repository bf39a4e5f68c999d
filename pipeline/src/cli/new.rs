//! `caneplot new`: a folder for another run of a trial, made from its report.

use std::path::PathBuf;
use std::process::ExitCode;

use clap::Args;

use super::check::print;
use crate::diagnostic::Diagnostic;
use crate::rerun;

/// What `new` takes.
#[derive(Debug, Args)]
pub struct NewArguments {
    /// Folder of the report whose trial is run again
    #[arg(long, value_name = "REPORT")]
    from: PathBuf,
    /// Folder to make
    #[arg(long, value_name = "NEW")]
    out: PathBuf,
    /// Seasons of the new run, as 2025-2028 or 2024/25,2025/26 [default: those of the report]
    #[arg(long, value_name = "SEASONS")]
    seasons: Option<String>,
}

/// Makes the folder and lists what it waits for; exit status 1 where it cannot be made.
#[allow(clippy::print_stdout, reason = "the list is the command's answer")]
#[must_use]
pub fn run(arguments: &NewArguments) -> ExitCode {
    match made(arguments) {
        Ok(kit) => {
            println!("{}:", arguments.out.display());
            for (name, bytes) in &kit.files {
                let records = bytes.iter().filter(|byte| **byte == b'\n').count();
                match name.as_str() {
                    crate::trial::file::TRIAL_FILE => {
                        println!("  {name}  the design, responses and options of the report");
                    }
                    _ => println!(
                        "  {name}  {} records with their keys",
                        records.saturating_sub(1)
                    ),
                }
            }
            println!(
                "Fill in what is measured, then: caneplot run {}",
                arguments.out.display()
            );
            ExitCode::SUCCESS
        }
        Err(found) => {
            print(&found);
            ExitCode::FAILURE
        }
    }
}

fn made(arguments: &NewArguments) -> Result<rerun::Kit, Vec<Diagnostic>> {
    let kit = rerun::kit(&arguments.from, arguments.seasons.as_deref())?;
    rerun::write(&kit, &arguments.out).map_err(|fault| vec![fault])?;
    Ok(kit)
}
