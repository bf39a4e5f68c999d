//! Analysis of variance for the designs of field trials: every treatment against the error of its
//! own stratum, means with the standard error of each kind of difference, and sentences that say
//! what came out.
//!
//! `readings` turns the request into the values of one response and their design, `study` computes,
//! and the other modules put the result into tables, sentences and figures.

mod analyst;
mod checks;
mod compare;
mod effects;
mod estimates;
mod figures;
mod influence;
mod interactions;
mod methods;
mod options;
mod readings;
mod scale;
mod seasons_alike;
mod section;
mod sentences;
mod study;
mod tables;
mod tradeoff;
mod trend;

#[cfg(test)]
mod tests;

use caneplot_plugin::findings::FINDINGS_SCHEMA;
use caneplot_plugin::{Analysis, Call, Findings, Refusal, words};

use crate::analyst::Analyst;
use crate::options::Options;

/// The plugin.
struct Anova;

caneplot_plugin::export_plugin!(Anova);

impl Analysis for Anova {
    const MANIFEST: &'static str = include_str!("manifest.json");

    fn analyse(&self, call: &Call) -> Result<Findings, Refusal> {
        let options = Options::of(call)?;
        caneplot_readings::sheets::possible(call)?;
        let analyst = Analyst::new(call, &options);
        let mut sections = Vec::new();
        let mut used = methods::Used::default();
        let mut studies = Vec::new();
        for response in options.responses(call) {
            match analyst.study(response) {
                Ok(study) => {
                    sections.push(section::of(&study, &mut used));
                    studies.push(study);
                }
                Err(refusal) => sections.push(section::refused(response, &refusal)),
            }
        }
        sections.extend(tradeoff::section(&studies));
        let methods = used.sentences(call, &options);
        Ok(Findings {
            schema: FINDINGS_SCHEMA,
            sections,
            references: methods::Used::references(&methods),
            methods,
        })
    }
}
