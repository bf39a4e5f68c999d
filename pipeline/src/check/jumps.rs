//! Plots that change from one season to the next unlike the other plots of their treatment: swapped
//! plots, a plot in another unit, a vine count that changed.

use std::collections::HashMap;

use super::mates::{Grouping, Item, Mates, PlotValue, items, plots};
use super::suspects::brief;
use super::{Facts, Numbers, PRACTICE, Rule, stand};
use crate::diagnostic::{Diagnostic, Severity};
use crate::trial::checks::Threshold;

/// Changes unlike those of the treatment.
pub const SEASON_JUMP: Rule = Rule {
    name: "season-jump",
    severity: Severity::Warning,
    source: PRACTICE,
    summary: "plots whose change from one season to the next is far from that of the other plots of their treatment",
    threshold: Some(Threshold::SeasonJump),
    look,
};

/// Times by which a change must differ besides, lest a column without scatter warns of nothing.
const TIMES: f64 = 1.5;

fn look(facts: &Facts) -> Vec<Diagnostic> {
    let Some(far) = facts.trial.checks.number(Threshold::SeasonJump) else {
        return Vec::new();
    };
    let stand = stand::recorded(facts);
    let grouping = Grouping::of(facts);
    let columns = facts.columns().into_iter().filter(|numbers| {
        !numbers.is_total && numbers.response.of.is_none() && !numbers.response.takes_dates()
    });
    columns
        .flat_map(|numbers| {
            let values = items(&grouping, &numbers, stand.as_ref());
            of_column(facts, &numbers, &grouping, &plots(&numbers, &values), far)
        })
        .collect()
}

fn of_column(
    facts: &Facts,
    numbers: &Numbers,
    grouping: &Grouping,
    plots: &[PlotValue],
    far: f64,
) -> Vec<Diagnostic> {
    let known: HashMap<(u32, u32), &PlotValue> = plots
        .iter()
        .map(|one| ((one.plot, one.season), one))
        .collect();
    let pairs: Vec<(&PlotValue, &PlotValue)> = plots
        .iter()
        .filter_map(|later| {
            let before = later.season.checked_sub(1)?;
            Some((*known.get(&(later.plot, before))?, later))
        })
        .collect();
    let changes: Vec<Item> = pairs
        .iter()
        .map(|(before, later)| {
            let group = grouping.group_of_plot(later.plot, later.season)?;
            Some((group, later.value / before.value))
        })
        .collect();
    let mates = Mates::of(grouping, &changes);
    let mut found = Vec::new();
    for ((before, later), change) in pairs.iter().zip(&changes) {
        let Some((group, times)) = *change else {
            continue;
        };
        let (Some(distance), Some(middle)) = (mates.distance(group, times), mates.middle(group))
        else {
            continue;
        };
        if distance.abs() <= far || (times / middle).ln().abs() <= TIMES.ln() {
            continue;
        }
        let (part, file) = (numbers.part, numbers.file);
        let warning = Diagnostic::warning(
            SEASON_JUMP.name,
            format!(
                "plot {} went from {} to {} ({} times) from {} to {} in column '{}' of {}, the plots of its treatment {} times",
                facts.plot(file, later.rows[0]),
                brief(before.value),
                brief(later.value),
                brief(times),
                file.season_label(before.rows[0]).unwrap_or_default(),
                file.season_label(later.rows[0]).unwrap_or_default(),
                part.heading,
                file.name,
                brief(middle)
            ),
        )
        .help("look for plots that were swapped, or for another unit, in either season");
        let rows = later.rows.iter().chain(&before.rows);
        found.push(rows.fold(warning, |warning, row| warning.at(part.place(file, *row))));
    }
    found
}
