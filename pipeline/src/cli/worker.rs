//! The hidden `caneplot worker FOLDER`: the program as the worker of one job.
//!
//! The program starts itself so for each job; a person runs it on a job folder that was kept, to see
//! a failure again.

use std::io::{self, IsTerminal, Write};
use std::path::PathBuf;
use std::process::ExitCode;

use crate::host::worker::{Ended, work};

/// Arguments of `caneplot worker`.
#[derive(Debug, Clone, clap::Args)]
pub struct WorkerArgs {
    /// Folder of the job
    pub folder: PathBuf,
}

/// Runs a job. The exit code says only whether the folder could be used: the answer lies in it.
#[must_use]
pub fn run(args: &WorkerArgs) -> ExitCode {
    match work(&args.folder) {
        Ok(ended) => {
            // A host reads the folder; only a person needs to be told.
            if io::stderr().is_terminal() {
                let told = match ended {
                    Ended::Answered(file) => args.folder.join(file).display().to_string(),
                    Ended::Failed(setback) => format!("{setback:?}"),
                };
                let _ = writeln!(io::stderr(), "{told}");
            }
            ExitCode::SUCCESS
        }
        Err(reason) => {
            let _ = writeln!(io::stderr(), "error: {reason}");
            ExitCode::from(2)
        }
    }
}
