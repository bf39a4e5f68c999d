//! Dates, which are read as days of the year and so must be of one year.

use std::collections::BTreeMap;

use super::{Facts, Rule};
use crate::diagnostic::{Diagnostic, Severity};
use crate::load::text::and_more;

/// Dates of two years in one season.
pub const DATES_OF_ONE_YEAR: Rule = Rule {
    name: "dates-of-one-year",
    severity: Severity::Error,
    source: super::PRACTICE,
    summary: "dates of another year than most of their column and season: a slip, or a spring that spans New Year, in which days of the year have no order",
    look,
};

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
            found.push(
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
                .at(part.place(file, *row))
                .help(
                    "correct the year; where a season spans New Year, write the number of days \
                     from one date on instead of dates",
                ),
            );
        }
    }
    found
}
