//! A data file opened: its headings and where its cells are to be found, whatever kind of file it is.

use std::collections::HashMap;
use std::sync::Arc;

use polars::prelude::{Column, DataFrame, DataType, Field, Schema};

use super::csv::Text;
use crate::diagnostic::{Diagnostic, Place};
use crate::reduce::Summarised;
use crate::trial::HeadingPattern;

/// Where records come from, in the words of the program they were typed in.
#[derive(Debug, Clone, Default)]
pub struct Origin {
    /// The file as written in the trial file.
    pub path: String,
    /// Sheet of a workbook.
    pub sheet: Option<String>,
    /// Column of the sheet each heading stands in, from 0.
    pub columns: HashMap<String, usize>,
    /// How the headings of measurements were made, and the seasons of the records of one row.
    pub seasons: Option<(HeadingPattern, Vec<String>)>,
    /// Columns whose headings name a season.
    pub seasonal: Vec<String>,
    /// Whether its records have numbers and no lines, the first being 1.
    pub numbered: bool,
    /// Of many records reduced to these: what each is a summary of.
    pub summary: Option<Arc<Summarised>>,
}

impl Origin {
    /// The file in words: "harvest.xlsx, sheet 'winter'".
    #[must_use]
    pub fn name(&self) -> String {
        match &self.sheet {
            Some(sheet) => format!("{}, sheet '{sheet}'", self.path),
            None => self.path.clone(),
        }
    }

    /// A place in it: a line (the row of a sheet) and a heading.
    #[must_use]
    pub fn place(&self, line: Option<usize>, column: Option<&str>) -> Place {
        let sheet = self.sheet.as_ref().map(|sheet| {
            let cell = match (line, column.and_then(|name| self.columns.get(name))) {
                (Some(row), Some(column)) => format!(", cell {}{row}", letters(*column)),
                (Some(row), None) => format!(", row {row}"),
                (None, Some(column)) => format!(", column {}", letters(*column)),
                (None, None) => String::new(),
            };
            format!("sheet '{sheet}'{cell}")
        });
        let row = line.filter(|_| self.numbered);
        Place::Cell {
            path: self.path.as_str().into(),
            line,
            column: column.map(str::to_owned),
            sheet: sheet.or(row.map(|row| self.row(row))),
        }
    }

    /// A record that has no line, in words.
    fn row(&self, row: usize) -> String {
        let names = self.summary.iter().flat_map(|summary| &summary.names);
        let name = names.into_iter().nth(row.wrapping_sub(1));
        name.cloned().unwrap_or_else(|| format!("row {row}"))
    }

    /// A place of a record, its heading as it stands in the file.
    #[must_use]
    pub fn record(&self, lines: &[usize], row: usize, column: Option<&str>) -> Place {
        let wide = self
            .seasons
            .as_ref()
            .zip(column)
            .filter(|(_, column)| self.seasonal.iter().any(|seasonal| seasonal == column));
        let written = wide.map(|((pattern, seasons), column)| {
            pattern.heading(column, &seasons[row % seasons.len()])
        });
        self.place(Some(lines[row]), written.as_deref().or(column))
    }
}

/// The letters of a column of a sheet, counted from 0: A, B … Z, AA.
#[must_use]
pub fn letters(column: usize) -> String {
    let mut letters = Vec::new();
    let mut rest = column + 1;
    while rest > 0 {
        letters.push(char::from(b'A' + ((rest - 1) % 26) as u8));
        rest = (rest - 1) / 26;
    }
    letters.iter().rev().collect()
}

/// A cell; `None` where it is empty.
pub type Cell = Option<String>;

/// Where the cells are.
#[derive(Debug)]
pub enum Body {
    /// In a text, not cut into cells yet.
    Text(Text),
    /// In memory, column by column.
    Cells(Vec<Vec<Cell>>),
}

/// A data file opened (read-only), its records found and its headings read.
#[derive(Debug)]
pub struct Opened {
    /// Where its records come from.
    pub origin: Origin,
    /// SHA-256 of the bytes, in hexadecimal.
    pub sha256: String,
    /// Size in bytes.
    pub bytes: u64,
    /// Headings, trimmed.
    pub headings: Vec<String>,
    /// Line (or row) of the headings.
    pub header_line: usize,
    /// Line (or row of the sheet) each record starts on.
    pub lines: Vec<usize>,
    /// Remarks on the way.
    pub remarks: Vec<Diagnostic>,
    /// The cells.
    pub body: Body,
}

impl Opened {
    /// The file in words.
    #[must_use]
    pub fn name(&self) -> String {
        self.origin.name()
    }

    /// The wanted columns as text, in the order of the file, under their headings.
    ///
    /// # Errors
    /// A diagnostic where the cells cannot be read.
    pub fn columns(&self, wanted: &[usize]) -> Result<DataFrame, Diagnostic> {
        if self.lines.is_empty() {
            let empty: Schema = wanted
                .iter()
                .map(|at| Field::new(self.headings[*at].as_str().into(), DataType::String))
                .collect();
            return Ok(DataFrame::empty_with_schema(&empty));
        }
        match &self.body {
            Body::Text(text) => text.columns(self, wanted),
            Body::Cells(cells) => {
                let columns = wanted
                    .iter()
                    .map(|at| Column::new(self.headings[*at].as_str().into(), &cells[*at]))
                    .collect();
                DataFrame::new(self.lines.len(), columns).map_err(|error| {
                    Diagnostic::error(
                        "unreadable-file",
                        format!("{} cannot be read: {error}", self.name()),
                    )
                    .at(self.origin.place(None, None))
                })
            }
        }
    }

    /// Every column in memory.
    ///
    /// # Errors
    /// As [`Opened::columns`].
    pub fn cells(&self) -> Result<Vec<Vec<Cell>>, Diagnostic> {
        if let Body::Cells(cells) = &self.body {
            return Ok(cells.clone());
        }
        let all: Vec<usize> = (0..self.headings.len()).collect();
        let frame = self.columns(&all)?;
        self.headings
            .iter()
            .map(|heading| {
                let column = super::read::text_column(&frame, self, heading)?;
                Ok(column.iter().map(|cell| cell.map(str::to_owned)).collect())
            })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_are_lettered_as_sheets_letter_them() {
        for (column, name) in [(0, "A"), (25, "Z"), (26, "AA"), (701, "ZZ"), (702, "AAA")] {
            assert_eq!(letters(column), name);
        }
    }
}
