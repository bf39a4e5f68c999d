//! The options of trial.toml for this analysis.

use caneplot_plugin::words::percent;
use caneplot_plugin::{Call, Refusal};
use serde::Deserialize;

/// The options, complete.
#[derive(Debug, Clone, Copy, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Options {
    /// Confidence of intervals.
    pub level: f64,
    /// Draws of what the true means may be.
    pub draws: u64,
    /// Per cent by which a price without bounds is moved.
    pub swing: f64,
}

impl Options {
    pub fn of(call: &Call) -> Result<Self, Refusal> {
        call.options()
    }

    /// The confidence as a percentage, such as "95 %".
    pub fn confidence_words(&self) -> String {
        percent(self.level)
    }
}
