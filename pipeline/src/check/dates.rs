//! Dates, which are read as days of the year and so must be of one year.

use std::collections::BTreeMap;

use super::suspects::{Suspect, warnings};
use super::{Facts, Rule};
use crate::decimal::nearest_f64;
use crate::diagnostic::{Diagnostic, Severity};
use crate::load::text::and_more;
use crate::trial::Hemisphere;
use crate::trial::checks::Threshold;

/// Dates of two years in one season.
pub const DATES_OF_ONE_YEAR: Rule = Rule {
    name: "dates-of-one-year",
    severity: Severity::Error,
    source: super::PRACTICE,
    summary: "dates of another year than most of their column and season: a slip, or a spring that spans New Year, in which days of the year have no order",
    threshold: None,
    look,
};

/// Dates outside the months of bud break.
pub const DATES_OUT_OF_SEASON: Rule = Rule {
    name: "dates-out-of-season",
    severity: Severity::Warning,
    source: super::PRACTICE,
    summary: "dates of bud break outside February to June in the north, August to December in the south (by hemisphere or latitude; outside both where neither is told)",
    threshold: Some(Threshold::DatesOutOfSeason),
    look: out_of_season,
};

/// First and last day of bud break: 1 February to 30 June, 1 August to 31 December.
const NORTH: (f64, f64) = (32.0, 182.0);
const SOUTH: (f64, f64) = (213.0, 366.0);

fn out_of_season(facts: &Facts) -> Vec<Diagnostic> {
    let Some(days) = facts.trial.checks.number(Threshold::DatesOutOfSeason) else {
        return Vec::new();
    };
    let (spans, words): (&[(f64, f64)], &str) = match facts.trial.vineyard.hemisphere {
        Some(Hemisphere::North) => (&[NORTH], "the north of the equator"),
        Some(Hemisphere::South) => (&[SOUTH], "the south of the equator"),
        None => (&[NORTH, SOUTH], "either hemisphere"),
    };
    let inside = |day: f64| {
        let mut spans = spans.iter();
        spans.any(|(first, last)| (first - days..=last + days).contains(&day))
    };
    let columns = facts.all_columns();
    columns
        .flat_map(|numbers| {
            let years = numbers.part.years.iter().enumerate();
            let suspects: Vec<Suspect> = years
                .filter(|(_, year)| year.is_some())
                .filter_map(|(row, _)| {
                    let day = nearest_f64(numbers.part.values[row]?);
                    (!inside(day)).then(|| Suspect {
                        row,
                        says: format!("is a day of the year on which no vine breaks bud in {words}"),
                    })
                })
                .collect();
            warnings(
                facts,
                &DATES_OUT_OF_SEASON,
                &numbers,
                &suspects,
                "look for day and month that were exchanged; hemisphere in [vineyard] tells the half of the world",
            )
        })
        .collect()
}

fn look(facts: &Facts) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    for numbers in facts.all_columns() {
        let (part, file) = (numbers.part, numbers.file);
        let mut seasons: BTreeMap<&str, BTreeMap<u16, Vec<usize>>> = BTreeMap::new();
        for (row, year) in part.years.iter().enumerate() {
            let Some(year) = year else { continue };
            let years = seasons
                .entry(file.season_label(row).unwrap_or_default())
                .or_default();
            years.entry(*year).or_default().push(row);
        }
        for years in seasons.values() {
            let Some((most, _)) = years.iter().max_by_key(|(_, rows)| rows.len()) else {
                continue;
            };
            let others = years.iter().filter(|(year, _)| *year != most);
            let rows: Vec<(u16, usize)> = others
                .flat_map(|(year, rows)| rows.iter().map(|row| (*year, *row)))
                .collect();
            let Some((year, row)) = rows.first() else {
                continue;
            };
            let fault =
                Diagnostic::error(
                    DATES_OF_ONE_YEAR.name,
                    format!(
                        "the date in column '{}' of {} ({}) is of {year}, most of its season are of {most}{}",
                        part.heading,
                        file.name,
                        facts.whose(file, *row),
                        and_more(rows.len() - 1, "date like it", "dates like it")
                    ),
                )
                .help(
                    "correct the year; where a season spans New Year, write the number of days \
                     from one date on instead of dates",
                );
            found.push(
                rows.iter()
                    .fold(fault, |fault, (_, row)| fault.at(part.place(file, *row))),
            );
        }
    }
    found
}
