//! The mark before the decimals of one file.

use polars::prelude::DataFrame;

use super::columns::Found;
use super::heads::Wanted;
use super::index::level;
use super::marks::{self, Evidence, Told};
use super::opened::{Body, Opened};
use super::read::{text_column, trimmed};
use super::text::Coded;
use crate::diagnostic::Diagnostic;
use crate::trial::{DataFile, DecimalMark, Factor, Trial};

/// The mark before the decimals of a file: declared, or told by its cells.
///
/// # Errors
/// Cells that may have decimals or thousands, and no other cell that tells.
pub fn mark(
    trial: &Trial,
    data: &DataFile,
    opened: &Opened,
    frame: &DataFrame,
    found: &Found,
    notes: &mut Vec<Diagnostic>,
) -> Result<DecimalMark, Diagnostic> {
    let doubtful = match &opened.body {
        Body::Text(text) if !text.may_hold_commas() => return Ok(DecimalMark::Point),
        // Where a row became several, its cells are those of the text.
        Body::Cells(_) if opened.origin.sheet.is_some() || opened.origin.numbered => {
            return Ok(DecimalMark::Point);
        }
        Body::Text(text) => text.separator == b';',
        Body::Cells(_) => false,
    };
    if let Some(mark) = data.decimal {
        return Ok(mark);
    }
    let mut evidence = Evidence::default();
    for (what, heading) in found {
        if !what.is_number() {
            continue;
        }
        let heading = opened.headings[*heading].as_str();
        for (row, cell) in trimmed(text_column(frame, opened, heading)?).enumerate() {
            match cell {
                Some(text) if !data.missing.iter().any(|code| code == text) => {
                    evidence.add(text, heading, row);
                }
                _ => {}
            }
        }
    }
    match evidence.told(doubtful) {
        Told::Usual => Ok(DecimalMark::Point),
        Told::Unclear => Err(marks::unclear(
            &evidence,
            &opened.origin,
            &opened.lines,
            &Wanted { trial, data },
        )),
        Told::Sure(mark) => {
            notes.push(
                Diagnostic::note(
                    "decimal-comma",
                    format!(
                        "numbers in {} have a comma before their decimals; they were read so",
                        opened.name()
                    ),
                )
                .at(opened.origin.place(None, None)),
            );
            Ok(mark)
        }
    }
}

/// Levels that are numbers, with a point before their decimals.
#[must_use]
pub fn with_points(mut levels: Coded, factor: &Factor, mark: DecimalMark) -> Coded {
    for name in &mut levels.names {
        if level(factor, name).is_none()
            && let Some(pointed) = marks::with_point(name, mark)
            && level(factor, &pointed).is_some()
        {
            *name = pointed.into_owned();
        }
    }
    levels
}
