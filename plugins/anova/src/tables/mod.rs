//! Tables: the analysis of variance here, stratum by stratum; means, differences, trends and
//! comparisons beside it.

mod combinations;
mod control;
pub(crate) mod differences;
pub(crate) mod means;
mod pairs;
mod trends;

use caneplot_plugin::findings::{Column, Format, Statement, Table};

use crate::study::Study;
use crate::words;

/// One row of the table.
#[derive(Default)]
struct Row {
    source: String,
    df: Option<i64>,
    sum_of_squares: Option<f64>,
    mean_square: Option<f64>,
    f: Option<f64>,
    p: Option<f64>,
}

/// Decimals that show the smallest error with three significant digits, at most 6.
pub(crate) fn decimals(study: &Study<'_>) -> u8 {
    let smallest = study
        .variance
        .errors
        .iter()
        .filter_map(|error| error.mean_square)
        .filter(|&square| square > 0.0)
        .fold(f64::INFINITY, f64::min);
    if smallest.is_finite() {
        (2.0 - smallest.log10().floor()).clamp(0.0, 6.0) as u8
    } else {
        2
    }
}

/// The table.
pub(crate) fn of(study: &Study<'_>) -> Table {
    let layout = &study.planned.design.layout;
    let mut rows: Vec<Row> = Vec::new();
    let mut groups = Vec::new();
    for (at, (stratum, error)) in layout
        .strata()
        .iter()
        .zip(&study.variance.errors)
        .enumerate()
    {
        let terms: Vec<usize> = (0..layout.terms().len())
            .filter(|&term| layout.terms()[term].stratum == at)
            .collect();
        let name = stratum.name.as_str();
        groups.push(rows.len());
        let residual = if terms.is_empty() {
            alone(name)
        } else {
            rows.push(Row {
                source: name.to_owned(),
                ..Row::default()
            });
            format!("Residual ({})", words::inside(name))
        };
        for term in terms {
            let line = study.line(term);
            rows.push(Row {
                source: layout.term_name(term),
                df: Some(line.df as i64),
                sum_of_squares: Some(line.sum_of_squares),
                mean_square: Some(line.mean_square),
                f: line.f,
                p: line.p,
            });
        }
        if error.df > 0 {
            rows.push(Row {
                source: residual,
                df: Some(error.df as i64),
                sum_of_squares: Some(error.sum_of_squares),
                mean_square: error.mean_square,
                ..Row::default()
            });
        } else if groups.last() == Some(&rows.len()) {
            groups.pop();
        }
    }
    let squares = || rows.iter().filter_map(|row| row.sum_of_squares);
    let total = Row {
        source: "Total".to_owned(),
        df: Some(layout.units() as i64 - 1),
        sum_of_squares: Some(squares().sum()),
        ..Row::default()
    };
    groups.push(rows.len());
    rows.push(total);
    let format = Format::Decimals(decimals(study));
    let column = |value: &dyn Fn(&Row) -> Option<f64>| rows.iter().map(value).collect::<Vec<_>>();
    Table {
        id: "anova".to_owned(),
        title: format!("Analysis of variance of {}", plain_label(study)),
        columns: vec![
            Column::text(
                "Source of variation",
                rows.iter().map(|row| row.source.clone()),
            ),
            Column::count("df", rows.iter().map(|row| row.df).collect()),
            Column::number("Sum of squares", column(&|row| row.sum_of_squares), format),
            Column::number("Mean square", column(&|row| row.mean_square), format),
            Column::number("F", column(&|row| row.f), Format::Decimals(2)),
            Column::probability("P", column(&|row| row.p)),
        ],
        notes: vec![
            "Each term is tested against the residual of its own group of lines.".to_owned(),
        ],
        groups,
        file_only: false,
    }
}

/// "yield", as it stands in a title, where braces mean nothing.
pub(crate) fn plain_label(study: &Study<'_>) -> String {
    words::inside(&study.response.label)
        .replace("{{", "{")
        .replace("}}", "}")
}

/// A stratum in which nothing is tested, as one line.
fn alone(name: &str) -> String {
    match name {
        "Between blocks" => "Blocks".to_owned(),
        "Between rows" => "Rows".to_owned(),
        "Between columns" => "Columns".to_owned(),
        "Between vines within plots" => "Vines within plots".to_owned(),
        other => other.to_owned(),
    }
}

/// Coefficients of variation of the strata that test treatments.
pub(crate) fn variation(study: &Study<'_>) -> Option<Statement> {
    let mean = study.grand_mean();
    if mean <= 0.0 {
        return None;
    }
    let layout = &study.planned.design.layout;
    let mut parts = Vec::new();
    let mut values = Vec::new();
    for (at, (stratum, error)) in layout
        .strata()
        .iter()
        .zip(&study.variance.errors)
        .enumerate()
    {
        let tests = layout.terms().iter().any(|term| term.stratum == at);
        let Some(square) = error.mean_square.filter(|_| tests && !stratum.grouping) else {
            continue;
        };
        let size = layout.units() as f64 / stratum.cells.count() as f64;
        let name = format!("cv{at}");
        parts.push(format!("{{{name}}} {}", words::inside(&stratum.name)));
        values.push((name, (square / size).sqrt() / mean));
    }
    if parts.is_empty() {
        return None;
    }
    let text = format!("Coefficient of variation: {}.", words::list(&parts));
    let statement = values
        .into_iter()
        .fold(Statement::new(text), |statement, (name, value)| {
            statement.with(&name, value, Format::Percent(1))
        });
    Some(statement.rank(caneplot_plugin::findings::Rank::Detail))
}

/// A column with its unit, where there is one.
pub(crate) fn with_unit(column: Column, unit: &str) -> Column {
    if unit.is_empty() {
        column
    } else {
        column.in_unit(unit)
    }
}
