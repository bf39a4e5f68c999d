//! The tables of a report with their names.

use caneplot_plugin::findings::{Section, Table};

use crate::earlier::EarlierReport;
use crate::write::stem;

/// A table and where it stands in the report.
#[derive(Debug, Clone)]
pub struct Named<'a> {
    /// Name of its files, without ending: that of the report's own files.
    pub stem: String,
    /// The analysis.
    pub analysis: &'a str,
    /// The section.
    pub section: &'a Section,
    /// The table.
    pub table: &'a Table,
}

/// All tables in the order of the report, those too that it only links to.
#[must_use]
pub fn all(report: &EarlierReport) -> Vec<Named<'_>> {
    report
        .sections()
        .flat_map(|(analysis, section)| {
            section.tables.iter().map(move |table| Named {
                stem: stem(&analysis.name, section, &table.id),
                analysis: &analysis.name,
                section,
                table,
            })
        })
        .collect()
}

/// Number of rows of a table.
#[must_use]
pub fn rows(table: &Table) -> usize {
    table.columns.first().map_or(0, |column| column.cells.len())
}
