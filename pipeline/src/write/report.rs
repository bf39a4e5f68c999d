//! `report.md`: what was asked, how, what was found, what to make of it.

use std::fmt::Write as _;

use caneplot_plugin::findings::Statement;
use caneplot_plugin::request::Basis;
use polars::frame::DataFrame;

use super::cautions::CAUTIONS;
use super::citations::Citations;
use super::markdown::{self, escaped};
use super::remarks::remarks;
use super::results::results;
use super::summary::summary;
use super::{Analysed, design_words};
use crate::derive::Derived;
use crate::diagnostic::Diagnostic;
use crate::host::choose::Choice;
use crate::trial::Trial;

/// Everything a report is made from.
#[derive(Debug)]
pub struct Report<'a> {
    /// The trial as declared.
    pub trial: &'a Trial,
    /// The tables the plugins got.
    pub derived: &'a Derived,
    /// Remarks of load, check and derive.
    pub remarks: &'a [Diagnostic],
    /// Why each analysis was run or left out, where the trial names none.
    pub choices: &'a [Choice],
    /// What each analysis gave.
    pub analysed: &'a [Analysed],
    /// Figures that could not be drawn: file stem and why.
    pub undrawn: &'a [(String, String)],
}

/// The report as Markdown.
#[must_use]
pub fn markdown(report: &Report) -> String {
    let mut citations = Citations::default();
    for findings in report.analysed.iter().filter_map(Analysed::findings) {
        citations.know(&findings.references);
    }
    let mut out = String::new();
    head(&mut out, report, &mut citations);
    trial(&mut out, report);
    choices(&mut out, report);
    remarks(&mut out, report.remarks);
    results(&mut out, report, &mut citations);
    missing_analyses(&mut out, report);
    cautions(&mut out);
    methods(&mut out, report, &mut citations);
    reproduce(&mut out, report);
    out
}

fn head(out: &mut String, report: &Report, citations: &mut Citations) {
    let _ = writeln!(out, "# {}\n", escaped(&report.trial.title));
    if !report.trial.question.is_empty() {
        let _ = writeln!(
            out,
            "**The question.** {}\n",
            escaped(&report.trial.question)
        );
    }
    let _ = writeln!(out, "## In short\n");
    let lines = summary(report);
    for statement in &lines {
        let _ = writeln!(out, "- {}", line(statement, citations));
    }
    if lines.is_empty() {
        let _ = writeln!(
            out,
            "No analysis gave a main result; the sections below say why."
        );
    }
    let failed = report.analysed.iter().filter(|a| a.result.is_err()).count();
    if failed > 0 || !report.undrawn.is_empty() {
        let _ = writeln!(
            out,
            "\n**This report is incomplete**: see [What could not be computed](#what-could-not-be-computed)."
        );
    }
    out.push('\n');
}

fn trial(out: &mut String, report: &Report) {
    let _ = writeln!(out, "## The trial\n");
    let words = design_words::design(&report.derived.info, &report.derived.plots);
    let _ = writeln!(out, "{}\n", escaped(&words));
    let mut facts: Vec<(String, String)> = report.trial.about.clone();
    let vineyard = &report.derived.info.vineyard;
    let metres = |value: Option<f64>| value.map(|m| format!("{m:.2} m ({:.1} ft)", m / 0.3048));
    for (name, value) in [
        ("Row spacing", metres(vineyard.row_spacing_m)),
        ("Vine spacing", metres(vineyard.vine_spacing_m)),
        ("Canopy a vine", metres(vineyard.canopy_per_vine_m)),
        (
            "Planted",
            planted_density(vineyard.row_spacing_m, vineyard.vine_spacing_m),
        ),
    ] {
        if let Some(value) = value {
            facts.push((name.to_owned(), value));
        }
    }
    if !facts.is_empty() {
        let _ = writeln!(out, "| About the site | |\n| :--- | :--- |");
        for (name, value) in &facts {
            let _ = writeln!(out, "| {} | {} |", escaped(name), escaped(value));
        }
        out.push('\n');
    }
    let _ = writeln!(
        out,
        "| Response | Unit | Reckoned over | Plot values |\n| :--- | :--- | :--- | ---: |"
    );
    for response in &report.derived.info.responses {
        let basis = match response.basis {
            Basis::Plot => "the plot",
            Basis::LivingVine => "living vines",
            Basis::PlantedSpace => "planted spaces, gaps as nothing",
        };
        // The column beside says all there is to say of a response per planted space.
        let how = match (&response.derived, response.basis) {
            (Some(how), Basis::Plot) => format!(" ({how})"),
            _ => String::new(),
        };
        let _ = writeln!(
            out,
            "| {}{} | {} | {basis} | {} |",
            escaped(&response.label),
            escaped(&how),
            escaped(&response.unit),
            recorded(&report.derived.plots, &response.name),
        );
    }
    out.push('\n');
    covariates(out, report);
}

/// One line on what was recorded before the treatments began.
fn covariates(out: &mut String, report: &Report) {
    let info = &report.derived.info;
    if info.covariates.is_empty() {
        return;
    }
    let plots = &report.derived.plots;
    let rows_a_plot = info.seasons.len().max(1);
    let words: Vec<String> = info
        .covariates
        .iter()
        .map(|covariate| {
            format!(
                "{} ({}, in {} of {} plots)",
                covariate.label,
                covariate.unit,
                recorded(plots, &covariate.name) / rows_a_plot,
                plots.height() / rows_a_plot
            )
        })
        .collect();
    let _ = writeln!(
        out,
        "Recorded before the treatments began, to adjust the responses and not analysed \
         themselves: {}.\n",
        escaped(&design_words::listed(&words))
    );
}

fn choices(out: &mut String, report: &Report) {
    if report.choices.is_empty() {
        return;
    }
    let _ = writeln!(
        out,
        "## Analyses and why\n\nThe trial file names no analyses, so its design and data decided. \
         Naming some under `[analyses]` runs those and no others.\n"
    );
    let (run, left): (Vec<&Choice>, Vec<&Choice>) =
        report.choices.iter().partition(|choice| choice.runs);
    for (choices, verb) in [(run, "is run"), (left, "is left out")] {
        for choice in choices {
            let _ = writeln!(
                out,
                "- `{}` {verb}: {}.",
                escaped(&choice.name),
                escaped(choice.why.trim_end_matches('.'))
            );
        }
    }
    out.push('\n');
}

/// Vines a hectare and an acre.
fn planted_density(row: Option<f64>, vine: Option<f64>) -> Option<String> {
    let area = row? * vine?;
    let hectare = 10_000.0 / area;
    // International acre.
    let acre = 4_046.856_422_4 / area;
    Some(format!("{hectare:.0} vines/ha ({acre:.0} vines/acre)"))
}

/// How many plots (and seasons) have a value.
fn recorded(plots: &DataFrame, column: &str) -> usize {
    plots
        .column(column)
        .map_or(0, |column| column.len() - column.null_count())
}

fn missing_analyses(out: &mut String, report: &Report) {
    let failed: Vec<(&str, &str)> = report
        .analysed
        .iter()
        .filter_map(|a| {
            a.result
                .as_ref()
                .err()
                .map(|why| (a.name.as_str(), why.as_str()))
        })
        .chain(
            report
                .undrawn
                .iter()
                .map(|(stem, why)| (stem.as_str(), why.as_str())),
        )
        .collect();
    if failed.is_empty() {
        return;
    }
    let _ = writeln!(out, "## What could not be computed\n");
    for (name, why) in failed {
        let _ = writeln!(out, "- **{}**: {}", escaped(name), escaped(why));
    }
    out.push('\n');
}

fn cautions(out: &mut String) {
    let _ = writeln!(out, "## Before you change your pruning\n");
    for (lead, text) in CAUTIONS {
        let _ = writeln!(out, "- **{lead}.** {text}");
    }
    out.push('\n');
}

fn methods(out: &mut String, report: &Report, citations: &mut Citations) {
    let _ = writeln!(out, "## Methods\n");
    let words = design_words::design(&report.derived.info, &report.derived.plots);
    let _ = writeln!(out, "{}\n", escaped(&words));
    for findings in report.analysed.iter().filter_map(Analysed::findings) {
        let sentences = findings.methods.iter();
        let paragraph: Vec<String> = sentences.map(|one| citations.cited(one)).collect();
        if !paragraph.is_empty() {
            let _ = writeln!(out, "{}\n", paragraph.join(" "));
        }
    }
    let tools: Vec<String> = report
        .analysed
        .iter()
        .filter(|analysed| analysed.result.is_ok())
        .map(|analysed| format!("{} {}", analysed.name, analysed.version))
        .collect();
    let tools = match tools.is_empty() {
        true => "none".to_owned(),
        false => tools.join(", "),
    };
    let _ = writeln!(
        out,
        "Computed with caneplot {} (analyses: {tools}).\n",
        env!("CARGO_PKG_VERSION")
    );
    let list = citations.list();
    if !list.is_empty() {
        let _ = writeln!(out, "## References\n");
        for (index, text) in list.iter().enumerate() {
            let _ = writeln!(out, "{}. {}", index + 1, escaped(text));
        }
        out.push('\n');
    }
}

fn reproduce(out: &mut String, report: &Report) {
    let name = &report.trial.name;
    let _ = writeln!(out, "## How to reproduce this report\n");
    let _ = writeln!(
        out,
        "```\ncaneplot run {name}\ncaneplot verify {name}-report --trial {name}\n```\n\n\
         Here `{name}` is the trial's folder and `{name}-report` stands for this one. \
         `manifest.json` lists the SHA-256 of every file read and written and of every plugin; \
         `findings.json` holds every number with all its digits; `data/plots.csv` is the checked \
         data set the analyses used; `tables/` and `figures/` hold what is shown above. The same \
         inputs, plugins and seed ({}) give the same bytes.",
        report.trial.seed
    );
}

/// A statement with its numbers and citations.
pub(crate) fn line(statement: &Statement, citations: &mut Citations) -> String {
    citations.cited(&markdown::sentence(statement))
}
