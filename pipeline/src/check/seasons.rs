//! Seasons: which winter a label means, labels outside the trial, seasons without records.

use std::collections::{BTreeMap, BTreeSet};

use super::{Facts, Numbers, PRACTICE, Rule, shifted};
use crate::diagnostic::{Diagnostic, Severity};
use crate::load::Belongs;
use crate::load::File;
use crate::load::season::is_dormant;
use crate::load::text::{count, list};

/// Dormant records in a file that does not say which winter.
pub const WINTER_UNDECLARED: Rule = Rule {
    name: "winter-undeclared",
    severity: Severity::Error,
    source: PRACTICE,
    summary: "records of winter in a file that does not say which winter its season labels mean",
    threshold: None,
    look: winter_undeclared,
};

/// Numbers in a file without seasons, in a trial of several.
pub const NUMBERS_WITHOUT_SEASON: Rule = Rule {
    name: "numbers-without-season",
    severity: Severity::Error,
    source: PRACTICE,
    summary: "numbers in a file without a column of seasons, which would count again in every season",
    threshold: None,
    look: numbers_without_season,
};

/// Records outside the seasons of the trial.
pub const SEASON_OUTSIDE: Rule = Rule {
    name: "season-outside",
    severity: Severity::Error,
    source: PRACTICE,
    summary: "records of a season that the trial does not have",
    threshold: None,
    look: season_outside,
};

/// Seasons of the trial that a column has no record of.
pub const MISSING_SEASONS: Rule = Rule {
    name: "missing-seasons",
    severity: Severity::Warning,
    source: PRACTICE,
    summary: "seasons of the trial for which a response has no record",
    threshold: None,
    look: missing_seasons,
};

fn winter_undeclared(facts: &Facts) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    for (at, file) in facts.loaded.files.iter().enumerate() {
        if file.winter.is_some() || file.season.is_none() {
            continue;
        }
        let dormant: Vec<Numbers> = facts
            .numbers()
            .filter(|numbers| {
                numbers.part.file == at
                    && !numbers.is_total
                    && is_dormant(numbers.response.quantity)
            })
            .collect();
        let Some(first) = dormant.first() else {
            continue;
        };
        let names: Vec<String> = dormant
            .iter()
            .map(|numbers| format!("'{}'", numbers.response.name))
            .collect();
        let label = file
            .season
            .as_ref()
            .and_then(|season| season.names.first())
            .map_or("2021", String::as_str);
        found.push(
            Diagnostic::error(
                WINTER_UNDECLARED.name,
                format!(
                    "{} holds records of winter ({}), and a winter lies between two seasons: it is unclear which one its label '{label}' means",
                    file.name,
                    list(&names)
                ),
            )
            .at(facts.trial.place(&facts.trial.data[at].file.span))
            .at(file.origin.place(None, Some(&first.part.heading)))
            .help(format!(
                "add to that [[data]] winter = \"after harvest\" if '{label}' is the winter after the harvest of {label}, \
                 or winter = \"before harvest\" if it is the winter before it; prunings are then counted with the harvest \
                 before the winter, nodes left with the one after"
            )),
        );
    }
    found
}

fn numbers_without_season(facts: &Facts) -> Vec<Diagnostic> {
    let Some(season) = &facts.trial.design.season else {
        return Vec::new();
    };
    let index = &facts.loaded.index;
    if index.seasons.len() < 2 {
        return Vec::new();
    }
    let mut found = Vec::new();
    for (at, file) in facts.loaded.files.iter().enumerate() {
        let here = facts
            .numbers()
            .filter(|numbers| numbers.part.file == at && !numbers.is_total);
        let names: Vec<&str> = here.map(|numbers| numbers.response.name.as_str()).collect();
        if file.season.is_some() || names.is_empty() {
            continue;
        }
        found.push(
            Diagnostic::error(
                NUMBERS_WITHOUT_SEASON.name,
                format!(
                    "{} has no column '{}', so one number of {} would count in each of {} seasons",
                    file.name,
                    season.value,
                    list(&names),
                    index.seasons.len()
                ),
            )
            .at(facts.trial.place(&facts.trial.data[at].file.span))
            .help(format!(
                "add the column '{}' and the season each number was measured in",
                season.value
            )),
        );
    }
    found
}

/// What a file's responses make of a label that is not among the seasons.
#[derive(Default)]
struct Outside<'a> {
    outside: Vec<&'a str>,
    inside: bool,
    rows: BTreeSet<usize>,
}

fn season_outside(facts: &Facts) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    for (at, file) in facts.loaded.files.iter().enumerate() {
        if file.season.is_none() || shifted::is_shifted(facts, at) {
            continue;
        }
        let mut labels: BTreeMap<u32, Outside> = BTreeMap::new();
        for numbers in facts
            .numbers()
            .filter(|numbers| numbers.part.file == at && !numbers.is_total)
        {
            look_outside(facts, &numbers, &mut labels);
        }
        let (errors, left_out): (Vec<_>, Vec<_>) = labels
            .into_iter()
            .filter(|(_, label)| !label.outside.is_empty())
            .partition(|(_, label)| !label.inside);
        found.extend(strange(facts, file, &errors));
        found.extend(
            left_out
                .iter()
                .map(|(code, label)| beyond(facts, file, *code, label)),
        );
    }
    found
}

fn look_outside<'a>(
    facts: &Facts<'a>,
    numbers: &Numbers<'a>,
    labels: &mut BTreeMap<u32, Outside<'a>>,
) {
    let file = numbers.file;
    let Some(season) = &file.season else { return };
    let whose = file.belongs(numbers.response.quantity);
    for (row, value) in numbers.part.values.iter().enumerate() {
        let (Some(_), Some(code)) = (value, season.codes[row]) else {
            continue;
        };
        let label = labels.entry(code).or_default();
        // A label that is a season of the trial is known, even where a winter moves it out.
        label.inside |= facts
            .loaded
            .index
            .seasons
            .contains(&season.names[code as usize]);
        if file.seasons[whose as usize][code as usize].is_some() {
            label.inside = true;
        } else {
            if !label.outside.contains(&numbers.response.name.as_str()) {
                label.outside.push(&numbers.response.name);
            }
            label.rows.insert(row);
        }
    }
}

fn strange(facts: &Facts, file: &File, errors: &[(u32, Outside)]) -> Option<Diagnostic> {
    let season = file.season.as_ref()?;
    let (_, first) = errors.first()?;
    let names: Vec<String> = errors
        .iter()
        .map(|(code, label)| {
            format!(
                "{} ({})",
                season.names[*code as usize],
                count(label.rows.len(), "record")
            )
        })
        .collect();
    let word = if names.len() == 1 {
        "season"
    } else {
        "seasons"
    };
    let mut fault = Diagnostic::error(
        SEASON_OUTSIDE.name,
        format!(
            "{} has records of {word} {}, which the trial does not have; its seasons are {}",
            file.name,
            list(&names),
            list(&facts.loaded.index.seasons)
        ),
    )
    .at(file.place(*first.rows.first()?, Some(&season.heading)));
    if let Some(span) = &facts.trial.seasons_span {
        fault = fault.at(facts.trial.place(span));
    }
    Some(fault.help(
        "correct the season of the records, add it to seasons in [trial], or delete the records",
    ))
}

fn beyond(facts: &Facts, file: &File, code: u32, label: &Outside) -> Diagnostic {
    let season = file.season.as_ref();
    let name = season.map_or("", |season| season.names[code as usize].as_str());
    let whose = |name: &str| {
        let response = facts
            .trial
            .responses
            .iter()
            .find(|response| response.name == name);
        response.map_or(Belongs::Label, |response| file.belongs(response.quantity))
    };
    let to = label.outside.first().and_then(|response| {
        crate::load::season::moved(
            name,
            crate::load::season::shift(file.winter, whose(response)),
        )
    });
    Diagnostic::note(
        SEASON_OUTSIDE.name,
        format!(
            "{} of '{name}' in {} belong to season {}, which the trial does not have, and are left out ({})",
            count(label.rows.len(), "record"),
            file.name,
            to.unwrap_or_default(),
            list(&label.outside)
        ),
    )
    .at(file.place(label.rows.first().copied().unwrap_or(0), season.map(|season| season.heading.as_str())))
}

fn missing_seasons(facts: &Facts) -> Vec<Diagnostic> {
    let seasons = &facts.loaded.index.seasons;
    // Files, seasons they lack → responses.
    let mut lacking: BTreeMap<(Vec<usize>, Vec<usize>), Vec<&str>> = BTreeMap::new();
    for (response, measured) in facts.trial.responses.iter().zip(&facts.loaded.measured) {
        let files: Vec<usize> = measured.values.iter().map(|part| part.file).collect();
        let dated = files
            .iter()
            .all(|at| facts.loaded.files[*at].season.is_some());
        if !dated || files.iter().any(|at| shifted::is_shifted(facts, *at)) {
            continue;
        }
        let mut held = vec![false; seasons.len()];
        for part in &measured.values {
            let file = &facts.loaded.files[part.file];
            for (row, value) in part.values.iter().enumerate() {
                if let (Some(_), Some(season)) =
                    (value, file.season_of(row, file.belongs(response.quantity)))
                {
                    held[season as usize] = true;
                }
            }
        }
        let missing: Vec<usize> = (0..seasons.len()).filter(|season| !held[*season]).collect();
        if !missing.is_empty() && missing.len() < seasons.len() {
            lacking
                .entry((files, missing))
                .or_default()
                .push(&response.name);
        }
    }
    lacking
        .into_iter()
        .map(|((files, missing), responses)| {
            let names: Vec<&str> = missing
                .iter()
                .map(|season| seasons[*season].as_str())
                .collect();
            let holders: Vec<&str> = files
                .iter()
                .map(|at| facts.loaded.files[*at].name.as_str())
                .collect();
            let winter = files
                .iter()
                .any(|at| facts.loaded.files[*at].winter.is_some());
            let message = format!(
                "{} has no record of {} for season {}",
                list(&holders),
                list(&responses),
                list(&names)
            );
            // The first or last winter of a trial is often not recorded.
            let found = if winter {
                Diagnostic::note(MISSING_SEASONS.name, message)
            } else {
                Diagnostic::warning(MISSING_SEASONS.name, message)
            };
            found
                .at(facts.loaded.files[files[0]].whole())
                .help("add the records if they exist")
        })
        .collect()
}
