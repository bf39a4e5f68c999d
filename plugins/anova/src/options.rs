//! The options of trial.toml for this analysis.

use caneplot_plugin::request::Response;
use caneplot_plugin::words::percent;
use caneplot_plugin::{Call, Refusal};
use serde::Deserialize;

/// How means are told apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(crate) enum Separation {
    Tukey,
    Lsd,
    Dunnett,
    Holm,
    None,
}

/// Where blocks × seasons goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(crate) enum BlockSeason {
    Pooled,
    Separate,
}

/// On which other scale a response is analysed beside that of its values.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
pub(crate) enum OtherScale {
    /// None.
    #[serde(rename = "as measured")]
    AsMeasured,
    /// That of logarithms, for every response.
    #[serde(rename = "log")]
    Log,
    /// The one the values point to, where the checks are positive.
    #[serde(rename = "choose")]
    Choose,
}

/// The options, complete.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Options {
    pub separation: Separation,
    pub level: f64,
    pub block_season: BlockSeason,
    pub scale: OtherScale,
    responses: Option<Vec<String>>,
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

    /// The responses to analyse, in the order of the trial.
    pub fn responses<'a>(&'a self, call: &'a Call) -> impl Iterator<Item = &'a Response> {
        call.chosen(self.responses.as_deref())
    }

    /// The level as a percentage, such as "5 %".
    pub fn level_words(&self) -> String {
        percent(self.level)
    }

    /// The confidence of intervals, such as "95 %".
    pub fn confidence_words(&self) -> String {
        percent(1.0 - self.level)
    }
}
