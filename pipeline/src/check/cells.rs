//! Cells of measurements: what is no number, what is not recorded.

use super::stand::{self, Stand};
use super::{Facts, Numbers, PRACTICE, Rule};
use crate::diagnostic::{Diagnostic, Severity};
use crate::load::numbers::Fault;
use crate::load::text::{and_more, count, list};
use crate::trial::DecimalMark;

/// Cells of a measurement that are no number.
pub const NOT_A_NUMBER: Rule = Rule {
    name: "not-a-number",
    severity: Severity::Error,
    source: PRACTICE,
    summary: "cells of a measurement that are neither a number nor a declared missing code",
    look: not_a_number,
};

/// Cells that are empty or hold a missing code.
pub const MISSING_VALUES: Rule = Rule {
    name: "missing-values",
    severity: Severity::Note,
    source: PRACTICE,
    summary: "how many cells of a measurement are empty or hold a missing code",
    look: missing_values,
};

/// What a cell that is no number looks like.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Looks {
    DecimalComma,
    /// "1,234": a decimal comma, or thousands.
    EitherComma,
    /// "1.234,5", "1 234": marks between the thousands.
    Thousands,
    /// "3.1" in a file of decimal commas.
    DecimalPoint,
    WithUnit,
    Missing,
    TooLong,
    Other,
}

fn looks(text: &str, mark: DecimalMark) -> Looks {
    let is_number = |text: &str| crate::decimal::exact(text).is_ok();
    if crate::decimal::exact(text) == Err(crate::decimal::NotExact::TooLong) {
        return Looks::TooLong;
    }
    if has_thousands(text) {
        return Looks::Thousands;
    }
    if mark == DecimalMark::Comma && text.contains('.') && is_number(text) {
        return Looks::DecimalPoint;
    }
    if let Some((whole, rest)) = text.split_once(',')
        && is_number(&format!("{whole}.{rest}"))
    {
        let thousands = rest.len() == 3 && !whole.is_empty() && whole.len() < 5;
        return if thousands {
            Looks::EitherComma
        } else {
            Looks::DecimalComma
        };
    }
    let digits = text
        .find(|letter: char| !(letter.is_ascii_digit() || "+-.".contains(letter)))
        .unwrap_or(text.len());
    let unit = text[digits..].trim_start();
    if is_number(&text[..digits])
        && unit
            .chars()
            .all(|letter| letter.is_alphabetic() || " /%°".contains(letter))
    {
        return Looks::WithUnit;
    }
    if !text.contains(|letter: char| letter.is_ascii_digit()) {
        return Looks::Missing;
    }
    Looks::Other
}

/// Whether a number has marks between its thousands, and can be read no other way.
fn has_thousands(text: &str) -> bool {
    let digits = text.strip_prefix(['+', '-']).unwrap_or(text);
    let is_mark = |letter: char| ",. '\u{2019}\u{a0}\u{202f}".contains(letter);
    let groups: Vec<&str> = digits.split(is_mark).collect();
    let plain = |group: &&str| !group.is_empty() && group.bytes().all(|b| b.is_ascii_digit());
    let marks: Vec<char> = digits.chars().filter(|letter| is_mark(*letter)).collect();
    let [first, middle @ .., last] = groups.as_slice() else {
        return false;
    };
    let whole = last.len() == 3;
    let several = marks.len() > 1 || !matches!(marks.first(), Some(',' | '.'));
    groups.iter().all(|group| plain(group))
        && first.len() <= 3
        && middle.iter().all(|group| group.len() == 3)
        && (whole || (!middle.is_empty() && marks.first() != marks.last()))
        && several
}

fn not_a_number(facts: &Facts) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    for numbers in facts.all_columns() {
        for kind in [
            Looks::DecimalComma,
            Looks::EitherComma,
            Looks::Thousands,
            Looks::DecimalPoint,
            Looks::WithUnit,
            Looks::Missing,
            Looks::TooLong,
            Looks::Other,
        ] {
            let cells: Vec<&Fault> = numbers
                .part
                .faults
                .iter()
                .filter(|fault| looks(&fault.text, numbers.part.mark) == kind)
                .collect();
            found.extend(of_kind(facts, &numbers, kind, &cells));
        }
    }
    found
}

fn of_kind(facts: &Facts, numbers: &Numbers, kind: Looks, cells: &[&Fault]) -> Option<Diagnostic> {
    let Numbers { part, file, .. } = numbers;
    let first = *cells.first()?;
    let rest = and_more(cells.len() - 1, "cell like it", "cells like it");
    let why = match kind {
        Looks::DecimalComma => "is written with a decimal comma",
        Looks::EitherComma => "has a comma for the decimals or for the thousands",
        Looks::Thousands => "has marks between its thousands",
        Looks::DecimalPoint => "has a point in a file with commas before decimals",
        Looks::WithUnit => "has words behind its number",
        Looks::TooLong => "has more digits than can be kept exactly (28)",
        Looks::Missing | Looks::Other => "is not a number",
    };
    let help = match kind {
        Looks::DecimalComma => format!("write {}", first.text.replace(',', ".")),
        Looks::EitherComma => format!(
            "write {} or {}",
            first.text.replace(',', "."),
            first.text.replace(',', "")
        ),
        Looks::Thousands => "write the number without marks between the thousands".to_owned(),
        Looks::DecimalPoint => format!(
            "write {}; if the point stands between thousands, take it out",
            first.text.replace('.', ",")
        ),
        Looks::WithUnit => format!(
            "leave only the number in the cell; the unit stands in the trial file ({})",
            numbers.response.unit
        ),
        Looks::Missing => format!(
            "if it means 'not recorded', add missing = [\"{}\"] to the file in [[data]], or leave the cell empty",
            first.text
        ),
        Looks::TooLong => "round it to what was measured".to_owned(),
        Looks::Other => "correct the cell, or leave it empty if nothing was recorded".to_owned(),
    };
    Some(
        Diagnostic::error(
            NOT_A_NUMBER.name,
            format!(
                "'{}' in column '{}' of {} ({}) {why}{rest}",
                first.text,
                part.heading,
                file.name,
                facts.whose(file, first.row)
            ),
        )
        .at(part.place(file, first.row))
        .help(help),
    )
}

/// One note a file: cells without a number by column, those of dead and missing vines not counted.
fn missing_values(facts: &Facts) -> Vec<Diagnostic> {
    let stand = stand::recorded(facts);
    let columns: Vec<Numbers> = facts.all_columns().collect();
    let mut found = Vec::new();
    for (at, file) in facts.loaded.files.iter().enumerate() {
        let here = columns.iter().filter(|numbers| numbers.part.file == at);
        let words: Vec<String> = here
            .filter_map(|numbers| without_number(numbers, stand.as_ref()))
            .collect();
        if !words.is_empty() {
            let records = count(file.height(), "record");
            found.push(
                Diagnostic::note(
                    MISSING_VALUES.name,
                    format!(
                        "without a number among the {records} of {}: {}",
                        file.name,
                        list(&words)
                    ),
                )
                .at(file.whole()),
            );
        }
    }
    found
}

fn without_number(numbers: &Numbers, stand: Option<&Stand>) -> Option<String> {
    let part = numbers.part;
    let is_gap = |row: usize| stand.is_some_and(|stand| stand.gap(numbers, row).is_some());
    let none = part
        .values
        .iter()
        .enumerate()
        .filter(|(row, value)| value.is_none() && !is_gap(*row));
    let missing = none.count().saturating_sub(part.faults.len());
    let coded = match part.missing_codes.min(missing) {
        0 => String::new(),
        coded => format!(" ({coded} with a missing code)"),
    };
    (missing > 0).then(|| format!("{missing} in '{}'{coded}", part.heading))
}
