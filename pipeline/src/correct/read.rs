//! `corrections.csv` as written.

use polars::prelude::DataFrame;

use super::{Answer, CORRECTIONS_FILE, Correction, Corrections, place};
use crate::diagnostic::{Diagnostic, nearest};
use crate::load::csv;
use crate::load::opened::Opened;
use crate::trial::Trial;

/// Headings of the file: those of the record, of the cell, and of who looked.
pub const HEADINGS: [&str; 12] = [
    "file",
    "sheet",
    "line",
    "season",
    "block",
    "plot",
    "vine",
    "column",
    "old value",
    "new value",
    "who",
    "why",
];

/// Headings that must be there.
const NEEDED: [&str; 6] = ["file", "column", "old value", "new value", "who", "why"];

/// The corrections of a trial; empty where its folder has none.
///
/// # Errors
/// Every mistake of the file itself.
pub fn read(trial: &Trial) -> Result<Corrections, Vec<Diagnostic>> {
    let path = trial.folder.join(CORRECTIONS_FILE);
    if !path.exists() {
        return Ok(Corrections::default());
    }
    let opened = csv::plain(CORRECTIONS_FILE, &path)?;
    let mut faults = headings(&opened);
    if !faults.is_empty() {
        return Err(faults);
    }
    let all: Vec<usize> = (0..opened.headings.len()).collect();
    let frame = opened.columns(&all).map_err(|fault| vec![fault])?;
    let columns: Vec<Vec<String>> = HEADINGS
        .iter()
        .map(|heading| column(&frame, heading, opened.lines.len()))
        .collect();
    let mut rows = Vec::new();
    for (at, line) in opened.lines.iter().enumerate() {
        let texts: [String; 12] = std::array::from_fn(|column| columns[column][at].clone());
        match correction(*line, texts) {
            Ok(row) => rows.push(row),
            Err(fault) => faults.push(fault),
        }
    }
    if faults.is_empty() {
        Ok(Corrections {
            file: Some((opened.sha256.clone(), opened.bytes)),
            rows,
            cells: Vec::new(),
            lines: Vec::new(),
        })
    } else {
        Err(faults)
    }
}

fn headings(opened: &Opened) -> Vec<Diagnostic> {
    let mut faults = Vec::new();
    for heading in &opened.headings {
        if !HEADINGS.contains(&heading.as_str()) {
            let near = nearest(heading, HEADINGS).map_or(String::new(), |near| {
                format!("write '{near}' if that is meant; ")
            });
            faults.push(
                fault(format!(
                    "{CORRECTIONS_FILE} has a column '{heading}' that it does not know"
                ))
                .at(place(1, Some(heading)))
                .help(format!("{near}known: {}", HEADINGS.join(", "))),
            );
        }
    }
    for needed in NEEDED {
        if !opened.headings.iter().any(|heading| heading == needed) {
            faults.push(
                fault(format!("{CORRECTIONS_FILE} has no column '{needed}'"))
                    .at(place(1, None))
                    .help(format!("head its columns {}", HEADINGS.join(", "))),
            );
        }
    }
    faults
}

/// The cells of a column, trimmed; empty where the file has no such column.
fn column(frame: &DataFrame, heading: &str, height: usize) -> Vec<String> {
    let cells = frame.column(heading).and_then(|column| column.str());
    cells.map_or_else(
        |_| vec![String::new(); height],
        |cells| {
            let texts = cells.iter();
            texts
                .map(|cell| cell.unwrap_or_default().trim().to_owned())
                .collect()
        },
    )
}

fn correction(line: usize, texts: [String; 12]) -> Result<Correction, Diagnostic> {
    let [
        file,
        sheet,
        record,
        season,
        block,
        plot,
        vine,
        column,
        old,
        new,
        who,
        why,
    ] = texts;
    let at = |heading: &str| place(line, Some(heading));
    for (text, heading) in [(&file, "file"), (&column, "column")] {
        if text.is_empty() {
            return Err(fault(format!(
                "line {line} of {CORRECTIONS_FILE} names no {heading}"
            ))
            .at(at(heading))
            .help("name the file as in the trial file, and the column by its heading"));
        }
    }
    let record = match record.as_str() {
        "" => None,
        text => Some(text.parse::<usize>().map_err(|_| {
            fault(format!("'{text}' is not the number of a line"))
                .at(at("line"))
                .help("write the line of the record in the data file, its headings being line 1, or leave it empty")
        })?),
    };
    let answer = match (new.is_empty(), who.is_empty()) {
        (true, true) => Answer::Open,
        (true, false) => Answer::Kept,
        (false, _) => Answer::Changed(new),
    };
    if answer != Answer::Open {
        for (text, heading, what) in [(&who, "who", "who looked"), (&why, "why", "why")] {
            if text.is_empty() {
                return Err(fault(format!(
                    "line {line} of {CORRECTIONS_FILE} does not say {what}"
                ))
                .at(at(heading))
                .help("every correction is signed with initials and has a reason"));
            }
        }
    }
    if answer == Answer::Changed(old.clone()) {
        return Err(fault(format!(
            "line {line} of {CORRECTIONS_FILE} changes '{old}' into itself"
        ))
        .at(at("new value"))
        .help("leave the new value empty where the old one was looked at and kept"));
    }
    let given = |text: String| (!text.is_empty()).then_some(text);
    Ok(Correction {
        line,
        file,
        sheet: given(sheet),
        record,
        keys: [season, block, plot, vine].map(given),
        column,
        old,
        answer,
        who,
        why,
    })
}

fn fault(message: String) -> Diagnostic {
    Diagnostic::error("correction", message)
}
