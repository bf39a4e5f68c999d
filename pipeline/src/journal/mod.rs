//! A report written before, as the parts of a paper: tables as CSV, workbook and LaTeX, figures at the
//! width of a column, the methods and results in words, and the works cited.
//!
//! ```text
//! tables      every table of the report with its name         latex  workbook
//! figures     drawn again at the width and resolution asked for
//! methods     the methods paragraph                            references  works.bib
//! results     a paragraph a response
//! ```
//!
//! Nothing is reckoned here: every number stands in the report's findings.

use std::path::Path;

use crate::diagnostic::{Diagnostic, Place};
use crate::earlier::{EarlierReport, FINDINGS};
use crate::hash::sha256;
use crate::write::folder::MANIFEST;
use crate::write::manifest::{FileRecord, MANIFEST_SCHEMA, RunRecord};
use crate::write::{Draft, FolderError, csv, json};

pub mod figures;
pub mod latex;
pub mod methods;
pub mod references;
pub mod results;
pub mod tables;
#[cfg(test)]
mod tests;
pub mod workbook;

/// The report as people read it, which holds the words of the design.
const TEXT: &str = "report.md";

/// How figures are to be drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Print {
    /// Width of every figure in millimetres; each figure's own without.
    pub width_mm: Option<f64>,
    /// Pixels an inch of the PNGs.
    pub dpi: f64,
    /// Threads that draw; no result depends on them.
    pub threads: usize,
}

/// What was written, in numbers.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Written {
    /// Tables.
    pub tables: usize,
    /// Figures.
    pub figures: usize,
    /// Works cited.
    pub works: usize,
    /// Figures that could not be drawn, with why.
    pub undrawn: Vec<(String, String)>,
}

/// Writes the folder of exports.
///
/// # Errors
/// A report that was changed after it was written, a place that holds a report, or what the system
/// says.
pub fn write(report: &EarlierReport, place: &Path, print: &Print) -> Result<Written, Diagnostic> {
    let text = unchanged(report)?;
    if place.join(FINDINGS).exists() {
        return Err(
            folder_fault("this folder holds a report, which the exports would replace")
                .at(Place::whole(place))
                .help("choose another --out, such as journal"),
        );
    }
    let stop = |error: FolderError| folder_fault(&error.to_string());
    let mut draft = Draft::begin(place).map_err(stop)?;
    let mut written = Written::default();

    let tables = tables::all(report);
    for one in &tables {
        let path = format!("tables/{}.csv", one.stem);
        draft
            .write(&path, csv::table(one.table).as_bytes())
            .map_err(stop)?;
        let path = format!("latex/{}.tex", one.stem);
        draft
            .write(&path, latex::table(one).as_bytes())
            .map_err(stop)?;
    }
    let title = &report.trial.title;
    draft
        .write("latex/all.tex", latex::all(title, &tables).as_bytes())
        .map_err(stop)?;
    let book = workbook::workbook(title, &tables).map_err(|error| folder_fault(&error))?;
    draft.write("tables.xlsx", &book).map_err(stop)?;
    written.tables = tables.len();

    for (stem, drawn) in figures::all(report, print) {
        match drawn {
            Ok(drawn) => {
                for (ending, bytes) in [
                    ("svg", drawn.svg.as_bytes()),
                    ("pdf", drawn.pdf.as_slice()),
                    ("png", drawn.png.as_slice()),
                ] {
                    let path = format!("figures/{stem}.{ending}");
                    draft.write(&path, bytes).map_err(stop)?;
                }
                written.figures += 1;
            }
            Err(error) => written.undrawn.push((stem, error.to_string())),
        }
    }

    draft
        .write("methods.md", methods::text(report, &text).as_bytes())
        .map_err(stop)?;
    draft
        .write("results.md", results::text(report).as_bytes())
        .map_err(stop)?;
    let works = references::entries(report);
    written.works = works.len();
    draft
        .write("references.bib", works.join("\n").as_bytes())
        .map_err(stop)?;
    let record = record(&draft, report, &text, written.undrawn.is_empty());
    draft
        .write(MANIFEST, &json(&record).map_err(stop)?)
        .map_err(stop)?;
    draft.finish().map_err(stop)?;
    Ok(written)
}

/// The report's text, where neither it nor the findings were changed after they were written.
fn unchanged(report: &EarlierReport) -> Result<String, Diagnostic> {
    let recorded = |path: &str| {
        let mut outputs = report.manifest.outputs.iter();
        outputs.find(|one| one.path == path).map(|one| &one.sha256)
    };
    let changed = |name: &str| {
        Diagnostic::error(
            "report-changed",
            format!("{name} is not what the report's manifest.json records"),
        )
        .at(Place::whole(&report.folder.join(name)))
        .help("run the trial again, so that what is exported is what was computed")
    };
    if recorded(FINDINGS) != Some(&report.input.sha256) {
        return Err(changed(FINDINGS));
    }
    let bytes = std::fs::read(report.folder.join(TEXT)).map_err(|_| changed(TEXT))?;
    if recorded(TEXT) != Some(&sha256(&bytes)) {
        return Err(changed(TEXT));
    }
    String::from_utf8(bytes).map_err(|_| changed(TEXT))
}

fn record(draft: &Draft, report: &EarlierReport, text: &str, drawn: bool) -> RunRecord {
    let read = FileRecord {
        path: TEXT.to_owned(),
        sha256: sha256(text.as_bytes()),
        bytes: text.len() as u64,
    };
    RunRecord {
        schema: MANIFEST_SCHEMA,
        program: env!("CARGO_PKG_NAME").to_owned(),
        version: env!("CARGO_PKG_VERSION").to_owned(),
        written: humantime::format_rfc3339_seconds(std::time::SystemTime::now()).to_string(),
        trial: report.manifest.trial.clone(),
        seed: report.manifest.seed,
        complete: drawn && report.manifest.complete,
        inputs: vec![report.input.clone(), read],
        plugins: report.manifest.plugins.clone(),
        left_out: Vec::new(),
        outputs: draft.files(),
    }
}

fn folder_fault(message: &str) -> Diagnostic {
    Diagnostic::error("journal-folder", message)
}
