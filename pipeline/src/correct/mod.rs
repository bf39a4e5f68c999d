//! Corrections of single cells, kept beside the data in `corrections.csv`: the file as it came from the
//! field stays as it is, and every change says what stood there, what was meant, who looked and why.
//!
//! `read.rs` reads the file, `settle.rs` finds each cell in the data and holds it against what stands
//! there, `list.rs` writes suspicious cells in the same form. Corrections are put in while the data
//! are read, so that everything after sees them as if they had been typed so.

use std::collections::HashMap;

use polars::prelude::{DataFrame, NamedFrom, Series};

use crate::diagnostic::{Diagnostic, Place, Severity};
use crate::load::File;
use crate::load::csv::cell;

mod list;
mod read;
mod settle;

pub use list::listed;
pub use read::{HEADINGS, read};
pub use settle::settled;

/// Name of the file, in the trial folder.
pub const CORRECTIONS_FILE: &str = "corrections.csv";

/// What the one who looked made of a cell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Answer {
    /// It is another value.
    Changed(String),
    /// It was looked at and is right: the new value is empty and somebody signed.
    Kept,
    /// Nobody has looked yet: neither a new value nor initials.
    Open,
}

/// A line of the file.
#[derive(Debug, Clone)]
pub struct Correction {
    /// Its line, the header being line 1.
    pub line: usize,
    /// The data file.
    pub file: String,
    /// The sheet, where the file has several.
    pub sheet: Option<String>,
    /// Line of the record in the data, where it is given.
    pub record: Option<usize>,
    /// Season, block, plot and vine as the data write them, where given.
    pub keys: [Option<String>; 4],
    /// Heading of the column.
    pub column: String,
    /// What stands in the data.
    pub old: String,
    /// What was made of it.
    pub answer: Answer,
    /// Initials.
    pub who: String,
    /// Why.
    pub why: String,
}

/// The corrections of a trial; none where the folder has no such file.
#[derive(Debug, Clone, Default)]
pub struct Corrections {
    /// SHA-256 and size of the file, where there is one.
    pub file: Option<(String, u64)>,
    /// Its lines in order.
    pub rows: Vec<Correction>,
    /// Index of the data file and of the record of each, once found.
    pub cells: Vec<(usize, usize)>,
    /// Line of that record in its file.
    pub lines: Vec<usize>,
}

/// What is put into one data file: by heading, records and their new text.
pub type Edits = HashMap<String, Vec<(usize, String)>>;

/// Columns with the corrections put in.
///
/// # Errors
/// polars' own, if a column vanished in between.
pub fn edited(mut frame: DataFrame, edits: &Edits) -> Result<DataFrame, Diagnostic> {
    let fault = |error: polars::error::PolarsError| {
        Diagnostic::error(
            "correction",
            format!("a correction cannot be put in: {error}"),
        )
    };
    for (heading, changes) in edits {
        let changed = {
            let column = frame.column(heading).and_then(|column| column.str());
            let mut cells: Vec<Option<&str>> = column.map_err(fault)?.iter().collect();
            for (row, text) in changes {
                cells[*row] = Some(text);
            }
            Series::new(heading.as_str().into(), cells)
        };
        frame.with_column(changed.into()).map_err(fault)?;
    }
    Ok(frame)
}

impl Corrections {
    /// How many cells were changed, kept and not looked at yet.
    #[must_use]
    pub fn counts(&self) -> [usize; 3] {
        let of = |is: fn(&Answer) -> bool| self.rows.iter().filter(|row| is(&row.answer)).count();
        [
            of(|answer| matches!(answer, Answer::Changed(_))),
            of(|answer| *answer == Answer::Kept),
            of(|answer| *answer == Answer::Open),
        ]
    }

    /// The line about a cell, if there is one.
    #[must_use]
    pub fn of_cell(&self, file: usize, record: usize, column: &str) -> Option<&Correction> {
        let rows = self.rows.iter().zip(&self.cells);
        rows.filter(|(row, cell)| **cell == (file, record) && row.column == column)
            .map(|(row, _)| row)
            .next()
    }

    /// A note on lines that nobody has looked at yet.
    #[must_use]
    pub fn remarks(&self) -> Vec<Diagnostic> {
        let open: Vec<&Correction> = self
            .rows
            .iter()
            .filter(|row| row.answer == Answer::Open)
            .collect();
        let Some(first) = open.first() else {
            return Vec::new();
        };
        vec![
            Diagnostic::note(
                "correction",
                format!(
                    "{} of {CORRECTIONS_FILE} {} no new value and no initials: nobody has looked yet, and the data stay as they are",
                    crate::load::text::count(open.len(), "line"),
                    if open.len() == 1 { "has" } else { "have" }
                ),
            )
            .at(place(first.line, None))
            .help("write the new value, or leave it empty to keep the old one, and sign"),
        ]
    }

    /// A warning about nothing but cells that were looked at and kept, as a note that says so.
    #[must_use]
    pub fn eased(&self, found: Diagnostic, files: &[File]) -> Diagnostic {
        if found.severity != Severity::Warning || found.places.is_empty() {
            return found;
        }
        let kept: Option<Vec<&Correction>> = found
            .places
            .iter()
            .map(|place| {
                let (file, row, column) = of_place(files, place)?;
                self.of_cell(file, row, &column)
                    .filter(|row| row.answer == Answer::Kept)
            })
            .collect();
        let Some(kept) = kept else { return found };
        let mut signed: Vec<String> = kept
            .iter()
            .map(|row| format!("{}: {}", row.who, row.why))
            .collect();
        signed.dedup();
        Diagnostic {
            severity: Severity::Note,
            message: format!(
                "{}; looked at and kept ({})",
                found.message,
                crate::load::text::list(&signed)
            ),
            help: None,
            ..found
        }
    }
}

/// File, record and column of a cell of the data.
#[must_use]
pub fn of_place(files: &[File], place: &Place) -> Option<(usize, usize, String)> {
    let Place::Cell {
        path,
        line,
        column,
        sheet,
    } = place
    else {
        return None;
    };
    let (line, written) = ((*line)?, column.as_deref()?);
    let of_sheet = |file: &File| match (&file.origin.sheet, sheet) {
        (None, None) => true,
        (Some(name), Some(words)) => {
            let rest = words.strip_prefix(&format!("sheet '{name}'"));
            rest.is_some_and(|rest| rest.is_empty() || rest.starts_with(','))
        }
        _ => false,
    };
    let at = files.iter().position(|file| {
        path.as_path() == std::path::Path::new(&file.origin.path) && of_sheet(file)
    })?;
    let file = &files[at];
    let records = (0..file.height()).filter(|row| file.lines[*row] == line);
    // Where one row of the file holds several seasons, its headings hold the season too.
    for row in records {
        let mut seasonal = file.origin.seasonal.iter();
        let is_written = |name: &&String| match file.place(row, Some(name)) {
            Place::Cell { column, .. } => column.as_deref() == Some(written),
            Place::Span { .. } => false,
        };
        if let Some(name) = seasonal.find(is_written) {
            return Some((at, row, name.clone()));
        }
        if file.origin.seasons.is_none() {
            return Some((at, row, written.to_owned()));
        }
    }
    None
}

/// A place in the file of corrections.
fn place(line: usize, column: Option<&str>) -> Place {
    cell(CORRECTIONS_FILE, Some(line), column)
}

#[cfg(test)]
mod tests;
