//! What a run gave, and what every report keeps to whatever the trial is like.

use std::fs;

use serde_json::Value as Json;

use crate::support::{Scratch, said};

/// A run that wrote a report.
pub struct Outcome {
    /// `report.md`.
    pub report: String,
    /// `findings.json`.
    pub findings: Json,
    /// What was printed.
    pub said: String,
}

/// Words that show that a number or a program broke.
const BROKEN: [&str; 10] = [
    "NaN",
    "nan",
    "inf",
    "Infinity",
    "∞",
    "panicked",
    "crashed",
    "stopped on a mistake of its own",
    "unreachable",
    "ended without an answer",
];

/// Runs a trial that must end with a complete report; every promise of a report is looked at.
pub fn complete(scratch: &Scratch) -> Outcome {
    let output = scratch.run();
    let said = said(&output);
    assert!(output.status.success(), "{said}");
    let report = fs::read_to_string(scratch.report().join("report.md")).expect("a report");
    let text = fs::read_to_string(scratch.report().join("findings.json")).expect("findings");
    let findings: Json = serde_json::from_str(&text).expect("JSON");
    let outcome = Outcome {
        report,
        findings,
        said,
    };
    outcome.is_sound();
    outcome
}

/// The words printed by a trial that must be refused before anything is computed.
pub fn refused_before(scratch: &Scratch) -> String {
    let output = scratch.run();
    let said = said(&output);
    assert_eq!(output.status.code(), Some(1), "{said}");
    assert!(!scratch.report().exists(), "no report is written: {said}");
    assert!(!has_word(&said, "panicked"), "{said}");
    said
}

impl Outcome {
    fn is_sound(&self) {
        for text in [&self.report, &self.said] {
            for word in BROKEN {
                assert!(
                    !has_word(text, word),
                    "'{word}' in:\n{}",
                    around(text, word)
                );
            }
            assert!(!text.contains("{}"), "an unfilled place in:\n{text}");
        }
        assert!(
            !self.report.contains("## What could not be computed"),
            "every analysis came back:\n{}",
            around(&self.report, "computed")
        );
        for analysis in list(&self.findings["analyses"]) {
            let sections = list(&analysis["findings"]["sections"]);
            assert!(!sections.is_empty(), "{} has a section", analysis["name"]);
            for section in sections {
                self.says_something(&analysis["name"], section);
            }
        }
    }

    /// A section has a whole sentence, its tables have rows, and no column is empty from top to end.
    fn says_something(&self, analysis: &Json, section: &Json) {
        let name = format!("{analysis}, section {}", section["id"]);
        let statements = list(&section["statements"]);
        assert!(!statements.is_empty(), "{name} says nothing");
        for statement in statements.iter().chain(list(&section["notes"])) {
            let text = statement["text"].as_str().expect("a text");
            assert!(
                text.ends_with(['.', ')', ':']) && text.len() > 20 && !text.contains(".."),
                "{name}: a whole sentence: {text}"
            );
        }
        for table in list(&section["tables"]) {
            for column in list(&table["columns"]) {
                let values = list(&column["cells"]["values"]);
                assert!(!values.is_empty(), "{name}: {} has no row", table["id"]);
                assert!(
                    values.iter().any(|value| !value.is_null()),
                    "{name}: column '{}' of {} is empty",
                    column["name"],
                    table["id"]
                );
            }
        }
    }

    /// The sections of an analysis about a response.
    pub fn sections(&self, analysis: &str, response: &str) -> Vec<&Json> {
        list(&self.findings["analyses"])
            .iter()
            .filter(|one| one["name"] == analysis)
            .flat_map(|one| list(&one["findings"]["sections"]))
            .filter(|section| section["response"] == response)
            .collect()
    }

    /// What an analysis says about a response, sentences and notes with their numbers' names.
    pub fn words(&self, analysis: &str, response: &str) -> String {
        let sections = self.sections(analysis, response);
        assert!(
            !sections.is_empty(),
            "{analysis} has a section about {response}; it has {:?}",
            list(&self.findings["analyses"])
                .iter()
                .filter(|one| one["name"] == analysis)
                .flat_map(|one| list(&one["findings"]["sections"]))
                .map(|section| (&section["id"], &section["response"]))
                .collect::<Vec<_>>()
        );
        sections.iter().map(|section| sentences(section)).collect()
    }

    /// Fails where an analysis does not say all of these about a response.
    pub fn says(&self, analysis: &str, response: &str, words: &[&str]) {
        let text = self.words(analysis, response);
        for word in words {
            assert!(
                text.contains(word),
                "{analysis} says '{word}' about {response}:\n{text}"
            );
        }
    }
}

/// Every sentence and note of a section, a line each.
pub fn sentences(section: &Json) -> String {
    list(&section["statements"])
        .iter()
        .chain(list(&section["notes"]))
        .map(|statement| filled(statement) + "\n")
        .collect()
}

/// A sentence with its bare numbers, enough for looking at it.
fn filled(statement: &Json) -> String {
    let mut text = statement["text"].as_str().expect("a text").to_owned();
    if let Some(values) = statement["values"].as_object() {
        for (name, value) in values {
            text = text.replace(&format!("{{{name}}}"), &value["value"].to_string());
        }
    }
    text
}

fn list(json: &Json) -> &[Json] {
    json.as_array().map_or(&[], Vec::as_slice)
}

/// Whether a word stands alone in a text: "inf" is not found in "inferior".
fn has_word(text: &str, word: &str) -> bool {
    text.match_indices(word).any(|(at, _)| {
        let before = text[..at].chars().next_back();
        let after = text[at + word.len()..].chars().next();
        !before.is_some_and(char::is_alphanumeric) && !after.is_some_and(char::is_alphanumeric)
    })
}

/// The lines of a text with a word.
fn around(text: &str, word: &str) -> String {
    text.lines()
        .filter(|line| has_word(line, word))
        .collect::<Vec<_>>()
        .join("\n")
}
