//! What a plot has one of: its levels, its block, its row and column.

use super::{Facts, PRACTICE, Rule};
use crate::diagnostic::{Diagnostic, Severity, nearest};
use crate::load::columns::Use;
use crate::load::index::Contradiction;
use crate::load::text::{and_more, list};

/// Levels in the data that are not declared.
pub const UNDECLARED_LEVEL: Rule = Rule {
    name: "undeclared-level",
    severity: Severity::Error,
    source: PRACTICE,
    summary: "a level in the data that is not among the declared levels of its factor",
    threshold: None,
    look: undeclared_level,
};

/// Declared levels that never occur.
pub const UNUSED_LEVEL: Rule = Rule {
    name: "unused-level",
    severity: Severity::Warning,
    source: PRACTICE,
    summary: "a declared level that no plot has",
    threshold: None,
    look: unused_level,
};

/// A plot with two treatments.
pub const TREATMENT_CHANGES: Rule = Rule {
    name: "treatment-changes",
    severity: Severity::Error,
    source: PRACTICE,
    summary: "a plot with two levels of one factor",
    threshold: None,
    look: |facts| {
        contradictions(
            facts,
            |what| matches!(what, Use::Factor(_)),
            TREATMENT_CHANGES.name,
        )
    },
};

/// A plot in two blocks, rows or columns.
pub const PLOT_IN_TWO_PLACES: Rule = Rule {
    name: "plot-in-two-places",
    severity: Severity::Error,
    source: PRACTICE,
    summary: "a plot in two blocks, rows or columns, where plot names are otherwise unique",
    threshold: None,
    look: |facts| {
        contradictions(
            facts,
            |what| !matches!(what, Use::Factor(_)),
            PLOT_IN_TWO_PLACES.name,
        )
    },
};

fn level_names(facts: &Facts, factor: usize) -> Vec<String> {
    facts.trial.factors[factor]
        .levels
        .iter()
        .map(|level| level.name.clone())
        .collect()
}

fn undeclared_level(facts: &Facts) -> Vec<Diagnostic> {
    let undeclared = &facts.loaded.index.undeclared;
    undeclared
        .iter()
        .map(|level| {
            let factor = &facts.trial.factors[level.factor];
            let names = level_names(facts, level.factor);
            let first = level.rows[0];
            let file = &facts.loaded.files[first.file];
            let help = match nearest(&level.name, names.iter().map(String::as_str)) {
                Some(near) => format!(
                    "write '{near}' if that is meant, or add '{}' to the levels",
                    level.name
                ),
                None => format!("correct the records, or add '{}' to the levels", level.name),
            };
            Diagnostic::error(
                UNDECLARED_LEVEL.name,
                format!(
                    "'{}' in {} ({}) is no level of '{}'{}; declared are {}",
                    level.name,
                    file.name,
                    facts.whose(file, first.row),
                    factor.name,
                    and_more(level.rows.len() - 1, "record", "records"),
                    list(&names)
                ),
            )
            .at(file.place(first.row, Some(&factor.column.value)))
            .at(facts.trial.place(&factor.span))
            .help(help)
        })
        .collect()
}

fn unused_level(facts: &Facts) -> Vec<Diagnostic> {
    let index = &facts.loaded.index;
    let mut found = Vec::new();
    for (at, factor) in facts.trial.factors.iter().enumerate() {
        let names = level_names(facts, at);
        let meant: Vec<&str> = index
            .undeclared
            .iter()
            .filter(|level| level.factor == at)
            .filter_map(|level| nearest(&level.name, names.iter().map(String::as_str)))
            .collect();
        for (number, level) in factor.levels.iter().enumerate() {
            let has = |plot: &crate::load::Plot| {
                plot.levels[at]
                    .as_ref()
                    .is_some_and(|(level, _)| *level as usize == number)
            };
            if !index.plots.iter().any(has) && !meant.contains(&level.name.as_str()) {
                found.push(
                    Diagnostic::warning(
                        UNUSED_LEVEL.name,
                        format!(
                            "no plot has the level '{}' of '{}'",
                            level.name, factor.name
                        ),
                    )
                    .at(facts.trial.place(&level.span))
                    .help("take the level out, or check the column of the factor"),
                );
            }
        }
    }
    found
}

fn contradictions(facts: &Facts, of: fn(Use) -> bool, rule: &'static str) -> Vec<Diagnostic> {
    let mut kinds: Vec<(Use, Vec<&Contradiction>)> = Vec::new();
    for one in facts
        .loaded
        .index
        .contradictions
        .iter()
        .filter(|one| of(one.what))
    {
        match kinds.iter_mut().find(|(what, _)| *what == one.what) {
            Some((_, all)) => all.push(one),
            None => kinds.push((one.what, vec![one])),
        }
    }
    kinds
        .into_iter()
        .map(|(what, all)| contradiction(facts, what, &all, rule))
        .collect()
}

fn contradiction(
    facts: &Facts,
    what: Use,
    all: &[&Contradiction],
    rule: &'static str,
) -> Diagnostic {
    let index = &facts.loaded.index;
    let one = all[0];
    let (first, second) = (
        &facts.loaded.files[one.first.file],
        &facts.loaded.files[one.second.file],
    );
    let column = |file: &crate::load::File, row: usize| {
        let column = match what {
            Use::Row => file.row.as_ref(),
            Use::Column => file.column.as_ref(),
            Use::Factor(at) => file.factors[at].as_ref(),
            _ => file.block.as_ref(),
        };
        let column = column.map(|column| {
            (
                column.heading.clone(),
                column.name(row).unwrap_or("").to_owned(),
            )
        });
        column.unwrap_or_default()
    };
    let (heading, name) = column(first, one.first.row);
    let (other_heading, other) = column(second, one.second.row);
    let word = match what {
        Use::Row => "row",
        Use::Column => "column",
        Use::Factor(at) => facts.trial.factors[at].name.as_str(),
        _ => "block",
    };
    let rest: Vec<&str> = all[1..]
        .iter()
        .map(|one| index.plots[one.plot as usize].name.as_str())
        .collect();
    let rest = match rest.len() {
        0 => String::new(),
        1 => format!("; likewise plot {}", rest[0]),
        _ => format!("; likewise plots {}", list(&rest)),
    };
    let help = match what {
        Use::Factor(_) => "a plot keeps its treatment: correct the record, or the name of the plot",
        _ => "correct the record that is wrong, or give the two plots different names",
    };
    Diagnostic::error(
        rule,
        format!(
            "plot {} has {word} '{name}' in {} and '{other}' in {}{rest}",
            index.plots[one.plot as usize].name, first.name, second.name
        ),
    )
    .at(second.place(one.second.row, Some(&other_heading)))
    .at(first.place(one.first.row, Some(&heading)))
    .help(help)
}
