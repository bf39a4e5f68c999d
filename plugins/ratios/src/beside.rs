//! Sentences that hold the ratios beside published ranges, or say why they are not.

use caneplot_plugin::findings::{Rank, Statement};
use caneplot_plugin::request::Canopy;

use crate::ranges::{Range, citation, conversion};
use crate::report::{Entry, Report};
use crate::verdict::{NoVerdict, Place, Verdict, rests_on_prunings};
use crate::words::{Sentence, listed};

/// A range in words with its unit: "4–10 kg/kg", "from 5 kg/kg".
#[must_use]
pub fn range_words(range: &Range) -> String {
    let unit = range.unit;
    match (range.low, range.high) {
        (Some(low), Some(high)) => format!("{low}–{high} {unit}"),
        (Some(low), None) => format!("from {low} {unit}"),
        (None, Some(high)) => format!("up to {high} {unit}"),
        (None, None) => String::new(),
    }
}

/// A range with its source and canopy.
fn range_with_source(range: &Range) -> String {
    let canopy = range.canopy.map_or("", |canopy| match canopy {
        Canopy::Divided => " for divided canopies",
        _ => " for single canopies",
    });
    format!(
        "{}{canopy} ({}: {})",
        range_words(range),
        citation(range.source).0,
        range.conditions
    )
}

/// Where the intervals lie beside the ranges that may judge them, a sentence a range.
#[must_use]
pub fn verdicts(report: &Report<'_>, entries: &[Entry<'_>], rank: Rank) -> Vec<Statement> {
    let mut judged: Vec<(&Range, Vec<(Place, &str)>)> = Vec::new();
    for entry in entries {
        if let Verdict::Beside(range, place) = report.verdict(entry) {
            let label = entry.treatment.label.as_str();
            match judged.iter_mut().find(|(known, _)| *known == range) {
                Some((_, places)) => places.push((place, label)),
                None => judged.push((range, vec![(place, label)])),
            }
        }
    }
    judged
        .into_iter()
        .map(|(range, mut places)| {
            places.sort_by_key(|(place, _)| *place);
            let mut parts: Vec<String> = Vec::new();
            for chunk in places.chunk_by(|a, b| a.0 == b.0) {
                let names: Vec<&str> = chunk.iter().map(|(_, label)| *label).collect();
                let whom = if names.len() == places.len() && names.len() > 2 {
                    format!("all {} treatments held against it", names.len())
                } else {
                    listed(&names)
                };
                parts.push(format!("{} for {whom}", chunk[0].0.words()));
            }
            let words = format!(
                "Beside the published range of {} the {} interval lies {}.",
                range_with_source(range),
                report.level_words(),
                parts.join("; ")
            );
            Sentence::default().text(&words).finish(rank)
        })
        .collect()
}

/// Why treatments have no verdict, a sentence a reason.
#[must_use]
pub fn reasons(report: &Report<'_>, entries: &[Entry<'_>]) -> Vec<Statement> {
    let Some(index) = report.ratio.index else {
        return Vec::new();
    };
    let mut given: Vec<(NoVerdict, Vec<&str>)> = Vec::new();
    for entry in entries {
        if let Verdict::None(why) = report.verdict(entry) {
            let label = entry.treatment.label.as_str();
            match given.iter_mut().find(|(known, _)| *known == why) {
                Some((_, labels)) => labels.push(label),
                None => given.push((why, vec![label])),
            }
        }
    }
    let all = |labels: &[&str]| {
        if labels.len() == entries.len() {
            "any treatment".to_owned()
        } else {
            listed(labels)
        }
    };
    given
        .into_iter()
        .filter_map(|(why, labels)| {
            let whom = all(&labels);
            let words = match why {
                NoVerdict::MinimallyPruned | NoVerdict::Hedged if rests_on_prunings(index) => format!(
                    "No published range is held against {whom}: one-year-old wood is not a suitable \
                     measure of what such vines can do ({}, on minimally pruned vines), so this index \
                     does not tell whether they are in balance.",
                    citation("clingeleffer-krake-1992").0
                ),
                NoVerdict::MinimallyPruned | NoVerdict::Hedged => format!(
                    "No published range is held against {whom}: the ranges kept here are not known to \
                     hold for minimally pruned or hedged vines."
                ),
                NoVerdict::FreeStanding => format!(
                    "There is no verdict on {whom}: these vines stand free, and the published ranges \
                     were made on trellised canopies."
                ),
                NoVerdict::CanopyUnknown => format!(
                    "There is no verdict on {whom}: the trial does not say which canopy the vines \
                     have, and the published ranges differ between single and divided canopies."
                ),
                NoVerdict::OtherGrapes => format!(
                    "There is no verdict on {whom}: no general range is published for the grapes of \
                     this trial ({}).",
                    report.trial.vineyard.grape.as_deref().unwrap_or("not declared")
                ),
                NoVerdict::NoInterval | NoVerdict::NoRange | NoVerdict::SeveralCanopies => {
                    return None;
                }
            };
            Some(Sentence::default().text(&words).finish(Rank::Result))
        })
        .collect()
}

/// The edges of a range in the ratio's own unit.
#[must_use]
pub fn edges(range: &Range, unit: &str) -> Option<(Option<f64>, Option<f64>)> {
    let factor = conversion(unit, range)?;
    Some((
        range.low.map(|v| v / factor),
        range.high.map(|v| v / factor),
    ))
}
