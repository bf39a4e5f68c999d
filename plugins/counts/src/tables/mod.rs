//! Tables of a response: means, tests, comparisons, trends, what varies.

mod means;
mod ratios;
mod rows;
mod variance;

use caneplot_plugin::findings::{Format, Table};

use crate::frame::Dimension;
use crate::section::Subjected;
use crate::subject::Kind;

/// All tables of a response that has a model. Ratios and trends of single seasons are shown where
/// treatments act differently from season to season, and kept as files else.
#[must_use]
pub fn tables(subjected: &Subjected) -> Vec<Table> {
    if subjected.main().is_none() {
        return Vec::new();
    }
    let several = subjected.fitted().count() > 1;
    let apart = !several || subjected.seasons_differ();
    let mut tables = vec![means::table(subjected)];
    tables.extend(variance::tests(subjected));
    if several {
        tables.extend(ratios::comparisons(subjected, true));
        tables.extend(ratios::comparisons(subjected, false).map(|table| Table {
            id: "comparisons-seasons".to_owned(),
            title: format!("{}, season by season", table.title),
            file_only: !apart,
            ..table
        }));
    } else {
        tables.extend(ratios::comparisons(subjected, false));
    }
    tables.extend(ratios::trends(subjected).map(|table| Table {
        file_only: several && !apart,
        ..table
    }));
    tables.push(variance::variation(subjected));
    tables
}

/// How a mean of this response is written.
#[must_use]
pub fn mean_format(kind: Kind, size: f64) -> Format {
    match kind {
        Kind::Share => Format::Percent(1),
        _ if size >= 10.0 => Format::Decimals(1),
        _ => Format::Decimals(2),
    }
}

/// Interval heading: "Low, 95 %".
fn ends(level: f64) -> [String; 2] {
    let sure = interval_words(level);
    [format!("Low, {sure}"), format!("High, {sure}")]
}

/// "95 %".
#[must_use]
pub fn interval_words(level: f64) -> String {
    let sure = (1.0 - level) * 1000.0;
    format!("{} %", sure.round() / 10.0)
}

/// "12 nodes/vine" for the step of a trend.
#[must_use]
pub fn step_words(dimension: &Dimension, step: f64) -> String {
    match &dimension.unit {
        Some(unit) => format!("{step} {unit}"),
        None => format!("{step}"),
    }
}
