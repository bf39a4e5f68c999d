//! Whether the plots are laid out as the design says.

use std::collections::BTreeMap;

use caneplot_plugin::request::DesignKind;

use super::{Facts, PRACTICE, Rule};
use crate::decimal::natural;
use crate::diagnostic::{Diagnostic, Severity};
use crate::load::text::{LISTED, count, list};

/// Blocks without a treatment, or with one too often.
pub const BLOCK_TREATMENTS: Rule = Rule {
    name: "block-treatments",
    severity: Severity::Warning,
    source: PRACTICE,
    summary: "a block without a treatment that the others have, or with one more often than they",
    threshold: None,
    look: block_treatments,
};

/// Treatments on a single plot.
pub const UNREPLICATED: Rule = Rule {
    name: "unreplicated",
    severity: Severity::Warning,
    source: "Fisher (1926), Journal of the Ministry of Agriculture 33:503-513 (replication)",
    summary: "treatments on one plot only",
    threshold: None,
    look: unreplicated,
};

/// A treatment combination twice in a block of a design with plots inside plots.
pub const WHOLE_PLOT_TWICE: Rule = Rule {
    name: "whole-plot-twice",
    severity: Severity::Warning,
    source: PRACTICE,
    summary: "a whole-plot or strip level on two whole plots or strips of a block, which the records cannot tell apart",
    threshold: None,
    look: whole_plot_twice,
};

/// Plots by treatment and block.
type Layout<'a> = BTreeMap<Vec<u32>, BTreeMap<&'a str, Vec<&'a str>>>;

fn layout<'a>(facts: &Facts<'a>) -> Layout<'a> {
    let mut layout = Layout::new();
    for plot in &facts.loaded.index.plots {
        if let Some(treatment) = plot.treatment() {
            let block = plot.block().unwrap_or("");
            layout
                .entry(treatment)
                .or_default()
                .entry(block)
                .or_default()
                .push(&plot.name);
        }
    }
    layout
}

fn is_nested(kind: DesignKind) -> bool {
    matches!(
        kind,
        DesignKind::SplitPlot | DesignKind::SplitSplitPlot | DesignKind::StripPlot
    )
}

fn block_treatments(facts: &Facts) -> Vec<Diagnostic> {
    if facts.trial.design.block.is_none() {
        return Vec::new();
    }
    let layout = layout(facts);
    let mut blocks: Vec<&str> = layout.values().flat_map(BTreeMap::keys).copied().collect();
    blocks.sort_by(|a, b| natural(a, b));
    blocks.dedup();
    let nested = is_nested(facts.trial.design.kind);
    let usual: Vec<usize> = layout
        .values()
        .map(|by_block| usual(by_block, &blocks))
        .collect();
    let (mut found, mut rest) = (Vec::new(), 0);
    // A plot whose treatment is unknown is reported for that; its block is not.
    let unknown: Vec<&str> = facts
        .loaded
        .index
        .plots
        .iter()
        .filter(|plot| plot.treatment().is_none())
        .filter_map(|plot| plot.block())
        .collect();
    for block in blocks.iter().filter(|block| !unknown.contains(block)) {
        let (mut without, mut often) = (Vec::new(), Vec::new());
        for ((treatment, by_block), usual) in layout.iter().zip(&usual) {
            let here = by_block.get(block).map_or(0, Vec::len);
            if here == 0 {
                without.push(facts.treatment(treatment));
            } else if here > *usual && !nested {
                let name = facts.treatment(treatment);
                often.push(format!("{here} of {name} ({})", list(&by_block[block])));
            }
        }
        let parts: Vec<String> = [("no plot of ", &without), ("", &often)]
            .into_iter()
            .filter(|(_, names)| !names.is_empty())
            .map(|(words, names)| format!("{words}{}", list(names)))
            .collect();
        if parts.is_empty() {
            continue;
        }
        if found.len() == LISTED {
            rest += 1;
            continue;
        }
        found.push(
            Diagnostic::warning(
                BLOCK_TREATMENTS.name,
                format!("block {block} has {}", parts.join(" and ")),
            )
            .at(place(facts, block))
            .help("check the layout; if it was planted so, the analyses allow for it"),
        );
    }
    if rest > 0 {
        let message = format!("{} more are not complete either", count(rest, "block"));
        found.push(Diagnostic::warning(BLOCK_TREATMENTS.name, message));
    }
    found
}

/// Plots a treatment has in the middle one of the blocks, at least one.
fn usual(by_block: &BTreeMap<&str, Vec<&str>>, blocks: &[&str]) -> usize {
    let in_block = |block: &&str| by_block.get(block).map_or(0, Vec::len);
    let mut numbers: Vec<usize> = blocks.iter().map(in_block).collect();
    numbers.sort_unstable();
    numbers.get(numbers.len() / 2).copied().unwrap_or(0).max(1)
}

/// The first record of a block.
fn place(facts: &Facts, block: &str) -> crate::diagnostic::Place {
    let plots = facts.loaded.index.plots.iter();
    let seen = plots
        .filter_map(|plot| plot.place[0].as_ref())
        .find(|(name, _)| name == block);
    match seen {
        Some((_, seen)) => {
            let file = &facts.loaded.files[seen.file];
            file.place(
                seen.row,
                file.block.as_ref().map(|block| block.heading.as_str()),
            )
        }
        None => facts.trial.place(&facts.trial.design.plot.span),
    }
}

fn unreplicated(facts: &Facts) -> Vec<Diagnostic> {
    let layout = layout(facts);
    let single: Vec<String> = layout
        .iter()
        .filter(|(_, blocks)| blocks.values().map(Vec::len).sum::<usize>() == 1)
        .map(|(treatment, _)| facts.treatment(treatment))
        .collect();
    if single.is_empty() {
        return Vec::new();
    }
    let message = if single.len() == layout.len() {
        "every treatment stands on one plot only: without replicates nothing can be tested"
            .to_owned()
    } else {
        format!("on one plot only: {}", list(&single))
    };
    let span = facts
        .trial
        .factors
        .first()
        .map_or(&facts.trial.design.plot.span, |factor| &factor.span);
    vec![
        Diagnostic::warning(UNREPLICATED.name, message)
            .at(facts.trial.place(span))
            .help("check the layout; vines inside a plot are no replicates of its treatment"),
    ]
}

fn whole_plot_twice(facts: &Facts) -> Vec<Diagnostic> {
    if !is_nested(facts.trial.design.kind) {
        return Vec::new();
    }
    let mut twice = Vec::new();
    let mut first = None;
    for (treatment, blocks) in layout(facts) {
        for (block, plots) in blocks.iter().filter(|(_, plots)| plots.len() > 1) {
            first.get_or_insert(*block);
            twice.push(format!(
                "{} in block {block} (plots {})",
                facts.treatment(&treatment),
                list(plots)
            ));
        }
    }
    let Some(block) = first else {
        return Vec::new();
    };
    vec![
        Diagnostic::warning(
            WHOLE_PLOT_TWICE.name,
            format!("a combination of levels stands more than once in a block: {}", list(&twice)),
        )
        .at(place(facts, block))
        .help("check the layout; if the block holds two whole plots of one level, name each half of it as a block of its own"),
    ]
}
