//! Values far from those of the same treatment and season.
//!
//! Distance is measured robustly, so that the value looked at does not hide itself: from the median,
//! in units of 1.4826 times the median absolute deviation, which estimates the standard deviation of
//! a normal sample (Hampel 1974). The median deviation of few values is often far too small, so the
//! largest one counts: that of the treatment, that of all treatments of the season together, or that
//! of all seasons, each of the two taken two standard errors high.
//! Beyond 3.5, if the trial file says nothing else, a value is named (Iglewicz and Hoaglin 1993). Counts out
//! of a count are left alone: their totals differ, so that the counts do not compare.

use std::collections::BTreeMap;

use super::robust::{NORMAL, cautious_spread, from_few, median};
use super::stand::{self, Stand};
use super::{Facts, Numbers, Rule};
use crate::decimal::nearest_f64;
use crate::diagnostic::{Diagnostic, Severity};
use crate::load::text::list;
use crate::trial::checks::Threshold;

/// Values far from their mates.
pub const FAR_FROM_MATES: Rule = Rule {
    name: "far-from-mates",
    severity: Severity::Warning,
    source: "Hampel (1974), JASA 69:383-393; Iglewicz and Hoaglin (1993), How to Detect and Handle Outliers: modified z beyond 3.5",
    summary: "values far from the median of the same treatment and season, by the median absolute deviation",
    threshold: Some(Threshold::FarValue),
    look: far_from_mates,
};

/// Values a treatment and season needs for a deviation of its own; our choice.
const ALONE: usize = 8;
/// Values of a treatment and season that count at all, and of a season to pool deviations; ours.
const FEWEST: usize = 3;
const POOLED: usize = 12;

struct Value {
    row: usize,
    value: f64,
}

/// The values of a treatment and season.
struct Measured<'a> {
    middle: f64,
    own: f64,
    values: &'a [Value],
}

/// Robust standard deviation of pooled deviations; 0 of too few.
fn spread_of(pooled: Vec<f64>) -> f64 {
    if pooled.len() >= POOLED {
        cautious_spread(pooled)
    } else {
        0.0
    }
}

type Groups = BTreeMap<Option<u32>, BTreeMap<Vec<u32>, Vec<Value>>>;

fn far_from_mates(facts: &Facts) -> Vec<Diagnostic> {
    let Some(limit) = facts.trial.checks.number(Threshold::FarValue) else {
        return Vec::new();
    };
    let stand = stand::recorded(facts);
    facts
        .columns()
        .iter()
        .filter(|numbers| !numbers.is_total && numbers.response.of.is_none())
        .flat_map(|numbers| of_column(facts, numbers, stand.as_ref(), limit))
        .collect()
}

fn of_column(
    facts: &Facts,
    numbers: &Numbers,
    stand: Option<&Stand>,
    limit: f64,
) -> Option<Diagnostic> {
    let mut far: Vec<(usize, f64, f64)> = Vec::new();
    let mut of_trial: Vec<f64> = Vec::new();
    let mut seasons: Vec<(f64, Vec<Measured>)> = Vec::new();
    let groups = groups(facts, numbers, stand);
    for treatments in groups.values() {
        let mut pooled: Vec<f64> = Vec::new();
        let mut measured: Vec<Measured> = Vec::new();
        for values in treatments.values().filter(|values| values.len() >= FEWEST) {
            let middle = median(values.iter().map(|value| value.value).collect());
            let away: Vec<f64> = values
                .iter()
                .map(|value| (value.value - middle).abs())
                .collect();
            pooled.extend(away.iter().map(|away| away * from_few(values.len())));
            let own = if values.len() >= ALONE {
                NORMAL * median(away)
            } else {
                0.0
            };
            measured.push(Measured {
                middle,
                own,
                values,
            });
        }
        of_trial.extend(&pooled);
        seasons.push((spread_of(pooled), measured));
    }
    // The spread of one season of few plots is uncertain; that of all seasons is less so.
    let of_trial = spread_of(of_trial);
    for (of_season, measured) in seasons {
        for one in measured {
            let spread = one.own.max(of_season).max(of_trial);
            name_far(&mut far, one.values, one.middle, spread, limit);
        }
    }
    report(facts, numbers, far, limit)
}

fn groups(facts: &Facts, numbers: &Numbers, stand: Option<&Stand>) -> Groups {
    let Numbers {
        part,
        file,
        response,
        ..
    } = numbers;
    let whose = file.belongs(response.quantity);
    let treatments: Vec<Option<Vec<u32>>> = facts
        .loaded
        .index
        .plots
        .iter()
        .map(|plot| plot.treatment())
        .collect();
    let impossible = super::ranges::impossible(numbers);
    let mut groups = Groups::new();
    for (row, value) in part.values.iter().enumerate() {
        let (Some(value), Some(plot)) = (value, file.plots[row]) else {
            continue;
        };
        let gap = stand.is_some_and(|stand| stand.gap(numbers, row).is_some());
        if gap || impossible(value) {
            continue;
        }
        let Some(treatment) = &treatments[plot as usize] else {
            continue;
        };
        let season = file.season_of(row, whose);
        let season = groups.entry(season).or_default();
        let value = Value {
            row,
            value: nearest_f64(*value),
        };
        match season.get_mut(treatment) {
            Some(values) => values.push(value),
            None => drop(season.insert(treatment.clone(), vec![value])),
        }
    }
    groups
}

fn name_far(
    far: &mut Vec<(usize, f64, f64)>,
    values: &[Value],
    middle: f64,
    spread: f64,
    limit: f64,
) {
    if spread <= 0.0 {
        return;
    }
    for value in values {
        let distance = (value.value - middle) / spread;
        if distance.abs() > limit {
            far.push((value.row, middle, distance));
        }
    }
}

fn report(
    facts: &Facts,
    numbers: &Numbers,
    mut far: Vec<(usize, f64, f64)>,
    limit: f64,
) -> Option<Diagnostic> {
    let Numbers {
        part,
        file,
        response,
        ..
    } = numbers;
    far.sort_by(|a, b| b.2.abs().total_cmp(&a.2.abs()).then(a.0.cmp(&b.0)));
    if far.is_empty() {
        return None;
    }
    let names: Vec<String> = far
        .iter()
        .map(|(row, middle, distance)| {
            let value = part.values[*row].unwrap_or_default();
            format!(
                "{value} on line {} ({}; median {}, distance {distance:.1})",
                file.lines[*row],
                facts.whose(file, *row),
                // A mean of two decimals, without the noise of binary fractions.
                (middle * 1e9).round() / 1e9,
            )
        })
        .collect();
    let (verb, noun) = if names.len() == 1 {
        ("lies", "value")
    } else {
        ("lie", "values")
    };
    let warning = Diagnostic::warning(
            FAR_FROM_MATES.name,
            format!(
                "{} {noun} of '{}' in {} {verb} far from the same treatment and season (beyond {limit} robust standard deviations): {}",
                names.len(),
                response.name,
                file.name,
                list(&names)
            ),
        )
        .help("look the value up in the field book; if it was measured so, keep it");
    Some(far.iter().fold(warning, |warning, (row, ..)| {
        warning.at(part.place(file, *row))
    }))
}
