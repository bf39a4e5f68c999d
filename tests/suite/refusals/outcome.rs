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

    /// A section has a whole sentence, and no table is without a number.
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
            let numbers = list(&table["columns"])
                .iter()
                .filter(|column| column["cells"]["kind"] != "text")
                .flat_map(|column| list(&column["cells"]["values"]));
            let wordy = list(&table["columns"])
                .iter()
                .all(|column| column["cells"]["kind"] == "text");
            assert!(
                wordy || numbers.into_iter().any(|value| !value.is_null()),
                "{name}: table {} has no number",
                table["id"]
            );
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

    /// The sections of an analysis.
    fn of(&self, analysis: &str) -> Vec<&Json> {
        list(&self.findings["analyses"])
            .iter()
            .filter(|one| one["name"] == analysis)
            .flat_map(|one| list(&one["findings"]["sections"]))
            .collect()
    }

    /// Fails where an analysis does not say all of these in one of its sections.
    pub fn names(&self, analysis: &str, words: &[&str]) {
        let text: String = self.of(analysis).into_iter().map(sentences).collect();
        holds(analysis, &text, words);
    }

    /// Fails where a section, known by its id, does not say all of these.
    pub fn section_says(&self, analysis: &str, id: &str, words: &[&str]) {
        let sections = self.of(analysis).into_iter();
        let text: String = sections
            .filter(|one| one["id"] == id)
            .map(sentences)
            .collect();
        holds(&format!("{analysis}, section {id}"), &text, words);
    }

    /// Every probability in the tables of an analysis about a response.
    pub fn probabilities(&self, analysis: &str, response: &str) -> Vec<f64> {
        probabilities(&self.sections(analysis, response))
    }

    /// Every probability in the tables of an analysis.
    pub fn all_probabilities(&self, analysis: &str) -> Vec<f64> {
        probabilities(&self.of(analysis))
    }

    /// Fails where an analysis does not say all of these about a response.
    pub fn says(&self, analysis: &str, response: &str, words: &[&str]) {
        let text = self.words(analysis, response);
        holds(&format!("{analysis} about {response}"), &text, words);
    }
}

fn holds(place: &str, text: &str, words: &[&str]) {
    for word in words {
        assert!(text.contains(word), "{place} says '{word}':\n{text}");
    }
}

fn probabilities(sections: &[&Json]) -> Vec<f64> {
    let tables = sections.iter().flat_map(|section| list(&section["tables"]));
    tables
        .flat_map(|table| list(&table["columns"]))
        .filter(|column| column["cells"]["kind"] == "probability")
        .flat_map(|column| list(&column["cells"]["values"]))
        .filter_map(Json::as_f64)
        .collect()
}

/// Every sentence and note of a section, a line each.
fn sentences(section: &Json) -> String {
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
            let number = value["value"].as_f64().expect("a number");
            text = text.replace(&format!("{{{name}}}"), &number.to_string());
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
