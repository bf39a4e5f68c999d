//! Response curves: how a response follows an amount such as nodes left at pruning, and where it
//! levels off or turns.
//!
//! `rows` turns the request into values with their places in the design, `units` into the units the
//! amount was applied to, `study` fits, `place` finds where a curve levels off or turns; the other
//! modules put the result into sentences, tables and figures.

mod economics;
mod equation;
mod figures;
mod members;
mod methods;
mod notes;
mod options;
mod parameters;
mod place;
mod result;
mod rows;
mod section;
mod sentences;
mod spend;
mod study;
mod tables;
mod units;
mod voice;

#[cfg(test)]
mod tests;

use caneplot_plugin::findings::{FINDINGS_SCHEMA, Section};
use caneplot_plugin::{Analysis, Call, Findings, Refusal, words};

use crate::methods::Used;
use crate::options::Options;
use crate::rows::Rows;
use crate::study::Study;

/// The plugin.
struct Response;

caneplot_plugin::export_plugin!(Response);

impl Analysis for Response {
    const MANIFEST: &'static str = include_str!("manifest.json");

    fn analyse(&self, call: &Call) -> Result<Findings, Refusal> {
        let options = Options::of(call)?;
        let trial = &call.request.trial;
        let numeric: Vec<usize> = (0..trial.factors.len())
            .filter(|&at| trial.factors[at].is_numeric())
            .collect();
        if numeric.is_empty() {
            return Err(Refusal::new("no factor of the trial is an amount")
                .hint("a curve needs a factor whose levels are numbers"));
        }
        let (curved, short): (Vec<usize>, Vec<usize>) = numeric
            .into_iter()
            .partition(|&at| trial.factors[at].levels.len() > 2);
        let mut sections: Vec<Section> = short
            .into_iter()
            .map(|at| section::too_few_levels(&trial.factors[at]))
            .collect();
        let mut used = Used::default();
        for response in options.responses(call) {
            let rows = Rows::of(call, response);
            for &factor in &curved {
                match &rows {
                    Ok(rows) => {
                        let study = Study::new(trial, &options, response, rows, factor);
                        used.note(&study);
                        sections.push(section::of(&study));
                    }
                    Err(refusal) => {
                        sections.push(section::refused(response, &trial.factors[factor], refusal));
                    }
                }
            }
        }
        if let Some(section) = sections.first_mut() {
            section.notes.extend(words::unadjusted(trial));
        }
        let methods = used.sentences(&options);
        Ok(Findings {
            schema: FINDINGS_SCHEMA,
            sections,
            references: Used::references(&methods),
            methods,
        })
    }
}
