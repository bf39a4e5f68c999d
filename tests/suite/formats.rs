//! The same data as text, workbook and open document give the same findings.

use std::fs;

use crate::support::{Scratch, root};

const FILES: [&str; 5] = ["layout", "harvest", "juice", "pruning", "spring"];

/// The findings of the node-number trial, its data files exchanged, byte for byte.
fn findings(exchange: impl Fn(&Scratch)) -> Vec<u8> {
    let scratch = Scratch::demo("node-number");
    exchange(&scratch);
    scratch.findings();
    fs::read(scratch.report().join("findings.json")).expect("findings")
}

fn book(name: &str) -> Vec<u8> {
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
    let original = findings(|_| {});
    for name in ["node-number.xlsx", "node-number.ods"] {
        assert!(book(name) == original, "{name}");
    }
    let semicolons = findings(|scratch| {
        let fixtures = root().join("tests/fixtures/formats/semicolons");
        for file in FILES.map(|file| format!("{file}.csv")) {
            fs::copy(fixtures.join(&file), scratch.trial().join(&file)).expect("copied");
        }
    });
    assert!(semicolons == original, "semicolons, decimal commas, UTF-16");
}
