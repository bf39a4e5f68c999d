//! Columns of measurements: cells to exact decimals; what is no number is kept with its row.

use super::csv::cell;
use super::dates::date;
use crate::decimal::{Decimal, exact};
use crate::diagnostic::Place;

/// The values one file holds of a response.
#[derive(Debug, Clone, Default)]
pub struct Part {
    /// Index of the file.
    pub file: usize,
    /// Heading of the column.
    pub heading: String,
    /// A value a record; `None` where not recorded or not a number.
    pub values: Vec<Option<Decimal>>,
    /// Cells that are neither a number nor declared as missing.
    pub faults: Vec<Fault>,
    /// Cells with a declared missing code.
    pub missing_codes: usize,
    /// Year of each cell that is a date; empty where no cell is one.
    pub years: Vec<Option<u16>>,
    /// Most decimals a cell was written with.
    pub decimals: u32,
}

/// A cell that is no number.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// Record, from 0.
    pub row: usize,
    /// What stands there.
    pub text: String,
}

impl Part {
    /// Reads trimmed cells; dates become days of the year where the column `takes_dates`.
    #[must_use]
    pub fn read<'a>(
        file: usize,
        heading: &str,
        cells: impl Iterator<Item = Option<&'a str>>,
        missing: &[String],
        takes_dates: bool,
    ) -> Self {
        let mut part = Self {
            file,
            heading: heading.to_owned(),
            ..Self::default()
        };
        for (row, cell) in cells.enumerate() {
            let value = match cell {
                None => None,
                Some(text) if missing.iter().any(|code| code == text) => {
                    part.missing_codes += 1;
                    None
                }
                Some(text) => match exact(text) {
                    Ok(value) => {
                        part.decimals = part.decimals.max(value.scale());
                        Some(value)
                    }
                    Err(_) if takes_dates && date(text).is_some() => date(text).map(|date| {
                        part.years.resize(row, None);
                        part.years.push(Some(date.year));
                        Decimal::from(date.day)
                    }),
                    Err(_) => {
                        part.faults.push(Fault {
                            row,
                            text: text.to_owned(),
                        });
                        None
                    }
                },
            };
            part.values.push(value);
        }
        part
    }

    /// The place of a cell of this column.
    #[must_use]
    pub fn place(&self, file: &super::File, row: usize) -> Place {
        cell(&file.name, Some(file.lines[row]), Some(&self.heading))
    }
}
