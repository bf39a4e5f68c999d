//! The size of a planned trial: a plan and the spread to expect go to the analysis `power`, its
//! answer to the terminal and, where wanted, into a folder.
//!
//! ```text
//! earlier    which part of an earlier report says how much plots vary
//! text       the answer as Markdown, short for the terminal and whole for the folder
//! ```
//!
//! Nothing is reckoned here.

use std::collections::BTreeMap;
use std::path::Path;

use caneplot_plugin::Request;
use caneplot_plugin::request::{Design, DesignKind, TrialInfo};
use serde_json::{Map, Value as Json};

use crate::Settings;
use crate::derive::info;
use crate::diagnostic::{Diagnostic, Place, Severity};
use crate::hash::sha256;
use crate::host::{self, Job, Plugin, PluginError, options};
use crate::plan::{Plan, judge};
use crate::write::answer::{self, Answer};
use crate::write::manifest::FileRecord;
use crate::write::{self, Analysed, Draft};

pub mod earlier;
pub mod text;

/// The analysis that answers.
pub const ANALYSIS: &str = "power";

/// Names of the mistakes that only this command can find.
pub const RULES: &[(&str, &str)] = &[
    (
        "size-report",
        "the earlier report can be read and has the response",
    ),
    (
        "size-difference",
        "the difference that matters is typed or stands in the plan",
    ),
    ("size-answer", "the plan and its spread allow an answer"),
    ("size-folder", "the folder of the answer can be written"),
];

/// What is asked beside the plan: options of the analysis by their names, in the order given.
#[derive(Debug, Clone, Default)]
pub struct Question {
    /// Options of the analysis.
    pub options: Map<String, Json>,
    /// Where those that stand in the plan are written; the others were typed.
    pub written: BTreeMap<String, Place>,
    /// Files read beside the plan.
    pub inputs: Vec<FileRecord>,
}

/// The answer.
#[derive(Debug, Clone)]
pub struct Sized {
    /// What the analysis gave.
    pub analysed: Analysed,
    /// The plan as the analysis saw it.
    pub info: TrialInfo,
    /// Its seed.
    pub seed: u64,
    /// Every file read.
    pub inputs: Vec<FileRecord>,
}

/// A file that was read, by its name alone: where it lay is nobody's business.
#[must_use]
pub fn record(path: &Path, bytes: &[u8]) -> FileRecord {
    FileRecord {
        path: path
            .file_name()
            .unwrap_or_default()
            .to_string_lossy()
            .into_owned(),
        sha256: sha256(bytes),
        bytes: bytes.len() as u64,
    }
}

/// Asks the analysis.
///
/// # Errors
/// What no layout of the plan could answer, options out of their range, or why the analysis gives no
/// answer.
pub fn sized(
    plan: &Plan,
    question: Question,
    settings: &Settings,
) -> Result<Sized, Vec<Diagnostic>> {
    judge::impossible(plan)?;
    let found = host::discover(&settings.plugin_dirs, &settings.limits);
    let plugin = found
        .plugin(ANALYSIS)
        .map_err(|error| vec![Diagnostic::error("size-answer", error.to_string())])?;
    let info = planned(plan);
    let mut options = options::defaults(&plugin.manifest);
    if plan.kind.value != DesignKind::LatinSquare {
        options.insert("blocks".to_owned(), plan.blocks.value.into());
    }
    options.insert("vines".to_owned(), plan.vines.value.into());
    let mut mistakes = Vec::new();
    for (name, value) in question.options {
        let spec = plugin
            .manifest
            .options
            .iter()
            .find(|spec| spec.name == name);
        if let Some(mistake) = spec.and_then(|spec| options::mistake(plugin, spec, &value, &info)) {
            mistakes.push(match question.written.get(&name) {
                Some(place) => mistake.at(place.clone()),
                None => Diagnostic {
                    message: flags(&mistake.message, &name),
                    ..mistake
                },
            });
        }
        options.insert(name, value);
    }
    if mistakes.iter().any(|one| one.severity == Severity::Error) {
        return Err(mistakes);
    }
    let job = Job {
        plugin,
        request: Request {
            analysis: plugin.name.clone(),
            options: Json::Object(options.clone()),
            trial: info.clone(),
            seed: plan.seed,
        },
    };
    let outcome = host::run_without_tables(&job, &settings.limits, settings.keep_jobs.as_deref());
    let findings = outcome
        .result
        .map_err(|error| vec![unanswered(error, plugin)])?;
    let read = FileRecord {
        path: "plan.toml".to_owned(),
        ..record(&plan.source.path, plan.source.text.as_bytes())
    };
    Ok(Sized {
        analysed: Analysed {
            name: outcome.name,
            version: outcome.version,
            sha256: outcome.sha256,
            purpose: plugin.manifest.purpose.clone(),
            place: plugin.manifest.place,
            options: Json::Object(options),
            result: Ok(findings),
            notes: outcome.notes,
        },
        info,
        seed: plan.seed,
        inputs: std::iter::once(read).chain(question.inputs).collect(),
    })
}

/// Why there is no answer: the analysis's own words, where it has some.
fn unanswered(error: PluginError, plugin: &Plugin) -> Diagnostic {
    let typed = |text: &str| {
        let names = plugin
            .manifest
            .options
            .iter()
            .map(|spec| spec.name.as_str());
        let mut names: Vec<&str> = names.collect();
        // The longest first: one name may be a part of another.
        names.sort_by_key(|name| std::cmp::Reverse(name.len()));
        names
            .iter()
            .fold(text.to_owned(), |text, name| flags(&text, name))
    };
    match error {
        PluginError::Refused { refusal, .. } => {
            let found = Diagnostic::error("size-answer", typed(&refusal.message));
            match &refusal.hint {
                Some(hint) => found.help(typed(hint)),
                None => found,
            }
        }
        other => Diagnostic::error("size-answer", other.to_string()),
    }
}

/// A sentence about an option as it is typed on the command line.
fn flags(message: &str, name: &str) -> String {
    match name.contains('_') {
        true => message.replace(name, &format!("--{}", name.replace('_', "-"))),
        false => message.to_owned(),
    }
}

/// The plan as an analysis sees a trial.
fn planned(plan: &Plan) -> TrialInfo {
    let square = plan.kind.value == DesignKind::LatinSquare;
    let free = plan.kind.value == DesignKind::CompletelyRandomised;
    TrialInfo {
        title: plan.title.clone(),
        question: plan.question.clone(),
        design: Design {
            kind: plan.kind.value,
            block: !square && !free,
            row_column: square,
            vine: plan.vines.value > 1,
            season: plan.seasons.len() > 1,
        },
        factors: plan.factors.iter().map(info::factor).collect(),
        seasons: plan.seasons.clone(),
        vineyard: info::vineyard(&plan.vineyard),
        ..TrialInfo::default()
    }
}

/// Writes the folder of the answer. Returns the figures that could not be drawn, with why.
///
/// # Errors
/// A diagnostic where the folder cannot be written.
pub fn write(
    sized: &Sized,
    place: &Path,
    settings: &Settings,
) -> Result<Vec<(String, String)>, Diagnostic> {
    let stop = |error: write::FolderError| Diagnostic::error("size-folder", error.to_string());
    let mut draft = Draft::begin(place).map_err(stop)?;
    let answer = Answer {
        name: "size",
        title: &sized.info.title,
        analysed: &sized.analysed,
        info: &sized.info,
        seed: sized.seed,
        inputs: &sized.inputs,
        more: Map::new(),
    };
    let text = |undrawn: &[(String, String)]| text::whole(sized, undrawn);
    let undrawn = answer::write(&mut draft, &answer, settings.threads, text).map_err(stop)?;
    draft.finish().map_err(stop)?;
    Ok(undrawn)
}
