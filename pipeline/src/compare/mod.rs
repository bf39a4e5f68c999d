//! Reports beside each other, and beside a published table.
//!
//! ```text
//! published   a table of a paper as it was typed in  (reading: trial/resolve/published.rs)
//! treatments  which factors, levels and treatments are the same ones
//! units       results in another unit
//! matched     questions that several reports answer, and what they have not in common
//! beside      questions that a report and a published table answer
//! text        the answer as Markdown, short for the terminal and whole for the folder
//! ```
//!
//! Nothing is reckoned here beyond units: the questions go to the analysis `compare`, which gets no
//! tables.

use std::path::{Path, PathBuf};

use caneplot_plugin::Request;
use caneplot_plugin::request::TrialInfo;
use serde_json::{Map, Value as Json, json};

use crate::Settings;
use crate::diagnostic::{Diagnostic, Place, Severity};
use crate::earlier::{self, EarlierReport};
use crate::host::{self, Job, PluginError, options};
use crate::trial::resolve;
use crate::write::answer::{self, Answer};
use crate::write::manifest::FileRecord;
use crate::write::{Analysed, Draft, FolderError};

pub mod beside;
pub mod matched;
pub mod published;
#[cfg(test)]
mod tests;
pub mod text;
pub mod treatments;
pub mod units;

use matched::Matched;
use published::Published;

/// The analysis that answers.
pub const ANALYSIS: &str = "compare";

/// File of a report with the values its analyses used.
const PLOTS: &str = "data/plots.csv";

/// Names of the mistakes that only this command can find.
pub const RULES: &[(&str, &str)] = &[
    ("published-file", "the published table can be read"),
    (
        "published-name",
        "responses, factors and levels of the published table are named as in the trials",
    ),
    (
        "published-number",
        "means are numbers, errors and counts above 0",
    ),
    (
        "published-error",
        "the error of a published mean is given in one way, with what belongs to it",
    ),
    (
        "compare-reports",
        "there are two independent reports, or one and a published table",
    ),
    ("compare-nothing", "the reports have something in common"),
    ("compare-answer", "the analysis gives an answer"),
    ("compare-folder", "the folder of the answer can be written"),
];

/// What is compared.
#[derive(Debug, Clone, Default)]
pub struct Wanted {
    /// Folders of reports.
    pub reports: Vec<PathBuf>,
    /// File of a published table.
    pub against: Option<PathBuf>,
    /// Probability below which a change counts as clear.
    pub level: Option<f64>,
}

/// A report under the letter it has in the answer.
#[derive(Debug, Clone)]
pub struct Named {
    /// A, B …
    pub letter: String,
    /// The report.
    pub report: EarlierReport,
}

/// The answer.
#[derive(Debug, Clone)]
pub struct Compared {
    /// What the analysis gave.
    pub analysed: Analysed,
    /// The reports.
    pub reports: Vec<Named>,
    /// The published table.
    pub published: Option<Published>,
    /// What cannot be compared, in sentences.
    pub unlike: Vec<String>,
    /// Every file read.
    pub inputs: Vec<FileRecord>,
}

impl Compared {
    /// The trial the answer is filed under: the first one.
    #[must_use]
    pub fn info(&self) -> &TrialInfo {
        &self.reports[0].report.trial
    }
}

/// Asks the analysis.
///
/// # Errors
/// Reports or a published table that cannot be read, that have nothing in common or hold the same
/// data; why the analysis gives no answer.
pub fn compared(wanted: &Wanted, settings: &Settings) -> Result<Compared, Vec<Diagnostic>> {
    let reports = read(wanted)?;
    let published = match &wanted.against {
        Some(path) => {
            let source = resolve::published::source(path).map_err(|fault| vec![fault])?;
            Some(resolve::published::read(source)?)
        }
        None => None,
    };
    independent(&reports).map_err(|fault| vec![*fault])?;
    let sides: Vec<(&str, &EarlierReport)> = reports
        .iter()
        .map(|one| (one.letter.as_str(), &one.report))
        .collect();
    let mut all = Matched {
        unlike: designs(&sides),
        ..Matched::default()
    };
    if sides.len() > 1 {
        all.extend(matched::matched(&sides));
    }
    if let Some(published) = &published {
        all.extend(beside::beside(published, &sides)?);
    }
    if all.questions.is_empty() {
        return Err(vec![nothing(&reports, &all.unlike)]);
    }
    let analysed = asked(
        &all.questions,
        wanted.level,
        &reports[0].report.trial,
        settings,
    )?;
    let mut inputs: Vec<FileRecord> = reports
        .iter()
        .map(|one| FileRecord {
            path: format!("{}/{}", one.letter, one.report.input.path),
            ..one.report.input.clone()
        })
        .collect();
    inputs.extend(published.as_ref().map(|one| FileRecord {
        path: "published.toml".to_owned(),
        sha256: crate::hash::sha256(one.source.text.as_bytes()),
        bytes: one.source.text.len() as u64,
    }));
    Ok(Compared {
        analysed,
        reports,
        published,
        unlike: all.unlike,
        inputs,
    })
}

impl Matched {
    fn extend(&mut self, other: Self) {
        self.questions.extend(other.questions);
        for sentence in other.unlike {
            if !self.unlike.contains(&sentence) {
                self.unlike.push(sentence);
            }
        }
    }
}

/// The reports under their letters.
fn read(wanted: &Wanted) -> Result<Vec<Named>, Vec<Diagnostic>> {
    let stop =
        |message: &str, help: &str| vec![Diagnostic::error("compare-reports", message).help(help)];
    match (wanted.reports.len(), &wanted.against) {
        (0, _) => return Err(stop("no report is given", "give the folders of reports")),
        (1, None) => {
            return Err(stop(
                "one report alone has nothing to be compared with",
                "give a second report, or a published table with --against FILE",
            ));
        }
        (27.., _) => {
            return Err(stop(
                "there are more reports than letters to name them by",
                "compare 26 at most",
            ));
        }
        _ => {}
    }
    let mut reports = Vec::new();
    let mut faults = Vec::new();
    for (letter, folder) in ('A'..='Z').zip(&wanted.reports) {
        match earlier::read(folder) {
            Ok(report) => reports.push(Named {
                letter: letter.to_string(),
                report,
            }),
            Err(fault) => faults.push(fault),
        }
    }
    match faults.is_empty() {
        true => Ok(reports),
        false => Err(faults),
    }
}

/// Refuses reports on the same data: their differences would be nothing but rounding.
fn independent(reports: &[Named]) -> Result<(), Box<Diagnostic>> {
    let data = |one: &Named| {
        let files = one.report.manifest.outputs.iter();
        files
            .clone()
            .find(|file| file.path == PLOTS)
            .map(|file| file.sha256.clone())
    };
    for (at, one) in reports.iter().enumerate() {
        for other in &reports[..at] {
            if data(one).is_some() && data(one) == data(other) {
                return Err(Box::new(
                    Diagnostic::error(
                        "compare-reports",
                        "two of the reports hold the very same plot values",
                    )
                    .at(folder(&other.report.folder))
                    .at(folder(&one.report.folder))
                    .help("give reports of independent trials; 'caneplot verify' tells whether two runs agree"),
                ));
            }
        }
    }
    Ok(())
}

fn folder(path: &Path) -> Place {
    Place::whole(path)
}

/// What differs between the designs, and what the trials share that independent ones do not.
fn designs(sides: &[(&str, &EarlierReport)]) -> Vec<String> {
    let (first, report) = sides[0];
    let mut unlike = Vec::new();
    for (letter, other) in &sides[1..] {
        let (one, two) = (&report.trial, &other.trial);
        if one.design.kind != two.design.kind {
            unlike.push(format!(
                "The designs differ: {first} is a {} and {letter} a {}; each is compared by its own error.",
                resolve::kind_in_words(one.design.kind),
                resolve::kind_in_words(two.design.kind)
            ));
        }
        if one.seasons.len() != two.seasons.len() {
            unlike.push(format!(
                "{first} ran for {} and {letter} for {}: results over all seasons are compared, those of single seasons are not.",
                seasons(one),
                seasons(two)
            ));
        }
        let shared: Vec<&str> = report
            .manifest
            .inputs
            .iter()
            // Prices and the like may well be the same.
            .filter(|file| !file.path.ends_with(".toml"))
            .filter(|file| {
                other
                    .manifest
                    .inputs
                    .iter()
                    .any(|two| two.sha256 == file.sha256)
            })
            .map(|file| file.path.as_str())
            .collect();
        if !shared.is_empty() {
            unlike.push(format!(
                "{first} and {letter} were made from the same {}: if that means the same plots, they are not independent trials.",
                caneplot_plugin::words::list(&shared)
            ));
        }
    }
    unlike
}

fn seasons(trial: &TrialInfo) -> String {
    caneplot_plugin::words::counted(trial.seasons.len().max(1), "season")
}

fn nothing(reports: &[Named], unlike: &[String]) -> Diagnostic {
    let empty = reports
        .iter()
        .find(|one| one.report.estimates().next().is_none());
    match empty {
        Some(one) => Diagnostic::error(
            "compare-nothing",
            format!(
                "report {} holds no results for programs, which comparisons are made from",
                one.letter
            ),
        )
        .at(folder(&one.report.folder))
        .help("run its trial again with this version, and with 'anova', 'mixed', 'ratios' or 'counts' among its analyses"),
        None => Diagnostic::error(
            "compare-nothing",
            match unlike {
                [] => "nothing in these can be compared".to_owned(),
                some => format!("nothing in these can be compared. {}", some.join(" ")),
            },
        )
        .help("trials are compared where they name the same response, the same factor and two of its levels at least alike in their trial files"),
    }
}

/// What the analysis finds.
fn asked(
    questions: &[Json],
    level: Option<f64>,
    info: &TrialInfo,
    settings: &Settings,
) -> Result<Analysed, Vec<Diagnostic>> {
    let stop = |error: String| vec![Diagnostic::error("compare-answer", error)];
    let found = host::discover(&settings.plugin_dirs, &settings.limits);
    let plugin = found
        .plugin(ANALYSIS)
        .map_err(|error| stop(error.to_string()))?;
    let mut options = options::defaults(&plugin.manifest);
    if let Some(level) = level {
        let value = Json::from(level);
        let spec = plugin.manifest.options.iter().find(|it| it.name == "level");
        if let Some(mistake) = spec.and_then(|spec| options::mistake(plugin, spec, &value, info))
            && mistake.severity == Severity::Error
        {
            return Err(vec![mistake]);
        }
        options.insert("level".to_owned(), value);
    }
    let recorded = options.clone();
    options.insert(
        "asked".to_owned(),
        json!({ "questions": questions }).to_string().into(),
    );
    let job = Job {
        plugin,
        request: Request {
            analysis: plugin.name.clone(),
            options: Json::Object(options),
            trial: info.clone(),
            seed: SEED,
        },
    };
    let outcome = host::run_without_tables(&job, &settings.limits, settings.keep_jobs.as_deref());
    let findings = outcome.result.map_err(|error| match error {
        PluginError::Refused { refusal, .. } => stop(refusal.message),
        other => stop(other.to_string()),
    })?;
    Ok(Analysed {
        name: outcome.name,
        version: outcome.version,
        sha256: outcome.sha256,
        purpose: plugin.manifest.purpose.clone(),
        place: plugin.manifest.place,
        // What was asked is made from the inputs, whose hashes stand in the manifest.
        options: Json::Object(without_questions(recorded)),
        result: Ok(findings),
        notes: outcome.notes,
    })
}

fn without_questions(mut options: Map<String, Json>) -> Map<String, Json> {
    options.remove("asked");
    options
}

/// Writes the folder of the answer. Returns the figures that could not be drawn, with why.
///
/// # Errors
/// A diagnostic where the folder cannot be written.
pub fn write(
    compared: &Compared,
    place: &Path,
    settings: &Settings,
) -> Result<Vec<(String, String)>, Diagnostic> {
    let stop = |error: FolderError| Diagnostic::error("compare-folder", error.to_string());
    let mut draft = Draft::begin(place).map_err(stop)?;
    let reports: Vec<Json> = compared
        .reports
        .iter()
        .map(|one| {
            json!({
                "name": one.letter,
                "trial": one.report.manifest.trial,
                "title": one.report.trial.title,
                "seasons": one.report.trial.seasons,
            })
        })
        .collect();
    let mut more = Map::new();
    more.insert("reports".to_owned(), reports.into());
    if let Some(published) = &compared.published {
        more.insert("published".to_owned(), published.words().into());
    }
    more.insert("not_compared".to_owned(), compared.unlike.clone().into());
    let answer = Answer {
        name: "compare",
        title: "Trials compared",
        analysed: &compared.analysed,
        info: compared.info(),
        seed: SEED,
        inputs: &compared.inputs,
        more,
    };
    let text = |undrawn: &[(String, String)]| text::whole(compared, undrawn);
    let undrawn = answer::write(&mut draft, &answer, settings.threads, text).map_err(stop)?;
    draft.finish().map_err(stop)?;
    Ok(undrawn)
}

/// Nothing here is random; the record of a run has a seed all the same.
const SEED: u64 = 1;
