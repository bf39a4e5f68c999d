//! Questions that several reports answer: the same response by the same factors, on the treatments
//! they have in common. What they have not in common becomes a sentence.

use std::collections::BTreeSet;

use caneplot_plugin::estimates::{Estimates, Kind};
use caneplot_plugin::words;
use serde_json::{Value as Json, json};

use super::{treatments, units};
use crate::earlier::{EarlierReport, Found};

/// What reports have in common, and what they have not.
#[derive(Debug, Clone, Default)]
pub struct Matched {
    /// Questions as the analysis takes them.
    pub questions: Vec<Json>,
    /// What cannot be compared, in sentences.
    pub unlike: Vec<String>,
}

/// Some results of one report.
struct Side<'a> {
    name: &'a str,
    report: &'a EarlierReport,
    estimates: Estimates,
}

/// What these reports, under these names, have in common.
#[must_use]
pub fn matched(reports: &[(&str, &EarlierReport)]) -> Matched {
    let (unlike, factors) = treatments::factors(reports);
    let mut matched = Matched {
        questions: Vec::new(),
        unlike,
    };
    let mut seen = BTreeSet::new();
    for (_, report) in reports {
        for found in report.estimates() {
            if seen.insert(found.estimates.name.clone()) {
                response(&mut matched, reports, &found.estimates.name, &factors);
            }
        }
    }
    matched
}

/// All questions about one response.
fn response(
    matched: &mut Matched,
    reports: &[(&str, &EarlierReport)],
    name: &str,
    factors: &[String],
) {
    let holders: Vec<(&str, &EarlierReport)> = reports
        .iter()
        .filter(|(_, report)| !over_seasons(report, name).is_empty())
        .copied()
        .collect();
    let Some(first) = holders
        .first()
        .and_then(|(_, report)| over_seasons(report, name).into_iter().next())
    else {
        return;
    };
    let label = first.0.label.clone();
    if holders.len() < reports.len() {
        let names: Vec<&str> = holders.iter().map(|(name, _)| *name).collect();
        matched.unlike.push(format!(
            "{label} has results over all seasons in {} only.",
            words::list(&names)
        ));
    }
    let mut sets: Vec<Vec<String>> = Vec::new();
    for (_, report) in &holders {
        for (estimates, _) in over_seasons(report, name) {
            if !sets.contains(&estimates.factors) {
                sets.push(estimates.factors.clone());
            }
        }
    }
    let mut said_units = false;
    for set in sets {
        if set.is_empty() || set.iter().any(|one| !factors.contains(one)) {
            continue;
        }
        let mut sides: Vec<Side<'_>> = Vec::new();
        for (letter, report) in &holders {
            let found = over_seasons(report, name);
            let Some((estimates, _)) = found.into_iter().find(|one| one.0.factors == set) else {
                continue;
            };
            match in_unit_of(&sides, letter, estimates) {
                Ok(estimates) => sides.push(Side {
                    name: letter,
                    report,
                    estimates,
                }),
                Err(why) if !said_units => {
                    matched.unlike.push(why);
                    said_units = true;
                }
                Err(_) => {}
            }
        }
        if sides.len() >= 2 {
            matched.questions.extend(question(&sides, &set));
        }
    }
    voices(matched, &holders, name, &label);
}

/// Results of a response over all seasons, with their analysis: those that speak for it, or where
/// these say nothing of differences, those of another analysis that does.
pub(super) fn over_seasons<'a>(
    report: &'a EarlierReport,
    name: &str,
) -> Vec<(&'a Estimates, &'a str)> {
    let whole = |found: &Found<'a>| {
        let estimates = found.estimates;
        estimates.season.is_none() && estimates.treatments.len() > 1 && estimates.name == name
    };
    let tells = |found: &Found<'a>| {
        !(found.estimates.differences.is_empty() && found.estimates.covariance.is_empty())
    };
    let mut found: Vec<Found<'a>> = report.speaking(name).into_iter().filter(whole).collect();
    if !found.iter().any(tells)
        && let Some(other) = report.estimates().find(|one| whole(one) && tells(one))
    {
        let of_other = |one: &Found<'a>| one.analysis.name == other.analysis.name;
        found = report
            .estimates()
            .filter(|one| whole(one) && of_other(one))
            .collect();
    }
    let named = found.into_iter();
    named
        .map(|found| (found.estimates, found.analysis.name.as_str()))
        .collect()
}

/// The results in the unit of the first trial.
fn in_unit_of(
    sides: &[Side<'_>],
    letter: &str,
    estimates: &Estimates,
) -> Result<Estimates, String> {
    let Some(first) = sides.first() else {
        return Ok(estimates.clone());
    };
    let (name, own) = (first.name, &first.estimates);
    let label = &estimates.label;
    if estimates.kind != own.kind {
        return Err(format!(
            "{label} is {} in {name} and {} in {letter}: the two cannot be compared.",
            kind(own.kind),
            kind(estimates.kind)
        ));
    }
    match units::factor(&estimates.unit, &own.unit) {
        Ok(factor) => Ok(units::scaled(estimates, factor, &own.unit)),
        Err(why) => Err(format!(
            "{label} is in '{}' in {name} and in '{}' in {letter}, and cannot be compared: {}. \
             Where the geometry of a trial allows it, report_in = \"{}\" in its trial file gives the other unit.",
            own.unit,
            estimates.unit,
            why.trim_end_matches('.'),
            own.unit
        )),
    }
}

fn kind(kind: Kind) -> &'static str {
    match kind {
        Kind::Mean => "a mean",
        Kind::Ratio => "a ratio of means",
        Kind::Share => "a share by a model of counts",
    }
}

/// Says where different analyses speak for a response.
fn voices(matched: &mut Matched, holders: &[(&str, &EarlierReport)], name: &str, label: &str) {
    let analyses: Vec<(&str, &str)> = holders
        .iter()
        .filter_map(|(letter, report)| Some((*letter, over_seasons(report, name).first()?.1)))
        .collect();
    if analyses
        .iter()
        .any(|(_, analysis)| *analysis != analyses[0].1)
    {
        let parts: Vec<String> = analyses
            .iter()
            .map(|(letter, analysis)| format!("'{analysis}' in {letter}"))
            .collect();
        matched.unlike.push(format!(
            "{label} was analysed in different ways, by {}; it is compared all the same.",
            words::list(&parts)
        ));
    }
}

/// A question, where the trials have two treatments in common.
fn question(sides: &[Side<'_>], factors: &[String]) -> Option<Json> {
    let first = &sides[0];
    let all: Vec<Vec<Vec<String>>> = sides
        .iter()
        .map(|side| treatments::all(&side.report.trial, &side.estimates))
        .collect();
    let common: Vec<usize> = (0..all[0].len())
        .filter(|&at| all.iter().all(|one| one.contains(&all[0][at])))
        .collect();
    if common.len() < 2 {
        return None;
    }
    let place = |side: usize, at: usize| all[side].iter().position(|one| *one == all[0][at]);
    let controls: Vec<Option<Vec<String>>> = sides
        .iter()
        .map(|side| treatments::control(&side.report.trial, factors))
        .collect();
    let control = controls[0]
        .as_ref()
        .and_then(|control| common.iter().position(|&at| all[0][at] == *control));
    let trials: Option<Vec<Json>> = sides
        .iter()
        .enumerate()
        .map(|(at, side)| {
            let places: Option<Vec<usize>> = common.iter().map(|&one| place(at, one)).collect();
            Some(json!({
                "name": side.name,
                "source": { "report": { "estimates": side.estimates, "at": places? } },
            }))
        })
        .collect();
    Some(json!({
        "id": id(&first.estimates, None),
        "title": title(first.report, &first.estimates),
        "name": first.estimates.name,
        "label": first.estimates.label,
        "unit": first.estimates.unit,
        "format": first.estimates.format,
        "kind": first.estimates.kind,
        "treatments": in_words(first.report, &first.estimates, &common),
        "control": control,
        "trials": trials?,
    }))
}

/// Some treatments of results in words.
pub(super) fn in_words(
    report: &EarlierReport,
    estimates: &Estimates,
    some: &[usize],
) -> Vec<String> {
    some.iter()
        .map(|&at| {
            let levels = &estimates.treatments[at].levels;
            treatments::in_words(&report.trial, &estimates.factors, levels)
        })
        .collect()
}

/// Id of a question's section.
pub(super) fn id(estimates: &Estimates, letter: Option<&str>) -> String {
    let mut parts = vec![estimates.name.as_str()];
    parts.extend(estimates.factors.iter().map(String::as_str));
    parts.extend(letter);
    words::id(&parts.join("-"))
}

/// Heading of a question's section: the response, and its factors where the trial has several.
pub(super) fn title(report: &EarlierReport, estimates: &Estimates) -> String {
    if report.trial.factors.len() < 2 {
        return estimates.label.clone();
    }
    let labels: Vec<&str> = estimates
        .factors
        .iter()
        .map(|name| {
            let factor = report.trial.factors.iter().find(|one| one.name == *name);
            factor.map_or(name.as_str(), |factor| factor.label.as_str())
        })
        .collect();
    format!("{}, by {}", estimates.label, labels.join(" × "))
}
