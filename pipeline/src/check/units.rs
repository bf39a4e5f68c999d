//! Numbers in another unit than their column: a value, a plot or a season that is off by the factor
//! between two units, or by a decimal point.

use std::collections::HashMap;

use super::mates::{Grouping, Item, Mates, PlotValue, items, plots};
use super::robust::median;
use super::stand::{self, Stand};
use super::suspects::{Suspect, brief, warnings};
use super::{Facts, Numbers, PRACTICE, Rule};
use crate::decimal::nearest_f64;
use crate::diagnostic::{Diagnostic, Severity};
use crate::trial::checks::Threshold;
use crate::trial::unit::{Dimension, Per};

/// Single values and plots in another unit.
pub const UNIT_SLIP: Rule = Rule {
    name: "unit-slip",
    severity: Severity::Warning,
    source: PRACTICE,
    summary: "values and plots that are off their treatment and season by the factor between two units (2.2046, 16, 35.27, 453.6, 1000 for masses) or by a decimal point, and fit once divided by it",
    threshold: Some(Threshold::UnitSlip),
    look: unit_slip,
};

/// Whole seasons in another unit.
pub const UNIT_OF_SEASON: Rule = Rule {
    name: "unit-of-season",
    severity: Severity::Warning,
    source: PRACTICE,
    summary: "a season whose median is 10 times or more off the other seasons, near a factor between two units: grams in one year and kilograms in another",
    threshold: Some(Threshold::UnitOfSeason),
    look: unit_of_season,
};

/// Pounds in a kilogram: 1 lb = 0.45359237 kg (international avoirdupois pound, 1959).
const POUNDS: f64 = 1.0 / 0.453_592_37;
/// How near its mates a value must come, in robust standard deviations, once divided.
const NEAR: f64 = 2.0;

/// Part of the threshold by which a vine must differ from its own other seasons as well: a vine that
/// is weak or strong every year is no slip.
const WEAK: f64 = 0.75;

/// A factor and what gives it.
type Slip = (f64, &'static str);

const POINT: [Slip; 2] = [
    (10.0, "a decimal point may be missing or one place off"),
    (100.0, "a decimal point may be missing or two places off"),
];

/// Factors of a column.
fn slips(numbers: &Numbers) -> Vec<Slip> {
    let unit = &numbers.response.unit;
    let mut slips: Vec<Slip> = match (unit.dimension(), unit.per()) {
        // Sulphuric for tartaric acid: 75.04 over 49.04 g a mole of acid (standard chemistry).
        (Dimension::Mass, Per::Volume) => vec![
            (1.53, "it may be reckoned as another acid"),
            (
                10.0,
                "it may be in g/100 mL instead of g/L, or the other way round",
            ),
        ],
        (Dimension::Mass, _) => vec![
            (
                POUNDS,
                "it may be in lb instead of kg, or the other way round",
            ),
            (
                16.0,
                "it may be in oz instead of lb, or the other way round",
            ),
            (
                16.0 * POUNDS,
                "it may be in oz instead of kg, or the other way round",
            ),
            (
                1000.0 / POUNDS,
                "it may be in g instead of lb, or the other way round",
            ),
            (
                1000.0,
                "it may be in g instead of kg, or the other way round",
            ),
        ],
        (Dimension::Time, _) => vec![(60.0, "it may be in seconds or hours instead of minutes")],
        _ => Vec::new(),
    };
    slips.extend(POINT);
    slips
}

/// The slip that brings a distance of logarithms nearest to nothing.
fn nearest_slip(slips: &[Slip], away: f64, within: f64) -> Option<Slip> {
    slips
        .iter()
        .map(|slip| ((away.abs() - slip.0.ln()).abs(), *slip))
        .filter(|(left, _)| *left <= within)
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, slip)| slip)
}

/// Columns a unit can be mistaken in: not days, pH or shares.
fn columns<'a>(facts: &Facts<'a>) -> impl Iterator<Item = Numbers<'a>> {
    facts.columns().into_iter().filter(|numbers| {
        let bounded = matches!(
            numbers.response.unit.dimension(),
            Dimension::Ph | Dimension::Fraction | Dimension::Temperature(_) | Dimension::Plain
        );
        !numbers.is_total
            && !bounded
            && numbers.response.of.is_none()
            && !numbers.response.takes_dates()
    })
}

fn unit_slip(facts: &Facts) -> Vec<Diagnostic> {
    let Some(far) = facts.trial.checks.number(Threshold::UnitSlip) else {
        return Vec::new();
    };
    let stand = stand::recorded(facts);
    let grouping = Grouping::of(facts);
    columns(facts)
        .flat_map(|numbers| of_column(facts, &numbers, &grouping, stand.as_ref(), far))
        .collect()
}

fn of_column(
    facts: &Facts,
    numbers: &Numbers,
    grouping: &Grouping,
    stand: Option<&Stand>,
    far: f64,
) -> Vec<Diagnostic> {
    let values = items(grouping, numbers, stand);
    let slips = slips(numbers);
    let mates = Mates::of(grouping, &values);
    let slip = |mates: &Mates, item: &Item, usual: f64| -> Option<(f64, Slip)> {
        let (group, value) = (*item)?;
        let (distance, spread) = (mates.distance(group, value)?, mates.spread(group)?);
        if distance.abs() <= far || (distance - usual).abs() <= WEAK * far {
            return None;
        }
        let found = nearest_slip(&slips, distance * spread, NEAR * spread)?;
        Some((mates.middle(group)?, found))
    };
    let words = |value: f64, middle: f64, why: &str| {
        let times = value / middle;
        let times = if times > 1.0 {
            format!("{} times", brief(times))
        } else {
            format!("1/{} of", brief(1.0 / times))
        };
        format!(
            "is {times} the median of its treatment and season ({}): {why}",
            brief(middle)
        )
    };
    let mut found: Vec<Suspect> = Vec::new();
    // What is impossible is an error already.
    let impossible = super::ranges::impossible(numbers);
    let vines = usual(&mates, &values, |row| numbers.file.vines[row]);
    for (row, item) in values.iter().enumerate() {
        let of_vine = numbers.file.vines[row].and_then(|vine| vines.get(&vine));
        let usual = of_vine.map_or(0.0, |vine| without(vine, row));
        if numbers.part.values[row].is_some_and(|value| impossible(&value)) {
            continue;
        }
        if let (Some((middle, (_, why))), Some((_, value))) = (slip(&mates, item, usual), item) {
            found.push(Suspect {
                row,
                says: words(*value, middle, why),
            });
        }
    }
    // A whole plot in another unit hides among vines that differ, and shows among plots.
    let of_plots: Vec<PlotValue> = plots(numbers, &values);
    let middles: Vec<Item> = of_plots
        .iter()
        .map(|one| Some((grouping.group_of_plot(one.plot, one.season)?, one.value)))
        .collect();
    let mates = Mates::of(grouping, &middles);
    let seasons = usual(&mates, &middles, |at| Some(of_plots[at].plot));
    for (at, (one, item)) in of_plots.iter().zip(&middles).enumerate() {
        if one.rows.len() < 2 {
            continue;
        }
        let of_plot = seasons.get(&one.plot);
        let usual = of_plot.map_or(0.0, |plot| without(plot, at));
        if let Some((middle, (_, why))) = slip(&mates, item, usual) {
            for row in &one.rows {
                if found.iter().all(|other| other.row != *row) {
                    let says = format!(
                        "stands in a plot whose median ({}) {}",
                        brief(one.value),
                        words(one.value, middle, why)
                    );
                    found.push(Suspect { row: *row, says });
                }
            }
        }
    }
    found.sort_by_key(|suspect| suspect.row);
    warnings(
        facts,
        &UNIT_SLIP,
        numbers,
        &found,
        "look the value and its unit up in the field book; correct it in corrections.csv",
    )
}

/// Distances of each vine (or plot) in all its seasons, with the items they are of.
fn usual(
    mates: &Mates,
    items: &[Item],
    whose: impl Fn(usize) -> Option<u32>,
) -> HashMap<u32, Vec<(usize, f64)>> {
    let mut known: HashMap<u32, Vec<(usize, f64)>> = HashMap::new();
    for (at, item) in items.iter().enumerate() {
        let distance = item.and_then(|(group, value)| mates.distance(group, value));
        if let (Some(whose), Some(distance)) = (whose(at), distance) {
            known.entry(whose).or_default().push((at, distance));
        }
    }
    known
}

/// The usual distance of a vine in its other seasons; 0 where it has none.
fn without(distances: &[(usize, f64)], at: usize) -> f64 {
    let others = distances.iter().filter(|(other, _)| *other != at);
    median(others.map(|(_, distance)| *distance).collect())
}

fn unit_of_season(facts: &Facts) -> Vec<Diagnostic> {
    let Some(within) = facts.trial.checks.number(Threshold::UnitOfSeason) else {
        return Vec::new();
    };
    columns(facts)
        .flat_map(|numbers| seasons_of_column(facts, &numbers, within.ln()))
        .collect()
}

fn seasons_of_column(facts: &Facts, numbers: &Numbers, within: f64) -> Vec<Diagnostic> {
    let Some(season) = &numbers.file.season else {
        return Vec::new();
    };
    let mut rows: Vec<Vec<usize>> = vec![Vec::new(); season.names.len()];
    for (row, code) in season.codes.iter().enumerate() {
        let above = numbers.part.values[row].is_some_and(|value| nearest_f64(value) > 0.0);
        if let (Some(code), true) = (code, above) {
            rows[*code as usize].push(row);
        }
    }
    let middle = |rows: &Vec<usize>| {
        let logs = rows
            .iter()
            .filter_map(|row| numbers.part.values[*row])
            .map(|value| nearest_f64(value).ln());
        median(logs.collect())
    };
    let middles: Vec<Option<f64>> = rows
        .iter()
        .map(|rows| (!rows.is_empty()).then(|| middle(rows)))
        .collect();
    let slips: Vec<Slip> = slips(numbers)
        .into_iter()
        .filter(|(factor, _)| *factor >= 10.0)
        .collect();
    let mut found = Vec::new();
    for (at, own) in middles.iter().enumerate() {
        let Some(own) = own else { continue };
        let others: Vec<f64> = (0..middles.len())
            .filter(|other| *other != at)
            .filter_map(|other| middles[other])
            .collect();
        // Of two seasons the later one is named; which of them is right the record must tell.
        if others.len() == 1 && at == 0 {
            continue;
        }
        let apart: Vec<(f64, Slip)> = others
            .iter()
            .filter_map(|other| Some((*other, nearest_slip(&slips, own - other, within)?)))
            .collect();
        if 2 * apart.len() <= others.len() {
            continue;
        }
        let (_, (_, why)) = apart[0];
        let other = median(apart.iter().map(|(other, _)| *other).collect());
        let first = rows[at][0];
        let mut warning = Diagnostic::warning(
            UNIT_OF_SEASON.name,
            format!(
                "column '{}' of {} has the median {} in {} and {} in the other seasons: {}",
                numbers.part.heading,
                numbers.file.name,
                brief(own.exp()),
                facts.loaded.files[numbers.part.file]
                    .season_label(first)
                    .unwrap_or_default(),
                brief(other.exp()),
                why.replacen("it may", "this season may", 1)
            ),
        )
        .help("a column has one unit: bring the season to the unit in the trial file");
        for row in &rows[at] {
            warning = warning.at(numbers.part.place(numbers.file, *row));
        }
        found.push(warning);
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nearest_factor_within_reach_is_named() {
        let slips = [(10.0, "ten"), (16.0, "sixteen"), (1000.0, "thousand")];
        let named = |times: f64| nearest_slip(&slips, times.ln(), 0.3).map(|(_, why)| why);
        assert_eq!(named(11.0), Some("ten"));
        assert_eq!(named(15.0), Some("sixteen"));
        assert_eq!(named(1.0 / 1000.0), Some("thousand"));
        assert_eq!(named(100.0), None);
        assert_eq!(named(1.1), None);
    }
}
