//! The records of a sheet, column by column.

use calamine::Data;

use super::book::Sheet;
use super::cells;
use crate::diagnostic::Diagnostic;
use crate::load::columns::{self, Use};
use crate::load::heads::Wanted;
use crate::load::marks::{self, Evidence, Told};
use crate::load::opened::{Cell, Origin};
use crate::load::text::list;
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
    pub(super) places: Vec<usize>,
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

    /// What the trial uses a heading for.
    pub(super) fn uses(&self, wanted: &Wanted<'_>, heading: &str) -> Vec<Use> {
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

    /// Numbers typed into cells of text: said, and their decimal commas made points.
    pub(super) fn numbers_in_texts(
        &mut self,
        sheet: &Sheet,
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
            self.no_points(sheet, &measured)?;
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

    /// Texts with points among texts with decimal commas: thousands, or a slip.
    fn no_points(&self, sheet: &Sheet, measured: &[usize]) -> Result<(), Vec<Diagnostic>> {
        for at in measured {
            for row in &self.lines {
                let cell = (*row as u32 - 1, self.places[*at] as u32);
                let Some(Data::String(text)) = sheet.values.get_value(cell) else {
                    continue;
                };
                if text.contains('.') && marks::is_number(text.trim()) {
                    let heading = &self.headings[*at];
                    return Err(vec![
                        Diagnostic::error(
                            "decimal-mark",
                            format!(
                                "'{text}' in {} is a text with a point, and others have a comma before their decimals",
                                self.origin.name()
                            ),
                        )
                        .at(self.origin.place(Some(*row), Some(heading)))
                        .help("type the number again in a cell of the format 'number'"),
                    ]);
                }
            }
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
}

/// Whether a column holds measurements and no names.
pub(super) fn is_measured(what: Use) -> bool {
    what.is_number()
}
