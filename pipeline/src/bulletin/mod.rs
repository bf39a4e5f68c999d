//! The grower bulletin: a report that was written, told again in two to four pages for those who
//! prune.
//!
//! ```text
//! edits      what the writer decides        check    held against the report
//! topic      a thing measured, in words     amounts  both units, rounded     verdict  how sure
//! story      what there is to tell          values   numbers called by name
//! answer, curve, done, table, figures, balance, money, closing   the parts
//! page       the parts in their order       reading  how hard it is to read
//! ```
//!
//! Nothing is computed here: every number comes from the report's results for programs.

use std::collections::BTreeSet;
use std::io::Cursor;
use std::path::{Path, PathBuf};

use polars::frame::DataFrame;
use polars::io::SerReader;
use polars::prelude::CsvReadOptions;

pub mod amounts;
mod answer;
mod balance;
pub mod check;
mod closing;
mod curve;
mod done;
pub mod edits;
mod figures;
mod money;
mod page;
pub mod reading;
pub mod story;
mod table;
#[cfg(test)]
mod tests;
pub mod topic;
pub mod values;
pub mod verdict;

use edits::Edits;
use story::Story;
use values::Values;

use crate::diagnostic::{Diagnostic, Place};
use crate::earlier::{self, EarlierReport};
use crate::hash::sha256;
use crate::messages::Language;
use crate::pages::{self, Document, Kind, Paper};
use crate::trial::resolve;
use crate::write::design_words::distinct;
use crate::write::folder::{Draft, MANIFEST};
use crate::write::json;
use crate::write::manifest::{FileRecord, MANIFEST_SCHEMA, RunRecord};

/// File of the report that holds the checked values of plots.
const PLOTS: &str = "data/plots.csv";

/// Plots, blocks and vines of a trial.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Field {
    /// Plots; 0 where not known.
    pub plots: usize,
    /// Blocks; 0 where there are none.
    pub blocks: usize,
    /// Fewest and most vines in a plot, where known.
    pub vines: Option<(usize, usize)>,
}

/// A bulletin ready to be written.
#[derive(Debug)]
pub struct Bulletin {
    /// Its text.
    pub markdown: String,
    /// Its figures.
    pub figures: Vec<figures::Drawn>,
    /// Its title.
    pub title: String,
    /// Its sheets: those of the United States where their units come first.
    pub paper: Paper,
    /// Numbers that may be called by name.
    pub values: Values,
    /// Warnings and notes for the writer.
    pub told: Vec<Diagnostic>,
}

impl Bulletin {
    /// The SVG of a figure by its path in the text.
    fn figure(&self, path: &str) -> Option<String> {
        let stem = path.strip_prefix("figures/")?.rsplit_once('.')?.0;
        let found = self.figures.iter().find(|one| one.stem == stem)?;
        Some(found.drawing.svg.clone())
    }
}

/// The edits of a file, or none where there is no file.
///
/// # Errors
/// Every mistake of the file.
pub fn edits(
    file: Option<&Path>,
    language: &Language,
    told: &mut Vec<Diagnostic>,
) -> Result<Edits, Vec<Diagnostic>> {
    let Some(file) = file else {
        return Ok(Edits {
            own_language: language.code() == "en",
            ..Edits::default()
        });
    };
    let (edits, untranslated) = resolve::bulletin::read(file, language.code())?;
    told.extend(
        untranslated
            .iter()
            .map(|text| untranslated_note(text, language)),
    );
    Ok(edits)
}

fn untranslated_note(text: &str, language: &Language) -> Diagnostic {
    Diagnostic::note(
        "bulletin-words",
        format!(
            "'{text}' stays as it is: it has no words in '{}'",
            language.code()
        ),
    )
    .help(format!(
        "give them in bulletin.toml under [{0}] or [{0}.words]",
        language.code()
    ))
}

/// The bulletin of a report.
///
/// # Errors
/// Every mistake of the edits that only the report shows; or the report has nothing to tell.
pub fn bulletin(
    report: &EarlierReport,
    mut edits: Edits,
    language: &Language,
) -> Result<Bulletin, Vec<Diagnostic>> {
    edits.about = report
        .about
        .iter()
        .flat_map(|(name, text)| [name.clone(), text.clone()])
        .collect();
    edits.bands = check::bands(&edits, &report.trial)?;
    let field = field(&report.folder).map_err(|fault| vec![fault])?;
    let story = Story::new(report, &edits, language, &field);
    if story.focuses.is_empty() {
        let place = Place::Cell {
            path: report.folder.join(earlier::FINDINGS),
            line: None,
            column: None,
            sheet: None,
        };
        return Err(vec![
            Diagnostic::error(
                "bulletin-results",
                "the report holds no results of treatments that a bulletin could tell of",
            )
            .at(place)
            .help(
                "run the trial again with this version and with the analysis 'anova' or 'mixed', \
                 or name other responses in bulletin.toml",
            ),
        ]);
    }
    let values = Values::new(&story);
    let mut faults = check::placeholders(&edits, &values);
    if !faults.is_empty() {
        return Err(faults);
    }
    faults.extend(check::typed_numbers(&edits));
    faults.extend(untranslated(&story));
    let figures = figures::drawn(&story)
        .map_err(|error| vec![Diagnostic::error("bulletin-figure", error.to_string())])?;
    Ok(Bulletin {
        markdown: page::markdown(&story, &values, &figures),
        title: page::title(&story).to_owned(),
        paper: match story.edits.first {
            amounts::First::Us => Paper::Letter,
            amounts::First::Metric => Paper::A4,
        },
        values,
        figures,
        told: faults,
    })
}

/// Notes on the trial's own texts that have no words in the language of the page.
fn untranslated(story: &Story) -> Vec<Diagnostic> {
    if story.edits.own_language {
        return Vec::new();
    }
    let trial = &story.report.trial;
    let mut texts: Vec<&str> = Vec::new();
    if story.edits.title.is_none() {
        texts.push(&trial.title);
    }
    if story.edits.question.is_none() && !trial.question.is_empty() {
        texts.push(&trial.question);
    }
    let facts = story.report.about.iter();
    let labels = trial.factors.iter().flat_map(|factor| {
        let named = factor.levels.iter().filter(|level| level.value.is_none());
        std::iter::once(factor.label.as_str()).chain(named.map(|level| level.label.as_str()))
    });
    let own = facts.map(|(_, text)| text.as_str()).chain(labels);
    texts.extend(own.filter(|text| story.edits.word(text).is_none()));
    let note = |text: &&str| untranslated_note(text, story.language);
    texts.iter().map(note).collect()
}

/// Plots, blocks and vines, read from the report's checked values.
fn field(report: &Path) -> Result<Field, Diagnostic> {
    let path = report.join(PLOTS);
    let stop = |why: String| {
        Diagnostic::error(
            "report-unreadable",
            format!("this report cannot be read: {why}"),
        )
        .at(Place::Cell {
            path: path.clone(),
            line: None,
            column: None,
            sheet: None,
        })
        .help("run the trial again")
    };
    let bytes = std::fs::read(&path).map_err(|error| stop(error.to_string()))?;
    let frame = CsvReadOptions::default()
        .with_infer_schema_length(Some(0))
        .into_reader_with_file_handle(Cursor::new(bytes))
        .finish()
        .map_err(|error| stop(error.to_string()))?;
    Ok(Field {
        plots: distinct(&frame, "plot").len(),
        blocks: distinct(&frame, "block").len(),
        vines: vines(&frame),
    })
}

fn vines(frame: &DataFrame) -> Option<(usize, usize)> {
    let planted: BTreeSet<usize> = distinct(frame, "vines_planted")
        .iter()
        .filter_map(|text| text.parse().ok())
        .filter(|count| *count > 0)
        .collect();
    Some((*planted.first()?, *planted.last()?))
}

/// Name of the folder of a trial's bulletin.
#[must_use]
pub fn folder_name(trial: &str, language: &Language) -> String {
    match language.tag() {
        "en" => format!("{trial}-bulletin"),
        other => format!("{trial}-bulletin-{other}"),
    }
}

/// Writes a bulletin into its folder.
///
/// # Errors
/// The folder cannot be written, or holds something else.
pub fn write(
    bulletin: &Bulletin,
    report: &EarlierReport,
    edits_file: Option<&Path>,
    language: &Language,
    out: &Path,
) -> Result<PathBuf, Diagnostic> {
    let stop =
        |error: crate::write::FolderError| Diagnostic::error("bulletin-folder", error.to_string());
    let place = out.join(folder_name(&report.manifest.trial, language));
    let mut draft = Draft::begin(&place).map_err(stop)?;
    for one in &bulletin.figures {
        let stem = one.stem;
        let (svg, png) = (one.drawing.svg.as_bytes(), &one.drawing.png);
        draft
            .write(&format!("figures/{stem}.svg"), svg)
            .map_err(stop)?;
        draft
            .write(&format!("figures/{stem}.png"), png)
            .map_err(stop)?;
    }
    draft
        .write("bulletin.md", bulletin.markdown.as_bytes())
        .map_err(stop)?;
    let figure = |path: &str| bulletin.figure(path);
    let document = Document {
        kind: Kind::Bulletin,
        title: &bulletin.title,
        language: language.tag(),
        markdown: &bulletin.markdown,
        figure: &figure,
    };
    let html = pages::html(&document)
        .map_err(|error| Diagnostic::error("bulletin-pages", error.to_string()))?;
    draft
        .write("bulletin.html", html.as_bytes())
        .map_err(stop)?;
    let pdf = pages::pdf_on(&document, bulletin.paper)
        .map_err(|error| Diagnostic::error("bulletin-pages", error.to_string()))?;
    draft.write("bulletin.pdf", &pdf).map_err(stop)?;
    let mut inputs = vec![report.input.clone()];
    inputs.extend(file_record(&report.folder.join(PLOTS), PLOTS));
    inputs.extend(edits_file.and_then(|file| file_record(file, edits::EDITS_FILE)));
    let record = RunRecord {
        schema: MANIFEST_SCHEMA,
        program: env!("CARGO_PKG_NAME").to_owned(),
        version: env!("CARGO_PKG_VERSION").to_owned(),
        written: humantime::format_rfc3339_seconds(std::time::SystemTime::now()).to_string(),
        inputs,
        outputs: draft.files(),
        left_out: Vec::new(),
        ..report.manifest.clone()
    };
    draft
        .write(MANIFEST, &json(&record).map_err(stop)?)
        .map_err(stop)?;
    draft.finish().map_err(stop)?;
    Ok(place)
}

/// A file that was read, under a name of its own: where it lay is nobody's business.
fn file_record(path: &Path, name: &str) -> Option<FileRecord> {
    let bytes = std::fs::read(path).ok()?;
    Some(FileRecord {
        path: name.to_owned(),
        sha256: sha256(&bytes),
        bytes: bytes.len() as u64,
    })
}
