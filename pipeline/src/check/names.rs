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
    threshold: None,
    look: lookalike_names,
};

/// A name as the eye takes it. A sign between two numbers stays one ("1.11" is not "11.1").
#[must_use]
pub fn seen(name: &str) -> String {
    let mut seen = String::new();
    let mut parted = false;
    for letter in name.chars().flat_map(char::to_lowercase) {
        let letter = match letter {
            'o' => '0',
            'l' | 'i' => '1',
            letter => letter,
        };
        if letter.is_whitespace() || "-_./".contains(letter) {
            parted = true;
            continue;
        }
        if parted && letter.is_ascii_digit() && seen.ends_with(|last: char| last.is_ascii_digit()) {
            seen.push('-');
        }
        parted = false;
        seen.push(letter);
    }
    without_leading_zeros(&seen)
}

fn without_leading_zeros(name: &str) -> String {
    let mut out = String::new();
    let mut letters = name.chars().peekable();
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
    // Where two files have vines, a vine of one alone is reported as unmatched.
    let one_of_vines = files.iter().filter(|file| file.vine.is_some()).count() == 1;
    let kinds: [(&str, Vec<Option<&Coded>>); 6] = [
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
        (
            "vines",
            files
                .iter()
                .map(|file| file.vine.as_ref().filter(|_| one_of_vines))
                .collect(),
        ),
    ];
    let mut found = Vec::new();
    for (kind, columns) in kinds {
        // What it looks like → names with the first record of each.
        let mut alike: BTreeMap<String, Vec<(&str, usize, usize)>> = BTreeMap::new();
        for (at, column) in columns.iter().enumerate() {
            let Some(column) = column else { continue };
            for (code, name) in column.names.iter().enumerate() {
                let row = column.first[code];
                let names = alike.entry(seen(name)).or_default();
                if !names.iter().any(|(known, _, _)| known == name) {
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

#[cfg(test)]
mod tests {
    use super::seen;

    #[test]
    fn what_looks_alike_is_told_from_what_does_not() {
        for (a, b) in [
            ("2O2", "202"),
            ("B-1", "b1"),
            ("B 01", "B1"),
            ("l1", "11"),
            ("1.11", "1-11"),
        ] {
            assert_eq!(seen(a), seen(b), "{a} {b}");
        }
        for (a, b) in [
            ("1.11", "11.1"),
            ("1-1", "11"),
            ("10", "1"),
            ("B1", "B10"),
            ("A1", "B1"),
        ] {
            assert_ne!(seen(a), seen(b), "{a} {b}");
        }
    }
}
