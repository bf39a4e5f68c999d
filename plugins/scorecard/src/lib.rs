//! Training systems side by side: every question a grower asks of one, and what this trial says to it.
//!
//! `systems` says which factor is one of training systems, `questions` what is asked and where the
//! answer stands, `answers` finds it among the results of other analyses, `section` writes. Nothing is
//! weighed against anything else: how much a ton of crop is worth beside an hour of work is for the
//! grower to say.

mod answers;
mod questions;
mod section;
mod systems;
#[cfg(test)]
mod tests;

use caneplot_plugin::findings::FINDINGS_SCHEMA;
use caneplot_plugin::{Analysis, Call, Findings, Refusal};
use serde::Deserialize;

/// The plugin.
struct Scorecard;

caneplot_plugin::export_plugin!(Scorecard);

/// The options, complete.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
struct Options {
    /// Name of the factor of training systems.
    factor: Option<String>,
}

impl Analysis for Scorecard {
    const MANIFEST: &'static str = include_str!("manifest.json");

    fn analyse(&self, call: &Call) -> Result<Findings, Refusal> {
        let options: Options = call.options()?;
        let trial = &call.request.trial;
        let sections = systems::factors(trial, options.factor.as_deref())?
            .into_iter()
            .map(|factor| section::of(trial, factor))
            .collect();
        Ok(Findings {
            schema: FINDINGS_SCHEMA,
            sections,
            methods: vec!["Training systems were set side by side by the results of the other analyses of this trial, question by question and without a total.".to_owned()],
            references: Vec::new(),
        })
    }
}
