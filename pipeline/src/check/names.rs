//! Names that look alike: the letter O and the digit 0, capital and small, a lost dash.

use std::collections::BTreeMap;

use super::{Facts, PRACTICE, Rule};
use crate::diagnostic::{Diagnostic, Severity};
use crate::load::Coded;
use crate::load::text::list;

/// Names that differ only in lookalike letters.
pub const LOOKALIKE_NAMES: Rule = Rule {
    name: "lookalike-names",
    severity: Severity::Warning,
    source: PRACTICE,
    summary: "names of plots, blocks or seasons that differ only in O and 0, l and 1, case, spaces or leading zeros",
    look: lookalike_names,
};

/// A name as the eye takes it.
#[must_use]
pub fn seen(name: &str) -> String {
    let mut seen = String::new();
    for letter in name.chars().flat_map(char::to_lowercase) {
        match letter {
            'o' => seen.push('0'),
            'l' | 'i' => seen.push('1'),
            '-' | '_' | '.' | '/' => {}
            letter if letter.is_whitespace() => {}
            letter => seen.push(letter),
        }
    }
    let mut out = String::new();
    let mut letters = seen.chars().peekable();
    while let Some(letter) = letters.next() {
        let starts = !out.ends_with(|last: char| last.is_ascii_digit());
        let leading = letter == '0' && starts && letters.peek().is_some_and(char::is_ascii_digit);
        if !leading {
            out.push(letter);
        }
    }
    out
}

fn lookalike_names(facts: &Facts) -> Vec<Diagnostic> {
    let files = &facts.loaded.files;
    let kinds: [(&str, Vec<Option<&Coded>>); 5] = [
        ("plots", files.iter().map(|file| Some(&file.plot)).collect()),
        (
            "blocks",
            files.iter().map(|file| file.block.as_ref()).collect(),
        ),
        ("rows", files.iter().map(|file| file.row.as_ref()).collect()),
        (
            "columns",
            files.iter().map(|file| file.column.as_ref()).collect(),
        ),
        (
            "seasons",
            files.iter().map(|file| file.season.as_ref()).collect(),
        ),
    ];
    let mut found = Vec::new();
    for (kind, columns) in kinds {
        // What it looks like → names with the first record of each.
        let mut alike: BTreeMap<String, Vec<(&str, usize, usize)>> = BTreeMap::new();
        for (at, column) in columns.iter().enumerate() {
            let Some(column) = column else { continue };
            for (code, name) in column.names.iter().enumerate() {
                let row = column
                    .codes
                    .iter()
                    .position(|other| *other == Some(code as u32));
                let names = alike.entry(seen(name)).or_default();
                if let Some(row) = row
                    && !names.iter().any(|(known, _, _)| known == name)
                {
                    names.push((name, at, row));
                }
            }
        }
        for names in alike.into_values().filter(|names| names.len() > 1) {
            if kind == "plots" && names.iter().any(|(_, at, row)| unmatched(facts, *at, *row)) {
                continue;
            }
            let quoted: Vec<String> = names
                .iter()
                .map(|(name, _, _)| format!("'{name}'"))
                .collect();
            let mut warning = Diagnostic::warning(
                LOOKALIKE_NAMES.name,
                format!(
                    "the {kind} {} look alike and are taken as different",
                    list(&quoted)
                ),
            )
            .help("write a name the same way everywhere");
            for (_, at, row) in names.iter().take(2) {
                let heading = columns[*at].map(|column| column.heading.as_str());
                warning = warning.at(files[*at].place(*row, heading));
            }
            found.push(warning);
        }
    }
    found
}

/// Such a plot is reported where it lacks its treatment.
fn unmatched(facts: &Facts, file: usize, row: usize) -> bool {
    let plot = facts.loaded.files[file].plots[row];
    plot.is_some_and(|plot| {
        facts.loaded.index.plots[plot as usize]
            .treatment()
            .is_none()
    })
}
