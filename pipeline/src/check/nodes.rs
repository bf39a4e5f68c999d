//! Nodes left against the nodes that were meant to be left, and buds against nodes left.

use std::collections::{BTreeMap, HashMap};

use caneplot_plugin::request::Quantity;

use super::suspects::{Suspect, brief, cell, warnings};
use super::{Facts, Numbers, PRACTICE, Rule};
use crate::decimal::nearest_f64;
use crate::diagnostic::{Diagnostic, Severity};
use crate::load::text::list;
use crate::trial::checks::Threshold;
use crate::trial::unit::Dimension;

/// Nodes that miss their level.
pub const NODES_MISSED: Rule = Rule {
    name: "nodes-missed",
    severity: Severity::Warning,
    source: PRACTICE,
    summary: "nodes left that miss the level assigned to the plot; a note tells what was achieved",
    threshold: Some(Threshold::NodesMissed),
    look: nodes_missed,
};

/// More buds than nodes.
pub const BUDS_ABOVE_NODES: Rule = Rule {
    name: "buds-above-nodes",
    severity: Severity::Warning,
    source: PRACTICE,
    summary: "vines with more buds broken, or looked at, than nodes were left on them",
    threshold: Some(Threshold::BudsAboveNodes),
    look: buds_above_nodes,
};

/// Fewest nodes by which a count may miss: pruners count in whole nodes and spurs of two.
const NODES_FREE: f64 = 3.0;

fn nodes_left<'a>(facts: &Facts<'a>) -> impl Iterator<Item = Numbers<'a>> {
    facts.numbers().filter(|numbers| {
        numbers.response.quantity == Quantity::NodesLeft
            && !numbers.is_total
            && matches!(numbers.response.unit.dimension(), Dimension::Count(_))
    })
}

/// The one factor that assigns nodes a vine.
fn assigned(facts: &Facts) -> Option<usize> {
    let counts_nodes = |unit: &str| {
        let unit = unit.to_lowercase();
        let words = ["node", "nodes", "bud", "buds"];
        words
            .iter()
            .any(|word| unit == *word || unit == format!("{word}/vine"))
    };
    let mut factors = facts
        .trial
        .factors
        .iter()
        .enumerate()
        .filter(|(_, factor)| {
            factor.unit.as_deref().is_some_and(counts_nodes)
                && factor.levels.iter().all(|level| level.value.is_some())
        });
    let (at, _) = factors.next()?;
    factors.next().is_none().then_some(at)
}

fn nodes_missed(facts: &Facts) -> Vec<Diagnostic> {
    let (Some(share), Some(factor)) = (
        facts.trial.checks.number(Threshold::NodesMissed),
        assigned(facts),
    ) else {
        return Vec::new();
    };
    let mut found = Vec::new();
    for numbers in nodes_left(facts) {
        if numbers.response.unit.per() == crate::trial::unit::Per::Plot {
            continue;
        }
        let mut suspects = Vec::new();
        let mut achieved: BTreeMap<u32, (f64, f64)> = BTreeMap::new();
        for (row, value) in numbers.part.values.iter().enumerate() {
            let (Some(value), Some(plot)) = (value, numbers.file.plots[row]) else {
                continue;
            };
            let Some((level, _)) = facts.loaded.index.plots[plot as usize].levels[factor] else {
                continue;
            };
            let meant = &facts.trial.factors[factor].levels[level as usize];
            let (left, wanted) = (nearest_f64(*value), meant.value.unwrap_or_default());
            let sum = achieved.entry(level).or_default();
            sum.0 += left;
            sum.1 += 1.0;
            if (left - wanted).abs() > (share * wanted).max(NODES_FREE) {
                suspects.push(Suspect {
                    row,
                    says: format!("misses the {} nodes assigned to the plot", meant.name),
                });
            }
        }
        found.extend(warnings(
            facts,
            &NODES_MISSED,
            &numbers,
            &suspects,
            "look the count up; if the vine was pruned so, keep it: the report compares what was assigned",
        ));
        found.extend(severity(facts, &numbers, factor, &achieved));
    }
    found
}

/// What was achieved of each level, as a note.
fn severity(
    facts: &Facts,
    numbers: &Numbers,
    factor: usize,
    achieved: &BTreeMap<u32, (f64, f64)>,
) -> Option<Diagnostic> {
    let words: Vec<String> = achieved
        .iter()
        .map(|(level, (sum, count))| {
            let name = &facts.trial.factors[factor].levels[*level as usize].name;
            format!("{:.1} where {name} were meant", sum / count)
        })
        .collect();
    (!words.is_empty()).then(|| {
        Diagnostic::note(
            NODES_MISSED.name,
            format!("nodes left on average of all seasons: {}", list(&words)),
        )
        .at(numbers.file.origin.place(None, Some(&numbers.part.heading)))
    })
}

fn buds_above_nodes(facts: &Facts) -> Vec<Diagnostic> {
    let Some(share) = facts.trial.checks.number(Threshold::BudsAboveNodes) else {
        return Vec::new();
    };
    let key = |numbers: &Numbers, row: usize| {
        let file = numbers.file;
        // Samples of buds are cut from plots; only on a vine do the two count the same nodes.
        let vine = file.vines[row]?;
        let season = match file.season {
            Some(_) => file.season_of(row, file.belongs(numbers.response.quantity))?,
            None => 0,
        };
        Some((vine, season))
    };
    let mut left = HashMap::new();
    for numbers in nodes_left(facts) {
        for (row, value) in numbers.part.values.iter().enumerate() {
            if let (Some(value), Some(key)) = (value, key(&numbers, row)) {
                left.insert(key, (numbers, row, nearest_f64(*value)));
            }
        }
    }
    let mut found = Vec::new();
    let buds = facts.numbers().filter(|numbers| {
        let counts = numbers.response.of.is_some()
            || matches!(numbers.response.unit.dimension(), Dimension::Count(_));
        numbers.response.quantity == Quantity::BudBreak && counts
    });
    for numbers in buds {
        for (row, value) in numbers.part.values.iter().enumerate() {
            let (Some(value), Some(key)) = (value, key(&numbers, row)) else {
                continue;
            };
            let Some((nodes, nodes_row, count)) = left.get(&key) else {
                continue;
            };
            let same =
                nodes.part.file == numbers.part.file && nodes.part.heading == numbers.part.heading;
            if same || nearest_f64(*value) <= count * (1.0 + share) {
                continue;
            }
            found.push(
                Diagnostic::warning(
                    BUDS_ABOVE_NODES.name,
                    format!(
                        "{} is more than the {} nodes left on the vine",
                        cell(facts, &numbers, row),
                        brief(*count)
                    ),
                )
                .at(numbers.part.place(numbers.file, row))
                .at(nodes.part.place(nodes.file, *nodes_row))
                .help("count shoots that did not grow from a node left elsewhere, or correct one of the two"),
            );
        }
    }
    found
}
