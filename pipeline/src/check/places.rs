//! Where plots lie in the vineyard: one place a plot, no two plots in one.

use super::{Facts, PRACTICE, Rule};
use crate::decimal::Decimal;
use crate::diagnostic::{Diagnostic, Place, Severity};
use crate::load::Seen;
use crate::load::places::{Spot, Told, of_plots, records, told};
use crate::load::text::{and_more, list};

/// Cells of a place that are no number.
pub const PLACE_NOT_A_NUMBER: Rule = Rule {
    name: "place-not-a-number",
    severity: Severity::Error,
    source: PRACTICE,
    summary: "a vineyard row or position that is no number",
    look: not_a_number,
};

/// Two places of one plot.
pub const PLACE_CHANGES: Rule = Rule {
    name: "place-changes",
    severity: Severity::Error,
    source: PRACTICE,
    summary: "a plot with two vineyard rows or positions",
    look: changes,
};

/// A last vine before the first.
pub const PLACE_BACKWARDS: Rule = Rule {
    name: "place-backwards",
    severity: Severity::Error,
    source: PRACTICE,
    summary: "a plot whose last position comes before its first",
    look: backwards,
};

/// Two plots in one place.
pub const PLACE_TAKEN_TWICE: Rule = Rule {
    name: "place-taken-twice",
    severity: Severity::Error,
    source: PRACTICE,
    summary: "two plots that share a position in one vineyard row",
    look: taken_twice,
};

/// Plots without a place.
pub const PLACE_MISSING: Rule = Rule {
    name: "place-missing",
    severity: Severity::Warning,
    source: PRACTICE,
    summary: "plots without a place, though others have one",
    look: missing,
};

/// What a column of places holds and its heading.
fn columns<'a>(facts: &Facts<'a>) -> Vec<(&'static str, &'a str)> {
    let field = facts.trial.field.iter();
    field
        .flat_map(crate::trial::Field::columns)
        .map(|(what, column)| (what, column.value.as_str()))
        .collect()
}

fn cell(facts: &Facts, seen: Seen, heading: &str) -> Place {
    facts.loaded.files[seen.file].place(seen.row, Some(heading))
}

fn name<'a>(facts: &Facts<'a>, plot: usize) -> &'a str {
    &facts.loaded.index.plots[plot].name
}

fn not_a_number(facts: &Facts) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    for (at, (what, heading)) in columns(facts).into_iter().enumerate() {
        let faults = facts.loaded.field[at].iter().flat_map(|part| {
            let faults = part.faults.iter();
            faults.map(move |fault| (part.file, fault))
        });
        let faults: Vec<_> = faults.collect();
        let Some((file, first)) = faults.first() else {
            continue;
        };
        let seen = Seen {
            file: *file,
            row: first.row,
        };
        let rest = and_more(faults.len() - 1, "cell like it", "cells like it");
        found.push(
            Diagnostic::error(
                PLACE_NOT_A_NUMBER.name,
                format!(
                    "'{}' in column '{heading}' of {} is no number, and a {what} is one{rest}",
                    first.text, facts.loaded.files[*file].name
                ),
            )
            .at(cell(facts, seen, heading))
            .help("number rows and positions as they are counted in the vineyard, or leave the cell empty"),
        );
    }
    found
}

fn changes(facts: &Facts) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    for (at, (what, heading)) in columns(facts).into_iter().enumerate() {
        let first = told(facts.loaded, at);
        let differs = |(plot, value, seen): (usize, Decimal, Seen)| {
            let held: Told = first[plot].filter(|(held, _)| *held != value)?;
            Some((plot, held, (value, seen)))
        };
        let all: Vec<_> = records(facts.loaded, at).filter_map(differs).collect();
        let Some((plot, (held, before), (value, seen))) = all.first() else {
            continue;
        };
        let rest = and_more(all.len() - 1, "difference like it", "differences like it");
        found.push(
            Diagnostic::error(
                PLACE_CHANGES.name,
                format!(
                    "plot {} has {what} {held} and {value}{rest}",
                    name(facts, *plot)
                ),
            )
            .at(cell(facts, *seen, heading))
            .at(cell(facts, *before, heading))
            .help("a plot stays where it is: correct the cell, or the name of the plot"),
        );
    }
    found
}

fn backwards(facts: &Facts) -> Vec<Diagnostic> {
    let headings = columns(facts);
    let spots = placed(facts);
    let wrong = spots.iter().filter(|(_, spot)| spot.last < spot.first);
    wrong
        .map(|(plot, spot)| {
            Diagnostic::error(
                PLACE_BACKWARDS.name,
                format!(
                    "plot {} ends at position {} and begins at {}",
                    name(facts, *plot),
                    spot.last,
                    spot.first
                ),
            )
            .at(cell(facts, spot.seen, headings[1].1))
            .help("exchange the two numbers: positions are counted one way in all rows")
        })
        .collect()
}

/// Plots with their places.
fn placed(facts: &Facts) -> Vec<(usize, Spot)> {
    let spots = of_plots(facts.loaded).into_iter().enumerate();
    spots
        .filter_map(|(plot, spot)| Some((plot, spot?)))
        .collect()
}

fn taken_twice(facts: &Facts) -> Vec<Diagnostic> {
    let headings = columns(facts);
    let mut spots = placed(facts);
    spots.sort_by_key(|(plot, spot)| (spot.row, spot.first, *plot));
    let mut found = Vec::new();
    // The plot that reaches furthest along the row so far.
    let mut before: Option<(usize, Spot)> = None;
    for (plot, spot) in spots {
        if let Some((other, held)) = before.filter(|(_, held)| held.row == spot.row) {
            if spot.first <= held.last {
                found.push(
                    Diagnostic::error(
                        PLACE_TAKEN_TWICE.name,
                        format!(
                            "plots {} and {} both lie at position {} of row {}",
                            name(facts, other),
                            name(facts, plot),
                            spot.first,
                            spot.row
                        ),
                    )
                    .at(cell(facts, spot.seen, headings[1].1))
                    .at(cell(facts, held.seen, headings[1].1))
                    .help("correct the row or the position of one of them"),
                );
            }
            if held.last > spot.last {
                continue;
            }
        }
        before = Some((plot, spot));
    }
    found
}

fn missing(facts: &Facts) -> Vec<Diagnostic> {
    let Some(field) = &facts.trial.field else {
        return Vec::new();
    };
    let spots = of_plots(facts.loaded);
    let without: Vec<&str> = spots
        .iter()
        .enumerate()
        .filter(|(_, spot)| spot.is_none())
        .map(|(plot, _)| name(facts, plot))
        .collect();
    if without.is_empty() {
        return Vec::new();
    }
    let word = if without.len() == 1 { "plot" } else { "plots" };
    vec![
        Diagnostic::warning(
            PLACE_MISSING.name,
            format!(
                "{word} {} {} no row or position in the field",
                list(&without),
                if without.len() == 1 { "has" } else { "have" }
            ),
        )
        .at(facts.trial.place(&field.row.span))
        .help("fill in row and position; what looks at places goes on without these plots"),
    ]
}
