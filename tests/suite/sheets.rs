//! A report for a browser always, on paper where it is asked for.

use crate::support::{Scratch, caneplot, files, said};

#[test]
fn a_report_on_paper_belongs_to_its_folder() {
    let scratch = Scratch::demo("node-number");
    // One analysis: the setting of the sheets is what is looked at.
    let text = scratch.read("trial.toml");
    let (before, _) = text
        .split_once("[analyses]")
        .expect("the demo names its analyses");
    scratch.write(
        "trial.toml",
        &format!("{before}[analyses]\nratios = {{}}\n"),
    );
    let output = scratch.run_with(&["--pdf", "--paper", "letter"]);
    assert!(output.status.success(), "{}", said(&output));
    let files = files(&scratch.report());
    assert!(files["report.html"].starts_with(b"<!DOCTYPE html>"));
    assert!(files["report-letter.pdf"].starts_with(b"%PDF-1.7"));
    assert!(!files.contains_key("report.pdf"));
    let output = caneplot()
        .arg("verify")
        .arg(scratch.report())
        .arg("--trial")
        .arg(scratch.trial())
        .output()
        .expect("the program starts");
    assert!(output.status.success(), "{}", said(&output));
}

#[test]
fn paper_without_a_pdf_is_a_mistake() {
    let output = Scratch::demo("node-number").run_with(&["--paper", "letter"]);
    assert_eq!(output.status.code(), Some(2), "{}", said(&output));
}
