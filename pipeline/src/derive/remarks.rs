//! What the report must say about the data that no table shows.

use std::collections::BTreeMap;

use super::reduce::Reduced;
use super::stand::Stand;
use crate::diagnostic::Diagnostic;
use crate::load::Loaded;
use crate::load::status::State;
use crate::load::text::{count, list};
use crate::trial::Trial;

/// Remarks on gaps in the stand and on responses without data.
#[must_use]
pub fn all(
    trial: &Trial,
    loaded: &Loaded,
    stand: &Stand,
    responses: &[Reduced],
) -> Vec<Diagnostic> {
    let mut remarks = gaps(trial, loaded, stand);
    for (response, reduced) in trial.responses.iter().zip(responses) {
        if !reduced.has_data() {
            remarks.push(
                Diagnostic::warning(
                    "no-data",
                    format!(
                        "response '{}' has no number that could be used and is left out",
                        response.name
                    ),
                )
                .at(trial.place(&response.column.span)),
            );
        }
    }
    remarks
}

/// The name of a plot's treatment: its levels in the order of the factors.
fn treatment(trial: &Trial, loaded: &Loaded, plot: u32) -> String {
    let levels = loaded.index.plots[plot as usize]
        .levels
        .iter()
        .zip(&trial.factors);
    let names = levels.map(|(level, factor)| match level {
        Some((level, _)) => factor.levels[*level as usize].label.clone(),
        None => "unknown".to_owned(),
    });
    names.collect::<Vec<_>>().join(", ")
}

fn gaps(trial: &Trial, loaded: &Loaded, stand: &Stand) -> Vec<Diagnostic> {
    let Some(status) = &trial.status else {
        return Vec::new();
    };
    let mut remarks = Vec::new();
    for (state, word) in [
        (State::Dead, "dead"),
        (State::Missing, "missing"),
        (State::Replanted, "replanted"),
        (State::Diseased, "diseased"),
    ] {
        let mut vines = 0;
        let mut by_treatment: BTreeMap<Vec<Option<u32>>, (usize, String)> = BTreeMap::new();
        for (vine, states) in loaded
            .index
            .vines
            .iter()
            .zip(stand.states.chunks(stand.seasons))
        {
            if !states.contains(&Some(state)) {
                continue;
            }
            vines += 1;
            let plot = &loaded.index.plots[vine.plot as usize];
            let key = plot
                .levels
                .iter()
                .map(|level| level.as_ref().map(|(level, _)| *level))
                .collect();
            let entry = by_treatment
                .entry(key)
                .or_insert_with(|| (0, treatment(trial, loaded, vine.plot)));
            entry.0 += 1;
        }
        if vines == 0 {
            continue;
        }
        let each: Vec<String> = by_treatment
            .values()
            .map(|(number, name)| format!("{name}: {number}"))
            .collect();
        let used = match state {
            State::Replanted => {
                "; they are left out of the means per living vine and count as planted"
            }
            State::Diseased => {
                "; they are left out of the means per living vine, and their spaces are no gaps"
            }
            _ => "; their spaces are gaps, left out of the means per living vine",
        };
        remarks.push(
            Diagnostic::note(
                "stand",
                format!("{} {word} ({}){used}", count(vines, "vine"), list(&each)),
            )
            .at(trial.place(&status.column.span)),
        );
    }
    remarks
}
