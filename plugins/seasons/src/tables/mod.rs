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

/// The tables of a response in the order of the report; of a response in the second row the tests
/// and comparisons are in their files only.
pub(crate) fn of(study: &Study<'_>, judged: &[Judged], foremost: bool) -> Vec<Table> {
    let mut tables = seasons::tables(study);
    if study.seasons.len() > 1
        && let Ok(whole) = &study.whole
    {
        tables.push(course::means(study, whole));
        let detail = [
            course::tests(study, whole),
            control::table(study, whole, foremost),
        ];
        tables.extend(detail.into_iter().flatten().map(|table| Table {
            file_only: !foremost,
            ..table
        }));
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
