//! Tables of one response.

mod control;
mod course;
mod equivalence;
mod family;
mod seasons;

use caneplot_plugin::findings::{Column, Table};

use crate::compare::Judged;
use crate::study::Study;

pub(crate) use course::plain;
pub(crate) use family::family;

/// The tables of a response in the order of the report.
pub(crate) fn of(study: &Study<'_>, judged: &[Judged]) -> Vec<Table> {
    let mut tables = seasons::tables(study);
    if study.seasons.len() > 1
        && let Ok(whole) = &study.whole
    {
        tables.push(course::means(study, whole));
        tables.extend(course::tests(study, whole));
        tables.extend(control::table(study, whole));
        tables.extend(equivalence::table(study, judged));
    }
    tables
}

/// A column with its unit, where there is one.
fn in_unit(column: Column, unit: &str) -> Column {
    if unit.is_empty() {
        column
    } else {
        column.in_unit(unit)
    }
}
