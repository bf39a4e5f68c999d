//! Severity as done against severity as meant: the nodes left on vines beside the number that the
//! treatment says, or that a rule of balanced pruning gives for the vine's own prunings.
//!
//! Nothing here is an estimate: it is a record of what was done. `meant` says what a level asks for,
//! `records` puts nodes left beside it, `cells` sums up by treatment and season.

mod cells;
mod deviations;
mod figure;
mod meant;
mod methods;
mod notes;
mod options;
mod records;
mod section;
mod sentences;
mod tables;
mod units;

#[cfg(test)]
mod tests;

use caneplot_plugin::findings::{FINDINGS_SCHEMA, Section, Statement};
use caneplot_plugin::request::{Quantity, Response};
use caneplot_plugin::{Analysis, Call, Findings, Refusal, words};
use caneplot_readings::Register;

use crate::options::Options;

/// The plugin.
struct Severity;

caneplot_plugin::export_plugin!(Severity);

impl Analysis for Severity {
    const MANIFEST: &'static str = include_str!("manifest.json");

    fn analyse(&self, call: &Call) -> Result<Findings, Refusal> {
        let options: Options = call.options()?;
        let register = Register::of(call)?;
        let trial = &call.request.trial;
        let factors: Vec<usize> = (0..trial.factors.len())
            .filter(|&at| trial.factors[at].says_nodes())
            .collect();
        let left: Vec<&Response> = trial
            .responses
            .iter()
            .filter(|one| one.quantity == Quantity::NodesLeft && one.derived.is_none())
            .collect();
        if factors.is_empty() {
            return Err(Refusal::new(
                "no factor says how many nodes were to be left on a vine",
            )
            .hint("give a factor of nodes unit = \"nodes/vine\", or its levels rules of balanced pruning under [factors.NAME.rules]"));
        }
        if left.is_empty() {
            return Err(Refusal::new("the nodes left on the vines are not recorded")
                .hint("declare them as a response that is = \"nodes left\""));
        }
        let mut sections = Vec::new();
        let mut by_rule = false;
        for &factor in &factors {
            by_rule |= trial.factors[factor]
                .levels
                .iter()
                .any(|level| level.rule.is_some());
            for &response in &left {
                let id = section::id(call, factor, response, left.len());
                let found = section::section(call, &register, factor, response, &options, &id);
                sections.push(found.unwrap_or_else(|refusal| refused(&id, response, &refusal)));
            }
        }
        let (methods, references) = methods::methods(by_rule, &options);
        Ok(Findings {
            schema: FINDINGS_SCHEMA,
            sections,
            methods,
            references,
        })
    }
}

/// The section of nodes left that cannot be set against anything, with the reason.
fn refused(id: &str, response: &Response, refusal: &Refusal) -> Section {
    let mut text = format!(
        "Whether the pruning that was meant was done cannot be said: {}.",
        words::safe(refusal.message.trim_end_matches('.'))
    );
    if let Some(hint) = &refusal.hint {
        text.push_str(&format!(
            " {}.",
            words::beginning(hint.trim_end_matches('.'))
        ));
    }
    Section {
        id: id.to_owned(),
        title: section::TITLE.to_owned(),
        response: Some(response.name.clone()),
        statements: vec![Statement::new(text)],
        ..Section::default()
    }
}
