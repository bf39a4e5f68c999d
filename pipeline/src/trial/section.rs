//! Reading one table of trial.toml by hand: every key that is unknown, missing or of the wrong type
//! becomes a diagnostic at its place, and the reading goes on.

use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::Written;
use super::faults::Faults;
use super::file::TRIAL_FILE;
use super::scalar::{scalar_text, type_in_words};
use super::words::Words;
use crate::diagnostic::{Diagnostic, nearest};

/// A table of the file.
#[derive(Clone)]
pub(super) struct Section<'a> {
    /// As it is written in brackets: "factors.nodes"; empty for the whole file.
    pub(super) path: String,
    /// Its header, where a missing key is reported.
    pub(super) header: Range<usize>,
    table: &'a DeTable<'a>,
    /// The file, by which the whole of it is named.
    file: &'static str,
    /// Keys that are not written, but that a misspelt key was meant to be.
    meant: Vec<String>,
}

/// A key and its value.
pub(super) struct Entry<'a> {
    /// The key.
    pub(super) key: Written<String>,
    /// The value.
    pub(super) value: &'a Spanned<DeValue<'a>>,
}

impl<'a> Section<'a> {
    /// The table at a path.
    pub(super) fn new(
        path: impl Into<String>,
        header: Range<usize>,
        table: &'a DeTable<'a>,
    ) -> Self {
        Self {
            path: path.into(),
            header,
            table,
            file: TRIAL_FILE,
            meant: Vec::new(),
        }
    }

    /// The whole of another file.
    pub(super) fn of_file(file: &'static str, table: &'a DeTable<'a>) -> Self {
        Self {
            file,
            ..Self::new("", 0..0, table)
        }
    }

    /// The table as the user writes it: "[factors.nodes]".
    pub(super) fn name(&self) -> String {
        match self.path.as_str() {
            "" => self.file.to_owned(),
            "data" => "[[data]]".to_owned(),
            path => format!("[{path}]"),
        }
    }

    /// Whether a key is written.
    pub(super) fn has(&self, key: &str) -> bool {
        self.table.contains_key(key)
    }

    /// Whether a key is written, be it misspelt. What is missing because of a misspelling is not
    /// reported a second time.
    pub(super) fn speaks_of(&self, key: &str) -> bool {
        self.has(key) || self.meant.iter().any(|meant| meant == key)
    }

    /// The value of a key.
    pub(super) fn value(&self, key: &str) -> Option<&'a Spanned<DeValue<'a>>> {
        self.table.get(key)
    }

    /// The key as written.
    pub(super) fn key(&self, key: &str) -> Option<Written<String>> {
        let (key, _) = self.table.get_key_value(key)?;
        Some(Written {
            value: key.get_ref().to_string(),
            span: key.span(),
        })
    }

    /// All keys and values in the order written.
    pub(super) fn entries(&self) -> Vec<Entry<'a>> {
        let mut entries: Vec<Entry<'a>> = self
            .table
            .iter()
            .map(|(key, value)| Entry {
                key: Written {
                    value: key.get_ref().to_string(),
                    span: key.span(),
                },
                value,
            })
            .collect();
        entries.sort_by_key(|entry| entry.key.span.start);
        entries
    }

    /// Reports every key that is not one of those known.
    pub(super) fn only(&mut self, known: &[&str], faults: &mut Faults) {
        for entry in self.entries() {
            let key = &entry.key.value;
            if known.contains(&key.as_str()) {
                continue;
            }
            let what = match entry.value.get_ref() {
                DeValue::Table(_) => "table",
                _ => "key",
            };
            let all = known.join(", ");
            let near = nearest(key, known.iter().copied());
            let help = match near {
                Some(near) => format!("write {near} if that is meant; {} knows {all}", self.name()),
                None => format!("take it out; {} knows {all}", self.name()),
            };
            self.meant.extend(near.map(str::to_owned));
            faults.add(
                &entry.key.span,
                Diagnostic::error(
                    "unknown-key",
                    format!("{} has no {what} named '{key}'", self.name()),
                )
                .help(help),
            );
        }
    }

    /// Reports that a key is missing.
    pub(super) fn missing(&self, key: &str, example: &str, faults: &mut Faults) {
        if self.speaks_of(key) {
            return;
        }
        faults.add(
            &self.header,
            Diagnostic::error("missing-key", format!("{} lacks '{key}'", self.name()))
                .help(format!("add {example}")),
        );
    }

    /// Reports that a value is of the wrong type.
    pub(super) fn wrong(
        &self,
        key: &str,
        value: &Spanned<DeValue<'_>>,
        wanted: &str,
        example: &str,
        faults: &mut Faults,
    ) {
        faults.add(
            &value.span(),
            Diagnostic::error(
                "wrong-type",
                format!(
                    "'{key}' of {} must be {wanted}, not {}",
                    self.name(),
                    type_in_words(value.get_ref())
                ),
            )
            .help(format!("write {example}")),
        );
    }

    /// A text, where the key is written.
    pub(super) fn text(
        &self,
        key: &str,
        example: &str,
        faults: &mut Faults,
    ) -> Option<Written<String>> {
        let value = self.value(key)?;
        match value.get_ref() {
            DeValue::String(text) if !text.trim().is_empty() => Some(Written {
                value: text.trim().to_owned(),
                span: value.span(),
            }),
            DeValue::String(_) => {
                faults.add(
                    &value.span(),
                    Diagnostic::error("wrong-type", format!("'{key}' of {} is empty", self.name()))
                        .help(format!("write {example}")),
                );
                None
            }
            _ => {
                self.wrong(key, value, "a text in quotes", example, faults);
                None
            }
        }
    }

    /// Words for the report, where the key is written: line ends and runs of spaces become one.
    pub(super) fn words(&self, key: &str, example: &str, faults: &mut Faults) -> Option<String> {
        self.text(key, example, faults)
            .map(|text| one_line(&text.value))
    }

    /// A text that must be there.
    pub(super) fn needed_text(
        &self,
        key: &str,
        example: &str,
        faults: &mut Faults,
    ) -> Option<Written<String>> {
        if !self.has(key) {
            self.missing(key, example, faults);
        }
        self.text(key, example, faults)
    }

    /// One of a list of words, where the key is written.
    pub(super) fn word<T: Copy>(
        &self,
        key: &str,
        words: &Words<T>,
        faults: &mut Faults,
    ) -> Option<Written<T>> {
        let written = self.text(key, &format!("{key} = \"{}\"", words.first()), faults)?;
        word_of(&written, words, faults)
    }

    /// A list of texts, where the key is written; numbers in it are taken as they are written.
    pub(super) fn texts(
        &self,
        key: &str,
        example: &str,
        faults: &mut Faults,
    ) -> Option<Vec<Written<String>>> {
        let value = self.value(key)?;
        let DeValue::Array(list) = value.get_ref() else {
            self.wrong(key, value, "a list", example, faults);
            return None;
        };
        let mut texts = Vec::new();
        for element in list.iter() {
            match scalar_text(element.get_ref()) {
                Some(text) => texts.push(Written {
                    value: text,
                    span: element.span(),
                }),
                None => self.wrong(key, element, "a list of texts", example, faults),
            }
        }
        Some(texts)
    }

    /// A table inside this one, where it is written.
    pub(super) fn section(&self, key: &str, faults: &mut Faults) -> Option<Section<'a>> {
        let value = self.value(key)?;
        let path = if self.path.is_empty() {
            key.to_owned()
        } else {
            format!("{}.{key}", self.path)
        };
        match value.get_ref() {
            DeValue::Table(table) => Some(Section::new(path, value.span(), table)),
            _ => {
                self.wrong(key, value, "a table", &format!("[{path}]"), faults);
                None
            }
        }
    }

    /// Every table inside this one, in the order written, by its key.
    pub(super) fn sections(&self, faults: &mut Faults) -> Vec<(Written<String>, Section<'a>)> {
        self.entries()
            .into_iter()
            .filter_map(|entry| {
                let section = self.section(&entry.key.value, faults)?;
                Some((entry.key, section))
            })
            .collect()
    }
}

/// A text on one line with single spaces.
pub(super) fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// What a written word means.
pub(super) fn word_of<T: Copy>(
    written: &Written<String>,
    words: &Words<T>,
    faults: &mut Faults,
) -> Option<Written<T>> {
    if let Some(value) = words.meaning(&written.value) {
        return Some(Written {
            value,
            span: written.span.clone(),
        });
    }
    let near = nearest(&written.value, words.all());
    let listed: Vec<String> = words.all().map(|word| format!("\"{word}\"")).collect();
    let help = match near {
        Some(near) => format!(
            "write \"{near}\" if that is meant; known: {}",
            listed.join(", ")
        ),
        None => format!("write one of {}", listed.join(", ")),
    };
    faults.add(
        &written.span,
        Diagnostic::error(
            "unknown-word",
            format!("'{}' is not {}", written.value, words.what),
        )
        .help(help),
    );
    None
}
