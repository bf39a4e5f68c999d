//! The options of trial.toml for this analysis.

use caneplot_plugin::request::Response;
use caneplot_plugin::{Call, Refusal, words};
use serde::Deserialize;

use crate::margin::{self, Margin};

/// The options as the manifest declares them.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
struct Written {
    level: f64,
    margin: Option<String>,
    primary: Option<Vec<String>>,
    began: Option<String>,
    responses: Option<Vec<String>>,
}

/// The options, understood.
#[derive(Debug, Clone)]
pub(crate) struct Options {
    /// Probability below which a difference is clear.
    pub level: f64,
    /// Margin of each response that has one.
    margins: Vec<(String, Margin)>,
    /// The response the trial was laid out for.
    pub primary: Option<String>,
    /// The season in which the treatments began, as written.
    pub began: Option<String>,
    responses: Option<Vec<String>>,
}

impl Options {
    /// The options of a call.
    pub fn of(call: &Call) -> Result<Self, Refusal> {
        let written: Written = call.options()?;
        let known = &call.request.trial.responses;
        let names = written.responses.iter().chain(&written.primary).flatten();
        for name in names {
            if !known.iter().any(|response| &response.name == name) {
                return Err(Refusal::new(format!("the trial has no response '{name}'"))
                    .hint("correct the options of the analysis 'seasons'"));
            }
        }
        let primary = match written.primary.as_deref() {
            None | Some([]) => None,
            Some([one]) => Some(one.clone()),
            Some(several) => {
                return Err(Refusal::new(format!(
                    "{} responses are declared as primary ({}), and a trial has one",
                    several.len(),
                    words::list(several)
                ))
                .hint("keep one name in the option 'primary' of the analysis 'seasons'"));
            }
        };
        let margins = match &written.margin {
            Some(text) => margin::read(text, known)?,
            None => Vec::new(),
        };
        let wanted = primary.iter().chain(margins.iter().map(|(name, _)| name));
        for name in wanted {
            let chosen = written.responses.as_ref();
            if chosen.is_some_and(|chosen| !chosen.contains(name)) {
                return Err(Refusal::new(format!(
                    "'{name}' has a margin or is the primary response, and is not among the responses to analyse"
                ))
                .hint("add it to the option 'responses' of the analysis 'seasons', or leave that out"));
            }
        }
        Ok(Self {
            level: written.level,
            margins,
            primary,
            began: written.began,
            responses: written.responses,
        })
    }

    /// The responses to analyse, in the order of the trial.
    pub fn responses<'a>(&'a self, call: &'a Call) -> impl Iterator<Item = &'a Response> {
        call.request
            .trial
            .responses
            .iter()
            .filter(|response| match &self.responses {
                Some(chosen) => chosen.contains(&response.name),
                None => {
                    !(response.reckoned_again() || response.is_of_the_stand())
                        || self.primary.as_ref() == Some(&response.name)
                        || self.margin(&response.name).is_some()
                }
            })
    }

    /// The margin declared for a response.
    pub fn margin(&self, response: &str) -> Option<Margin> {
        let mut margins = self.margins.iter();
        margins
            .find(|(name, _)| name == response)
            .map(|(_, margin)| *margin)
    }

    /// The confidence of intervals of differences, such as "95 %".
    pub fn confidence(&self) -> String {
        words::percent(1.0 - self.level)
    }

    /// The confidence of intervals of equivalence, such as "90 %".
    pub fn equivalence_confidence(&self) -> String {
        words::percent(1.0 - 2.0 * self.level)
    }
}
