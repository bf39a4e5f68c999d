//! What is wrong with the cells of a sheet, and what is worth saying of them.

use calamine::Data;

use super::book::Sheet;
use super::grid::{Grid, is_measured};
use crate::diagnostic::Diagnostic;
use crate::load::heads::Wanted;
use crate::load::marks;
use crate::load::opened::letters;
use crate::load::text::{and_more, count, list};

impl Grid {
    /// Errors of formulas and formulas without a value, in columns the trial speaks of.
    pub(super) fn faults(&self, sheet: &Sheet, wanted: &Wanted<'_>) -> Vec<Diagnostic> {
        let mut errors: Vec<(usize, &str, String)> = Vec::new();
        let mut valueless: Vec<(usize, &str, String)> = Vec::new();
        for (place, heading) in self.places.iter().zip(&self.headings) {
            if !wanted.knows(heading) {
                continue;
            }
            for row in &self.lines {
                let at = (*row as u32 - 1, *place as u32);
                let value = sheet.values.get_value(at);
                let formula = sheet.formulas.get_value(at).filter(|text| !text.is_empty());
                match (value, formula) {
                    (Some(Data::Error(error)), _) => {
                        errors.push((*row, heading, error.to_string()));
                    }
                    (_, Some(formula)) if is_valueless(sheet, value, (*row, *place)) => {
                        valueless.push((*row, heading, formula.clone()));
                    }
                    _ => {}
                }
            }
        }
        let name = self.origin.name();
        let cell = |row: usize, heading: &str| {
            format!(
                "{}{row}",
                letters(self.origin.columns.get(heading).copied().unwrap_or(0))
            )
        };
        let error = errors.first().map(|(row, heading, text)| {
            let rest = and_more(errors.len() - 1, "cell like it", "cells like it");
            Diagnostic::error(
                "error-cell",
                format!(
                    "cell {} of {name} holds the error {text}{rest}",
                    cell(*row, heading)
                ),
            )
            .at(self.origin.place(Some(*row), Some(heading)))
            .help("correct the formula, or empty the cell if nothing was recorded")
        });
        let without = valueless.first().map(|(row, heading, formula)| {
            let rest = and_more(valueless.len() - 1, "cell like it", "cells like it");
            Diagnostic::error(
                "formula-without-value",
                format!(
                    "cell {} of {name} holds the formula {formula} and no value of it{rest}",
                    cell(*row, heading)
                ),
            )
            .at(self.origin.place(Some(*row), Some(heading)))
            .help("open the workbook in its program, let it reckon, and save it; or paste the values over the formulas")
        });
        error.into_iter().chain(without).collect()
    }

    /// A note on hidden rows and columns that were read like all others.
    pub(super) fn hidden(&self, sheet: &Sheet, wanted: &Wanted<'_>) -> Option<Diagnostic> {
        let layout = &sheet.layout;
        let rows: Vec<usize> = self
            .lines
            .iter()
            .copied()
            .filter(|row| layout.hides_row(*row))
            .collect();
        let columns: Vec<String> = self
            .places
            .iter()
            .zip(&self.headings)
            .filter(|(place, heading)| layout.hides_column(**place) && wanted.knows(heading))
            .map(|(_, heading)| format!("'{heading}'"))
            .collect();
        let mut what = Vec::new();
        if let Some(first) = rows.first() {
            what.push(format!("{} (row {first} first)", count(rows.len(), "row")));
        }
        if !columns.is_empty() {
            let word = if columns.len() == 1 {
                "column"
            } else {
                "columns"
            };
            what.push(format!("{word} {}", list(&columns)));
        }
        if what.is_empty() {
            return None;
        }
        Some(
            Diagnostic::note(
                "hidden-cells",
                format!(
                    "hidden in {} and read like all others: {}",
                    self.origin.name(),
                    what.join(", ")
                ),
            )
            .at(self.origin.place(rows.first().copied(), None)),
        )
    }

    /// A note on numbers stored as text.
    pub(super) fn stored_as_text(&self, sheet: &Sheet, wanted: &Wanted<'_>) -> Option<Diagnostic> {
        let mut cells: Vec<(usize, &str)> = Vec::new();
        for (place, heading) in self.places.iter().zip(&self.headings) {
            if !self.uses(wanted, heading).into_iter().any(is_measured) {
                continue;
            }
            for row in &self.lines {
                let value = sheet.values.get_value((*row as u32 - 1, *place as u32));
                if let Some(Data::String(text)) = value
                    && marks::is_number(text.trim())
                {
                    cells.push((*row, heading));
                }
            }
        }
        let (row, heading) = cells.first()?;
        Some(
            Diagnostic::note(
                "numbers-as-text",
                format!(
                    "{} of {} hold numbers stored as text; they were read as numbers",
                    count(cells.len(), "cell"),
                    self.origin.name()
                ),
            )
            .at(self.origin.place(Some(*row), Some(heading))),
        )
    }
}

/// Whether the formula of a cell has no value saved.
fn is_valueless(sheet: &Sheet, value: Option<&Data>, place: (usize, usize)) -> bool {
    matches!(value, None | Some(Data::Empty)) || sheet.layout.valueless.contains(&place)
}
