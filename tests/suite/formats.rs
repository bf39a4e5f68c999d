//! The same data as text, workbook and open document give the same findings.

use std::fs;

use serde_json::Value as Json;

use crate::support::{Scratch, root};

const FILES: [&str; 5] = ["layout", "harvest", "juice", "pruning", "spring"];

/// The findings of the node-number trial, its data files exchanged, byte for byte; and the files the
/// report says it was made from.
fn findings(exchange: impl Fn(&Scratch)) -> (Vec<u8>, Vec<String>) {
    let scratch = Scratch::demo("node-number");
    exchange(&scratch);
    scratch.findings();
    let report = scratch.report();
    let findings = fs::read(report.join("findings.json")).expect("findings");
    let manifest = fs::read(report.join("manifest.json")).expect("a manifest");
    let manifest: Json = serde_json::from_slice(&manifest).expect("JSON");
    let inputs = manifest["inputs"].as_array().expect("inputs");
    let path = |input: &Json| input["path"].as_str().expect("a path").to_owned();
    (findings, inputs.iter().map(path).collect())
}

fn book(name: &str) -> (Vec<u8>, Vec<String>) {
    findings(|scratch| {
        let fixtures = root().join("tests/fixtures/formats");
        fs::copy(fixtures.join(name), scratch.trial().join(name)).expect("copied");
        for file in FILES {
            fs::remove_file(scratch.trial().join(format!("{file}.csv"))).expect("removed");
            scratch.change(
                "trial.toml",
                &format!("\"{file}.csv\""),
                &format!("\"{name}\"\nsheet = \"{file}\""),
            );
        }
    })
}

#[test]
fn every_format_gives_the_same_findings() {
    let (original, inputs) = findings(|_| {});
    // The trial file, the records and the prices.
    assert_eq!(inputs.len(), 1 + FILES.len() + 1);
    for name in ["node-number.xlsx", "node-number.ods"] {
        let (findings, inputs) = book(name);
        assert!(findings == original, "{name}");
        // Five sheets, one file.
        assert_eq!(inputs, ["trial.toml", name, "prices.toml"]);
    }
    let (semicolons, _) = findings(|scratch| {
        let fixtures = root().join("tests/fixtures/formats/semicolons");
        for file in FILES.map(|file| format!("{file}.csv")) {
            fs::copy(fixtures.join(&file), scratch.trial().join(&file)).expect("copied");
        }
    });
    assert!(semicolons == original, "semicolons, decimal commas, UTF-16");
}
