//! Plots of one file and their match in another: unknown ones, ones without a treatment, missing ones.

use std::collections::HashSet;

use super::names::seen;
use super::{Facts, PRACTICE, Rule};
use crate::diagnostic::{Diagnostic, Severity, nearest};
use crate::load::text::list;
use crate::load::{Belongs, File};

/// Plots that no file gives a treatment.
pub const UNMATCHED_PLOTS: Rule = Rule {
    name: "unmatched-plots",
    severity: Severity::Error,
    source: PRACTICE,
    summary: "records of plots that the files with the treatments do not have",
    look: unmatched_plots,
};

/// Plots whose treatment cell is empty.
pub const NO_TREATMENT: Rule = Rule {
    name: "no-treatment",
    severity: Severity::Error,
    source: PRACTICE,
    summary: "plots without a level of a factor in the file that has the factor",
    look: no_treatment,
};

/// Plots without a record.
pub const MISSING_PLOTS: Rule = Rule {
    name: "missing-plots",
    severity: Severity::Warning,
    source: PRACTICE,
    summary: "plots of the trial without a record in a file and season that others have",
    look: missing_plots,
};

/// Whether a file that has the column of some factor holds the plot.
fn is_in_layout(facts: &Facts, plot: u32) -> bool {
    let layouts = facts
        .loaded
        .files
        .iter()
        .filter(|file| file.factors.iter().any(Option::is_some));
    layouts
        .into_iter()
        .any(|file| file.plots.contains(&Some(plot)))
}

/// Plots without a match, with the plot each most likely is.
fn unmatched<'a>(facts: &Facts<'a>) -> Vec<(u32, Option<&'a str>)> {
    let plots = &facts.loaded.index.plots;
    let known: Vec<&str> = plots
        .iter()
        .filter(|plot| plot.treatment().is_some())
        .map(|plot| plot.name.as_str())
        .collect();
    (0..plots.len() as u32)
        .filter(|plot| plots[*plot as usize].treatment().is_none() && !is_in_layout(facts, *plot))
        .map(|plot| {
            let name = &plots[plot as usize].name;
            let alike = known
                .iter()
                .copied()
                .find(|other| seen(other) == seen(name));
            let free = || nearest(name, without_record(facts, plot, &known));
            let near = alike
                .or_else(free)
                .or_else(|| nearest(name, known.iter().copied()));
            (plot, near)
        })
        .collect()
}

/// Plots that have no record in the file and season in which an unknown plot has one: a slip of the
/// pen leaves such a hole.
fn without_record<'a>(facts: &Facts, plot: u32, known: &[&'a str]) -> Vec<&'a str> {
    let file = facts
        .loaded
        .files
        .iter()
        .find(|file| file.plots.contains(&Some(plot)));
    let Some(file) = file else { return Vec::new() };
    let season = |row: usize| file.season.as_ref().and_then(|season| season.codes[row]);
    let at = file
        .plots
        .iter()
        .position(|other| *other == Some(plot))
        .map(season);
    let held: HashSet<&str> = (0..file.height())
        .filter(|row| Some(season(*row)) == at)
        .map(|row| facts.plot(file, row))
        .collect();
    known
        .iter()
        .copied()
        .filter(|name| !held.contains(name))
        .collect()
}

fn unmatched_plots(facts: &Facts) -> Vec<Diagnostic> {
    let unmatched = unmatched(facts);
    let layouts: Vec<&str> = facts
        .loaded
        .files
        .iter()
        .filter(|file| file.factors.iter().any(Option::is_some))
        .map(|file| file.name.as_str())
        .collect();
    let mut found = Vec::new();
    for file in &facts.loaded.files {
        let here: Vec<(&u32, &Option<&str>, usize)> = unmatched
            .iter()
            .filter_map(|(plot, near)| {
                let row = file.plots.iter().position(|other| other == &Some(*plot))?;
                Some((plot, near, row))
            })
            .collect();
        let Some((_, near, row)) = here.first() else {
            continue;
        };
        let names: Vec<String> = here
            .iter()
            .map(|(plot, _, row)| {
                format!(
                    "{} (line {})",
                    facts.loaded.index.plots[**plot as usize].name, file.lines[*row]
                )
            })
            .collect();
        let word = if names.len() == 1 { "plot" } else { "plots" };
        let help = match near {
            Some(near) => format!(
                "write '{near}' if that is meant; else add the plot with its treatment to {}",
                list(&layouts)
            ),
            None => format!("add the plot with its treatment to {}", list(&layouts)),
        };
        found.push(
            Diagnostic::error(
                UNMATCHED_PLOTS.name,
                format!(
                    "{} has {word} {}, which {} does not have",
                    file.name,
                    list(&names),
                    list(&layouts)
                ),
            )
            .at(file.place(*row, Some(&file.plot.heading)))
            .help(help),
        );
    }
    found
}

fn no_treatment(facts: &Facts) -> Vec<Diagnostic> {
    let index = &facts.loaded.index;
    let mut found = Vec::new();
    for (at, factor) in facts.trial.factors.iter().enumerate() {
        let undeclared = |plot: u32| {
            index
                .undeclared
                .iter()
                .filter(|level| level.factor == at)
                .any(|level| {
                    level
                        .rows
                        .iter()
                        .any(|seen| facts.loaded.files[seen.file].plots[seen.row] == Some(plot))
                })
        };
        let without: Vec<u32> = (0..index.plots.len() as u32)
            .filter(|plot| index.plots[*plot as usize].levels[at].is_none())
            .filter(|plot| is_in_layout(facts, *plot) && !undeclared(*plot))
            .collect();
        let Some(first) = without.first() else {
            continue;
        };
        let names: Vec<&str> = without
            .iter()
            .map(|plot| index.plots[*plot as usize].name.as_str())
            .collect();
        let place = facts
            .loaded
            .files
            .iter()
            .filter(|file| file.factors[at].is_some())
            .find_map(|file| {
                let row = file.plots.iter().position(|plot| *plot == Some(*first))?;
                Some(file.place(row, Some(&factor.column.value)))
            });
        let fault = Diagnostic::error(
            NO_TREATMENT.name,
            format!(
                "no level of '{}' is recorded for {}",
                factor.name,
                numbered("plot", &names)
            ),
        )
        .help("fill in the level of every plot");
        found.push(match place {
            Some(place) => fault.at(place),
            None => fault.at(facts.trial.place(&factor.column.span)),
        });
    }
    found
}

fn numbered(word: &str, names: &[&str]) -> String {
    let s = if names.len() == 1 { "" } else { "s" };
    format!("{word}{s} {}", list(names))
}

/// How the records of a file meet the harvests: as its responses do; the first decides.
fn whose(facts: &Facts, at: usize) -> Belongs {
    facts
        .numbers()
        .find(|numbers| numbers.part.file == at)
        .map_or(Belongs::Label, |numbers| {
            numbers.file.belongs(numbers.response.quantity)
        })
}

fn missing_plots(facts: &Facts) -> Vec<Diagnostic> {
    let index = &facts.loaded.index;
    let meant: Vec<&str> = unmatched(facts)
        .into_iter()
        .filter_map(|(_, near)| near)
        .collect();
    let expected: Vec<usize> = (0..index.plots.len())
        .filter(|plot| index.plots[*plot].treatment().is_some())
        .filter(|plot| !meant.contains(&index.plots[*plot].name.as_str()))
        .collect();
    // Files that lack the same share a remark.
    let mut found: Vec<(String, Vec<&File>)> = Vec::new();
    for (at, file) in facts.loaded.files.iter().enumerate() {
        if !facts.measures(at) {
            continue;
        }
        let whose = whose(facts, at);
        let seasons = index.seasons.len();
        let (mut held, mut any) = (
            vec![false; index.plots.len() * seasons],
            vec![false; seasons],
        );
        for row in 0..file.height() {
            let Some(plot) = file.plots[row] else {
                continue;
            };
            let season = match &file.season {
                None => Some(0),
                Some(_) => file.season_of(row, whose),
            };
            if let Some(season) = season {
                held[plot as usize * seasons + season as usize] = true;
                any[season as usize] = true;
            }
        }
        let mut without = Vec::new();
        for season in (0..seasons).filter(|season| any[*season]) {
            let missing: Vec<&str> = expected
                .iter()
                .filter(|plot| !held[**plot * seasons + season])
                .map(|plot| index.plots[*plot].name.as_str())
                .collect();
            let when = match (&file.season, index.seasons[season].as_str()) {
                (Some(_), name) if !name.is_empty() => format!(" for season {name}"),
                _ => String::new(),
            };
            if !missing.is_empty() {
                without.push(format!("{}{when}", numbered("plot", &missing)));
            }
        }
        let without = without.join("; of ");
        match found.iter_mut().find(|(same, _)| *same == without) {
            _ if without.is_empty() => {}
            Some((_, files)) => files.push(file),
            None => found.push((without, vec![file])),
        }
    }
    let remark = |(without, files): (String, Vec<&File>)| {
        let names: Vec<&str> = files.iter().map(|file| file.name.as_str()).collect();
        let verb = if names.len() == 1 { "has" } else { "have" };
        let message = format!("{} {verb} no record of {without}", list(&names));
        files
            .into_iter()
            .fold(
                Diagnostic::warning(MISSING_PLOTS.name, message),
                |remark, file| remark.at(file.whole()),
            )
            .help("add the records if they exist; the analyses go on without these plots")
    };
    found.into_iter().map(remark).collect()
}
