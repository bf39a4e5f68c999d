//! Vines that differ by their position in the plot: an edge that was measured along, a scale that
//! drifted from vine to vine.

use std::collections::BTreeMap;

use super::mates::{Grouping, items, plots};
use super::robust::{NORMAL, from_few, median};
use super::{Facts, Numbers, PRACTICE, Rule, stand};
use crate::diagnostic::{Diagnostic, Severity};
use crate::trial::checks::Threshold;

/// Positions unlike the others.
pub const DRIFT: Rule = Rule {
    name: "drift",
    severity: Severity::Warning,
    source: PRACTICE,
    summary: "vines of one position that lie above or below the other vines of their plots, in a season and in most plots",
    threshold: Some(Threshold::Drift),
    look,
};

/// Plots a position needs; our choice.
const FEWEST: usize = 8;
/// Vines a plot needs for a middle.
const VINES: usize = 3;
/// A median of n values moves by about 1.25 standard deviations over the square root of n (the
/// normal sample's); a position must be out by four times that too.
const CHANCE: f64 = 4.0 * 1.25;

fn look(facts: &Facts) -> Vec<Diagnostic> {
    let Some(far) = facts.trial.checks.number(Threshold::Drift) else {
        return Vec::new();
    };
    let stand = stand::recorded(facts);
    let grouping = Grouping::of(facts);
    let columns = facts.columns().into_iter().filter(|numbers| {
        !numbers.is_total && numbers.file.vine.is_some() && !numbers.response.takes_dates()
    });
    columns
        .flat_map(|numbers| {
            let values = items(&grouping, &numbers, stand.as_ref());
            let plots = plots(&numbers, &values);
            let mut seasons: BTreeMap<u32, BTreeMap<u32, Vec<(usize, f64)>>> = BTreeMap::new();
            for plot in plots.iter().filter(|plot| plot.rows.len() >= VINES) {
                for row in &plot.rows {
                    let (Some(position), Some((_, value))) =
                        (position(&numbers, *row), values[*row])
                    else {
                        continue;
                    };
                    let away = (value / plot.value).ln();
                    let season = seasons.entry(plot.season).or_default();
                    season.entry(position).or_default().push((*row, away));
                }
            }
            seasons
                .into_values()
                .flat_map(|positions| of_season(&numbers, &positions, far))
                .collect::<Vec<_>>()
        })
        .collect()
}

/// Position of a vine, where vines are numbered.
fn position(numbers: &Numbers, row: usize) -> Option<u32> {
    numbers.file.vine.as_ref()?.name(row)?.parse().ok()
}

fn of_season(
    numbers: &Numbers,
    positions: &BTreeMap<u32, Vec<(usize, f64)>>,
    far: f64,
) -> Vec<Diagnostic> {
    let all = positions.values().flatten();
    let spread =
        NORMAL * from_few(positions.len()) * median(all.map(|(_, away)| away.abs()).collect());
    let mut found = Vec::new();
    for (position, rows) in positions {
        let out = median(rows.iter().map(|(_, away)| *away).collect());
        let limit = far.max(CHANCE / (rows.len() as f64).sqrt()) * spread;
        if rows.len() < FEWEST || spread <= 0.0 || out.abs() <= limit {
            continue;
        }
        let (part, file) = (numbers.part, numbers.file);
        let first = rows[0].0;
        let season = file
            .season_label(first)
            .map_or(String::new(), |season| format!(" in {season}"));
        let warning = Diagnostic::warning(
            DRIFT.name,
            format!(
                "vines {position} lie {:.0} % {} the middle of their plots{season} in column '{}' of {} (median of {} plots)",
                100.0 * (out.exp() - 1.0).abs(),
                if out > 0.0 { "above" } else { "below" },
                part.heading,
                file.name,
                rows.len()
            ),
        )
        .help(format!(
            "look whether vines {position} stand at a border, or were measured at another time or with another tool"
        ));
        found.push(rows.iter().fold(warning, |warning, (row, _)| {
            warning.at(part.place(file, *row))
        }));
    }
    found
}
