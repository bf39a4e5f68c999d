//! The row of headings: where it stands, and what is wrong with it.

use super::dialect;
use super::opened::Origin;
use crate::diagnostic::{Diagnostic, Place};
use crate::trial::{DataFile, Trial};

/// What the trial wants of a file.
pub struct Wanted<'a> {
    /// The trial.
    pub trial: &'a Trial,
    /// The file.
    pub data: &'a DataFile,
}

impl Wanted<'_> {
    /// Whether the trial speaks of a heading.
    #[must_use]
    pub fn knows(&self, heading: &str) -> bool {
        let columns = super::columns::wanted(self.trial);
        let wide = |column: &str| match &self.data.headings {
            Some(pattern) => super::wide::season(&pattern.value, column, heading).is_some(),
            None => false,
        };
        columns
            .iter()
            .any(|(_, column)| column.value == heading || wide(&column.value))
    }

    /// Which of the first rows that are not empty holds the headings, with a note where rows above
    /// it are left out; `None` where there are no rows.
    ///
    /// # Errors
    /// The declared row is empty or not there.
    pub fn header(
        &self,
        rows: &[(usize, Vec<String>)],
        origin: &Origin,
        remarks: &mut Vec<Diagnostic>,
    ) -> Result<Option<usize>, Vec<Diagnostic>> {
        if let Some(declared) = &self.data.header_row {
            let at = rows.iter().position(|(line, _)| *line == declared.value);
            return at.map(Some).ok_or_else(|| {
                vec![
                    Diagnostic::error(
                        "header-row",
                        format!("row {} of {} is empty", declared.value, origin.name()),
                    )
                    .at(self.trial.place(&declared.span))
                    .help("give the row that holds the headings, the first row being 1"),
                ]
            });
        }
        if rows.is_empty() {
            return Ok(None);
        }
        let cells: Vec<Vec<String>> = rows.iter().map(|(_, cells)| cells.clone()).collect();
        let at = dialect::header(&cells, &|heading| self.knows(heading));
        if at > 0 {
            let line = rows[at].0;
            let above = super::text::count(at, "row");
            remarks.push(
                Diagnostic::note(
                    "header-row",
                    format!(
                        "the headings of {} were found in row {line}; {above} above it {} left out",
                        origin.name(),
                        if at == 1 { "is" } else { "are" }
                    ),
                )
                .at(origin.place(Some(line), None)),
            );
        }
        Ok(Some(at))
    }
}

/// The note on a row of units.
#[must_use]
pub fn units_note(origin: &Origin, line: usize) -> Diagnostic {
    Diagnostic::note(
        "units-row",
        format!(
            "row {line} of {} holds units and no record; they are those of the trial file",
            origin.name()
        ),
    )
    .at(origin.place(Some(line), None))
}

/// Headings that are empty or there twice.
#[must_use]
pub fn faults(origin: &Origin, line: usize, headings: &[String]) -> Vec<Diagnostic> {
    let name = origin.name();
    let mut faults = Vec::new();
    for (at, heading) in headings.iter().enumerate() {
        if heading.is_empty() {
            faults.push(without_heading(&name, at, origin.place(Some(line), None)));
        } else if headings[..at].contains(heading) && !headings[at + 1..].contains(heading) {
            let times = headings.iter().filter(|other| *other == heading).count();
            faults.push(
                Diagnostic::error(
                    "headings",
                    format!("{name} has the heading '{heading}' {times} times"),
                )
                .at(origin.place(Some(line), Some(heading)))
                .help("give each column its own heading"),
            );
        }
    }
    faults
}

/// A column, counted from 0, whose heading is empty.
#[must_use]
pub fn without_heading(name: &str, column: usize, place: Place) -> Diagnostic {
    Diagnostic::error(
        "headings",
        format!("column {} of {name} has no heading", column + 1),
    )
    .at(place)
    .help("name the column, or delete it")
}
