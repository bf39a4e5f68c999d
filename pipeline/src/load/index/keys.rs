//! Keys that every record needs, and whether plot names repeat from place to place.

use std::collections::{HashMap, HashSet};

use crate::diagnostic::Diagnostic;
use crate::load::File;
use crate::load::text::{Coded, lines};
use crate::trial::Trial;

/// Records that leave a key empty, one diagnostic a column.
pub(super) fn without_key(file: &File) -> Vec<Diagnostic> {
    let named = |what: &'static str, key: &Option<Coded>| {
        key.as_ref()
            .map(|key| (what, key.heading.clone(), empty_rows(file, key)))
    };
    let mut keys = vec![(
        "plot",
        file.plot.heading.clone(),
        empty_rows(file, &file.plot),
    )];
    keys.extend(named("block", &file.block));
    keys.extend(named("row", &file.row));
    keys.extend(named("column", &file.column));
    keys.extend(named("vine", &file.vine));
    keys.extend(named("season", &file.season));
    keys.into_iter()
        .filter(|(_, _, empty)| !empty.is_empty())
        .map(|(what, heading, empty)| {
            Diagnostic::error(
                "empty-key",
                format!("{} of {} names no {what}", lines(&empty), file.name),
            )
            .at(file.origin.place(Some(empty[0]), Some(&heading)))
            .help(format!(
                "fill in the {what} of every record, or delete the record"
            ))
        })
        .collect()
}

fn empty_rows(file: &File, key: &Coded) -> Vec<usize> {
    let empty = key
        .codes
        .iter()
        .zip(&file.lines)
        .filter(|(code, _)| code.is_none());
    empty.map(|(_, line)| *line).collect()
}

/// Whether plot names repeat from place to place: in some file, more than half of them.
pub(super) fn names_repeat(files: &[File]) -> bool {
    files.iter().any(|file| {
        let parts = [&file.block, &file.row, &file.column];
        let codes = |row: usize| parts.map(|part| part.as_ref().and_then(|part| part.codes[row]));
        let mut places = HashMap::new();
        let mut repeated = HashSet::new();
        for row in 0..file.height() {
            let season = file.season.as_ref().and_then(|season| season.codes[row]);
            let here = codes(row);
            if *places.entry((file.plot.codes[row], season)).or_insert(here) != here {
                repeated.insert(file.plot.codes[row]);
            }
        }
        repeated.len() * 2 > file.plot.names.len()
    })
}

/// A file that leaves out a part of the place where plot names repeat.
pub(super) fn without_place(trial: &Trial, file: &File) -> Option<Diagnostic> {
    let design = &trial.design;
    let parts = [
        (&design.block, &file.block),
        (&design.row, &file.row),
        (&design.column, &file.column),
    ];
    let lacking: Vec<&str> = parts
        .into_iter()
        .filter(|(_, held)| held.is_none())
        .filter_map(|(declared, _)| declared.as_ref().map(|column| column.value.as_str()))
        .collect();
    if lacking.is_empty() {
        return None;
    }
    Some(
        Diagnostic::error(
            "plot-names-repeat",
            format!(
                "plot names repeat from block to block, but {} has no column '{}' to tell them apart",
                file.name,
                lacking.join("', '")
            ),
        )
        .at(file.whole())
        .help("add that column to the file, or give every plot of the trial its own name"),
    )
}
