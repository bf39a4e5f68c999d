//! Mistakes that people make: each is named with its place and a way out, and the earlier report
//! stays as it was.

use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use crate::support::{Scratch, files, said};

/// The report of the unspoiled demo, made once.
fn earlier() -> &'static Path {
    static EARLIER: OnceLock<Scratch> = OnceLock::new();
    static PLACE: OnceLock<PathBuf> = OnceLock::new();
    PLACE.get_or_init(|| {
        let scratch = EARLIER.get_or_init(|| Scratch::demo("node-number"));
        let output = scratch.run();
        assert!(output.status.success(), "{}", said(&output));
        scratch.report()
    })
}

/// A spoiled demo beside the report of the unspoiled one: status 1, these words, and that report
/// untouched.
fn refused(spoil: impl Fn(&Scratch), words: &[&str]) {
    let scratch = Scratch::demo("node-number");
    let before = files(earlier());
    for (name, bytes) in &before {
        let file = scratch.report().join(name);
        std::fs::create_dir_all(file.parent().expect("a folder")).expect("made");
        std::fs::write(file, bytes).expect("copied");
    }
    spoil(&scratch);
    let output = scratch.run();
    let text = said(&output);
    assert_eq!(output.status.code(), Some(1), "{text}");
    for word in words {
        assert!(text.contains(word), "'{word}' stands in:\n{text}");
    }
    assert!(
        before == files(&scratch.report()),
        "the earlier report is as it was"
    );
}

#[test]
fn a_column_that_is_gone() {
    refused(
        |scratch| scratch.change("harvest.csv", "clusters,crop_kg", "clusters,crop"),
        &[
            "crop_kg",
            "trial.toml:",
            "^^^",
            "column of harvest.csv",
            "write \"crop\"",
        ],
    );
}

#[test]
fn a_misspelt_level() {
    refused(
        |scratch| scratch.change("layout.csv", "B1,2,24", "B1,2,42"),
        &["42", "layout.csv", "line 3", "nodes"],
    );
}

#[test]
fn a_repeated_row() {
    refused(
        |scratch| {
            let text = scratch.read("harvest.csv");
            let row = text.lines().nth(5).expect("a row").to_owned();
            scratch.write("harvest.csv", &format!("{text}{row}\n"));
        },
        &["harvest.csv", "lines 6 and 322", "2 records"],
    );
}

#[test]
fn words_in_a_weight() {
    refused(
        |scratch| scratch.change("pruning.csv", "0.917", "n/a"),
        &["n/a", "pruning.csv", "line 2", "prunings_kg"],
    );
}

#[test]
fn vines_taken_for_plots() {
    refused(
        |scratch| {
            scratch.change("trial.toml", "vine   = \"vine\"\n", "");
            scratch.change("trial.toml", "[status]\ncolumn = \"status\"\n", "");
        },
        &["vine = "],
    );
}

#[test]
fn prunings_dated_by_the_wrong_winter() {
    refused(
        |scratch| scratch.change("trial.toml", "\"after harvest\"", "\"before harvest\""),
        &["winter"],
    );
    refused(
        |scratch| scratch.change("trial.toml", "winter = \"after harvest\"\n", ""),
        &["winter", "after harvest", "before harvest"],
    );
}

#[test]
fn every_mistake_of_the_file_is_named_at_once() {
    refused(
        |scratch| {
            scratch.change(
                "trial.toml",
                "kind   = \"randomised block\"",
                "kind   = \"randomized blocks\"",
            );
            scratch.change("trial.toml", "unit   = \"kg/vine\"", "unit   = \"kg/wine\"");
            scratch.change("trial.toml", "control = 24", "control = 25");
            scratch.change("trial.toml", "file = \"juice.csv\"", "file = \"juise.csv\"");
        },
        &["randomised block", "kg/vine", "25", "juice.csv"],
    );
}

#[test]
fn a_wrong_option_of_an_analysis() {
    refused(
        |scratch| scratch.change("trial.toml", "level = 0.05", "level = 5"),
        &["level", "trial.toml:", "^"],
    );
    refused(
        |scratch| scratch.change("trial.toml", "separation = ", "seperation = "),
        &["seperation", "separation"],
    );
}

#[test]
fn a_missing_plot_is_refused_in_words_and_the_other_responses_stand() {
    let scratch = Scratch::demo("node-number");
    let text = scratch.read("juice.csv");
    let gone: Vec<&str> = text
        .lines()
        .filter(|line| !line.starts_with("2022,B3,2,"))
        .collect();
    scratch.write("juice.csv", &(gone.join("\n") + "\n"));
    let output = scratch.run();
    let report = std::fs::read_to_string(scratch.report().join("report.md")).expect("a report");
    assert!(report.contains("unbalanced"), "{}\n{report}", said(&output));
    assert!(report.contains("B3/2"), "the plot is named");
    assert!(
        report.contains("</a>Yield\n"),
        "the other responses are there"
    );
}

#[test]
fn a_folder_that_is_not_a_trial() {
    let scratch = Scratch::new();
    let output = scratch.run();
    assert_eq!(output.status.code(), Some(1));
    assert!(said(&output).contains("trial.toml"), "{}", said(&output));
}
