//! The answer as Markdown.

use std::fmt::Write as _;

use caneplot_plugin::findings::{Rank, Section};

use super::Sized;
use crate::write::citations::Citations;
use crate::write::markdown::{self, escaped};
use crate::write::report::line;
use crate::write::results;

fn sections(sized: &Sized) -> impl Iterator<Item = &Section> {
    let findings = sized.analysed.findings().into_iter();
    findings.flat_map(|findings| &findings.sections)
}

fn citations(sized: &Sized) -> Citations {
    let mut citations = Citations::default();
    if let Some(findings) = sized.analysed.findings() {
        citations.know(&findings.references);
    }
    citations
}

/// The short answer: its sentences and the first table.
#[must_use]
pub fn short(sized: &Sized) -> String {
    let mut citations = citations(sized);
    let mut out = format!("# {}\n\n", escaped(&sized.info.title));
    for section in sections(sized) {
        for statement in section
            .statements
            .iter()
            .filter(|one| one.rank != Rank::Detail)
        {
            // Writing to a string cannot fail.
            let _ = writeln!(out, "- {}", line(statement, &mut citations));
        }
        if let Some(table) = section.tables.first() {
            let _ = write!(out, "\n{}", markdown::table(table, &mut citations));
        }
    }
    out
}

/// The whole answer: `size.md`.
#[must_use]
pub fn whole(sized: &Sized, undrawn: &[(String, String)]) -> String {
    let mut citations = citations(sized);
    let mut out = format!("# How large a trial: {}\n\n", escaped(&sized.info.title));
    // Writing to a string cannot fail, here and below.
    if !sized.info.question.is_empty() {
        let _ = writeln!(out, "**The question.** {}\n", escaped(&sized.info.question));
    }
    for section in sections(sized) {
        results::section(
            &mut out,
            &sized.analysed.name,
            section,
            undrawn,
            &mut citations,
        );
    }
    let _ = writeln!(out, "## Methods\n");
    let mut paragraph: Vec<String> = Vec::new();
    if let Some(findings) = sized.analysed.findings() {
        let sentences = findings.methods.iter();
        paragraph.extend(sentences.map(|sentence| citations.cited(sentence)));
    }
    paragraph.push(format!(
        "Computed with caneplot {} (analysis {} {}), seed {}.",
        env!("CARGO_PKG_VERSION"),
        sized.analysed.name,
        sized.analysed.version,
        sized.seed
    ));
    let _ = writeln!(out, "{}", paragraph.join(" "));
    let list = citations.list();
    if !list.is_empty() {
        let _ = writeln!(out, "\n## References\n");
        for (at, reference) in list.iter().enumerate() {
            let _ = writeln!(out, "{}. {}", at + 1, escaped(reference));
        }
    }
    out
}
