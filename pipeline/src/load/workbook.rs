//! Workbooks (.xlsx, .xlsm, .ods): one sheet as columns of text.
//!
//! A number in a workbook is a double; the shortest decimal that reads back as the same double is
//! what was typed, and is taken as exact. `book.rs` opens the file and finds the sheet, `cells.rs`
//! turns its cells into texts, `layout.rs` finds merged cells and what is hidden, `grid.rs`
//! makes columns of them, `remarks.rs` says what is wrong with a cell.

mod book;
mod cells;
mod grid;
mod layout;
mod remarks;

use super::dialect;
use super::heads::{self, Wanted};
use super::opened::{Body, Cell, Opened, Origin};
use super::units_row::{self, Row};
use crate::diagnostic::Diagnostic;

/// Opens the sheet of a workbook and reads its cells.
///
/// # Errors
/// A file that is no workbook, a sheet that is not there or not named, and what is wrong with the
/// cells of columns that the trial speaks of: errors of formulas, numbers without a value.
pub fn opened(bytes: Vec<u8>, wanted: &Wanted<'_>) -> Result<Opened, Vec<Diagnostic>> {
    let sha256 = crate::hash::sha256(&bytes);
    let size = bytes.len() as u64;
    let mut book = book::Book::open(bytes, wanted).map_err(|fault| vec![fault])?;
    let sheet = book.sheet(wanted).map_err(|fault| vec![fault])?;
    let origin = Origin {
        path: wanted.data.file.value.clone(),
        sheet: Some(sheet.name.clone()),
        ..Origin::default()
    };
    let mut remarks = Vec::new();
    let declared = wanted.data.header_row.as_ref().map_or(0, |row| row.value);
    let rows = sheet.texts(declared.max(dialect::LOOKED_AT));
    let Some(at) = wanted.header(&rows, &origin, &mut remarks)? else {
        return Err(vec![empty(&origin)]);
    };
    let (header_line, first) = &rows[at];
    let mut grid = grid::Grid::new(&sheet, origin, *header_line, first);
    let mut faults = heads::faults(&grid.origin, *header_line, &grid.headings);
    if faults.is_empty() {
        faults.extend(grid.filled(&sheet, wanted, &mut remarks));
        faults.extend(grid.faults(&sheet, wanted));
        remarks.extend(grid.hidden(&sheet, wanted));
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    if let Some(line) = grid.lines.first().copied() {
        let cells: Vec<String> = grid
            .columns
            .iter()
            .map(|column| column[0].clone().unwrap_or_default().trim().to_owned())
            .collect();
        let row = Row {
            origin: &grid.origin,
            line,
            headings: &grid.headings,
            cells: &cells,
        };
        if units_row::holds_units(&row, wanted.data, wanted.trial)? {
            remarks.push(heads::units_note(&grid.origin, line));
            grid.lines.remove(0);
            for column in &mut grid.columns {
                column.remove(0);
            }
        }
    }
    remarks.extend(grid.stored_as_text(&sheet, wanted));
    grid.numbers_in_texts(&sheet, wanted, &mut remarks)?;
    Ok(Opened {
        origin: grid.origin,
        sha256,
        bytes: size,
        headings: grid.headings,
        header_line: *header_line,
        lines: grid.lines,
        remarks,
        body: Body::Cells(grid.columns),
    })
}

/// The sheet with a column of seasons, all the one its name says.
///
/// # Errors
/// The sheet has such a column already.
pub fn with_season(
    mut opened: Opened,
    season: &str,
    heading: &str,
    wanted: &Wanted<'_>,
) -> Result<Opened, Diagnostic> {
    if opened.headings.iter().any(|known| known == heading) {
        return Err(Diagnostic::error(
            "season-twice",
            format!(
                "{} has a column '{heading}', and its season is to be that of the sheet's name",
                opened.name()
            ),
        )
        .at(wanted.trial.place(&wanted.data.file.span))
        .at(opened.origin.place(Some(opened.header_line), Some(heading)))
        .help("take season_from out, or the column"));
    }
    let column: Vec<Cell> = vec![Some(season.to_owned()); opened.lines.len()];
    if let Body::Cells(columns) = &mut opened.body {
        columns.push(column);
        opened.headings.push(heading.to_owned());
    }
    Ok(opened)
}

fn empty(origin: &Origin) -> Diagnostic {
    Diagnostic::error("empty-file", format!("{} is empty", origin.name()))
        .at(origin.place(None, None))
        .help("one row must hold the headings, the rows under it one record each")
}
