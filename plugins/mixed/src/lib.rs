//! Mixed models for field trials: treatments against the errors that the design gives them, also
//! where plots are missing, seasons repeat on the same plots or a covariate was recorded beforehand.
//!
//! `readings` (with `records`, `covariates`, `usable`, `sources`) turns the request into the values of
//! one response, `making` states the problem (its scale, its error variances), `choice` fits the
//! covariance over seasons, `study` answers questions about the fit, and the other modules put the
//! answers into tables, sentences and figures.

mod adjusting;
mod agreement;
mod checks;
mod choice;
mod components;
mod covariates;
mod difference_tables;
mod effects;
mod estimates;
mod figures;
mod influence;
mod making;
mod margins;
mod marks;
mod mean_tables;
mod means;
mod methods;
mod numbers;
mod options;
mod places;
mod readings;
mod records;
mod scale;
mod section;
mod sentences;
mod sources;
mod spreads;
mod structures;
mod study;
mod tests_table;
mod trend;
mod usable;
mod vines;

#[cfg(test)]
mod tests;

use caneplot_numerics::critical::Critical;
use caneplot_plugin::findings::FINDINGS_SCHEMA;
use caneplot_plugin::{Analysis, Call, Findings, Refusal};

use crate::methods::Used;
use crate::options::Options;
use crate::study::{Given, Study};

/// The plugin.
struct Mixed;

caneplot_plugin::export_plugin!(Mixed);

impl Analysis for Mixed {
    const MANIFEST: &'static str = include_str!("manifest.json");

    fn analyse(&self, call: &Call) -> Result<Findings, Refusal> {
        let options = Options::of(call)?;
        let keys = readings::plot_names(call)?;
        let given = Given {
            call,
            covariates: covariates::of(call, &options, &keys)?,
            criticals: Critical::default(),
            vines: vines::of(call)?,
            options,
            keys,
        };
        let mut used = Used::default();
        let sections = given
            .options
            .responses(call)
            .map(|response| match Study::new(&given, response) {
                Ok(study) => section::of(&study, &mut used),
                Err(refusal) => section::refused(response, &refusal),
            })
            .collect();
        let methods = used.sentences(call, &given.options);
        Ok(Findings {
            schema: FINDINGS_SCHEMA,
            sections,
            references: Used::references(&methods),
            methods,
        })
    }
}
