//! The answer as Markdown.

use std::fmt::Write as _;

use caneplot_plugin::findings::{Rank, Section, Statement};

use super::{Compared, Named};
use crate::trial::resolve::kind_in_words;
use crate::write::citations::Citations;
use crate::write::markdown::escaped;
use crate::write::report::line;
use crate::write::results;

fn sections(compared: &Compared) -> impl Iterator<Item = &Section> {
    let findings = compared.analysed.findings().into_iter();
    findings.flat_map(|findings| &findings.sections)
}

fn citations(compared: &Compared) -> Citations {
    let mut citations = Citations::default();
    if let Some(findings) = compared.analysed.findings() {
        citations.know(&findings.references);
    }
    citations
}

fn headlines(compared: &Compared) -> impl Iterator<Item = &Statement> {
    sections(compared).filter_map(|section| {
        let mut statements = section.statements.iter();
        statements.find(|statement| statement.rank == Rank::Headline)
    })
}

/// The short answer: the main sentence of each response, and what cannot be compared.
#[must_use]
pub fn short(compared: &Compared) -> String {
    let mut citations = citations(compared);
    let mut out = String::new();
    for one in &compared.reports {
        // Writing to a string cannot fail, here and below.
        let _ = writeln!(out, "{}: {}", one.letter, escaped(&one.report.trial.title));
    }
    if let Some(published) = &compared.published {
        let _ = writeln!(out, "Published table: {}", escaped(&published.words()));
    }
    out.push('\n');
    for statement in headlines(compared) {
        let _ = writeln!(out, "- {}", line(statement, &mut citations));
    }
    if !compared.unlike.is_empty() {
        let _ = writeln!(out, "\nNot compared, or with care:\n");
        for sentence in &compared.unlike {
            let _ = writeln!(out, "- {sentence}");
        }
    }
    out
}

/// The whole answer: `compare.md`.
#[must_use]
pub fn whole(compared: &Compared, undrawn: &[(String, String)]) -> String {
    let mut citations = citations(compared);
    let mut out = "# Trials compared\n\n## The trials\n\n".to_owned();
    trials(&mut out, compared);
    let _ = writeln!(out, "## In short\n");
    for statement in headlines(compared) {
        let _ = writeln!(out, "- {}", line(statement, &mut citations));
    }
    if !compared.unlike.is_empty() {
        let _ = writeln!(out, "\n## Not compared, or with care\n");
        for sentence in &compared.unlike {
            let _ = writeln!(out, "- {}", escaped(sentence));
        }
    }
    let _ = writeln!(out, "\n## Results\n");
    for section in sections(compared) {
        results::section(
            &mut out,
            &compared.analysed.name,
            section,
            undrawn,
            &mut citations,
        );
    }
    methods(&mut out, compared, &mut citations);
    out
}

fn trials(out: &mut String, compared: &Compared) {
    let _ = writeln!(
        out,
        "| | Trial | Design | Seasons | Factors |\n| :--- | :--- | :--- | :--- | :--- |"
    );
    for Named { letter, report } in &compared.reports {
        let factors: Vec<&str> = report
            .trial
            .factors
            .iter()
            .map(|factor| factor.label.as_str())
            .collect();
        let seasons = match report.trial.seasons.as_slice() {
            [] => "one".to_owned(),
            some => some.join(", "),
        };
        let _ = writeln!(
            out,
            "| {letter} | {} (`{}`) | {} | {} | {} |",
            escaped(&report.trial.title),
            report.manifest.trial,
            kind_in_words(report.trial.design.kind),
            escaped(&seasons),
            escaped(&factors.join(", "))
        );
    }
    out.push('\n');
    if let Some(published) = &compared.published {
        let _ = writeln!(
            out,
            "The published table: {}\n",
            escaped(&published.words())
        );
    }
}

fn methods(out: &mut String, compared: &Compared, citations: &mut Citations) {
    let _ = writeln!(out, "## Methods\n");
    let mut paragraph: Vec<String> = Vec::new();
    if let Some(findings) = compared.analysed.findings() {
        let sentences = findings.methods.iter();
        paragraph.extend(sentences.map(|sentence| citations.cited(sentence)));
    }
    let made: Vec<String> = compared
        .reports
        .iter()
        .map(|one| format!("{} by version {}", one.letter, one.report.manifest.version))
        .collect();
    paragraph.push(format!(
        "Compared with caneplot {} (analysis {} {}) from the findings of the reports ({}); results over all seasons only, in the unit of the first.",
        env!("CARGO_PKG_VERSION"),
        compared.analysed.name,
        compared.analysed.version,
        made.join(", ")
    ));
    let _ = writeln!(out, "{}", paragraph.join(" "));
    let list = citations.list();
    if !list.is_empty() {
        let _ = writeln!(out, "\n## References\n");
        for (at, reference) in list.iter().enumerate() {
            let _ = writeln!(out, "{}. {}", at + 1, escaped(reference));
        }
    }
}
