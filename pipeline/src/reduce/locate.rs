//! Where a text holds a cell that is no number: the reader of batches does not know the line, so the
//! files are gone through once more, line by line, up to the first such cell.

use std::fs::File;
use std::io::{BufRead, BufReader};

use polars::error::PolarsError;

use super::layout::{Kind, Layout};
use super::plan::Plan;
use super::scan::first_line;
use crate::diagnostic::Diagnostic;
use crate::load::csv::cell;
use crate::load::{marks, scan};
use crate::trial::DecimalMark;

/// The fault behind an error of the reader.
pub(super) fn fault(layout: &Layout, plan: &Plan, error: &PolarsError) -> Diagnostic {
    if let Kind::Text(separator, mark) = layout.kind {
        for (path, input) in layout.paths.iter().zip(&layout.inputs) {
            if let Some(fault) = of_text(path, &input.name, separator, mark, layout, plan) {
                return fault;
            }
        }
    }
    let names: Vec<&str> = match layout.inputs.as_slice() {
        [] => layout.paths.iter().map(String::as_str).collect(),
        inputs => inputs.iter().map(|input| input.name.as_str()).collect(),
    };
    Diagnostic::error(
        "unreadable-file",
        format!(
            "{} cannot be read: {}",
            crate::load::text::list(&names),
            first_line(error)
        ),
    )
    .at(layout.place(None))
    .help("write the files again; one of them may be damaged or not whole")
}

fn of_text(
    path: &str,
    name: &str,
    separator: u8,
    mark: DecimalMark,
    layout: &Layout,
    plan: &Plan,
) -> Option<Diagnostic> {
    let values: Vec<(usize, &str)> = layout
        .columns
        .iter()
        .enumerate()
        .filter(|(_, column)| {
            plan.values
                .iter()
                .any(|value| value.heading == column.heading)
        })
        .map(|(at, column)| (at, column.heading.as_str()))
        .collect();
    let width = layout.columns.len();
    for (at, line) in BufReader::new(File::open(path).ok()?)
        .lines()
        .enumerate()
        .skip(1)
    {
        let line = line.ok()?;
        if line.trim().is_empty() {
            continue;
        }
        let cells = scan::cells(&line, separator);
        if cells.len() > width {
            return Some(wide(name, at + 1, cells.len(), width));
        }
        for (column, heading) in &values {
            let text = cells.get(*column).map_or("", |cell| cell.trim());
            let is_missing = text.is_empty() || plan.missing.iter().any(|code| code == text);
            let is_number =
                marks::with_point(text, mark).is_some_and(|pointed| pointed.parse::<f64>().is_ok());
            if !is_missing && !is_number {
                return Some(no_number(name, at + 1, heading, text));
            }
        }
    }
    None
}

fn no_number(name: &str, line: usize, heading: &str, text: &str) -> Diagnostic {
    Diagnostic::error(
        "not-a-number",
        format!("'{text}' on line {line} of {name} (column '{heading}') is not a number"),
    )
    .at(cell(name, Some(line), Some(heading)))
    .help(format!(
        "correct it; if it means 'not recorded', add missing = [\"{text}\"] to the file in [[data]]"
    ))
}

fn wide(name: &str, line: usize, cells: usize, width: usize) -> Diagnostic {
    Diagnostic::error(
        "ragged-rows",
        format!("line {line} of {name} has {cells} cells, the header has {width}"),
    )
    .at(cell(name, Some(line), None))
    .help("a comma inside a text needs quotes around the text, a number with a decimal comma too")
}
