//! A plot whose values repeat another's, in the same season or in another: copied cells. Values that
//! many records share tell nothing, so only telling ones count.

use std::collections::HashMap;

use super::{Facts, Numbers, PRACTICE, Rule};
use crate::decimal::Decimal;
use crate::diagnostic::{Diagnostic, Severity};
use crate::load::File;
use crate::trial::checks::Threshold;

/// Plots with the values of another.
pub const REPEATED_PLOT: Rule = Rule {
    name: "repeated-plot",
    severity: Severity::Warning,
    source: PRACTICE,
    summary: "a plot and season with exactly the values of another, of which enough are telling: held by less than a fifth of the column's records",
    threshold: Some(Threshold::RepeatedPlot),
    look,
};

/// Share of a column's records below which a value is telling; our choice.
const TELLING: f64 = 0.2;

fn look(facts: &Facts) -> Vec<Diagnostic> {
    let Some(enough) = facts.trial.checks.number(Threshold::RepeatedPlot) else {
        return Vec::new();
    };
    let columns = facts.columns();
    let files = facts.loaded.files.iter().enumerate();
    files
        .flat_map(|(at, file)| {
            let of_file: Vec<&Numbers> = columns
                .iter()
                .filter(|numbers| numbers.part.file == at)
                .collect();
            of_one(facts, file, &of_file, enough)
        })
        .collect()
}

fn of_one(facts: &Facts, file: &File, columns: &[&Numbers], enough: f64) -> Vec<Diagnostic> {
    let held: Vec<HashMap<Decimal, usize>> = columns
        .iter()
        .map(|numbers| {
            let mut held = HashMap::new();
            for value in numbers.part.values.iter().flatten() {
                *held.entry(value.normalize()).or_insert(0) += 1;
            }
            held
        })
        .collect();
    let mut known: HashMap<Vec<Option<Decimal>>, usize> = HashMap::new();
    let mut found = Vec::new();
    for rows in plots(file) {
        let (mut values, mut telling) = (Vec::new(), 0);
        for row in &rows {
            for (numbers, held) in columns.iter().zip(&held) {
                let value = numbers.part.values[*row].map(|value| value.normalize());
                let times = value.and_then(|value| held.get(&value)).copied();
                let share = times.map(|times| times as f64 / file.height() as f64);
                // Two records share a value once it is copied; that alone must not hide it.
                let is_telling = share.is_some_and(|share| share < TELLING) || times == Some(2);
                telling += usize::from(is_telling);
                values.push(value);
            }
        }
        if (telling as f64) < enough {
            continue;
        }
        let (row, first) = (rows[0], known.get(&values).copied());
        let Some(first) = first else {
            known.insert(values, row);
            continue;
        };
        let warning = Diagnostic::warning(
            REPEATED_PLOT.name,
            format!(
                "the {} values of plot {} in {} repeat those of plot {}",
                values.iter().flatten().count(),
                named(facts, file, row),
                file.name,
                named(facts, file, first)
            ),
        )
        .help("look in the field book which of the two was copied");
        let cells = rows
            .iter()
            .flat_map(|row| columns.iter().map(move |column| (*row, column)));
        found.push(cells.fold(warning, |warning, (row, column)| {
            warning.at(column.part.place(file, row))
        }));
    }
    found
}

fn named(facts: &Facts, file: &File, row: usize) -> String {
    match file.season_label(row) {
        Some(season) => format!("{} in {season}", facts.plot(file, row)),
        None => facts.plot(file, row).to_owned(),
    }
}

/// The records of each plot and season, by vine, in order of appearance.
fn plots(file: &File) -> Vec<Vec<usize>> {
    let mut at: HashMap<(u32, Option<u32>), usize> = HashMap::new();
    let mut plots: Vec<Vec<usize>> = Vec::new();
    for row in 0..file.height() {
        let Some(plot) = file.plots[row] else {
            continue;
        };
        let season = file.season.as_ref().and_then(|season| season.codes[row]);
        let place = *at.entry((plot, season)).or_insert_with(|| {
            plots.push(Vec::new());
            plots.len() - 1
        });
        plots[place].push(row);
    }
    if let Some(vine) = &file.vine {
        for rows in &mut plots {
            rows.sort_by(|a, b| {
                let name = |row: usize| vine.name(row).unwrap_or_default();
                crate::decimal::natural(name(*a), name(*b))
            });
        }
    }
    plots
}
