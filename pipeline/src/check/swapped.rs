//! Two values of a record in each other's column.

use super::mates::{Grouping, Mates, items};
use super::suspects::cell;
use super::{Facts, Numbers, PRACTICE, Rule, stand};
use crate::decimal::nearest_f64;
use crate::diagnostic::{Diagnostic, Severity};
use crate::trial::checks::Threshold;

/// Values that fit each other's column.
pub const SWAPPED_COLUMNS: Rule = Rule {
    name: "swapped-columns",
    severity: Severity::Warning,
    source: PRACTICE,
    summary: "two values of a record that are both far from their mates and would both fit in each other's column",
    threshold: Some(Threshold::SwappedColumns),
    look,
};

/// How near its new mates a value must come, in robust standard deviations.
const FITS: f64 = 3.0;

struct Column<'a> {
    numbers: Numbers<'a>,
    mates: Mates,
    groups: Vec<Option<u32>>,
}

impl Column<'_> {
    fn value(&self, row: usize) -> Option<f64> {
        self.numbers.part.values[row].map(nearest_f64)
    }

    fn distance(&self, row: usize, value: f64) -> Option<f64> {
        self.mates.distance(self.groups[row]?, value)
    }
}

fn look(facts: &Facts) -> Vec<Diagnostic> {
    let Some(far) = facts.trial.checks.number(Threshold::SwappedColumns) else {
        return Vec::new();
    };
    let stand = stand::recorded(facts);
    let grouping = Grouping::of(facts);
    let columns: Vec<Column> = facts
        .columns()
        .into_iter()
        .filter(|numbers| !numbers.is_total && !numbers.response.takes_dates())
        .map(|numbers| {
            let values = items(&grouping, &numbers, stand.as_ref());
            Column {
                mates: Mates::of(&grouping, &values),
                groups: values
                    .iter()
                    .map(|item| item.map(|(group, _)| group))
                    .collect(),
                numbers,
            }
        })
        .collect();
    let mut found = Vec::new();
    for (at, first) in columns.iter().enumerate() {
        for second in &columns[at + 1..] {
            if first.numbers.part.file == second.numbers.part.file {
                let rows = 0..first.groups.len();
                found.extend(
                    rows.filter(|row| is_swapped(first, second, *row, far).unwrap_or(false))
                        .map(|row| warning(facts, first, second, row)),
                );
            }
        }
    }
    found
}

fn is_swapped(first: &Column, second: &Column, row: usize, far: f64) -> Option<bool> {
    let (one, other) = (first.value(row)?, second.value(row)?);
    let is_far = |distance: f64| distance.abs() > far;
    let fits = |distance: f64| distance.abs() <= FITS;
    Some(
        is_far(first.distance(row, one)?)
            && is_far(second.distance(row, other)?)
            && fits(first.distance(row, other)?)
            && fits(second.distance(row, one)?),
    )
}

fn warning(facts: &Facts, first: &Column, second: &Column, row: usize) -> Diagnostic {
    let (one, other) = (&first.numbers, &second.numbers);
    let value = other.part.values[row].unwrap_or_default();
    Diagnostic::warning(
        SWAPPED_COLUMNS.name,
        format!(
            "{} and {value} in column '{}' would fit in each other's column",
            cell(facts, one, row),
            other.part.heading
        ),
    )
    .at(one.part.place(one.file, row))
    .at(other.part.place(other.file, row))
    .help("look both up in the field book; if they are swapped, correct both in corrections.csv")
}
