//! Records rounded more than the rest of their column: a season or a block in whole kilograms, or in
//! halves, where the others have every last digit.

use std::collections::BTreeMap;

use super::{Facts, Numbers, PRACTICE, Rule};
use crate::decimal::Decimal;
use crate::diagnostic::{Diagnostic, Severity};
use crate::trial::checks::Threshold;

/// Records rounded more than their column.
pub const ROUNDING: Rule = Rule {
    name: "rounding",
    severity: Severity::Warning,
    source: PRACTICE,
    summary: "a season, or a block of it, whose last digits are nearly all 0, or 0 and 5, where those of the rest of the column are not",
    threshold: Some(Threshold::Rounding),
    look,
};

/// Records a group needs, for digits of 0 and for digits of 0 and 5; ours.
const FEWEST: [usize; 2] = [8, 12];
/// Share of such digits in the rest of the column above which the whole column is recorded so.
const REST: [f64; 2] = [0.4, 0.5];

/// Which last digits are meant.
const DIGITS: [(&[i128], &str); 2] = [(&[0], "0"), (&[0, 5], "0 or 5")];

fn look(facts: &Facts) -> Vec<Diagnostic> {
    let Some(share) = facts.trial.checks.number(Threshold::Rounding) else {
        return Vec::new();
    };
    let columns = facts.columns().into_iter();
    columns
        .filter(|numbers| numbers.part.years.is_empty())
        .flat_map(|numbers| of_column(facts, &numbers, share))
        .collect()
}

/// Last digit of a value written with so many decimals.
fn last_digit(value: Decimal, decimals: u32) -> Option<i128> {
    let tens = 10_i128.checked_pow(decimals.checked_sub(value.scale())?)?;
    Some(value.mantissa().checked_mul(tens)?.abs() % 10)
}

fn of_column(facts: &Facts, numbers: &Numbers, share: f64) -> Vec<Diagnostic> {
    let decimals = numbers.part.decimals;
    let digits: Vec<Option<i128>> = numbers
        .part
        .values
        .iter()
        .map(|value| last_digit((*value)?, decimals))
        .collect();
    let file = numbers.file;
    let season = |row: usize| file.season.as_ref().and_then(|season| season.codes[row]);
    let block = |row: usize| {
        let plot = file.plots[row].map(|plot| &facts.loaded.index.plots[plot as usize]);
        plot.and_then(|plot| plot.block()).unwrap_or_default()
    };
    let mut found = Vec::new();
    let mut named = vec![false; digits.len()];
    for by_block in [false, true] {
        let mut groups: BTreeMap<(Option<u32>, &str), Vec<usize>> = BTreeMap::new();
        for row in (0..digits.len()).filter(|row| digits[*row].is_some()) {
            let block = if by_block { block(row) } else { "" };
            groups.entry((season(row), block)).or_default().push(row);
        }
        for ((_, block), rows) in groups {
            if rows.iter().any(|row| named[*row]) {
                continue;
            }
            let Some(which) =
                (0..DIGITS.len()).find(|which| is_rounded(&digits, &rows, *which, share))
            else {
                continue;
            };
            for row in &rows {
                named[*row] = true;
            }
            let mut place = String::new();
            if !block.is_empty() {
                place = format!(" of block {block}");
            }
            if let Some(season) = file.season_label(rows[0]) {
                place = format!("{place} in {season}");
            }
            let warning = Diagnostic::warning(
                ROUNDING.name,
                format!(
                    "the {} values{place} in column '{}' of {} end in {}, the others do not: they are rounded more",
                    rows.len(),
                    numbers.part.heading,
                    file.name,
                    DIGITS[which].1
                ),
            )
            .help("look whether the field book has more digits");
            found.push(rows.iter().fold(warning, |warning, row| {
                warning.at(numbers.part.place(file, *row))
            }));
        }
    }
    found
}

fn is_rounded(digits: &[Option<i128>], rows: &[usize], which: usize, share: f64) -> bool {
    let (meant, _) = DIGITS[which];
    let is = |row: &usize| digits[*row].is_some_and(|digit| meant.contains(&digit));
    let here = rows.iter().filter(|row| is(row)).count();
    let all = (0..digits.len()).filter(|row| digits[*row].is_some());
    let (mut everywhere, mut count) = (0, 0);
    for row in all {
        count += 1;
        everywhere += usize::from(is(&row));
    }
    let rest = count - rows.len();
    rows.len() >= FEWEST[which]
        && rest >= FEWEST[which]
        && here as f64 >= share * rows.len() as f64
        && (everywhere - here) as f64 <= REST[which] * rest as f64
}

#[cfg(test)]
mod tests {
    use super::last_digit;
    use crate::decimal::exact;

    #[test]
    fn the_last_digit_is_that_of_the_columns_decimals() {
        let digit = |text: &str| last_digit(exact(text).unwrap(), 2);
        assert_eq!(digit("3.45"), Some(5));
        assert_eq!(digit("3.4"), Some(0));
        assert_eq!(digit("-7"), Some(0));
    }
}
