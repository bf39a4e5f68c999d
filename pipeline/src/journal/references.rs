//! The works a report cites, for a bibliography.
//!
//! `works.bib` holds every work that an analysis of the program cites, as far as its printed reference
//! is known: some have no title, because none is given there. A work of somebody else's analysis is
//! written as its printed text.

use std::collections::BTreeMap;

use crate::earlier::EarlierReport;

/// The registry of works.
const WORKS: &str = include_str!("works.bib");

/// The entries of the registry by their keys.
#[must_use]
pub fn known() -> BTreeMap<&'static str, &'static str> {
    let mut entries = BTreeMap::new();
    let mut rest = WORKS;
    while !rest.is_empty() {
        let end = rest.find("\n\n").map_or(rest.len(), |at| at + 1);
        let entry = &rest[..end];
        if let Some(key) = key(entry) {
            entries.insert(key, entry);
        }
        rest = rest[end..].trim_start();
    }
    entries
}

/// The key of an entry: what stands between its brace and the first comma.
fn key(entry: &str) -> Option<&str> {
    let inner = &entry[entry.find('{')? + 1..];
    Some(&inner[..inner.find(',')?])
}

/// An entry for every work of the report, in the order of their keys.
#[must_use]
pub fn entries(report: &EarlierReport) -> Vec<String> {
    let known = known();
    let findings = report
        .analyses
        .iter()
        .filter_map(|one| one.findings.as_ref());
    let mut cited: BTreeMap<&str, &str> = BTreeMap::new();
    for reference in findings.flat_map(|found| &found.references) {
        cited.entry(&reference.key).or_insert(&reference.text);
    }
    cited
        .into_iter()
        .map(|(key, text)| match known.get(key) {
            Some(entry) => (*entry).to_owned(),
            None => format!("@misc{{{key},\n  note = {{{}}}\n}}\n", plain(text)),
        })
        .collect()
}

/// A text without what would end an entry or mean something in it.
fn plain(text: &str) -> String {
    let mut out = String::new();
    for letter in text.chars() {
        match letter {
            '{' | '}' | '\\' => {}
            '&' | '%' | '$' | '#' | '_' => {
                out.push('\\');
                out.push(letter);
            }
            '\n' | '\r' => out.push(' '),
            _ => out.push(letter),
        }
    }
    out
}
