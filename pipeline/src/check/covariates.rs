//! Covariates: one value a plot (or vine), recorded before the treatments began.

use std::collections::HashMap;

use super::{Facts, Numbers, Rule};
use crate::decimal::Decimal;
use crate::diagnostic::{Diagnostic, Severity};
use crate::load::text::{and_more, list};

/// Two values of one plot.
pub const COVARIATE_CHANGES: Rule = Rule {
    name: "covariate-changes",
    severity: Severity::Error,
    source: "Rosenbaum (1984), Journal of the Royal Statistical Society A 147:656-666 (adjusting for what a treatment may have changed)",
    summary: "a covariate with two values in one plot (or vine)",
    look: changes,
};

/// Plots without a value.
pub const COVARIATE_MISSING: Rule = Rule {
    name: "covariate-missing",
    severity: Severity::Warning,
    source: super::PRACTICE,
    summary: "plots without a value of a covariate",
    look: missing,
};

/// The first value of a plot or vine, and where it stands.
struct Held<'a> {
    numbers: Numbers<'a>,
    row: usize,
    value: Decimal,
}

fn changes(facts: &Facts) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    for covariate in &facts.trial.covariates {
        let mut first: HashMap<(Option<u32>, Option<u32>), Held> = HashMap::new();
        let mut differing: Option<Diagnostic> = None;
        let mut others = 0;
        for numbers in of(facts, &covariate.name) {
            for (row, value) in numbers.part.values.iter().enumerate() {
                let Some(value) = value else { continue };
                let whose = (numbers.file.plots[row], numbers.file.vines[row]);
                let held = first.entry(whose).or_insert(Held {
                    numbers,
                    row,
                    value: *value,
                });
                if held.value == *value {
                    continue;
                }
                if differing.is_some() {
                    others += 1;
                    continue;
                }
                differing = Some(
                    Diagnostic::error(
                        COVARIATE_CHANGES.name,
                        format!(
                            "the covariate '{}' is {} and {value} in {} (line {} of {}, line \
                             {} of {})",
                            covariate.name,
                            held.value,
                            unit(facts, numbers, row),
                            held.numbers.file.lines[held.row],
                            held.numbers.file.name,
                            numbers.file.lines[row],
                            numbers.file.name
                        ),
                    )
                    .at(held.numbers.part.place(held.numbers.file, held.row))
                    .at(numbers.part.place(numbers.file, row))
                    .help(
                        "correct the cell: what was recorded before the treatments has one value a \
                         plot; what was recorded every season is a response",
                    ),
                );
            }
        }
        found.extend(differing.map(|mut one| {
            one.message.push_str(&and_more(
                others,
                "difference like it",
                "differences like it",
            ));
            one
        }));
    }
    found
}

/// The columns of a covariate.
fn of<'a>(facts: &Facts<'a>, name: &'a str) -> impl Iterator<Item = Numbers<'a>> {
    facts
        .covariates()
        .filter(move |numbers| numbers.response.name == name)
}

/// "plot 7", "vine 3 of plot 7".
fn unit(facts: &Facts, numbers: Numbers, row: usize) -> String {
    let plot = format!("plot {}", facts.plot(numbers.file, row));
    match numbers.file.vines[row] {
        Some(vine) => format!(
            "vine {} of {plot}",
            facts.loaded.index.vines[vine as usize].name
        ),
        None => plot,
    }
}

fn missing(facts: &Facts) -> Vec<Diagnostic> {
    let plots = &facts.loaded.index.plots;
    let mut found = Vec::new();
    for covariate in &facts.trial.covariates {
        let mut held = vec![false; plots.len()];
        for numbers in of(facts, &covariate.name) {
            let values = numbers.part.values.iter().zip(&numbers.file.plots);
            for (_, plot) in values.filter(|(value, _)| value.is_some()) {
                if let Some(plot) = plot {
                    held[*plot as usize] = true;
                }
            }
        }
        let without: Vec<&str> = plots
            .iter()
            .zip(&held)
            .filter(|(_, held)| !**held)
            .map(|(plot, _)| plot.name.as_str())
            .collect();
        if without.is_empty() {
            continue;
        }
        let (message, help) = if without.len() == plots.len() {
            (
                format!(
                    "the covariate '{}' has no number and is left out",
                    covariate.name
                ),
                "fill in its column, or take the covariate out of the trial file",
            )
        } else {
            let word = if without.len() == 1 { "plot" } else { "plots" };
            (
                format!(
                    "the covariate '{}' has no value in {word} {}",
                    covariate.name,
                    list(&without)
                ),
                "fill in the values if they exist; an analysis that adjusts for it goes on without \
                 these plots",
            )
        };
        found.push(
            Diagnostic::warning(COVARIATE_MISSING.name, message)
                .at(facts.trial.place(&covariate.column.span))
                .help(help),
        );
    }
    found
}
