//! Results of several trials side by side: how far treatment differences moved from one trial to
//! another, and what holds over several sites.
//!
//! It reads no table: the results come with the options, as the program found them in reports and in
//! a published table. `asked` is what comes, `seen` makes values with their errors of it, `study`
//! computes; `sentences`, `tables`, `figure`, `notes` and `methods` write.

mod asked;
mod figure;
mod methods;
mod notes;
mod seen;
mod sentences;
mod study;
mod tables;
#[cfg(test)]
mod tests;

use caneplot_plugin::findings::{FINDINGS_SCHEMA, Section};
use caneplot_plugin::{Analysis, Call, Findings, Refusal};

use crate::study::Study;

/// The plugin.
struct Compare;

caneplot_plugin::export_plugin!(Compare);

impl Analysis for Compare {
    const MANIFEST: &'static str = include_str!("manifest.json");

    fn analyse(&self, call: &Call) -> Result<Findings, Refusal> {
        let (asked, level) = asked::asked(call)?;
        let mut studies = Vec::new();
        for question in &asked.questions {
            studies.push(Study::of(question, level)?);
        }
        let sections = studies.iter().map(section).collect();
        let (methods, references) = methods::methods(&studies);
        Ok(Findings {
            schema: FINDINGS_SCHEMA,
            sections,
            methods,
            references,
        })
    }
}

fn section(study: &Study<'_>) -> Section {
    Section {
        id: study.question.id.clone(),
        title: study.question.title.clone(),
        response: Some(study.question.name.clone()),
        statements: sentences::statements(study),
        tables: tables::tables(study),
        figures: figure::figure(study).into_iter().collect(),
        notes: notes::notes(study),
        estimates: Vec::new(),
    }
}
