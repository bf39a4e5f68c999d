//! The methods paragraph: design and analyses in words, with citation keys that `references.bib` has.

use std::fmt::Write as _;

use crate::earlier::EarlierReport;

/// The heading of the methods in a report.
const HEADING: &str = "## Methods\n\n";

/// The text of methods.md; `report_text` is the report as people read it.
#[must_use]
pub fn text(report: &EarlierReport, report_text: &str) -> String {
    let mut out = String::from("# Methods\n\n");
    if let Some(words) = design(report_text) {
        let _ = writeln!(out, "{words}\n");
    }
    for analysis in &report.analyses {
        let sentences = analysis.findings.iter().flat_map(|found| &found.methods);
        let sentences: Vec<&str> = sentences.map(String::as_str).collect();
        if !sentences.is_empty() {
            let _ = writeln!(out, "{}\n", sentences.join(" "));
        }
    }
    let tools: Vec<String> = report
        .analyses
        .iter()
        .filter(|analysis| analysis.findings.is_some())
        .map(|analysis| format!("{} {}", analysis.name, analysis.version))
        .collect();
    let _ = writeln!(
        out,
        "Computed with {} {} (analyses: {}; seed {}).",
        report.manifest.program,
        report.manifest.version,
        match tools.is_empty() {
            true => "none".to_owned(),
            false => tools.join(", "),
        },
        report.manifest.seed
    );
    out
}

/// The words of the design: the first paragraph of the report's methods, as the report has it.
fn design(report_text: &str) -> Option<&str> {
    let begin = report_text.find(HEADING)? + HEADING.len();
    let rest = &report_text[begin..];
    Some(&rest[..rest.find("\n\n").unwrap_or(rest.len())])
}
