//! The records of a sheet, column by column, and what is wrong with their cells.

use calamine::Data;

use super::book::Sheet;
use super::cells;
use crate::diagnostic::Diagnostic;
use crate::load::columns::{self, Use};
use crate::load::heads::Wanted;
use crate::load::marks::{self, Evidence, Told};
use crate::load::opened::{Cell, Origin, letters};
use crate::load::text::{and_more, count, list};
use crate::trial::DecimalMark;

/// The records under the headings.
pub(super) struct Grid {
    /// Where they come from.
    pub(super) origin: Origin,
    /// Headings of the columns that hold anything.
    pub(super) headings: Vec<String>,
    /// Row of each record.
    pub(super) lines: Vec<usize>,
    /// Cells by column.
    pub(super) columns: Vec<Vec<Cell>>,
    /// Column of the sheet of each heading, from 0.
    places: Vec<usize>,
}

impl Grid {
    /// The records under a header.
    pub(super) fn new(sheet: &Sheet, mut origin: Origin, header: usize, first: &[String]) -> Self {
        let (bottom, right) = sheet.values.end().unwrap_or((0, 0));
        let text = |row: usize, column: usize| {
            let cell = sheet.values.get_value((row as u32 - 1, column as u32));
            cell.and_then(cells::text)
        };
        let heading = |column: usize| first.get(column).cloned().unwrap_or_default();
        let rows = header + 1..=bottom as usize + 1;
        let places: Vec<usize> = (0..=right as usize)
            .filter(|column| {
                !heading(*column).is_empty() || rows.clone().any(|row| text(row, *column).is_some())
            })
            .collect();
        let lines: Vec<usize> = rows
            .filter(|row| {
                let filled = |column: &usize| {
                    text(*row, *column).is_some_and(|text| !text.trim().is_empty())
                };
                places.iter().any(filled)
            })
            .collect();
        let columns = places
            .iter()
            .map(|column| lines.iter().map(|row| text(*row, *column)).collect())
            .collect();
        let headings: Vec<String> = places.iter().map(|column| heading(*column)).collect();
        origin.columns = headings
            .iter()
            .cloned()
            .zip(places.iter().copied())
            .collect();
        Self {
            origin,
            headings,
            lines,
            columns,
            places,
        }
    }

    /// Fills merged cells of names (block, plot …) down; a merged measurement is a fault.
    pub(super) fn filled(
        &mut self,
        sheet: &Sheet,
        wanted: &Wanted<'_>,
        remarks: &mut Vec<Diagnostic>,
    ) -> Vec<Diagnostic> {
        let mut faults = Vec::new();
        let mut filled: Vec<String> = Vec::new();
        for area in &sheet.layout.merged {
            let rows = area.rows.clone();
            let Some(at) = self.places.iter().position(|place| *place == area.column) else {
                continue;
            };
            let heading = self.headings[at].clone();
            let uses = self.uses(wanted, &heading);
            let inside: Vec<usize> = (0..self.lines.len())
                .filter(|row| rows.contains(&self.lines[*row]))
                .collect();
            if inside.len() < 2 || self.lines[inside[0]] != *rows.start() || uses.is_empty() {
                continue;
            }
            if uses.iter().any(|what| is_measured(*what)) {
                let name = self.origin.name();
                faults.push(
                    Diagnostic::error(
                        "merged-cells",
                        format!(
                            "column '{heading}' of {name} has one number for rows {} to {}, whose cells are merged",
                            rows.start(),
                            rows.end()
                        ),
                    )
                    .at(self.origin.place(Some(*rows.start()), Some(&heading)))
                    .help("take the merging off and write the number of each record; a plot's number belongs into a sheet with one row a plot"),
                );
                continue;
            }
            let name = self.columns[at][inside[0]].clone();
            for row in &inside[1..] {
                self.columns[at][*row].clone_from(&name);
            }
            let quoted = format!("'{heading}'");
            if !filled.contains(&quoted) {
                filled.push(quoted);
            }
        }
        if !filled.is_empty() {
            let word = if filled.len() == 1 {
                "column"
            } else {
                "columns"
            };
            remarks.push(
                Diagnostic::note(
                    "merged-cells",
                    format!(
                        "merged cells in {word} {} of {} hold for each of their rows; they were read so",
                        list(&filled),
                        self.origin.name()
                    ),
                )
                .at(self.origin.place(None, None)),
            );
        }
        faults
    }

    fn uses(&self, wanted: &Wanted<'_>, heading: &str) -> Vec<Use> {
        let wide = |column: &str| {
            let pattern = wanted.data.headings.as_ref();
            pattern.is_some_and(|pattern| {
                crate::load::wide::season(&pattern.value, column, heading).is_some()
            })
        };
        columns::wanted(wanted.trial)
            .into_iter()
            .filter(|(_, column)| column.value == heading || wide(&column.value))
            .map(|(what, _)| what)
            .collect()
    }

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
                    (None | Some(Data::Empty), Some(formula)) => {
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

    /// Numbers typed into cells of text: said, and their decimal commas made points.
    pub(super) fn numbers_in_texts(
        &mut self,
        wanted: &Wanted<'_>,
        remarks: &mut Vec<Diagnostic>,
    ) -> Result<(), Vec<Diagnostic>> {
        let measured: Vec<usize> = (0..self.headings.len())
            .filter(|at| {
                let uses = self.uses(wanted, &self.headings[*at]);
                uses.iter().any(|what| is_measured(*what))
            })
            .collect();
        let mark = match wanted.data.decimal {
            Some(mark) => mark,
            None => self.told(&measured, wanted)?,
        };
        if mark == DecimalMark::Comma {
            for at in &measured {
                for cell in self.columns[*at].iter_mut().flatten() {
                    if let Some(text) = marks::with_point(cell.trim(), mark) {
                        *cell = text.into_owned();
                    }
                }
            }
            remarks.push(
                Diagnostic::note(
                    "decimal-comma",
                    format!(
                        "texts in {} have a comma before their decimals; they were read so",
                        self.origin.name()
                    ),
                )
                .at(self.origin.place(None, None)),
            );
        }
        Ok(())
    }

    fn told(
        &self,
        measured: &[usize],
        wanted: &Wanted<'_>,
    ) -> Result<DecimalMark, Vec<Diagnostic>> {
        let mut evidence = Evidence::default();
        for at in measured {
            for (row, cell) in self.columns[*at].iter().enumerate() {
                // Points may be those of real numbers and tell nothing about texts.
                if let Some(text) = cell.as_deref().filter(|text| text.contains(',')) {
                    evidence.add(text.trim(), &self.headings[*at], row);
                }
            }
        }
        match evidence.told(false) {
            Told::Sure(mark) => Ok(mark),
            Told::Usual => Ok(DecimalMark::Point),
            Told::Unclear => Err(vec![marks::unclear(
                &evidence,
                &self.origin,
                &self.lines,
                wanted,
            )]),
        }
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

/// Whether a column holds measurements and no names.
fn is_measured(what: Use) -> bool {
    matches!(what, Use::Value(_) | Use::Total(_) | Use::Covariate(_))
}
