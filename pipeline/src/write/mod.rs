//! Report, tables, figures and manifest: findings to files.

use std::collections::BTreeMap;
use std::io;

use caneplot_plugin::Findings;
use caneplot_plugin::findings::{Figure, Section};
use caneplot_plugin::manifest::Place;
use serde::Serialize;

pub mod answer;
pub mod cautions;
pub mod citations;
mod corrections;
pub mod csv;
pub mod design_words;
pub mod folder;
pub mod frame;
pub mod manifest;
pub mod markdown;
pub mod numbers;
pub mod remarks;
pub mod report;
pub(crate) mod results;
mod summary;

pub use folder::{Draft, FolderError};
pub use report::Report;

use manifest::{FileRecord, LeftOut, PluginRecord, RunRecord};

use crate::draw::{self, Drawing};
use crate::pages::{self, Document, Kind, Paper};

/// The report as one file for a browser.
pub const PAGE: &str = "report.html";

/// Language of reports.
const LANGUAGE: &str = "en";

/// How a report is written; nothing in it changes a result.
#[derive(Debug, Clone, Copy)]
pub struct How {
    /// Threads at one time.
    pub threads: usize,
    /// The paper of the report as PDF, where one is wanted.
    pub paper: Option<Paper>,
}

/// What one analysis gave, as the report needs it.
#[derive(Debug, Clone)]
pub struct Analysed {
    /// Name of the plugin.
    pub name: String,
    /// Its version.
    pub version: String,
    /// SHA-256 of its library.
    pub sha256: String,
    /// The question it answers: the heading of its chapter.
    pub purpose: String,
    /// Where it stands in the report.
    pub place: Place,
    /// Options it ran with.
    pub options: serde_json::Value,
    /// Its findings, or one sentence that says why there are none.
    pub result: Result<Findings, String>,
    /// What the user should know beside, such as where a failed job is kept.
    pub notes: Vec<String>,
}

impl Analysed {
    /// The findings, where there are any.
    #[must_use]
    pub fn findings(&self) -> Option<&Findings> {
        self.result.as_ref().ok()
    }
}

/// Name of a figure's or table's file, without folder and ending.
#[must_use]
pub fn stem(analysis: &str, section: &Section, id: &str) -> String {
    format!("{analysis}-{}-{id}", section.id)
}

/// Everything in `findings.json`.
#[derive(Serialize)]
struct FindingsDocument<'a> {
    schema: u32,
    trial: &'a caneplot_plugin::request::TrialInfo,
    /// Facts about the site, as the trial file gives them.
    about: &'a [(String, String)],
    analyses: Vec<AnalysisDocument<'a>>,
    /// Analyses that were left out of a trial that names none, and why.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    left_out: Vec<LeftOut>,
}

#[derive(Serialize)]
struct AnalysisDocument<'a> {
    name: &'a str,
    version: &'a str,
    options: &'a serde_json::Value,
    /// Which of several analyses speaks for a response: the one with the lowest.
    #[serde(skip_serializing_if = "Option::is_none")]
    voice: Option<u8>,
    /// Why it was run, where the trial names none.
    #[serde(skip_serializing_if = "Option::is_none")]
    why: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    findings: Option<&'a Findings>,
    #[serde(skip_serializing_if = "Option::is_none")]
    refused: Option<&'a str>,
}

/// Writes the whole report into the draft. Returns the figures and pages that could not be made,
/// with why.
///
/// # Errors
/// [`FolderError`] where a file cannot be written.
pub fn write(
    draft: &mut Draft,
    report: &Report<'_>,
    inputs: Vec<FileRecord>,
    how: How,
) -> Result<Vec<(String, String)>, FolderError> {
    let analysed = report.analysed;
    let Drawn {
        figures,
        mut undrawn,
    } = drawn(draft, analysed, how.threads)?;
    tables(draft, analysed)?;
    let derived = report.derived;
    draft.write(
        "data/plots.csv",
        frame::checked_csv(&derived.plots, &derived.info).as_bytes(),
    )?;
    if let Some(vines) = &derived.vines {
        draft.write(
            "data/vines.csv",
            frame::checked_csv(vines, &derived.info).as_bytes(),
        )?;
    }
    draft.write("findings.json", &json(&document(report))?)?;
    let text = report::markdown(&Report {
        undrawn: &undrawn,
        ..*report
    });
    draft.write("report.md", text.as_bytes())?;
    let pages = Document {
        kind: Kind::Report,
        title: &report.trial.title,
        language: LANGUAGE,
        markdown: &text,
        figure: &|path| figures.get(path).cloned(),
    };
    match pages::html(&pages) {
        Ok(page) => draft.write(PAGE, page.as_bytes())?,
        Err(error) => undrawn.push((PAGE.to_owned(), error.to_string())),
    }
    if let Some(paper) = how.paper {
        match pages::pdf_on(&pages, paper) {
            Ok(sheets) => draft.write(paper.report(), &sheets)?,
            Err(error) => undrawn.push((paper.report().to_owned(), error.to_string())),
        }
    }
    let record = run_record(draft, report, inputs, undrawn.is_empty());
    draft.write(folder::MANIFEST, &json(&record)?)?;
    Ok(undrawn)
}

/// The first of the main results as plain text.
#[must_use]
pub fn first_result(report: &Report<'_>) -> Option<String> {
    let first = summary::summary(report).into_iter().next()?;
    Some(markdown::sentence(first))
}

fn document<'a>(report: &'a Report) -> FindingsDocument<'a> {
    FindingsDocument {
        schema: caneplot_plugin::findings::FINDINGS_SCHEMA,
        trial: &report.derived.info,
        about: &report.trial.about,
        analyses: report
            .analysed
            .iter()
            .map(|one| AnalysisDocument {
                name: &one.name,
                version: &one.version,
                options: &one.options,
                voice: one.place.voice,
                why: why(report, &one.name),
                findings: one.findings(),
                refused: one.result.as_ref().err().map(String::as_str),
            })
            .collect(),
        left_out: left_out(report),
    }
}

/// Why an analysis was run, where the trial names none.
fn why<'a>(report: &'a Report, name: &str) -> Option<&'a str> {
    let choice = report.choices.iter().find(|choice| choice.name == name)?;
    Some(&choice.why)
}

fn left_out(report: &Report) -> Vec<LeftOut> {
    let left = report.choices.iter().filter(|choice| !choice.runs);
    left.map(|choice| LeftOut {
        name: choice.name.clone(),
        why: choice.why.clone(),
    })
    .collect()
}

fn run_record(draft: &Draft, report: &Report, inputs: Vec<FileRecord>, drawn: bool) -> RunRecord {
    RunRecord {
        schema: manifest::MANIFEST_SCHEMA,
        program: env!("CARGO_PKG_NAME").to_owned(),
        version: env!("CARGO_PKG_VERSION").to_owned(),
        written: humantime::format_rfc3339_seconds(std::time::SystemTime::now()).to_string(),
        trial: report.trial.name.clone(),
        seed: report.trial.seed,
        complete: drawn && report.analysed.iter().all(|one| one.result.is_ok()),
        inputs,
        plugins: report
            .analysed
            .iter()
            .map(|one| PluginRecord {
                name: one.name.clone(),
                version: one.version.clone(),
                sha256: one.sha256.clone(),
                options: one.options.clone(),
                why: why(report, &one.name).map(ToOwned::to_owned),
            })
            .collect(),
        left_out: left_out(report),
        outputs: draft.files(),
    }
}

/// Figures as they were written.
pub(crate) struct Drawn {
    /// The SVG of each by the path of its PNG.
    pub figures: BTreeMap<String, String>,
    /// Those that could not be drawn, with why.
    pub undrawn: Vec<(String, String)>,
}

/// Writes all figures.
pub(crate) fn drawn(
    draft: &mut Draft,
    analysed: &[Analysed],
    threads: usize,
) -> Result<Drawn, FolderError> {
    let mut undrawn = Vec::new();
    let mut figures = BTreeMap::new();
    for (stem, drawing) in drawings(analysed, threads) {
        match drawing {
            Ok(drawing) => {
                draft.write(&format!("figures/{stem}.svg"), drawing.svg.as_bytes())?;
                draft.write(&format!("figures/{stem}.png"), &drawing.png)?;
                figures.insert(format!("figures/{stem}.png"), drawing.svg);
            }
            Err(error) => undrawn.push((stem, format!("the figure could not be drawn: {error}"))),
        }
    }
    Ok(Drawn { figures, undrawn })
}

/// Writes all tables.
pub(crate) fn tables(draft: &mut Draft, analysed: &[Analysed]) -> Result<(), FolderError> {
    for one in analysed {
        let sections = one.findings().into_iter().flat_map(|found| &found.sections);
        for section in sections {
            for table in &section.tables {
                let path = format!("tables/{}.csv", stem(&one.name, section, &table.id));
                draft.write(&path, csv::table(table).as_bytes())?;
            }
        }
    }
    Ok(())
}

/// All figures drawn, side by side, in the order of the report.
pub(crate) fn drawings(
    analysed: &[Analysed],
    threads: usize,
) -> Vec<(String, Result<Drawing, draw::DrawError>)> {
    let mut figures: Vec<(String, &Figure)> = Vec::new();
    for one in analysed {
        for section in one
            .findings()
            .into_iter()
            .flat_map(|findings| &findings.sections)
        {
            for figure in &section.figures {
                figures.push((stem(&one.name, section, &figure.id), figure));
            }
        }
    }
    crate::parallel::map(&figures, threads, |_, (stem, figure)| {
        (stem.clone(), draw::draw(figure))
    })
}

/// A value as the JSON of a report.
pub(crate) fn json(value: &impl Serialize) -> Result<Vec<u8>, FolderError> {
    let mut bytes = serde_json::to_vec_pretty(value).map_err(|error| FolderError::Io {
        action: "express as JSON",
        path: folder::MANIFEST.into(),
        error: io::Error::other(error),
    })?;
    bytes.push(b'\n');
    Ok(bytes)
}
