//! Several trials side by side, and the table that says how each came out.
//!
//! Trials are worked on at the same time and told of in the order they were given in; a broken one
//! stops none of the others.

use std::path::{Path, PathBuf};

use caneplot_plugin::findings::{Cells, Column, Table};

use crate::diagnostic::{Diagnostic, Severity};
use crate::load::text::{count, list};
use crate::trial::resolve;
use crate::write::{csv, folder, markdown};
use crate::{Done, Settings, parallel};

/// Names of the summary's files beside the reports.
pub const SUMMARY: [&str; 2] = ["summary.md", "summary.csv"];

/// A trial and how its run ended.
#[derive(Debug)]
pub struct Ran {
    /// Its folder as it was given.
    pub folder: PathBuf,
    /// Its name, which is that of its report.
    pub name: String,
    /// What the run left behind, or why there is no report.
    pub outcome: Result<Done, Vec<Diagnostic>>,
}

/// Runs every trial. Threads are shared out among trials worked on at one time; no result depends
/// on their number.
///
/// # Errors
/// Trials whose reports would have the same name; nothing has run then.
pub fn run(folders: &[PathBuf], settings: &Settings) -> Result<Vec<Ran>, Vec<Diagnostic>> {
    let names: Vec<String> = folders.iter().map(|one| resolve::name(one)).collect();
    let twice = twice(folders, &names);
    if !twice.is_empty() {
        return Err(twice);
    }
    let at_once = settings.threads.clamp(1, folders.len().max(1));
    let each = Settings {
        threads: (settings.threads / at_once).max(1),
        ..settings.clone()
    };
    let outcomes = parallel::map(folders, at_once, |_, folder| crate::run(folder, &each));
    let trials = folders.iter().cloned().zip(names);
    Ok(trials
        .zip(outcomes)
        .map(|((folder, name), outcome)| Ran {
            folder,
            name,
            outcome,
        })
        .collect())
}

fn twice(folders: &[PathBuf], names: &[String]) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    for (at, name) in names.iter().enumerate() {
        let same: Vec<String> = folders
            .iter()
            .zip(names)
            .filter(|(_, other)| *other == name)
            .map(|(folder, _)| folder.display().to_string())
            .collect();
        if same.len() > 1 && names.iter().position(|other| other == name) == Some(at) {
            let message = format!("the reports of {} would have one name: {name}", list(&same));
            found.push(Diagnostic::error("trial-twice", message).help(
                "give each trial once, or run one of them with another --out; nothing was run",
            ));
        }
    }
    found
}

/// One line a trial: what it holds, what was found, and whether its report is whole.
#[must_use]
pub fn summary(trials: &[Ran]) -> Table {
    let done = |of: &dyn Fn(&Done) -> i64| {
        let values = trials.iter().map(|one| one.outcome.as_ref().ok().map(of));
        values.collect::<Vec<Option<i64>>>()
    };
    let number = |severity: Severity| {
        let remarks = trials.iter().map(|one| match &one.outcome {
            Ok(done) => done.remarks.as_slice(),
            Err(found) => found.as_slice(),
        });
        let of = |remarks: &[Diagnostic]| {
            let count = remarks.iter().filter(|one| one.severity == severity);
            Some(count.count() as i64)
        };
        remarks.map(of).collect::<Vec<Option<i64>>>()
    };
    Table {
        id: "summary".to_owned(),
        title: "Trials".to_owned(),
        columns: vec![
            Column::text("Trial", trials.iter().map(|one| one.name.as_str())),
            Column::count("Plots", done(&|done| done.facts.plots as i64)),
            Column::count("Seasons", done(&|done| done.facts.seasons as i64)),
            Column::count("Warnings", number(Severity::Warning)),
            Column::count("Notes", number(Severity::Note)),
            Column::count("Analyses", done(&|done| done.facts.analyses as i64)),
            Column::count("Failed", done(&|done| done.facts.failed as i64)),
            Column::text("Report", trials.iter().map(state)),
            Column::text("First result", trials.iter().map(first_result)),
        ],
        ..Table::default()
    }
}

/// "complete", or what is wrong.
fn state(one: &Ran) -> String {
    match &one.outcome {
        Ok(done) if done.lacking.is_empty() => "complete".to_owned(),
        Ok(done) => format!("incomplete: {}", done.lacking.join("; ")),
        Err(found) => {
            let errors: Vec<&Diagnostic> = found
                .iter()
                .filter(|one| one.severity == Severity::Error)
                .collect();
            let first = errors.first().map_or("", |one| one.message.as_str());
            match errors.len() {
                0 | 1 => format!("not written: {first}"),
                many => format!("not written, {}, the first: {first}", count(many, "error")),
            }
        }
    }
}

fn first_result(one: &Ran) -> String {
    let done = one.outcome.as_ref().ok();
    done.and_then(|done| done.facts.headline.clone())
        .unwrap_or_default()
}

/// Writes the table beside the reports, each file whole or not at all.
///
/// # Errors
/// Where the folder cannot be written to.
pub fn write(table: &Table, out: &Path) -> Result<(), Diagnostic> {
    let text = markdown::table(table, &mut Default::default());
    let texts = [format!("# Trials\n\n{text}"), csv::table(table)];
    for (name, text) in SUMMARY.iter().zip(texts) {
        folder::write_whole(&out.join(name), text.as_bytes())
            .map_err(|error| Diagnostic::error("report-folder", error.to_string()))?;
    }
    Ok(())
}

/// The table for a terminal: columns set under each other, the longest texts last.
#[must_use]
pub fn for_terminal(table: &Table) -> String {
    let rows = table.columns.first().map_or(0, |one| one.cells.len());
    let columns: Vec<Vec<String>> = table
        .columns
        .iter()
        .map(|column| {
            let cells = (0..rows).map(|row| words(column, row));
            std::iter::once(column.name.clone()).chain(cells).collect()
        })
        .collect();
    let widths: Vec<usize> = columns
        .iter()
        .map(|cells| {
            let widths = cells.iter().map(|cell| cell.chars().count());
            widths.max().unwrap_or_default()
        })
        .collect();
    let mut out = String::new();
    for row in 0..=rows {
        let mut line = String::new();
        for ((column, cells), width) in table.columns.iter().zip(&columns).zip(&widths) {
            let text = matches!(column.cells, Cells::Text { .. });
            let cell = &cells[row];
            line.push_str(&match text {
                true => format!("{cell:<width$}  "),
                false => format!("{cell:>width$}  "),
            });
        }
        out.push_str(line.trim_end());
        out.push('\n');
    }
    out
}

/// A cell of the summary, which holds words and counts.
fn words(column: &Column, row: usize) -> String {
    match &column.cells {
        Cells::Text { values } => values.get(row).cloned().flatten(),
        Cells::Count { values } => {
            let value = values.get(row).copied().flatten();
            value.map(|value| value.to_string())
        }
        _ => None,
    }
    .unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_name_twice_is_an_error_and_names_the_folders() {
        let folders: Vec<PathBuf> = ["a/north", "b/south", "c/north"].map(PathBuf::from).into();
        let names = ["north", "south", "north"].map(str::to_owned);
        let found = twice(&folders, &names);
        assert_eq!(found.len(), 1);
        let message = &found[0].message;
        assert!(
            message.contains("a/north") && message.contains("c/north"),
            "{message}"
        );
        assert!(twice(&folders[..2], &names[..2]).is_empty());
    }

    #[test]
    fn a_trial_that_was_not_written_has_its_first_error_in_the_table() {
        let ran = Ran {
            folder: "a".into(),
            name: "a".to_owned(),
            outcome: Err(vec![
                Diagnostic::warning("odd", "odd"),
                Diagnostic::error("key", "no key"),
                Diagnostic::error("key", "no other key"),
            ]),
        };
        let table = summary(&[ran]);
        assert_eq!(
            words(&table.columns[7], 0),
            "not written, 2 errors, the first: no key"
        );
        assert_eq!(words(&table.columns[3], 0), "1");
        let shown = for_terminal(&table);
        assert_eq!(shown.lines().count(), 2);
        assert!(shown.starts_with("Trial  Plots"), "{shown}");
    }
}
