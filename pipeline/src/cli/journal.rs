//! `caneplot journal`: the parts of a paper from a report.

use std::path::PathBuf;
use std::process::ExitCode;

use clap::Args;

use super::check::print;
use crate::earlier;
use crate::journal::{self, Print};

/// What `journal` takes.
#[derive(Debug, Args)]
pub struct JournalArguments {
    /// Folder of the report
    #[arg(value_name = "REPORT")]
    report: PathBuf,
    /// Folder for the exports; earlier exports in it are replaced
    #[arg(long, value_name = "FOLDER")]
    out: PathBuf,
    /// Width of all figures: single (85 mm), double (170 mm) or millimetres [default: each its own]
    #[arg(long, value_name = "WIDTH", value_parser = width)]
    width: Option<f64>,
    /// Pixels an inch of the PNGs
    #[arg(long, value_name = "N", default_value_t = 600, value_parser = clap::value_parser!(u16).range(72..=1200))]
    dpi: u16,
    /// Threads that draw [default: one a core]; results do not depend on it
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..))]
    threads: Option<u16>,
}

/// The narrowest and widest figure, in millimetres.
const WIDTHS: std::ops::RangeInclusive<f64> = 40.0..=400.0;

fn width(text: &str) -> Result<f64, String> {
    let millimetres = match text.trim() {
        "single" => Some(85.0),
        "double" => Some(170.0),
        other => other.trim_end_matches("mm").trim_end().parse().ok(),
    };
    millimetres
        .filter(|width| WIDTHS.contains(width))
        .ok_or_else(|| {
            format!(
                "write single, double or millimetres from {} to {}",
                WIDTHS.start(),
                WIDTHS.end()
            )
        })
}

/// Writes the exports; exit status 1 where there are none or a figure is missing.
#[allow(
    clippy::print_stdout,
    reason = "the place of the exports is the command's answer"
)]
#[must_use]
pub fn run(arguments: &JournalArguments) -> ExitCode {
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    let how = Print {
        width_mm: arguments.width,
        dpi: f64::from(arguments.dpi),
        threads: arguments.threads.map_or(cores, usize::from),
    };
    let written = earlier::read(&arguments.report)
        .and_then(|report| journal::write(&report, &arguments.out, &how));
    match written {
        Ok(written) => {
            for (stem, why) in &written.undrawn {
                eprintln!("error: {stem}: {why}");
            }
            println!(
                "{}: {} tables, {} figures, {} works",
                arguments.out.display(),
                written.tables,
                written.figures,
                written.works
            );
            match written.undrawn.is_empty() {
                true => ExitCode::SUCCESS,
                false => ExitCode::FAILURE,
            }
        }
        Err(fault) => {
            print(&[fault]);
            ExitCode::FAILURE
        }
    }
}

#[cfg(test)]
mod tests {
    use super::width;

    #[test]
    fn a_width_is_a_word_or_millimetres() {
        assert_eq!(width("single"), Ok(85.0));
        assert_eq!(width("174 mm"), Ok(174.0));
        assert_eq!(width("88.5"), Ok(88.5));
        for wrong in ["wide", "20", "900", "NaN", ""] {
            assert!(width(wrong).is_err(), "{wrong}");
        }
    }
}
