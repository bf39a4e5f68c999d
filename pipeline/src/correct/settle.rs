//! Each correction held against the data: its cell is found by the record's keys, and what stands
//! there must be what the correction says.

use std::collections::HashMap;

use polars::prelude::DataFrame;

use super::{Answer, CORRECTIONS_FILE, Correction, Corrections, Edits, place};
use crate::diagnostic::{Diagnostic, nearest};
use crate::load::columns::Found;
use crate::load::opened::Opened;
use crate::load::text::lines;
use crate::trial::Trial;

/// Season, block, plot and vine in words, as the corrections head them.
const KEYS: [&str; 4] = ["season", "block", "plot", "vine"];

/// The corrections with their cells, and what is to be put into each data file.
///
/// # Errors
/// A fault for every correction whose cell is not found, is another than it says, or is named twice.
pub fn settled(
    trial: &Trial,
    opened: &[Opened],
    found: &[Found],
    mut corrections: Corrections,
) -> Result<(Corrections, Vec<Edits>), Vec<Diagnostic>> {
    let mut edits = vec![Edits::new(); opened.len()];
    let mut faults = Vec::new();
    let mut taken: HashMap<(usize, usize, &str), usize> = HashMap::new();
    let mut cells = Vec::new();
    let mut frames: Vec<Option<DataFrame>> = opened.iter().map(|_| None).collect();
    for row in &corrections.rows {
        let settled = file_of(opened, row).and_then(|at| {
            let heading = known_column(&opened[at], &found[at], row)?;
            let frame = match frames[at].take() {
                Some(frame) => frame,
                None => opened[at].columns(&used(&found[at]))?,
            };
            let record = record(trial, &opened[at], &frame, row);
            let checked = record.and_then(|record| {
                stands(&opened[at], &frame, row, heading, record)?;
                Ok((at, record))
            });
            frames[at] = Some(frame);
            checked
        });
        match settled {
            Err(fault) => faults.push(fault),
            Ok((at, record)) => {
                if let Some(first) = taken.insert((at, record, &row.column), row.line) {
                    faults.push(twice(row, first));
                    continue;
                }
                cells.push((at, record));
                if let Answer::Changed(new) = &row.answer {
                    let of_column = edits[at].entry(row.column.clone()).or_default();
                    of_column.push((record, new.clone()));
                }
            }
        }
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    corrections.lines = cells
        .iter()
        .map(|(at, record)| opened[*at].lines[*record])
        .collect();
    corrections.cells = cells;
    Ok((corrections, edits))
}

/// Headings the trial reads, as the reader wants them.
fn used(found: &Found) -> Vec<usize> {
    let mut used: Vec<usize> = found.iter().map(|(_, heading)| *heading).collect();
    used.sort_unstable();
    used.dedup();
    used
}

fn fault(row: &Correction, heading: &str, message: String) -> Diagnostic {
    Diagnostic::error("correction", message).at(place(row.line, Some(heading)))
}

fn file_of(opened: &[Opened], row: &Correction) -> Result<usize, Diagnostic> {
    let help = |written: &str, names: &[&str]| match nearest(written, names.iter().copied()) {
        Some(near) => format!("write {near} if that is meant"),
        None => format!("known: {}", crate::load::text::list(names)),
    };
    let of_name: Vec<usize> = (0..opened.len())
        .filter(|at| opened[*at].origin.path == row.file)
        .collect();
    if of_name.is_empty() {
        let mut names: Vec<&str> = opened
            .iter()
            .map(|file| file.origin.path.as_str())
            .collect();
        names.dedup();
        return Err(
            fault(row, "file", format!("the trial has no file '{}'", row.file))
                .help(help(&row.file, &names)),
        );
    }
    let sheets: Vec<&str> = of_name
        .iter()
        .filter_map(|at| opened[*at].origin.sheet.as_deref())
        .collect();
    match &row.sheet {
        Some(sheet) if sheets.is_empty() => Err(fault(
            row,
            "sheet",
            format!("{} has no sheets, and so none named '{sheet}'", row.file),
        )
        .help("leave the sheet empty")),
        Some(sheet) => {
            let named = |at: &&usize| opened[**at].origin.sheet.as_ref() == Some(sheet);
            of_name.iter().find(named).copied().ok_or_else(|| {
                fault(
                    row,
                    "sheet",
                    format!("the trial reads no sheet '{sheet}' of {}", row.file),
                )
                .help(help(sheet, &sheets))
            })
        }
        None if of_name.len() > 1 => Err(fault(
            row,
            "sheet",
            format!("the trial reads {} sheets of {}", of_name.len(), row.file),
        )
        .help(format!(
            "fill in one of {}",
            crate::load::text::list(&sheets)
        ))),
        None => Ok(of_name[0]),
    }
}

/// The heading, if the trial reads it.
fn known_column<'a>(
    file: &'a Opened,
    found: &Found,
    row: &Correction,
) -> Result<&'a str, Diagnostic> {
    let read = || used(found).into_iter().map(|at| file.headings[at].as_str());
    read()
        .find(|heading| *heading == row.column)
        .ok_or_else(|| {
            let help = match nearest(&row.column, read()) {
                Some(near) => format!("write {near} if that is meant"),
                None => format!(
                    "the trial reads {}",
                    crate::load::text::list(&read().collect::<Vec<_>>())
                ),
            };
            fault(
                row,
                "column",
                format!(
                    "the trial reads no column '{}' in {}",
                    row.column,
                    file.name()
                ),
            )
            .help(help)
        })
}

fn text(frame: &DataFrame, heading: &str, record: usize) -> String {
    let column = frame.column(heading).and_then(|column| column.str());
    let cell = column.ok().and_then(|cells| cells.get(record));
    cell.unwrap_or_default().trim().to_owned()
}

/// The one record a correction speaks of.
fn record(
    trial: &Trial,
    file: &Opened,
    frame: &DataFrame,
    row: &Correction,
) -> Result<usize, Diagnostic> {
    let design = &trial.design;
    let columns = [
        design.season.as_ref(),
        design.block.as_ref(),
        Some(&design.plot),
        design.vine.as_ref(),
    ];
    let mut records: Vec<usize> = (0..file.lines.len()).collect();
    let mut open = Vec::new();
    for ((key, column), wanted) in KEYS.into_iter().zip(columns).zip(&row.keys) {
        let column = column.filter(|column| file.headings.contains(&column.value));
        let (column, wanted) = match (column, wanted) {
            (Some(column), Some(wanted)) => (column, wanted),
            (None, Some(wanted)) => {
                return Err(fault(
                    row,
                    key,
                    format!("{} has no {key}, and so no {key} '{wanted}'", file.name()),
                )
                .help("leave it empty"));
            }
            (column, None) => {
                open.extend(column.map(|_| key));
                continue;
            }
        };
        let texts: Vec<String> = records
            .iter()
            .map(|record| text(frame, &column.value, *record))
            .collect();
        let names = texts.iter().map(String::as_str);
        if !texts.contains(wanted) {
            let near = nearest(wanted, names).map_or(String::new(), |near| {
                format!("; write '{near}' if that is meant")
            });
            return Err(fault(
                row,
                key,
                format!(
                    "{} has no record of {key} '{wanted}'{}",
                    file.name(),
                    beside(&row.keys, key)
                ),
            )
            .help(format!("name the record as the data do{near}")));
        }
        let kept = records.iter().zip(&texts);
        records = kept
            .filter(|(_, text)| *text == wanted)
            .map(|(record, _)| *record)
            .collect();
    }
    let of_lines: Vec<usize> = records.iter().map(|at| file.lines[*at]).collect();
    if let Some(line) = row.record {
        records.retain(|at| file.lines[*at] == line);
        if records.is_empty() {
            return Err(fault(
                row,
                "line",
                format!(
                    "line {line} of {} is not the record named here, which is on {}",
                    file.name(),
                    lines(&of_lines)
                ),
            )
            .help("correct the line or leave it empty"));
        }
    }
    match records[..] {
        [record] => Ok(record),
        [] => Err(fault(
            row,
            "plot",
            format!("{} has no records", file.name()),
        )),
        _ => {
            open.push("line");
            Err(fault(
                row,
                open[0],
                format!(
                    "{} records of {} are named alike here ({})",
                    records.len(),
                    file.name(),
                    lines(&of_lines)
                ),
            )
            .help(format!("fill in {}", crate::load::text::list(&open))))
        }
    }
}

/// " in season 2021, block B1": the keys before one.
fn beside(keys: &[Option<String>; 4], key: &str) -> String {
    let before = KEYS.iter().zip(keys).take_while(|(name, _)| **name != key);
    let words: Vec<String> = before
        .filter_map(|(name, text)| Some(format!("{name} {}", text.as_ref()?)))
        .collect();
    if words.is_empty() {
        String::new()
    } else {
        format!(" in {}", words.join(", "))
    }
}

/// Refuses a correction of something else than what stands in the data.
fn stands(
    file: &Opened,
    frame: &DataFrame,
    row: &Correction,
    heading: &str,
    record: usize,
) -> Result<(), Diagnostic> {
    let there = text(frame, heading, record);
    if there == row.old {
        return Ok(());
    }
    Err(fault(
        row,
        "old value",
        format!(
            "line {} of {CORRECTIONS_FILE} corrects {}, but {} has {}",
            row.line,
            shown(&row.old),
            file.name(),
            shown(&there)
        ),
    )
    .at(file.origin.record(&file.lines, record, Some(heading)))
    .help("write the old value exactly as it stands in the data; if the data were changed, look whether the correction is still needed"))
}

/// "'5.9'", or that nothing stands there.
fn shown(text: &str) -> String {
    if text.is_empty() {
        "an empty cell".to_owned()
    } else {
        format!("'{text}'")
    }
}

fn twice(row: &Correction, first: usize) -> Diagnostic {
    fault(
        row,
        "column",
        format!(
            "lines {first} and {} of {CORRECTIONS_FILE} correct the same cell",
            row.line
        ),
    )
    .at(place(first, Some("column")))
    .help("keep one of the two")
}
