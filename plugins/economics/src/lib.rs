//! What treatments are worth: partial budgets, what they rest on and how sure they are.
//!
//! Nothing is measured here: crop and hours come from the results of other analyses, prices and costs
//! from the trial's own file. `sets` says which treatments are compared, `areas` brings everything to
//! a hectare, `items` makes money of crop, work and costs, `study` reckons; `tables`, `sentences`,
//! `figures`, `notes`, `methods` and `results` write.

mod ahead;
mod areas;
mod figures;
mod items;
mod methods;
mod notes;
mod options;
mod results;
mod season;
mod section;
mod sensitivity;
mod sentences;
mod sets;
mod study;
mod tables;
#[cfg(test)]
mod tests;

use caneplot_plugin::findings::FINDINGS_SCHEMA;
use caneplot_plugin::{Analysis, Call, Findings, Refusal};

use crate::options::Options;

/// The plugin.
struct Economics;

caneplot_plugin::export_plugin!(Economics);

impl Analysis for Economics {
    const MANIFEST: &'static str = include_str!("manifest.json");

    fn analyse(&self, call: &Call) -> Result<Findings, Refusal> {
        let options = Options::of(call)?;
        let trial = &call.request.trial;
        let prices = trial.prices.as_ref().ok_or_else(|| {
            Refusal::new("the trial has no prices, and none are made up")
                .hint("put a file prices.toml beside trial.toml")
        })?;
        let crop = sets::crop(trial, prices)?;
        let sets = sets::sets(trial, &crop)?;
        let studies = sets
            .into_iter()
            .map(|set| study::Study::of(trial, prices, &options, &crop, set, call.request.seed))
            .collect::<Result<Vec<_>, _>>()?;
        let methods = methods::sentences(&studies, &options);
        Ok(Findings {
            schema: FINDINGS_SCHEMA,
            sections: studies.iter().map(section::of).collect(),
            references: methods::references(&methods),
            methods,
        })
    }
}
