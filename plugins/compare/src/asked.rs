//! What the program hands over: the same treatments in several trials, question by question.

use caneplot_plugin::estimates::{Estimates, Kind};
use caneplot_plugin::findings::Format;
use caneplot_plugin::{Call, Refusal};
use serde::Deserialize;

/// All questions.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Asked {
    pub questions: Vec<Question>,
}

/// One response by one set of factors.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Question {
    /// Id of its section.
    pub id: String,
    /// Heading of its section.
    pub title: String,
    /// Name of the response.
    pub name: String,
    /// The response in words.
    pub label: String,
    pub unit: String,
    pub format: Format,
    pub kind: Kind,
    /// The treatments that all trials have, in words.
    pub treatments: Vec<String>,
    /// The one the others are held against.
    pub control: Option<usize>,
    pub trials: Vec<Trial>,
}

/// What one trial says.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Trial {
    /// How it is called: "A", "the published table".
    pub name: String,
    pub source: Source,
}

/// Where its numbers come from.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(crate) enum Source {
    /// A report: its estimates, and which of their treatments each common one is.
    Report {
        estimates: Box<Estimates>,
        at: Vec<usize>,
    },
    /// A published table.
    Published(Published),
}

/// A published table, numbers in the unit of the question.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Published {
    /// Means of the common treatments.
    pub means: Vec<f64>,
    /// How its error is given.
    pub error: Option<Error>,
    /// Degrees of freedom of the error.
    pub df: Option<f64>,
    /// Plots of each mean.
    pub plots: Option<f64>,
    /// Mean of all treatments of the table.
    pub mean: f64,
}

/// An error as it is given.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(crate) enum Error {
    /// Of each common mean.
    Means(Vec<f64>),
    /// Of a difference.
    Difference(f64),
    /// A least significant difference at a level.
    Least { value: f64, level: f64 },
    /// A coefficient of variation as a share.
    Variation(f64),
}

#[derive(Deserialize)]
struct Options {
    asked: Option<String>,
    level: f64,
}

/// The questions and the level.
pub(crate) fn asked(call: &Call) -> Result<(Asked, f64), Refusal> {
    let options: Options = call.options()?;
    let Some(text) = options.asked else {
        return Err(Refusal::new("no results of trials were handed over")
            .hint("this analysis answers 'caneplot compare'; it is not named in a trial file"));
    };
    let asked: Asked = serde_json::from_str(&text).map_err(|error| {
        Refusal::new(format!("the results of the trials cannot be read: {error}"))
    })?;
    for question in &asked.questions {
        fits(question)?;
    }
    Ok((asked, options.level))
}

/// Whether lengths and indices fit; they come from the program and are wrong by its fault only.
fn fits(question: &Question) -> Result<(), Refusal> {
    let n = question.treatments.len();
    let trial_fits = |trial: &Trial| match &trial.source {
        Source::Report { estimates, at } => {
            at.len() == n && at.iter().all(|one| *one < estimates.treatments.len())
        }
        Source::Published(table) => {
            let errors = match &table.error {
                Some(Error::Means(errors)) => errors.len(),
                _ => n,
            };
            table.means.len() == n && errors == n
        }
    };
    let control = question.control.is_none_or(|control| control < n);
    if n >= 2 && question.trials.len() >= 2 && control && question.trials.iter().all(trial_fits) {
        Ok(())
    } else {
        Err(Refusal::new(format!(
            "the results of '{}' do not fit each other",
            question.title
        )))
    }
}
