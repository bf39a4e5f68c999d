//! The status of vines: words, contradictions, numbers where no vine bears.

use std::collections::{BTreeMap, HashMap};

use super::{Facts, Numbers, PRACTICE, Rule, stand};
use crate::diagnostic::{Diagnostic, Severity, nearest};
use crate::load::status::{State, state};
use crate::load::text::{and_more, lines, list};
use crate::load::{Belongs, File};
use crate::trial::Status;

/// A status that belongs to no vine.
pub const STATUS_WITHOUT_VINES: Rule = Rule {
    name: "status-without-vines",
    severity: Severity::Error,
    source: PRACTICE,
    summary: "a status column in a file that does not name vines",
    threshold: None,
    look: status_without_vines,
};

/// Words that mean no status.
pub const STATUS_WORD: Rule = Rule {
    name: "status-word",
    severity: Severity::Error,
    source: PRACTICE,
    summary: "words in the status column that the trial file does not explain",
    threshold: None,
    look: status_word,
};

/// Two statuses of one vine and season.
pub const STATUS_TWICE: Rule = Rule {
    name: "status-twice",
    severity: Severity::Error,
    source: PRACTICE,
    summary: "a vine with two different statuses in one season",
    threshold: None,
    look: status_twice,
};

/// Numbers on dead, missing, replanted or diseased vines.
pub const VALUE_ON_GAP: Rule = Rule {
    name: "value-on-gap",
    severity: Severity::Warning,
    source: PRACTICE,
    summary: "numbers recorded on a vine that is dead, missing, replanted or diseased",
    threshold: None,
    look: value_on_gap,
};

fn with_status<'a>(facts: &Facts<'a>) -> Option<(&'a Status, Vec<(usize, &'a File)>)> {
    let files = facts
        .loaded
        .files
        .iter()
        .enumerate()
        .filter(|(_, file)| file.status.is_some());
    Some((facts.trial.status.as_ref()?, files.collect()))
}

fn status_without_vines(facts: &Facts) -> Vec<Diagnostic> {
    let Some((status, files)) = with_status(facts) else {
        return Vec::new();
    };
    files
        .into_iter()
        .filter(|(_, file)| file.vine.is_none())
        .map(|(_, file)| {
            Diagnostic::error(
                STATUS_WITHOUT_VINES.name,
                format!(
                    "{} has the status column '{}' but no column of vines",
                    file.name, status.column.value
                ),
            )
            .at(facts.trial.place(&status.column.span))
            .at(file.origin.place(None, Some(&status.column.value)))
            .help("add the column of vines to the file, or record the status in a file of vines")
        })
        .collect()
}

fn status_word(facts: &Facts) -> Vec<Diagnostic> {
    let Some((status, files)) = with_status(facts) else {
        return Vec::new();
    };
    let words: Vec<&str> = [
        &status.alive,
        &status.replanted,
        &status.diseased,
        &status.dead,
        &status.missing,
    ]
    .into_iter()
    .flatten()
    .map(String::as_str)
    .collect();
    let mut found = Vec::new();
    for (_, file) in files {
        let Some(column) = &file.status else { continue };
        for (code, word) in column.names.iter().enumerate() {
            if state(status, word).is_some() {
                continue;
            }
            let rows: Vec<usize> = (0..file.height())
                .filter(|row| column.codes[*row] == Some(code as u32))
                .collect();
            let help = match nearest(word, words.iter().copied()) {
                Some(near) => {
                    format!("write '{near}' if that is meant, or list '{word}' in [status]")
                }
                None => {
                    format!(
                        "list '{word}' in [status] under alive, replanted, diseased, dead or missing"
                    )
                }
            };
            found.push(
                Diagnostic::error(
                    STATUS_WORD.name,
                    format!(
                        "'{word}' in {} ({}) is no status{}; known are {}",
                        file.name,
                        facts.whose(file, rows[0]),
                        and_more(rows.len() - 1, "record", "records"),
                        list(&words)
                    ),
                )
                .at(file.place(rows[0], Some(&column.heading)))
                .help(help),
            );
        }
    }
    found
}

fn status_twice(facts: &Facts) -> Vec<Diagnostic> {
    let Some((_, files)) = with_status(facts) else {
        return Vec::new();
    };
    let mut found = Vec::new();
    for (at, file) in files {
        // Two records of a vine in a file with numbers are reported as duplicates.
        let Some(column) = file.status.as_ref().filter(|_| !facts.measures(at)) else {
            continue;
        };
        let mut first: HashMap<(Option<u32>, Option<u32>), usize> = HashMap::new();
        let mut twice: Vec<(usize, usize)> = Vec::new();
        for row in (0..file.height()).filter(|row| column.codes[*row].is_some()) {
            let season = file.season.as_ref().and_then(|season| season.codes[row]);
            let known = *first.entry((file.vines[row], season)).or_insert(row);
            if column.codes[known] != column.codes[row] {
                twice.push((known, row));
            }
        }
        let Some((known, row)) = twice.first() else {
            continue;
        };
        found.push(
            Diagnostic::error(
                STATUS_TWICE.name,
                format!(
                    "{} says '{}' and '{}' of {} ({}){}",
                    file.name,
                    column.name(*known).unwrap_or(""),
                    column.name(*row).unwrap_or(""),
                    facts.whose(file, *row),
                    lines(&[file.lines[*known], file.lines[*row]]),
                    and_more(twice.len() - 1, "record like it", "records like it")
                ),
            )
            .at(file.place(*row, Some(&column.heading)))
            .help("keep one status a vine and season"),
        );
    }
    found
}

fn value_on_gap(facts: &Facts) -> Vec<Diagnostic> {
    let Some(stand) = stand::recorded(facts) else {
        return Vec::new();
    };
    let mut found = Vec::new();
    for numbers in facts.columns() {
        let mut rows: BTreeMap<bool, Vec<(usize, State)>> = BTreeMap::new();
        for (row, value) in numbers.part.values.iter().enumerate() {
            if let Some((value, state)) = value.zip(stand.gap(&numbers, row)) {
                // A young or a sick vine may well bear, and nodes may be left on a vine that dies
                // after; all are left out all the same.
                let harmless = value.is_zero()
                    || matches!(state, State::Replanted | State::Diseased)
                    || numbers.file.belongs(numbers.response.quantity) == Belongs::After;
                rows.entry(harmless).or_default().push((row, state));
            }
        }
        found.extend(
            rows.into_iter()
                .map(|(harmless, rows)| on_gap(facts, &numbers, harmless, &rows)),
        );
    }
    found
}

fn on_gap(facts: &Facts, numbers: &Numbers, harmless: bool, rows: &[(usize, State)]) -> Diagnostic {
    let Numbers { part, file, .. } = numbers;
    let names: Vec<String> = rows
        .iter()
        .map(|(row, state)| {
            let word = match state {
                State::Replanted => "replanted",
                State::Diseased => "diseased",
                State::Dead => "dead",
                _ => "missing",
            };
            let value = part.values[*row].unwrap_or_default();
            format!(
                "{value} on line {} ({}, {word})",
                file.lines[*row],
                facts.whose(file, *row)
            )
        })
        .collect();
    let message = format!(
        "column '{}' of {} has numbers where no bearing vine stands, which are left out: {}",
        part.heading,
        file.name,
        list(&names)
    );
    let found = if harmless {
        Diagnostic::note(VALUE_ON_GAP.name, message)
    } else {
        Diagnostic::warning(VALUE_ON_GAP.name, message).help("correct the status or the number")
    };
    found.at(part.place(file, rows[0].0))
}
