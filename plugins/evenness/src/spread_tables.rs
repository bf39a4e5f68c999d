//! The tables of the spread within plots.

use caneplot_numerics::contrasts::Test;
use caneplot_plugin::findings::{Cells, Column, Format, Table};
use caneplot_plugin::words;

use crate::compare::{Comparison, half_width};
use crate::spread::{LOG, RELATIVE, Spread};
use crate::spread_words::{RATIO, SPREAD};

pub(crate) fn of(spread: &Spread<'_>) -> Vec<Table> {
    let mut tables: Vec<Table> = (0..spread.sets.len())
        .map(|set| treatments(spread, set))
        .collect();
    tables.extend(tests(spread));
    for set in 0..spread.sets.len() {
        tables.extend(seasons(spread, set));
    }
    tables.push(plots(spread));
    tables
}

/// An id that tells several sets of factors apart.
fn id(spread: &Spread<'_>, name: &str, set: usize) -> String {
    if spread.sets.len() == 1 {
        name.to_owned()
    } else {
        format!("{name}-{}", spread.sets[set].overall.treatments.id())
    }
}

fn in_unit(column: Column, unit: &str) -> Column {
    if unit.is_empty() {
        column
    } else {
        column.in_unit(unit)
    }
}

/// Spread with its limits, its share of the mean, and its ratio to the control.
struct Row {
    spread: f64,
    limits: Option<(f64, f64)>,
    variation: Option<f64>,
    ratio: Option<[Option<f64>; 3]>,
}

fn rows(spread: &Spread<'_>, compared: &Comparison<'_>) -> Vec<Row> {
    compared
        .means
        .iter()
        .zip(&compared.differences)
        .map(|(mean, difference)| {
            let value = mean.values[LOG];
            let back = |log: f64| (log / 2.0).exp();
            Row {
                spread: back(value),
                limits: half_width(mean, LOG, spread.level)
                    .map(|half| (back(value - half), back(value + half))),
                variation: mean.values.get(RELATIVE).map(|log| log.exp()),
                ratio: difference.as_ref().map(|difference| {
                    let value = difference.values[LOG];
                    let half = half_width(difference, LOG, spread.level);
                    [
                        half.map(|half| back(value - half)),
                        Some(back(value)),
                        half.map(|half| back(value + half)),
                    ]
                }),
            }
        })
        .collect()
}

fn treatments(spread: &Spread<'_>, set: usize) -> Table {
    let compared = &spread.sets[set].overall;
    let treatments = &compared.treatments;
    let rows = rows(spread, compared);
    let unit = spread.response().unit.as_str();
    let number = |name: &str, format: Format, value: &dyn Fn(&Row) -> Option<f64>| {
        Column::number(name, rows.iter().map(value).collect(), format)
    };
    let labels = (0..rows.len()).map(|at| treatments.label(at));
    let plots = treatments
        .compared
        .plots
        .iter()
        .map(|&plots| i64::try_from(plots).ok());
    let mut columns = vec![
        in_unit(
            Column::text(&treatments.heading(), labels),
            treatments.unit().unwrap_or(""),
        ),
        Column::count("Plots", plots.collect()),
        in_unit(number("Spread", SPREAD, &|row| Some(row.spread)), unit),
        in_unit(
            number("Lower limit", SPREAD, &|row| Some(row.limits?.0)),
            unit,
        ),
        in_unit(
            number("Upper limit", SPREAD, &|row| Some(row.limits?.1)),
            unit,
        ),
    ];
    if spread.variation {
        columns.push(number(
            "Coefficient of variation",
            Format::Percent(1),
            &|row| row.variation,
        ));
    }
    columns.extend([
        number("Ratio to the control", RATIO, &|row| row.ratio?[1]),
        number("Ratio, lower limit", RATIO, &|row| row.ratio?[0]),
        number("Ratio, upper limit", RATIO, &|row| row.ratio?[2]),
    ]);
    Table {
        id: id(spread, "spread", set),
        title: format!(
            "Spread of {} between the vines of a plot by {}{}",
            words::inside(&spread.response().label),
            words::inside(&treatments.heading()),
            match spread.overall.seasons.len() {
                0 | 1 => String::new(),
                seasons => format!(", over {seasons} seasons"),
            }
        ),
        columns,
        notes: vec![format!(
            "Spread is the standard deviation between vines, averaged over plots as the logarithm of its variance; limits are {} intervals, each holding by itself. The control is {}.",
            words::percent(spread.level),
            treatments.words(treatments.control)
        )],
        ..Table::default()
    }
}

/// F tests of each factor by both measures.
fn tests(spread: &Spread<'_>) -> Option<Table> {
    let rows: Vec<(String, &str, Test)> = spread
        .sets
        .iter()
        .flat_map(|set| {
            let heading = set.overall.treatments.heading();
            [
                ("Logarithm of the variance", set.overall.tests[LOG]),
                (
                    "Logarithm of the coefficient of variation",
                    set.overall.tests.get(RELATIVE).copied().flatten(),
                ),
                ("Distance from the median", set.medians),
            ]
            .into_iter()
            .filter_map(move |(measure, test)| Some((heading.clone(), measure, test?)))
        })
        .collect();
    let title = format!(
        "Tests of equal spread of {} with plots as units",
        words::inside(&spread.response().label)
    );
    (!rows.is_empty()).then(|| tests_table(&title, &rows))
}

/// A table of F tests: what varies, by which measure of a plot, and the test.
pub(crate) fn tests_table(title: &str, rows: &[(String, &str, Test)]) -> Table {
    let count = |value: &dyn Fn(&Test) -> usize| {
        let values = rows.iter().map(|row| i64::try_from(value(&row.2)).ok());
        values.collect::<Vec<Option<i64>>>()
    };
    Table {
        id: "tests".to_owned(),
        title: title.to_owned(),
        columns: vec![
            Column::text("Source of variation", rows.iter().map(|row| row.0.clone())),
            Column::text("Measure of a plot", rows.iter().map(|row| row.1)),
            Column::count("df", count(&|test| test.df)),
            // Tests rest on one error, whose degrees of freedom are whole.
            Column::count("Error df", count(&|test| test.error_df as usize)),
            Column::number(
                "F",
                rows.iter().map(|row| Some(row.2.f)).collect(),
                Format::Decimals(2),
            ),
            Column::probability("P", rows.iter().map(|row| Some(row.2.p)).collect()),
        ],
        ..Table::default()
    }
}

fn seasons(spread: &Spread<'_>, set: usize) -> Option<Table> {
    let seasons = &spread.sets[set].seasons;
    if seasons.is_empty() {
        return None;
    }
    let treatments = &spread.sets[set].overall.treatments;
    let (mut names, mut labels, mut all, mut groups) =
        (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    for (season, compared) in seasons {
        groups.push(all.len());
        for (at, row) in rows(spread, compared).into_iter().enumerate() {
            names.push((at == 0).then(|| spread.register.season(*season).to_owned()));
            labels.push(compared.treatments.label(at));
            all.push(row);
        }
    }
    let number = |name: &str, format: Format, value: &dyn Fn(&Row) -> Option<f64>| {
        Column::number(name, all.iter().map(value).collect(), format)
    };
    let unit = spread.response().unit.as_str();
    Some(Table {
        id: id(spread, "seasons", set),
        title: format!(
            "Spread of {} between the vines of a plot by season and {}",
            words::inside(&spread.response().label),
            words::inside(&treatments.heading())
        ),
        columns: vec![
            Column {
                name: "Season".to_owned(),
                unit: None,
                cells: Cells::Text { values: names },
            },
            in_unit(
                Column::text(&treatments.heading(), labels),
                treatments.unit().unwrap_or(""),
            ),
            in_unit(number("Spread", SPREAD, &|row| Some(row.spread)), unit),
            number("Ratio to the control", RATIO, &|row| row.ratio?[1]),
            number("Ratio, lower limit", RATIO, &|row| row.ratio?[0]),
            number("Ratio, upper limit", RATIO, &|row| row.ratio?[2]),
        ],
        notes: vec!["Each season with the error of that season alone.".to_owned()],
        groups,
        file_only: false,
    })
}

/// The number of every plot that was analysed.
fn plots(spread: &Spread<'_>) -> Table {
    let logs = &spread.overall.columns[LOG];
    let names = spread
        .overall
        .plots
        .iter()
        .map(|&plot| spread.register.words(plot));
    let unit = spread.response().unit.as_str();
    Table {
        id: "plots".to_owned(),
        title: format!(
            "Spread of {} in each plot",
            words::inside(&spread.response().label)
        ),
        columns: vec![
            Column::text("Plot", names),
            in_unit(
                Column::number(
                    "Spread",
                    logs.iter().map(|log| Some((log / 2.0).exp())).collect(),
                    SPREAD,
                ),
                unit,
            ),
            Column::number(
                "Logarithm of the variance",
                logs.iter().map(|log| Some(*log)).collect(),
                Format::Significant(6),
            ),
        ],
        notes: vec![
            "Freed from the bias that few vines give a logarithm; the mean over seasons where there are several.".to_owned(),
        ],
        file_only: true,
        ..Table::default()
    }
}
