//! `caneplot compare`: reports beside each other, and beside a published table.

use std::path::PathBuf;
use std::process::ExitCode;

use clap::Args;

use super::PluginArguments;
use super::check::print;
use crate::compare::{self, Wanted, text};
use crate::diagnostic::Diagnostic;

/// What `compare` takes.
#[derive(Debug, Args)]
pub struct CompareArguments {
    /// Folders of reports: two of one design, or several sites
    #[arg(value_name = "REPORT", required = true)]
    reports: Vec<PathBuf>,
    /// A published table to hold each report against (trials/COMPARING.md)
    #[arg(long, value_name = "PUBLISHED.toml")]
    against: Option<PathBuf>,
    /// Probability below which a change counts as clear [default: 0.05]
    #[arg(long, value_name = "SHARE")]
    level: Option<f64>,
    /// Write the answer with figures and tables into this folder
    #[arg(long, value_name = "FOLDER")]
    out: Option<PathBuf>,
    #[command(flatten)]
    plugins: PluginArguments,
}

/// Prints the answer; exit status 1 where there is none.
#[allow(clippy::print_stdout, reason = "the answer is the command's output")]
#[must_use]
pub fn run(arguments: &CompareArguments) -> ExitCode {
    match answered(arguments) {
        Ok((answer, lacking)) => {
            print!("{answer}");
            if let Some(out) = &arguments.out {
                println!("\n{}", out.join("compare.md").display());
            }
            for sentence in &lacking {
                eprintln!("error: {sentence}");
            }
            match lacking.is_empty() {
                true => ExitCode::SUCCESS,
                false => ExitCode::FAILURE,
            }
        }
        Err(found) => {
            print(&found);
            ExitCode::FAILURE
        }
    }
}

fn answered(arguments: &CompareArguments) -> Result<(String, Vec<String>), Vec<Diagnostic>> {
    let wanted = Wanted {
        reports: arguments.reports.clone(),
        against: arguments.against.clone(),
        level: arguments.level,
    };
    let settings = arguments
        .plugins
        .settings(arguments.out.clone().unwrap_or_default());
    let compared = compare::compared(&wanted, &settings)?;
    let undrawn = match &arguments.out {
        Some(place) => compare::write(&compared, place, &settings).map_err(|fault| vec![fault])?,
        None => Vec::new(),
    };
    let lacking = undrawn.iter().map(|(stem, why)| format!("{stem}: {why}"));
    Ok((text::short(&compared), lacking.collect()))
}
