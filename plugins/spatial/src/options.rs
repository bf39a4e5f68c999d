//! The options of trial.toml for this analysis.

use caneplot_plugin::request::Response;
use caneplot_plugin::words::percent;
use caneplot_plugin::{Call, Refusal};
use serde::Deserialize;

/// What row and position may do to a response.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(crate) enum Trend {
    Linear,
    Quadratic,
}

/// The options, complete.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Options {
    responses: Option<Vec<String>>,
    pub level: f64,
    pub field_trend: Trend,
    pub distance: Option<f64>,
    pub exchanges: u64,
}

impl Options {
    /// The options of a call.
    pub fn of(call: &Call) -> Result<Self, Refusal> {
        let options: Self = call.options()?;
        for name in options.responses.iter().flatten() {
            call.response(name, "responses")?;
        }
        Ok(options)
    }

    /// The responses to look at, in the order of the trial.
    pub fn responses<'a>(&'a self, call: &'a Call) -> impl Iterator<Item = &'a Response> {
        call.chosen(self.responses.as_deref())
    }

    /// The level as a percentage, such as "5 %".
    pub fn level_words(&self) -> String {
        percent(self.level)
    }
}
