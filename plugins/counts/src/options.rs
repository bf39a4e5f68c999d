//! What a trial file may ask of this analysis.

use caneplot_numerics::counts::Family;
use serde::Deserialize;

/// The options, complete.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Options {
    /// Level of significance.
    pub level: f64,
    /// Distribution asked for.
    pub family: Choice,
    /// Responses asked for; `None` takes every count of the trial.
    #[serde(default)]
    pub responses: Option<Vec<String>>,
    /// Counts above their total become rates.
    #[serde(default)]
    pub apparent: bool,
}

/// The distribution asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
pub enum Choice {
    /// By the kind of count.
    #[serde(rename = "choose")]
    Choose,
    /// Binomial.
    #[serde(rename = "binomial")]
    Binomial,
    /// Poisson.
    #[serde(rename = "poisson")]
    Poisson,
    /// Negative binomial.
    #[serde(rename = "negative binomial")]
    NegativeBinomial,
}

impl Choice {
    /// The family for a count out of a total (`share`) or a count without a ceiling, or why the
    /// choice does not fit.
    ///
    /// # Errors
    /// A sentence's end that says what to ask for instead.
    pub fn family(self, share: bool) -> Result<Family, &'static str> {
        match (self, share) {
            (Choice::Choose | Choice::Binomial, true) => Ok(Family::Binomial),
            (Choice::Choose | Choice::Poisson, false) => Ok(Family::Poisson),
            (Choice::NegativeBinomial, false) => Ok(Family::NegativeBinomial),
            (_, true) => Err(
                "it is a count out of a total, for which only the binomial is right; set family to \"choose\" or \"binomial\"",
            ),
            (Choice::Binomial, false) => Err(
                "it has no total to be a part of, so the binomial does not apply; set family to \"choose\", \"poisson\" or \"negative binomial\"",
            ),
        }
    }
}
