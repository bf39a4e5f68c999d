//! Parts of yield: which factor of vines × nodes × shoots per node × clusters per shoot × berries per
//! cluster × berry weight a treatment changed, and how far later factors made up for earlier ones.
//!
//! `measures` finds the amounts that were measured, `links` puts them in a row, `chain` brings them to logarithms of plots,
//! `decompose` compares treatments with their control, and the other modules write.

mod chain;
mod decompose;
mod figure;
mod links;
mod measures;
mod methods;
mod notes;
mod sentences;
mod tables;

#[cfg(test)]
mod tests;

use caneplot_plugin::findings::{FINDINGS_SCHEMA, Section, Statement};
use caneplot_plugin::{Analysis, Call, Findings, Refusal, words};
use caneplot_readings::{Register, sets};
use serde::Deserialize;

use crate::chain::Chain;
use crate::decompose::Decomposed;

/// The plugin.
struct Components;

caneplot_plugin::export_plugin!(Components);

/// Options as the manifest declares them.
#[derive(Debug, Clone, Copy, Deserialize)]
#[serde(deny_unknown_fields)]
struct Options {
    /// Confidence of the intervals.
    level: f64,
}

/// Most combinations of several factors that are compared one by one.
const MOST_COMBINATIONS: usize = 8;

impl Analysis for Components {
    const MANIFEST: &'static str = include_str!("manifest.json");

    fn analyse(&self, call: &Call) -> Result<Findings, Refusal> {
        let Options { level } = call.options()?;
        if !(0.5..=0.999).contains(&level) {
            return Err(
                Refusal::new(format!("a confidence level of {level} is not possible"))
                    .hint("write level = 0.95, or another number from 0.5 to 0.999"),
            );
        }
        let register = Register::of(call)?;
        let chain = Chain::of(call, &register)?;
        let occasions = match chain.occasions(&register) {
            Ok(occasions) => occasions,
            Err(refusal) => {
                return Ok(Findings {
                    schema: FINDINGS_SCHEMA,
                    sections: vec![without(&chain, &refusal)],
                    methods: Vec::new(),
                    references: Vec::new(),
                });
            }
        };
        let mut found = Vec::new();
        let mut sections = Vec::new();
        for factors in sets(&call.request.trial, MOST_COMBINATIONS) {
            match Decomposed::of(call, &register, &chain, &occasions, &factors, level) {
                Ok(decomposed) => found.push(decomposed),
                Err(refusal) => sections.push(refused(call, &factors, &refusal)),
            }
        }
        sections.splice(0..0, found.iter().map(section));
        if let Some(section) = sections.first_mut() {
            section.notes.extend(words::unadjusted(&call.request.trial));
        }
        let (methods, references) = methods::of(&found);
        Ok(Findings {
            schema: FINDINGS_SCHEMA,
            sections,
            methods,
            references,
        })
    }
}

fn section(found: &Decomposed<'_>) -> Section {
    Section {
        id: found.treatments().id(),
        title: format!(
            "Parts of yield by {}",
            words::inside(&found.treatments().heading())
        ),
        response: Some(found.chain.response.name.clone()),
        statements: sentences::of(found),
        tables: tables::of(found),
        figures: vec![figure::of(found)],
        notes: notes::of(found),
        estimates: Vec::new(),
    }
}

/// The section of factors whose levels cannot be compared, with the reason.
fn refused(call: &Call, factors: &[usize], refusal: &Refusal) -> Section {
    let factor = |&at: &usize| &call.request.trial.factors[at];
    let names: Vec<String> = factors
        .iter()
        .map(|at| words::inside(&factor(at).label))
        .collect();
    let ids: Vec<String> = factors
        .iter()
        .map(|at| words::id(&factor(at).name))
        .collect();
    let text = reason(
        &format!("Yield is not taken apart by {}", words::list(&names)),
        refusal,
    );
    Section {
        id: ids.join("-"),
        title: format!("Parts of yield by {}", words::list(&names)),
        statements: vec![Statement::new(text)],
        ..Section::default()
    }
}

/// The section of a trial whose yield cannot be taken apart at all, with the reason.
fn without(chain: &Chain<'_>, refusal: &Refusal) -> Section {
    Section {
        id: "parts".to_owned(),
        title: "Parts of yield".to_owned(),
        response: Some(chain.response.name.clone()),
        statements: vec![Statement::new(reason("Yield is not taken apart", refusal))],
        ..Section::default()
    }
}

/// A sentence with the reason of a refusal, and one that says what to do.
fn reason(start: &str, refusal: &Refusal) -> String {
    let message = words::safe(refusal.message.trim_end_matches('.'));
    let mut text = format!("{start}: {message}.");
    if let Some(hint) = &refusal.hint {
        let hint = hint.trim_end_matches('.');
        text.push_str(&format!(" {}.", words::beginning(hint)));
    }
    text
}
