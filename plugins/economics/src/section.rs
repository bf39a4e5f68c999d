//! The section of one set of treatments.

use caneplot_plugin::findings::Section;
use caneplot_plugin::words;

use crate::study::Study;
use crate::{figures, notes, results, sentences, tables};

/// "Money by training system", with everything in it.
pub(crate) fn of(study: &Study<'_>) -> Section {
    let names = study.set.factors.iter().map(|&at| &study.trial.factors[at]);
    let ids: Vec<String> = names
        .clone()
        .map(|factor| words::id(&factor.name))
        .collect();
    let labels: Vec<String> = names.map(|factor| words::inside(&factor.label)).collect();
    Section {
        id: format!("money-{}", ids.join("-")),
        title: format!("What it is worth, by {}", words::list(&labels)),
        response: None,
        statements: sentences::statements(study),
        tables: tables::tables(study),
        figures: figures::figures(study),
        notes: notes::notes(study),
        estimates: results::results(study),
    }
}
