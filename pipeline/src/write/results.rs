//! The chapters of results: one an analysis under the question it answers, one section a response.

use std::fmt::Write as _;

use caneplot_plugin::findings::{Rank, Section};

use super::citations::Citations;
use super::markdown::escaped;
use super::report::line;
use super::{Report, markdown};

/// A list of what there is with links, then every chapter.
pub(super) fn results(out: &mut String, report: &Report, citations: &mut Citations) {
    let _ = writeln!(out, "## Results\n");
    contents(out, report);
    for analysed in report.analysed {
        let Ok(findings) = &analysed.result else {
            continue;
        };
        let _ = writeln!(out, "### {}\n", escaped(&analysed.purpose));
        for part in &findings.sections {
            section(out, &analysed.name, part, report.undrawn, citations);
        }
    }
}

fn contents(out: &mut String, report: &Report) {
    for analysed in report.analysed {
        let Some(findings) = analysed.findings() else {
            continue;
        };
        let links: Vec<String> = findings
            .sections
            .iter()
            .map(|section| {
                format!(
                    "[{}](#{})",
                    escaped(&section.title),
                    anchor(&analysed.name, section)
                )
            })
            .collect();
        let _ = writeln!(
            out,
            "- {} (analysis `{}`): {}",
            escaped(&analysed.purpose),
            analysed.name,
            links.join(" · ")
        );
    }
    out.push('\n');
}

/// The name links go to.
fn anchor(analysis: &str, section: &Section) -> String {
    format!("{analysis}-{}", section.id)
}

/// A section: its sentences, figures, tables and notes.
pub(crate) fn section(
    out: &mut String,
    analysis: &str,
    section: &Section,
    undrawn: &[(String, String)],
    citations: &mut Citations,
) {
    let _ = writeln!(
        out,
        "#### <a id=\"{}\"></a>{}\n",
        anchor(analysis, section),
        escaped(&section.title)
    );
    for statement in section.statements.iter().filter(|s| s.rank != Rank::Detail) {
        let _ = writeln!(out, "{}\n", line(statement, citations));
    }
    for figure in &section.figures {
        let stem = super::stem(analysis, section, &figure.id);
        if undrawn.iter().any(|(name, _)| *name == stem) {
            continue;
        }
        let _ = writeln!(
            out,
            "![{}](figures/{stem}.png)\n\n*{}* ([vector file](figures/{stem}.svg))\n",
            escaped(&figure.alt),
            citations.cited(&figure.caption)
        );
    }
    for table in section.tables.iter().filter(|table| !table.file_only) {
        let stem = super::stem(analysis, section, &table.id);
        let _ = writeln!(
            out,
            "{}\n[as CSV](tables/{stem}.csv)\n",
            markdown::table(table, citations)
        );
    }
    let details = section.statements.iter().filter(|s| s.rank == Rank::Detail);
    for statement in details.chain(&section.notes) {
        let _ = writeln!(out, "- {}", line(statement, citations));
    }
    for table in section.tables.iter().filter(|table| table.file_only) {
        let stem = super::stem(analysis, section, &table.id);
        let _ = writeln!(
            out,
            "- {}: [tables/{stem}.csv](tables/{stem}.csv)",
            escaped(&table.title)
        );
    }
    out.push('\n');
}
