//! Several trials in one run.

use std::fs;
use std::process::Output;

use caneplot_tests::fill::fields;

use crate::support::{Scratch, assert_same, caneplot, comparable, root, said};

fn run(scratch: &Scratch, out: &str, more: &[&str]) -> Output {
    caneplot()
        .arg("run")
        .args(["trials/training-system"])
        .arg(scratch.trial())
        .arg("trials/node-number")
        .arg("--out")
        .arg(scratch.out().join(out))
        .args(more)
        .output()
        .expect("the program starts")
}

#[test]
fn a_broken_trial_stops_none_of_the_others_and_stands_in_the_summary() {
    let scratch = Scratch::demo("node-number");
    scratch.change("layout.csv", "B1,2,24", "B1,2,42");
    let output = run(&scratch, "two", &["--threads", "2"]);
    assert_eq!(output.status.code(), Some(1), "{}", said(&output));
    let out = scratch.out().join("two");
    assert!(out.join("training-system/report.md").exists());
    assert!(out.join("node-number/report.md").exists());
    assert!(!out.join("trial").exists());

    let summary = fs::read_to_string(out.join("summary.csv")).expect("a summary");
    let lines: Vec<Vec<String>> = summary.lines().map(fields).collect();
    let column = |heading: &str| {
        let at = lines[0]
            .iter()
            .position(|one| one == heading)
            .expect("a heading");
        lines[1..]
            .iter()
            .map(|line| line[at].clone())
            .collect::<Vec<_>>()
    };
    assert_eq!(column("Trial"), ["training-system", "trial", "node-number"]);
    assert_eq!(column("Plots"), ["32", "", "20"]);
    assert_eq!(column("Seasons"), ["3", "", "4"]);
    assert_eq!(column("Failed"), ["0", "", "0"]);
    let reports = column("Report");
    assert_eq!(
        (reports[0].as_str(), reports[2].as_str()),
        ("complete", "complete")
    );
    assert!(
        reports[1].starts_with("not written") && reports[1].contains("42"),
        "{}",
        reports[1]
    );
    assert!(column("First result")[2].contains("yield"));
    let shown = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(
        shown.contains("Trial            Plots") && shown.contains("summary.md"),
        "{shown}"
    );

    // In the order given and with the same bytes on any number of threads.
    let again = run(&scratch, "one", &["--threads", "1"]);
    assert_eq!(again.status.code(), Some(1));
    let other = scratch.out().join("one");
    for name in ["summary.md", "summary.csv"] {
        let read = |folder: &std::path::Path| fs::read(folder.join(name)).expect("a summary");
        assert!(read(&out) == read(&other), "{name}");
    }
    assert_same(
        &comparable(&out.join("node-number")),
        &comparable(&other.join("node-number")),
    );
}

#[test]
fn two_trials_of_one_name_are_an_error_before_anything_runs() {
    let scratch = Scratch::new();
    let output = caneplot()
        .args(["run", "trials/node-number"])
        .arg(root().join("trials/node-number"))
        .arg("--out")
        .arg(scratch.out())
        .output()
        .expect("the program starts");
    assert_eq!(output.status.code(), Some(1));
    assert!(
        said(&output).contains("would have one name: node-number"),
        "{}",
        said(&output)
    );
    assert!(!scratch.out().exists());
}
