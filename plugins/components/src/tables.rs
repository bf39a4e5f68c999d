//! The tables: changes of every part, parts by season, and their variances and covariances.

use caneplot_plugin::findings::{Cells, Column, Format, Table};
use caneplot_plugin::words;

use crate::decompose::{Change, Compared, Decomposed};

pub(crate) fn of(found: &Decomposed<'_>) -> Vec<Table> {
    let mut tables = vec![parts(found)];
    tables.extend(seasons(found));
    tables.push(covariances(found));
    tables
}

/// The whole first, then the factors in the order of the chain.
fn order(found: &Decomposed<'_>) -> Vec<usize> {
    let whole = found.chain.factors.len();
    std::iter::once(whole).chain(0..whole).collect()
}

fn name(found: &Decomposed<'_>, part: usize) -> String {
    match found.chain.factors.get(part) {
        Some(name) => words::beginning(name),
        None => words::beginning(&found.chain.crop),
    }
}

fn parts(found: &Decomposed<'_>) -> Table {
    let treatments = found.treatments();
    let rows: Vec<(&Change, usize)> = found
        .overall
        .changes
        .iter()
        .flat_map(|change| order(found).into_iter().map(move |part| (change, part)))
        .collect();
    let number = |name: &str, format: Format, value: &dyn Fn(&Change, usize) -> f64| {
        let values = rows.iter().map(|&(change, part)| Some(value(change, part)));
        Column::number(name, values.collect(), format)
    };
    let control = treatments.words(treatments.control);
    let heads = rows.iter().map(|&(change, part)| {
        (part == found.chain.factors.len()).then(|| treatments.label(change.treatment))
    });
    let whole_df = rows
        .iter()
        .all(|&(change, part)| change.estimate.df[part].fract() == 0.0);
    Table {
        id: "parts".to_owned(),
        title: format!(
            "Change in {} and in its parts against {control}{}",
            found.chain.crop,
            match found.overall.occasion.seasons.len() {
                0 | 1 => String::new(),
                seasons => format!(", means of {seasons} seasons"),
            }
        ),
        columns: vec![
            Column {
                name: treatments.heading(),
                unit: treatments.unit().map(str::to_owned),
                cells: Cells::Text {
                    values: heads.collect(),
                },
            },
            Column::text("Part", rows.iter().map(|&(_, part)| name(found, part))),
            number("Change", Format::Percent(1), &|c, part| c.shares(part)[1]),
            number("Lower limit", Format::Percent(1), &|c, part| {
                c.shares(part)[0]
            }),
            number("Upper limit", Format::Percent(1), &|c, part| {
                c.shares(part)[2]
            }),
            number("Change in logarithm", Format::Decimals(4), &|c, part| {
                c.estimate.values[part]
            }),
            number("Standard error", Format::Decimals(4), &|c, part| {
                c.estimate.standard_error(part)
            }),
            number(
                "Error df",
                Format::Decimals(u8::from(!whole_df)),
                &|c, part| c.estimate.df[part],
            ),
        ],
        notes: vec![format!(
            "Changes in logarithms of the parts add up to that of {}; limits are {} intervals, each holding by itself. Per cent is exp(change) − 1.",
            found.chain.crop,
            words::percent(found.level)
        )],
        groups: (0..rows.len())
            .step_by(found.chain.factors.len() + 1)
            .collect(),
        file_only: false,
    }
}

/// Season, treatment, and the change of every part.
fn seasons(found: &Decomposed<'_>) -> Option<Table> {
    if found.seasons.is_empty() {
        return None;
    }
    let rows: Vec<(&Compared<'_>, &Change)> = found
        .seasons
        .iter()
        .flat_map(|season| season.changes.iter().map(move |change| (season, change)))
        .collect();
    let mut groups = Vec::new();
    let mut start = 0;
    for season in &found.seasons {
        groups.push(start);
        start += season.changes.len();
    }
    let heads = rows.iter().enumerate().map(|(at, (season, _))| {
        let season = season.occasion.season?;
        groups
            .contains(&at)
            .then(|| found.register.season(season).to_owned())
    });
    let share = |part: usize| {
        let values = rows.iter().map(|(_, change)| Some(change.shares(part)[1]));
        Column::number(&name(found, part), values.collect(), Format::Percent(0))
    };
    let labels = rows
        .iter()
        .map(|(season, change)| season.treatments.label(change.treatment));
    let mut columns = vec![
        Column {
            name: "Season".to_owned(),
            unit: None,
            cells: Cells::Text {
                values: heads.collect(),
            },
        },
        Column {
            unit: found.treatments().unit().map(str::to_owned),
            ..Column::text(&found.treatments().heading(), labels)
        },
    ];
    let whole = found.chain.factors.len();
    columns.push(share(whole));
    let limit = |name: &str, which: usize| {
        let values = rows
            .iter()
            .map(|(_, change)| Some(change.shares(whole)[which]));
        Column::number(name, values.collect(), Format::Percent(0))
    };
    columns.push(limit("Lower limit", 0));
    columns.push(limit("Upper limit", 2));
    columns.extend((0..whole).map(share));
    Some(Table {
        id: "seasons".to_owned(),
        title: format!(
            "Change in {} and in its parts by season against {}",
            found.chain.crop,
            found.treatments().words(found.treatments().control)
        ),
        columns,
        notes: vec![format!(
            "Limits are the {} interval of the change in {}, with the error of that season alone.",
            words::percent(found.level),
            found.chain.crop
        )],
        groups,
        file_only: false,
    })
}

/// Variances and covariances of the changes in logarithms.
fn covariances(found: &Decomposed<'_>) -> Table {
    let parts = found.chain.factors.len();
    let rows: Vec<(&Change, usize)> = found
        .overall
        .changes
        .iter()
        .flat_map(|change| (0..=parts).map(move |part| (change, part)))
        .collect();
    let column = |with: usize| {
        let values = rows
            .iter()
            .map(|&(change, part)| Some(change.estimate.products[part][with]));
        Column::number(&name(found, with), values.collect(), Format::Significant(6))
    };
    let labels = rows
        .iter()
        .map(|&(change, _)| found.treatments().label(change.treatment));
    let mut columns = vec![
        Column::text(&found.treatments().heading(), labels),
        Column::text("Part", rows.iter().map(|&(_, part)| name(found, part))),
    ];
    columns.extend((0..=parts).map(column));
    Table {
        id: "covariances".to_owned(),
        title: "Variances and covariances of the changes in logarithms".to_owned(),
        columns,
        notes: vec![format!(
            "All entries between parts add up to the variance of the change in {}.",
            found.chain.crop
        )],
        groups: (0..rows.len()).step_by(parts + 1).collect(),
        file_only: true,
    }
}
