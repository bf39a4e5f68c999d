//! Which treatments of several trials are the same ones.

use caneplot_plugin::estimates::Estimates;
use caneplot_plugin::request::{Factor, TrialInfo};
use caneplot_plugin::words;

use crate::earlier::EarlierReport;

/// What tells a level from others: its quantity where it is a number, so that 24 is 24.0, else its
/// name.
fn key(factor: Option<&Factor>, name: &str) -> String {
    let level = factor.and_then(|factor| factor.levels.iter().find(|level| level.name == name));
    match level.and_then(|level| level.value) {
        Some(value) => value.to_string(),
        None => name
            .trim()
            .parse::<f64>()
            .map_or_else(|_| name.trim().to_owned(), |value| value.to_string()),
    }
}

fn factor<'a>(trial: &'a TrialInfo, name: &str) -> Option<&'a Factor> {
    trial.factors.iter().find(|factor| factor.name == name)
}

/// Keys of the levels of some factors.
#[must_use]
pub fn keys(trial: &TrialInfo, factors: &[String], levels: &[String]) -> Vec<String> {
    let pairs = factors.iter().zip(levels);
    pairs
        .map(|(name, level)| key(factor(trial, name), level))
        .collect()
}

/// Keys of every treatment of some results.
#[must_use]
pub fn all(trial: &TrialInfo, estimates: &Estimates) -> Vec<Vec<String>> {
    let treatments = estimates.treatments.iter();
    treatments
        .map(|one| keys(trial, &estimates.factors, &one.levels))
        .collect()
}

/// A treatment in words: "24 nodes/vine", "cane pruning with 24 nodes/vine".
#[must_use]
pub fn in_words(trial: &TrialInfo, factors: &[String], levels: &[String]) -> String {
    let parts: Vec<String> = factors
        .iter()
        .zip(levels)
        .map(|(name, level)| {
            let factor = factor(trial, name);
            let known = factor.and_then(|it| it.levels.iter().find(|one| one.name == *level));
            match (factor, known) {
                // Whoever makes a statement of it doubles the braces.
                (Some(factor), Some(level)) => words::level(factor, level)
                    .replace("{{", "{")
                    .replace("}}", "}"),
                _ => level.clone(),
            }
        })
        .collect();
    parts.join(" with ")
}

/// The control's keys, where every factor has one.
#[must_use]
pub fn control(trial: &TrialInfo, factors: &[String]) -> Option<Vec<String>> {
    let levels: Option<Vec<String>> = factors
        .iter()
        .map(|name| factor(trial, name)?.control.clone())
        .collect();
    Some(keys(trial, factors, &levels?))
}

/// What keeps factors of reports from being compared, in sentences; names the factors that can be.
#[must_use]
pub fn factors(reports: &[(&str, &EarlierReport)]) -> (Vec<String>, Vec<String>) {
    let (mut unlike, mut good): (Vec<String>, Vec<String>) = (Vec::new(), Vec::new());
    let mut seen: Vec<&str> = Vec::new();
    for (_, report) in reports {
        for one in &report.trial.factors {
            if seen.contains(&one.name.as_str()) {
                continue;
            }
            seen.push(&one.name);
            let holders: Vec<(&str, &Factor)> = reports
                .iter()
                .filter_map(|(name, report)| Some((*name, factor(&report.trial, &one.name)?)))
                .collect();
            if holders.len() < reports.len() {
                let names: Vec<&str> = holders.iter().map(|(name, _)| *name).collect();
                unlike.push(format!(
                    "The factor '{}' stands in {} only.",
                    one.name,
                    words::list(&names)
                ));
            }
            if holders.len() < 2 {
                continue;
            }
            let unit = |factor: &Factor| factor.unit.clone().unwrap_or_default();
            if let Some((other, differs)) = holders.iter().find(|(_, it)| unit(it) != unit(one)) {
                unlike.push(format!(
                    "The factor '{}' is in '{}' in {} and in '{}' in {other}: its levels cannot be compared.",
                    one.name,
                    unit(one),
                    holders[0].0,
                    unit(differs)
                ));
                continue;
            }
            unlike.extend(levels(&holders));
            good.push(one.name.clone());
        }
    }
    (unlike, good)
}

/// Levels that not all trials have.
fn levels(holders: &[(&str, &Factor)]) -> Vec<String> {
    let mut seen: Vec<String> = Vec::new();
    let mut unlike = Vec::new();
    for (_, one) in holders {
        for level in &one.levels {
            let own = key(Some(one), &level.name);
            if seen.contains(&own) {
                continue;
            }
            seen.push(own.clone());
            let has = |it: &Factor| {
                it.levels
                    .iter()
                    .any(|level| key(Some(it), &level.name) == own)
            };
            let names: Vec<&str> = holders
                .iter()
                .filter(|(_, factor)| has(factor))
                .map(|(name, _)| *name)
                .collect();
            if names.len() < holders.len() {
                unlike.push(format!(
                    "The level '{}' of '{}' stands in {} only.",
                    level.name,
                    one.name,
                    words::list(&names)
                ));
            }
        }
    }
    unlike
}
