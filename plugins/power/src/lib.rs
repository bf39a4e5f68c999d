//! The size of a trial that is planned: power of every term, the difference that can be detected,
//! what more blocks, vines and seasons buy, and which split of them is cheapest.
//!
//! It reads no table: the design comes with the trial, the rest with the options. `options`
//! understands them, `earlier` takes parts of variance from the report of another trial, `parts` says
//! what they add to the strata of `planned`; `reckon`, `growth`, `money`, `losses` and `lasting`
//! compute, `tables`, `figures`, `sentences`, `notes` and `methods` write.

mod earlier;
mod figures;
mod growth;
mod lasting;
mod losses;
mod methods;
mod money;
mod notes;
mod options;
mod parts;
mod planned;
mod reckon;
mod sentences;
mod study;
mod tables;
#[cfg(test)]
mod tests;

use caneplot_plugin::findings::{FINDINGS_SCHEMA, Section};
use caneplot_plugin::{Analysis, Call, Findings, Refusal};

use crate::study::Study;

/// The plugin.
struct Power;

caneplot_plugin::export_plugin!(Power);

impl Analysis for Power {
    const MANIFEST: &'static str = include_str!("manifest.json");

    fn analyse(&self, call: &Call) -> Result<Findings, Refusal> {
        let study = Study::of(call)?;
        let (methods, references) = methods::methods(&study);
        Ok(Findings {
            schema: FINDINGS_SCHEMA,
            sections: vec![Section {
                id: "size".to_owned(),
                title: "Size of the trial".to_owned(),
                statements: sentences::statements(&study),
                tables: tables::tables(&study),
                figures: figures::figures(&study),
                notes: notes::notes(&study),
                ..Section::default()
            }],
            methods,
            references,
        })
    }
}
