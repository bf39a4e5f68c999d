//! Records of winter that miss the harvests by one season: the sign of a winter declared the wrong
//! way round.

use super::{Facts, PRACTICE, Rule};
use crate::decimal::natural;
use crate::diagnostic::{Diagnostic, Severity};
use crate::load::season::{Belongs, belongs, is_dormant, moved, shift};
use crate::load::text::list;
use crate::trial::Winter;

/// Records of winter that lack a harvest at one end and stand beyond them at the other.
pub const SEASONS_SHIFTED: Rule = Rule {
    name: "seasons-shifted",
    severity: Severity::Error,
    source: PRACTICE,
    summary: "records of winter that miss the harvests by one season at both ends",
    threshold: None,
    look: |facts| {
        (0..facts.loaded.files.len())
            .filter_map(|at| Some(shifted(facts, at, &shift_of(facts, at)?)))
            .collect()
    },
};

/// Whether a file's winters miss the harvests by one season.
#[must_use]
pub fn is_shifted(facts: &Facts, at: usize) -> bool {
    shift_of(facts, at).is_some()
}

/// Seasons of a file's records of winter and of the harvests, each sorted.
struct Shift {
    winters: Vec<String>,
    harvests: Vec<String>,
}

/// The seasons of a file's winters and of the harvests, if they miss each other at both ends.
fn shift_of(facts: &Facts, at: usize) -> Option<Shift> {
    let file = &facts.loaded.files[at];
    let winter = file.winter?;
    // Prunings decide; a file without them is judged by what sets the harvest after.
    let of = |whose| sorted(winters(facts, at, winter, whose));
    let prunings = match of(Belongs::Before) {
        none if none.is_empty() => of(Belongs::After),
        prunings => prunings,
    };
    let of_season = facts.numbers().filter(|numbers| {
        let quantity = numbers.response.quantity;
        let dated = numbers.file.winter.is_none() || belongs(quantity) == Some(Belongs::Label);
        dated && !numbers.is_total && !is_dormant(quantity)
    });
    let harvests = of_season.flat_map(|numbers| recorded(numbers.part, numbers.file));
    let harvests = sorted(harvests.map(str::to_owned).collect());
    let declared = |season: &String| facts.trial.seasons.contains(season);
    let (first, last) = (prunings.first()?, prunings.last()?);
    let (first_harvest, last_harvest) = (harvests.first()?, harvests.last()?);
    let early = natural(first, first_harvest).is_lt()
        && !declared(first)
        && natural(last, last_harvest).is_lt();
    let late = natural(last, last_harvest).is_gt()
        && !declared(last)
        && natural(first, first_harvest).is_gt();
    (early || late).then_some(Shift {
        winters: prunings,
        harvests,
    })
}

/// Seasons that a file's records of winter belong to.
fn winters(facts: &Facts, at: usize, winter: Winter, whose: Belongs) -> Vec<String> {
    let file = &facts.loaded.files[at];
    let dormant = facts.numbers().filter(|numbers| {
        let quantity = numbers.response.quantity;
        numbers.part.file == at
            && !numbers.is_total
            && is_dormant(quantity)
            && belongs(quantity) == Some(whose)
    });
    let by = shift(Some(winter), whose);
    dormant
        .flat_map(|numbers| recorded(numbers.part, file))
        .filter_map(|label| moved(label, by))
        .collect()
}

/// Season labels of the records with a number.
fn recorded<'a>(part: &crate::load::Part, file: &'a crate::load::File) -> Vec<&'a str> {
    let Some(season) = &file.season else {
        return Vec::new();
    };
    let mut held = vec![false; season.names.len()];
    for (value, code) in part.values.iter().zip(&season.codes) {
        if let (Some(_), Some(code)) = (value, code) {
            held[*code as usize] = true;
        }
    }
    season
        .names
        .iter()
        .zip(held)
        .filter(|(_, held)| *held)
        .map(|(name, _)| name.as_str())
        .collect()
}

fn sorted(mut seasons: Vec<String>) -> Vec<String> {
    seasons.sort_by(|a, b| natural(a, b));
    seasons.dedup();
    seasons
}

fn shifted(facts: &Facts, at: usize, shift: &Shift) -> Diagnostic {
    let file = &facts.loaded.files[at];
    let (now, other) = match file.winter {
        Some(Winter::BeforeHarvest) => ("before harvest", "after harvest"),
        _ => ("after harvest", "before harvest"),
    };
    let extra: Vec<&String> = shift
        .winters
        .iter()
        .filter(|season| !shift.harvests.contains(season))
        .collect();
    let mut fault = Diagnostic::error(
        SEASONS_SHIFTED.name,
        format!(
            "seasons look shifted by one winter: read as winter = \"{now}\", {} gives records of the seasons {}, but the harvests are of {}",
            file.name,
            list(&shift.winters),
            list(&shift.harvests)
        ),
    );
    let span = facts.trial.data[at]
        .winter
        .as_ref()
        .map(|winter| &winter.span);
    fault = fault.at(facts
        .trial
        .place(span.unwrap_or(&facts.trial.data[at].file.span)));
    if let Some(season) = &file.season {
        fault = fault.at(file.origin.place(None, Some(&season.heading)));
    }
    fault.help(format!(
        "write winter = \"{other}\" if the labels mean the other winter; if they are right, add season {} to seasons in [trial], or delete its records",
        list(&extra)
    ))
}
