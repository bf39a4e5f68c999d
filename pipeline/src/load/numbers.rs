//! Columns of measurements: cells to exact decimals; what is no number is kept with its row.

use super::csv::cell;
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
    /// Reads trimmed cells.
    #[must_use]
    pub fn read<'a>(
        file: usize,
        heading: &str,
        cells: impl Iterator<Item = Option<&'a str>>,
        missing: &[String],
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
