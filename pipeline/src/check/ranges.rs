//! Values that cannot be.

use std::collections::HashMap;

use super::{Facts, Numbers, PRACTICE, Rule};
use crate::decimal::{Decimal, as_written};
use crate::diagnostic::{Diagnostic, Severity};
use crate::load::text::{and_more, lines, list};
use crate::trial::Response;
use crate::trial::unit::{Dimension, Per};

/// Values outside the possible range of their quantity.
pub const IMPOSSIBLE_VALUE: Rule = Rule {
    name: "impossible-value",
    severity: Severity::Error,
    source: PRACTICE,
    summary: "values outside the possible range: the one declared, else no amount below 0, Brix 0 to 45, pH 2 to 5",
    threshold: None,
    look: impossible_value,
};

/// Numbers that stand for "not recorded" in many files.
pub const LOOKS_MISSING: Rule = Rule {
    name: "looks-missing",
    severity: Severity::Warning,
    source: PRACTICE,
    summary: "-9, -99, -999.9 and other rows of nines below 0 in a column where negative numbers are possible",
    threshold: None,
    look: looks_missing,
};

/// Counts that do not count.
pub const COUNTS: Rule = Rule {
    name: "counts",
    severity: Severity::Error,
    source: PRACTICE,
    summary: "counts that are no whole numbers or above their total, totals of zero, a count without its total",
    threshold: None,
    look: counts,
};

/// A unit per plot on records of vines.
pub const UNIT_OF_PLOT_ON_VINES: Rule = Rule {
    name: "plot-unit-on-vines",
    severity: Severity::Error,
    source: PRACTICE,
    summary: "a unit per plot for numbers recorded on single vines",
    threshold: None,
    look: unit_of_plot_on_vines,
};

/// Lowest and highest possible value, and what says so.
fn possible(numbers: &Numbers) -> Option<Range> {
    range(numbers.response, numbers.is_total)
}

/// A lowest and a highest value, and what says so.
pub(crate) type Range = (Decimal, Option<Decimal>, String);

/// The possible range of the values of a response, or of its totals, in its unit.
pub(crate) fn range(response: &Response, is_total: bool) -> Option<Range> {
    if is_total || response.of.is_some() {
        return Some((Decimal::ZERO, None, "a count is not negative".to_owned()));
    }
    if let Some((low, high)) = response.possible {
        let words = format!("the trial file allows {low} to {high}");
        return Some((as_written(low)?, Some(as_written(high)?), words));
    }
    let zero = Decimal::ZERO;
    match response.unit.dimension() {
        Dimension::SolubleSolids => Some((
            zero,
            Some(Decimal::from(45)),
            "Brix lies between 0 and 45".to_owned(),
        )),
        Dimension::Ph => Some((
            Decimal::TWO,
            Some(Decimal::from(5)),
            "the pH of must lies between 2 and 5".to_owned(),
        )),
        Dimension::Temperature(_) | Dimension::Plain => None,
        _ => Some((
            zero,
            None,
            format!("{} is not negative", response.unit.measured()),
        )),
    }
}

/// Whether a value of a column lies outside its possible range.
pub(super) fn impossible(numbers: &Numbers) -> impl Fn(&Decimal) -> bool + use<> {
    let range = possible(numbers).map(|(low, high, _)| (low, high));
    move |value| {
        range.is_some_and(|(low, high)| *value < low || high.is_some_and(|high| *value > high))
    }
}

fn impossible_value(facts: &Facts) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    for numbers in facts.all_columns() {
        let Some((_, _, why)) = possible(&numbers) else {
            continue;
        };
        let Numbers { part, file, .. } = numbers;
        let outside = impossible(&numbers);
        let rows: Vec<usize> = part
            .values
            .iter()
            .enumerate()
            .filter(|(_, value)| value.as_ref().is_some_and(&outside))
            .map(|(row, _)| row)
            .collect();
        let Some(first) = rows.first() else { continue };
        let value = part.values[*first].unwrap_or_default();
        let help = if numbers.response.possible.is_some() && numbers.response.of.is_none() {
            "correct the value, or widen possible = [low, high] in the trial file"
        } else {
            "correct the value; if it means 'not recorded', list it in missing = [...] of the file"
        };
        let fault = Diagnostic::error(
            IMPOSSIBLE_VALUE.name,
            format!(
                "{value} in column '{}' of {} ({}) is impossible: {why}{}",
                part.heading,
                file.name,
                facts.whose(file, *first),
                and_more(rows.len() - 1, "value", "values")
            ),
        )
        .help(help);
        found.push(at_rows(fault, &numbers, &rows));
    }
    found
}

/// The fault at every cell it is about.
fn at_rows(fault: Diagnostic, numbers: &Numbers, rows: &[usize]) -> Diagnostic {
    rows.iter().fold(fault, |fault, row| {
        fault.at(numbers.part.place(numbers.file, *row))
    })
}

/// A number below 0 written in nines: a whole one, or one of three nines or more (-99.9).
fn is_code(value: &Decimal) -> bool {
    let digits = value.normalize().mantissa().unsigned_abs().to_string();
    value.is_sign_negative()
        && digits.bytes().all(|digit| digit == b'9')
        && (value.is_integer() || digits.len() >= 3)
}

/// Where negative numbers are impossible these are errors already.
fn looks_missing(facts: &Facts) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    for numbers in facts.all_columns() {
        let outside = impossible(&numbers);
        let rows = rows_where(&numbers, |value| is_code(value) && !outside(value));
        let Some(first) = rows.first() else { continue };
        let Numbers { part, file, .. } = numbers;
        let mut codes: Vec<Decimal> = Vec::new();
        for value in rows.iter().filter_map(|row| part.values[*row]) {
            if !codes.contains(&value) {
                codes.push(value);
            }
        }
        let codes: Vec<String> = codes.iter().map(ToString::to_string).collect();
        let (look, code) = match rows.len() {
            1 => ("looks", "a code"),
            _ => ("look", "codes"),
        };
        let at: Vec<usize> = rows.iter().map(|row| file.lines[*row]).collect();
        found.push(
            Diagnostic::warning(
                LOOKS_MISSING.name,
                format!(
                    "{} in column '{}' of {}, {} ({}{}), {look} like {code} for 'not recorded'",
                    list(&codes),
                    part.heading,
                    file.name,
                    lines(&at),
                    facts.whose(file, *first),
                    match rows.len() {
                        1 => "",
                        _ => " first",
                    }
                ),
            )
            .at(part.place(file, *first))
            .help(format!(
                "if so, add missing = [{}] to the file in [[data]]",
                codes.join(", ")
            )),
        );
    }
    found
}

/// Collects rows of one kind of fault of a column into one diagnostic.
fn column_fault(
    facts: &Facts,
    numbers: &Numbers,
    rows: &[usize],
    what: &str,
    help: &str,
) -> Option<Diagnostic> {
    let Numbers { part, file, .. } = numbers;
    let first = rows.first()?;
    let cells: Vec<String> = rows
        .iter()
        .map(|row| {
            let value =
                part.values[*row].map_or_else(|| "empty".to_owned(), |value| value.to_string());
            format!("{value} on line {}", file.lines[*row])
        })
        .collect();
    let fault = Diagnostic::error(
        COUNTS.name,
        format!(
            "column '{}' of {} {what}: {} ({})",
            part.heading,
            file.name,
            list(&cells),
            facts.whose(file, *first)
        ),
    )
    .help(help);
    Some(at_rows(fault, numbers, rows))
}

fn counts(facts: &Facts) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    for numbers in facts.all_columns() {
        let of_total = facts.numbers().any(|other| {
            other.response.of.is_some()
                && other.part.file == numbers.part.file
                && other.part.heading == numbers.part.heading
        });
        let is_count = matches!(numbers.response.unit.dimension(), Dimension::Count(_));
        // A count a vine of a whole plot may be an average; on a vine it cannot be.
        if of_total || (is_count && numbers.file.vine.is_some()) {
            let broken = |value: &Decimal| !value.is_integer();
            found.extend(column_fault(
                facts,
                &numbers,
                &rows_where(&numbers, broken),
                "counts things, and these are no whole numbers",
                "write whole numbers; an average of several vines is recorded as sums of its parts",
            ));
        }
    }
    for numbers in facts.numbers().filter(|numbers| numbers.is_total) {
        found.extend(column_fault(
            facts,
            &numbers,
            &rows_where(&numbers, Decimal::is_zero),
            "is a total, and a share of nothing is no number",
            "leave the count and the total empty where nothing was looked at",
        ));
    }
    for (at, response) in facts.trial.responses.iter().enumerate() {
        if response.of.is_some() {
            found.extend(against_totals(facts, at));
        }
    }
    found
}

fn rows_where(numbers: &Numbers, is: impl Fn(&Decimal) -> bool) -> Vec<usize> {
    let values = numbers.part.values.iter().enumerate();
    values
        .filter(|(_, value)| value.as_ref().is_some_and(&is))
        .map(|(row, _)| row)
        .collect()
}

/// Counts above their totals, and counts and totals that stand alone.
fn against_totals(facts: &Facts, at: usize) -> Vec<Diagnostic> {
    let response = &facts.trial.responses[at];
    let key = |file: &crate::load::File, row: usize| {
        (
            file.plots[row],
            file.vines[row],
            file.season
                .is_some()
                .then(|| file.season_of(row, file.belongs(response.quantity))),
        )
    };
    let (values, totals): (Vec<Numbers>, Vec<Numbers>) = facts
        .numbers()
        .filter(|numbers| std::ptr::eq(numbers.response, response))
        .partition(|numbers| !numbers.is_total);
    let mut known = HashMap::new();
    for numbers in &totals {
        for (row, total) in numbers.part.values.iter().enumerate() {
            if let Some(total) = total {
                known.insert(key(numbers.file, row), *total);
            }
        }
    }
    let mut found = Vec::new();
    for numbers in &values {
        let with = |is: &dyn Fn(Decimal, Option<Decimal>) -> bool| -> Vec<usize> {
            let rows = numbers.part.values.iter().enumerate();
            rows.filter(|(row, value)| {
                value.is_some_and(|value| is(value, known.get(&key(numbers.file, *row)).copied()))
            })
            .map(|(row, _)| row)
            .collect()
        };
        let total = response.of.as_ref().map_or("", |of| of.value.as_str());
        let above = with(&|value, total| total.is_some_and(|total| value > total));
        found.extend(column_fault(
            facts,
            numbers,
            &above,
            &format!("is above its total in column '{total}'"),
            "correct the count or the total",
        ));
        let alone = with(&|_, total| total.is_none());
        let warning = column_fault(
            facts,
            numbers,
            &alone,
            &format!("has counts without a total in column '{total}'"),
            "fill in the total; a count without one is left out",
        );
        found.extend(warning.map(|fault| Diagnostic {
            severity: Severity::Warning,
            ..fault
        }));
    }
    found
}

fn unit_of_plot_on_vines(facts: &Facts) -> Vec<Diagnostic> {
    let wrong = facts.all_columns().filter(|numbers| {
        numbers.response.unit.per() == Per::Plot && numbers.file.vine.is_some() && !numbers.is_total
    });
    wrong
        .map(|numbers| {
            Diagnostic::error(
                UNIT_OF_PLOT_ON_VINES.name,
                format!(
                    "'{}' is recorded on single vines in {}, but its unit is {}",
                    numbers.response.name, numbers.file.name, numbers.response.unit
                ),
            )
            .at(facts.trial.place(&numbers.response.span))
            .at(numbers.file.origin.place(None, Some(&numbers.part.heading)))
            .help("give the unit per vine, or record it once a plot in a file without a column of vines")
        })
        .collect()
}
