//! Values far from those of the same treatment and season.
//!
//! Distance is measured robustly, so that the value looked at does not hide itself: from the median,
//! in units of 1.4826 times the median absolute deviation, which estimates the standard deviation of
//! a normal sample (Hampel 1974). The median deviation of few values is often far too small, so the
//! larger one counts: that of the treatment, or that of all treatments of the season together.
//! Beyond 3.5 a value is named (Iglewicz and Hoaglin 1993). Counts out
//! of a count are left alone: their totals differ, so that the counts do not compare.

use std::collections::BTreeMap;

use super::stand::{self, Stand};
use super::{Facts, Numbers, Rule};
use crate::decimal::nearest_f64;
use crate::diagnostic::{Diagnostic, Severity};
use crate::load::text::list;

/// Values far from their mates.
pub const FAR_FROM_MATES: Rule = Rule {
    name: "far-from-mates",
    severity: Severity::Warning,
    source: "Hampel (1974), JASA 69:383-393; Iglewicz and Hoaglin (1993), How to Detect and Handle Outliers: modified z beyond 3.5",
    summary: "values far from the median of the same treatment and season, by the median absolute deviation",
    look: far_from_mates,
};

/// Modified z beyond which a value is named (Iglewicz and Hoaglin 1993).
const FAR: f64 = 3.5;
/// Median absolute deviation to standard deviation in a normal sample (Hampel 1974).
const NORMAL: f64 = 1.4826;
/// Values a treatment and season needs for a deviation of its own; our choice.
const ALONE: usize = 8;
/// Values of a treatment and season that count at all, and of a season to pool deviations; ours.
const FEWEST: usize = 3;
const POOLED: usize = 12;

struct Value {
    row: usize,
    value: f64,
}

type Groups = BTreeMap<Option<u32>, BTreeMap<Vec<u32>, Vec<Value>>>;

fn far_from_mates(facts: &Facts) -> Vec<Diagnostic> {
    let stand = stand::recorded(facts);
    facts
        .columns()
        .iter()
        .filter(|numbers| !numbers.is_total && numbers.response.of.is_none())
        .flat_map(|numbers| of_column(facts, numbers, stand.as_ref()))
        .collect()
}

fn of_column(facts: &Facts, numbers: &Numbers, stand: Option<&Stand>) -> Option<Diagnostic> {
    let mut far: Vec<(usize, f64, f64)> = Vec::new();
    for treatments in groups(facts, numbers, stand).into_values() {
        let mut pooled: Vec<f64> = Vec::new();
        let mut measured: Vec<(f64, f64, &Vec<Value>)> = Vec::new();
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
            measured.push((middle, own, values));
        }
        let of_season = if pooled.len() >= POOLED {
            NORMAL * median(pooled)
        } else {
            0.0
        };
        for (middle, own, values) in measured {
            name_far(&mut far, values, middle, own.max(of_season));
        }
    }
    report(facts, numbers, far)
}

/// By how much deviations from the median of so few values are too small, so that pooled ones
/// estimate the standard deviation: found by simulating 40,000 normal values of each size.
fn from_few(values: usize) -> f64 {
    match values {
        ..=3 => 2.15,
        4 | 5 => 1.38,
        6 => 1.29,
        7 => 1.22,
        8 => 1.19,
        9..=12 => 1.14,
        _ => 1.0 + 1.3 / values as f64,
    }
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

fn median(mut values: Vec<f64>) -> f64 {
    if values.is_empty() {
        return 0.0;
    }
    let middle = values.len() / 2;
    let (below, upper, _) = values.select_nth_unstable_by(middle, f64::total_cmp);
    let upper = *upper;
    if below.len() < middle || values.len() % 2 == 1 {
        return upper;
    }
    let lower = values[..middle]
        .iter()
        .copied()
        .fold(f64::NEG_INFINITY, f64::max);
    f64::midpoint(lower, upper)
}

fn name_far(far: &mut Vec<(usize, f64, f64)>, values: &[Value], middle: f64, spread: f64) {
    if spread <= 0.0 {
        return;
    }
    for value in values {
        let distance = (value.value - middle) / spread;
        if distance.abs() > FAR {
            far.push((value.row, middle, distance));
        }
    }
}

fn report(facts: &Facts, numbers: &Numbers, mut far: Vec<(usize, f64, f64)>) -> Option<Diagnostic> {
    let Numbers {
        part,
        file,
        response,
        ..
    } = numbers;
    far.sort_by(|a, b| b.2.abs().total_cmp(&a.2.abs()).then(a.0.cmp(&b.0)));
    let (first, ..) = far.first()?;
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
    Some(
        Diagnostic::warning(
            FAR_FROM_MATES.name,
            format!(
                "{} {noun} of '{}' in {} {verb} far from the same treatment and season (beyond {FAR} robust standard deviations): {}",
                names.len(),
                response.name,
                file.name,
                list(&names)
            ),
        )
        .at(part.place(file, *first))
        .help("look the value up in the field book; if it was measured so, keep it"),
    )
}

#[cfg(test)]
mod tests {
    use super::median;

    #[test]
    fn the_median_of_an_even_number_is_midway() {
        assert_eq!(median(vec![4.0, 1.0, 3.0, 2.0]), 2.5);
        assert_eq!(median(vec![9.0, 1.0, 3.0]), 3.0);
        assert_eq!(median(vec![5.0, 1.0]), 3.0);
    }
}
