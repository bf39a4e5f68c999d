//! One record a plot (or vine) and season. Several are vines only where the design says so: records
//! inside a plot are no replicates of a treatment (Hurlbert 1984), and nobody may slip into taking
//! them for such.

use std::collections::HashMap;

use super::{Facts, PRACTICE, Rule};
use crate::diagnostic::{Diagnostic, Severity};
use crate::load::File;
use crate::load::text::{count, lines, list};

/// The same vine or plot and season twice in a file.
pub const DUPLICATE_RECORDS: Rule = Rule {
    name: "duplicate-records",
    severity: Severity::Error,
    source: PRACTICE,
    summary: "two records of one plot (or vine) and season in a file",
    threshold: None,
    look: |facts| repeated(facts, false),
};

/// Several records for most plots, and no vines declared.
pub const SEVERAL_ROWS: Rule = Rule {
    name: "several-rows",
    severity: Severity::Error,
    source: "Hurlbert (1984), Ecological Monographs 54:187-211 (pseudo-replication)",
    summary: "several records for most plots and seasons where the design declares no vines",
    threshold: None,
    look: |facts| repeated(facts, true),
};

fn repeated(facts: &Facts, most: bool) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    for (at, file) in facts.loaded.files.iter().enumerate() {
        if !facts.measures(at) {
            continue;
        }
        let groups = repeated_keys(file);
        let keys = groups.keys;
        let Some(first) = groups.repeated.first() else {
            continue;
        };
        let inside_plots = file.vine.is_none()
            && facts.trial.design.vine.is_none()
            && groups.repeated.len() * 2 >= keys;
        if inside_plots != most {
            continue;
        }
        found.push(if most {
            several(facts, file, &groups.repeated, first)
        } else {
            duplicate(facts, file, &groups.repeated, first)
        });
    }
    found
}

struct Keys {
    /// Number of different keys.
    keys: usize,
    /// Rows of each key that has several, in the order of the file.
    repeated: Vec<Vec<usize>>,
}

fn repeated_keys(file: &File) -> Keys {
    let mut first: HashMap<_, usize> = HashMap::with_capacity(file.height());
    let mut again: HashMap<usize, Vec<usize>> = HashMap::new();
    for row in 0..file.height() {
        let season = file.season.as_ref().and_then(|season| season.codes[row]);
        match first.entry((file.plots[row], file.vines[row], season)) {
            std::collections::hash_map::Entry::Vacant(free) => {
                free.insert(row);
            }
            std::collections::hash_map::Entry::Occupied(taken) => {
                let first = *taken.get();
                again.entry(first).or_insert_with(|| vec![first]).push(row);
            }
        }
    }
    let keys = first.len();
    let mut repeated: Vec<Vec<usize>> = again.into_values().collect();
    repeated.sort();
    Keys { keys, repeated }
}

fn lines_of(file: &File, rows: &[usize]) -> String {
    lines(&rows.iter().map(|row| file.lines[*row]).collect::<Vec<_>>())
}

fn others(facts: &Facts, file: &File, repeated: &[Vec<usize>]) -> String {
    if repeated.len() < 2 {
        return String::new();
    }
    let names: Vec<String> = repeated[1..]
        .iter()
        .map(|rows| facts.whose(file, rows[0]))
        .collect();
    format!("; likewise {}", list(&names))
}

fn duplicate(facts: &Facts, file: &File, repeated: &[Vec<usize>], first: &[usize]) -> Diagnostic {
    Diagnostic::error(
        DUPLICATE_RECORDS.name,
        format!(
            "{} has {} records of {} ({}){}",
            file.name,
            first.len(),
            facts.whose(file, first[0]),
            lines_of(file, first),
            others(facts, file, repeated)
        ),
    )
    .at(file.place(first[1], None))
    .help("delete the copies, or correct the plot, vine or season of the records")
}

fn several(facts: &Facts, file: &File, repeated: &[Vec<usize>], first: &[usize]) -> Diagnostic {
    let season = if facts.trial.design.season.is_none() {
        "; if they are seasons, declare season = \"...\""
    } else {
        ""
    };
    Diagnostic::error(
        SEVERAL_ROWS.name,
        format!(
            "{} has {} records of {} ({}) and several for each of {}; the design declares no vines, and records inside a plot are not replicates",
            file.name,
            first.len(),
            facts.whose(file, first[0]),
            lines_of(file, first),
            count(repeated.len() - 1, "other plot"),
        ),
    )
    .at(file.place(first[1], None))
    .help(format!(
        "if they are vines, declare vine = \"...\" in [design], the column that names the vine{season}; else average them or delete the copies"
    ))
}
