//! Whether a trial is complete and balanced, by counting alone: what decides which analysis of
//! variance it suits where its file names none.

use std::collections::{BTreeMap, BTreeSet};

use caneplot_plugin::request::{Design, TrialInfo};
use polars::frame::DataFrame;

use crate::load::text::list;

/// Whether a trial is complete and balanced, and the words that say why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Balance {
    /// Every plot has a value of every response in every season anybody recorded it in, every
    /// treatment stands equally often in every block, and no covariate is declared.
    pub complete: bool,
    /// A clause: "values are missing (3 of 80 of Yield)".
    pub words: String,
}

/// The balance of the checked table of plots.
#[must_use]
pub fn balance(info: &TrialInfo, plots: &DataFrame) -> Balance {
    let incomplete = |words| Balance {
        complete: false,
        words,
    };
    let mut why = Vec::new();
    if !info.covariates.is_empty() {
        let labels: Vec<&str> = info
            .covariates
            .iter()
            .map(|one| one.label.as_str())
            .collect();
        let word = if labels.len() == 1 {
            "the covariate"
        } else {
            "the covariates"
        };
        why.push(format!("{word} {} can be adjusted for", list(&labels)));
    }
    let missing = missing(info, plots);
    if !missing.is_empty() {
        why.push(format!("values are missing ({})", missing.join("; ")));
    }
    why.extend(unbalanced(info, plots));
    if !why.is_empty() {
        return incomplete(list(&why));
    }
    let everywhere = match info.design {
        Design {
            row_column: true, ..
        } => "stands equally often in every row and column",
        Design { block: true, .. } => "stands equally often in every block",
        _ => "has equally many plots",
    };
    Balance {
        complete: true,
        words: format!(
            "every plot has a value of every response in every season of its records, and every \
             treatment {everywhere}"
        ),
    }
}

/// "3 of 80 of Yield": values that plots lack in seasons in which others have one. What the program
/// made from other responses lacks what they lack, and is not counted again.
fn missing(info: &TrialInfo, plots: &DataFrame) -> Vec<String> {
    let seasons = texts(plots, "season");
    let declared = info.responses.iter().filter(|one| one.derived.is_none());
    // Responses that lack as many of as many share a clause.
    let mut found: Vec<((usize, usize), Vec<&str>)> = Vec::new();
    for response in declared {
        let Ok(values) = plots
            .column(&response.name)
            .map(polars::prelude::Column::is_null)
        else {
            continue;
        };
        // Of each season: rows, and rows without a value.
        let mut counts: BTreeMap<&str, (usize, usize)> = BTreeMap::new();
        for (row, is_missing) in values.iter().enumerate() {
            let season = seasons.get(row).map_or("", String::as_str);
            let count = counts.entry(season).or_default();
            count.0 += 1;
            count.1 += usize::from(is_missing == Some(true));
        }
        let recorded = counts.values().filter(|(rows, missing)| missing < rows);
        let (rows, missing) = recorded.fold((0, 0), |sum, one| (sum.0 + one.0, sum.1 + one.1));
        match found.iter_mut().find(|(same, _)| *same == (missing, rows)) {
            _ if missing == 0 => {}
            Some((_, labels)) => labels.push(&response.label),
            None => found.push(((missing, rows), vec![&response.label])),
        }
    }
    found
        .into_iter()
        .map(|((missing, rows), labels)| {
            let each = if labels.len() == 1 { "" } else { " each" };
            format!("{missing} of {rows}{each} of {}", list(&labels))
        })
        .collect()
}

/// Where treatments do not stand equally often in every block, or row and column.
fn unbalanced(info: &TrialInfo, plots: &DataFrame) -> Option<String> {
    let factors: Vec<Vec<String>> = info
        .factors
        .iter()
        .map(|factor| texts(plots, &factor.name))
        .collect();
    let keys: Vec<Vec<String>> = ["block", "row", "column", "plot"]
        .into_iter()
        .map(|name| texts(plots, name))
        .collect();
    let at = |column: &Vec<String>, row: usize| column.get(row).cloned().unwrap_or_default();
    // Each plot once, whatever its seasons.
    let mut known = BTreeSet::new();
    let rows: Vec<usize> = (0..plots.height())
        .filter(|row| known.insert(keys.iter().map(|key| at(key, *row)).collect::<Vec<_>>()))
        .collect();
    let treatment = |row: usize| {
        let levels: Vec<String> = factors.iter().map(|levels| at(levels, row)).collect();
        levels.join(" / ")
    };
    let groups: &[&str] = match info.design {
        Design {
            row_column: true, ..
        } => &["row", "column"],
        Design { block: true, .. } => &["block"],
        _ => &["plot"],
    };
    for group in groups {
        let names = texts(plots, group);
        // Without blocks the whole trial is one.
        let of = |row: usize| match *group {
            "plot" => String::new(),
            _ => at(&names, row),
        };
        let treatments: BTreeSet<String> = rows.iter().map(|row| treatment(*row)).collect();
        let places: BTreeSet<String> = rows.iter().map(|row| of(*row)).collect();
        let mut counts: BTreeMap<(String, String), usize> = BTreeMap::new();
        for place in &places {
            for treatment in &treatments {
                counts.insert((treatment.clone(), place.clone()), 0);
            }
        }
        for row in &rows {
            *counts.entry((treatment(*row), of(*row))).or_default() += 1;
        }
        let fewest = counts.iter().min_by_key(|(_, count)| **count)?;
        // The same treatment elsewhere is the plainest example.
        let most = |same: bool| {
            let of = counts
                .iter()
                .filter(|(key, count)| (key.0 == fewest.0.0 || !same) && *count > fewest.1);
            of.rev().max_by_key(|(_, count)| **count)
        };
        let Some(most) = most(true).or_else(|| most(false)) else {
            continue;
        };
        let place = |name: &String| match name.as_str() {
            "" => String::new(),
            name => format!(" in {group} {name}"),
        };
        let where_ = match *group {
            "plot" => "have equally many plots".to_owned(),
            group => format!("stand equally often in every {group}"),
        };
        return Some(format!(
            "treatments do not {where_} ({} on {}{}, {} on {}{})",
            fewest.0.0,
            plots_words(*fewest.1),
            place(&fewest.0.1),
            most.0.0,
            plots_words(*most.1),
            place(&most.0.1)
        ));
    }
    None
}

fn plots_words(number: usize) -> String {
    match number {
        0 => "no plot".to_owned(),
        1 => "1 plot".to_owned(),
        number => format!("{number} plots"),
    }
}

/// A column of texts, empty where there is none.
fn texts(frame: &DataFrame, name: &str) -> Vec<String> {
    let column = frame.column(name).and_then(|column| column.str());
    column.map_or_else(
        |_| Vec::new(),
        |texts| {
            texts
                .iter()
                .map(|text| text.unwrap_or_default().to_owned())
                .collect()
        },
    )
}
