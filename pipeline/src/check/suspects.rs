//! Suspicious cells as diagnostics: one each, so that every cell has its place and its sentence; many
//! of one kind in a column together.

use super::{Facts, Numbers, Rule};
use crate::diagnostic::Diagnostic;
use crate::load::text::{LISTED, and_more};

/// A cell and what is odd about it.
pub struct Suspect {
    /// Record.
    pub row: usize,
    /// What follows "VALUE in column 'C' of F (whose)".
    pub says: String,
}

/// Warnings about the cells of a column.
#[must_use]
pub fn warnings(
    facts: &Facts,
    rule: &Rule,
    numbers: &Numbers,
    suspects: &[Suspect],
    help: &str,
) -> Vec<Diagnostic> {
    let Numbers { part, file, .. } = numbers;
    let warning = |suspect: &Suspect, rest: &str| {
        Diagnostic::warning(
            rule.name,
            format!(
                "{} {}{rest}",
                cell(facts, numbers, suspect.row),
                suspect.says
            ),
        )
        .help(help)
    };
    if suspects.len() <= LISTED {
        return suspects
            .iter()
            .map(|suspect| warning(suspect, "").at(part.place(file, suspect.row)))
            .collect();
    }
    let rest = and_more(suspects.len() - 1, "value like it", "values like it");
    let places = suspects.iter().map(|suspect| part.place(file, suspect.row));
    vec![places.fold(warning(&suspects[0], &rest), Diagnostic::at)]
}

/// "5.9 in column 'crop_kg' of harvest.csv (vine 3 of plot 7 in 2021)".
#[must_use]
pub fn cell(facts: &Facts, numbers: &Numbers, row: usize) -> String {
    let Numbers { part, file, .. } = numbers;
    let value = part.values[row].map_or_else(|| "nothing".to_owned(), |value| value.to_string());
    format!(
        "{value} in column '{}' of {} ({})",
        part.heading,
        file.name,
        facts.whose(file, row)
    )
}

/// A number for a sentence: four significant digits, no trailing zeros.
#[must_use]
pub fn brief(value: f64) -> String {
    if value == 0.0 {
        return "0".to_owned();
    }
    let decimals = (3 - value.abs().log10().floor() as i32).clamp(0, 9) as usize;
    let text = format!("{value:.decimals$}");
    if text.contains('.') {
        return text.trim_end_matches('0').trim_end_matches('.').to_owned();
    }
    text
}

#[cfg(test)]
mod tests {
    use super::brief;

    #[test]
    fn numbers_in_sentences_are_short() {
        assert_eq!(brief(5.900_000_000_1), "5.9");
        assert_eq!(brief(1234.56), "1235");
        assert_eq!(brief(0.012_345_6), "0.01235");
        assert_eq!(brief(100.0), "100");
    }
}
