//! Randomisation tests beside the F tests: how often would the lottery that laid out the trial, had
//! the treatments done nothing, have made them look as different as they did?
//!
//! `readings` turns the request into values and their design, `tested` computes, `table`,
//! `sentences` and `notes` write.

mod notes;
mod options;
mod readings;
mod sentences;
mod table;
mod tested;
#[cfg(test)]
mod tests;
mod words;

use caneplot_plugin::findings::{FINDINGS_SCHEMA, Section};
use caneplot_plugin::{Analysis, Call, Findings, Refusal};

use crate::options::Options;
use crate::tested::Results;

/// The plugin.
struct Randomisation;

caneplot_plugin::export_plugin!(Randomisation);

impl Analysis for Randomisation {
    const MANIFEST: &'static str = include_str!("manifest.json");

    fn analyse(&self, call: &Call) -> Result<Findings, Refusal> {
        let options = Options::of(call)?;
        caneplot_readings::sheets::possible(call)?;
        let results = Results::of(call, &options);
        let (methods, references) = notes::methods(&results, &options);
        Ok(Findings {
            schema: FINDINGS_SCHEMA,
            sections: vec![Section {
                id: "tests".to_owned(),
                title: "Shuffling the treatments".to_owned(),
                statements: sentences::statements(&results, &options),
                tables: table::table(&results).into_iter().collect(),
                notes: notes::notes(call, &results, &options),
                ..Section::default()
            }],
            methods,
            references,
        })
    }
}
