//! The options of trial.toml for this analysis.

use caneplot_plugin::request::{Basis, Quantity, Response};
use caneplot_plugin::{Call, Refusal};
use serde::Deserialize;

/// The options, complete.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Options {
    /// Confidence of the intervals.
    pub level: f64,
    responses: Option<Vec<String>>,
}

impl Options {
    pub fn of(call: &Call) -> Result<Self, Refusal> {
        let options: Self = call.options()?;
        if !(0.5..=0.999).contains(&options.level) {
            return Err(Refusal::new(format!(
                "a confidence level of {} is not possible",
                options.level
            ))
            .hint("write level = 0.95, or another number from 0.5 to 0.999"));
        }
        Ok(options)
    }

    /// Probability below which a test is clear.
    pub fn alpha(&self) -> f64 {
        1.0 - self.level
    }

    /// Whether the trial names responses.
    pub fn asked(&self) -> bool {
        self.responses.is_some()
    }

    /// The responses asked for, or those recorded on single vines: soluble solids first, then dates of
    /// bud break, then the others in the order of the trial. Percentages of counts are left to those
    /// who ask for them, because their spread follows from their mean.
    pub fn responses<'a>(&self, call: &'a Call) -> Result<Vec<&'a Response>, Refusal> {
        let all = &call.request.trial.responses;
        if let Some(names) = &self.responses {
            return names
                .iter()
                .map(|name| call.response(name, "responses"))
                .collect();
        }
        let wanted = |response: &&Response| {
            response.on_vines
                && response.basis != Basis::PlantedSpace
                && response.counts.is_none()
                && response.derived.is_none()
        };
        let mut found: Vec<&Response> = all.iter().filter(wanted).collect();
        found.sort_by_key(|response| match response.quantity {
            Quantity::SolubleSolids => 0,
            Quantity::BudBreak => 1,
            _ => 2,
        });
        if found.is_empty() {
            return Err(Refusal::new(
                "no response is recorded on single vines, so nothing tells how even a plot is",
            )
            .hint("record the response vine by vine and name the column of vines under [design] in trial.toml"));
        }
        Ok(found)
    }
}
