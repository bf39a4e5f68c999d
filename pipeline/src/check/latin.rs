//! Squares and strips: every treatment once in every row and column; every combination once in
//! every block.

use std::collections::BTreeMap;

use caneplot_plugin::request::DesignKind;

use super::{Facts, PRACTICE, Rule};
use crate::decimal::natural;
use crate::diagnostic::{Diagnostic, Severity};
use crate::load::Plot;
use crate::load::text::list;

/// A Latin square that is none.
pub const LATIN_SQUARE: Rule = Rule {
    name: "latin-square",
    severity: Severity::Error,
    source: "Fisher (1935), The Design of Experiments, chapter V",
    summary: "a treatment not exactly once in a row or column of a Latin square",
    threshold: None,
    look: latin_square,
};

/// Strips that do not cross.
pub const STRIPS: Rule = Rule {
    name: "strips",
    severity: Severity::Warning,
    source: PRACTICE,
    summary: "a combination of strip levels missing from a block, where every strip should cross every other",
    threshold: None,
    look: strips,
};

fn latin_square(facts: &Facts) -> Vec<Diagnostic> {
    if facts.trial.design.kind != DesignKind::LatinSquare {
        return Vec::new();
    }
    let plots: Vec<&Plot> = facts
        .loaded
        .index
        .plots
        .iter()
        .filter(|plot| plot.treatment().is_some())
        .collect();
    let mut found: Vec<Diagnostic> = shared_cells(facts, &plots).into_iter().collect();
    let mut treatments: Vec<Vec<u32>> = plots.iter().filter_map(|plot| plot.treatment()).collect();
    treatments.sort();
    treatments.dedup();
    for (part, word) in [(1, "row"), (2, "column")] {
        let mut lines: BTreeMap<&str, BTreeMap<Vec<u32>, Vec<&Plot>>> = BTreeMap::new();
        for plot in &plots {
            if let (Some((name, _)), Some(treatment)) = (&plot.place[part], plot.treatment()) {
                lines
                    .entry(name)
                    .or_default()
                    .entry(treatment)
                    .or_default()
                    .push(plot);
            }
        }
        let mut names: Vec<&str> = lines.keys().copied().collect();
        names.sort_by(|a, b| natural(a, b));
        let mut wrong = Vec::new();
        let mut place = None;
        for name in names {
            for treatment in &treatments {
                let here = lines[name]
                    .get(treatment)
                    .map_or(&[] as &[&Plot], Vec::as_slice);
                if here.len() == 1 {
                    continue;
                }
                let words = facts.treatment(treatment);
                wrong.push(if here.is_empty() {
                    format!("{words} is not in {word} {name}")
                } else {
                    let plots: Vec<&str> = here.iter().map(|plot| plot.name.as_str()).collect();
                    format!(
                        "{words} is {} times in {word} {name} (plots {})",
                        here.len(),
                        list(&plots)
                    )
                });
                let seen = here.iter().chain(lines[name].values().flatten()).next();
                place = place.or_else(|| {
                    seen.and_then(|plot| plot.place[part].as_ref())
                        .map(|(_, seen)| *seen)
                });
            }
        }
        if let Some(seen) = place {
            let file = &facts.loaded.files[seen.file];
            let column = if part == 1 { &file.row } else { &file.column };
            found.push(
                Diagnostic::error(LATIN_SQUARE.name, format!("this is no Latin square: {}", list(&wrong)))
                    .at(file.place(seen.row, column.as_ref().map(|column| column.heading.as_str())))
                    .help("correct the row, column or treatment of the plot, or declare the kind of design it is"),
            );
        }
    }
    found
}

fn shared_cells(facts: &Facts, plots: &[&Plot]) -> Option<Diagnostic> {
    let mut cells: BTreeMap<(&str, &str), Vec<&Plot>> = BTreeMap::new();
    for plot in plots {
        if let (Some((row, _)), Some((column, _))) = (&plot.place[1], &plot.place[2]) {
            cells.entry((row, column)).or_default().push(plot);
        }
    }
    let ((row, column), shared) = cells.into_iter().find(|(_, plots)| plots.len() > 1)?;
    let names: Vec<&str> = shared.iter().map(|plot| plot.name.as_str()).collect();
    let (_, seen) = shared[1].place[1].as_ref()?;
    Some(
        Diagnostic::error(
            LATIN_SQUARE.name,
            format!(
                "plots {} stand in one place, row {row} and column {column}",
                list(&names)
            ),
        )
        .at(facts.loaded.files[seen.file].place(seen.row, None))
        .help("correct the row or column of one of them"),
    )
}

fn strips(facts: &Facts) -> Vec<Diagnostic> {
    let design = &facts.trial.design;
    if design.kind != DesignKind::StripPlot {
        return Vec::new();
    }
    let mut found = Vec::new();
    let mut blocks: BTreeMap<&str, Vec<Vec<u32>>> = BTreeMap::new();
    for plot in &facts.loaded.index.plots {
        if let (Some(block), Some(treatment)) = (plot.block(), plot.treatment()) {
            blocks.entry(block).or_default().push(treatment);
        }
    }
    for (block, treatments) in blocks {
        let levels = |factor: usize| {
            let mut levels: Vec<u32> = treatments
                .iter()
                .map(|treatment| treatment[factor])
                .collect();
            levels.sort_unstable();
            levels.dedup();
            levels
        };
        let mut crossed: Vec<Vec<u32>> = vec![Vec::new()];
        for factor in 0..facts.trial.factors.len() {
            let longer = |start: &Vec<u32>| {
                levels(factor)
                    .into_iter()
                    .map(|level| [start.as_slice(), &[level]].concat())
                    .collect::<Vec<_>>()
            };
            crossed = crossed.iter().flat_map(longer).collect();
        }
        // A combination that other blocks have is reported with the treatments of blocks.
        let elsewhere = |combination: &Vec<u32>| {
            facts
                .loaded
                .index
                .plots
                .iter()
                .any(|plot| plot.treatment().as_ref() == Some(combination))
        };
        let lacking: Vec<String> = crossed
            .iter()
            .filter(|combination| !treatments.contains(combination) && !elsewhere(combination))
            .map(|combination| facts.treatment(combination))
            .collect();
        if !lacking.is_empty() {
            found.push(
                Diagnostic::warning(
                    STRIPS.name,
                    format!(
                        "the strips of block {block} do not cross: no plot of {}",
                        list(&lacking)
                    ),
                )
                .at(facts.trial.place(&design.plot.span))
                .help("check the layout; strips that do not all cross are no strip plot design"),
            );
        }
    }
    found
}
