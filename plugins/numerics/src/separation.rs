//! Comparisons between means: single pairs, all pairs, a family, and the letters that show them.
//!
//! * least significant difference: t at the chosen level times the standard error of the difference
//!   (Fisher 1935); protected when pairs are looked at only after a significant F;
//! * Tukey: |t|√2 against the studentized range, for unequal standard errors too (Kramer 1956,
//!   *Biometrics* 12:307; conservative then, Hayter 1984, *Ann. Stat.* 12:61);
//! * Dunnett: see [`crate::dunnett`];
//! * Holm's adjustment: sorted P times the number of hypotheses left, never falling
//!   (Holm 1979, *Scand. J. Stat.* 6:65);
//! * letters: means share a letter exactly where they are not different. The columns that insertion
//!   and absorption arrive at (Piepho 2004, *J. Comput. Graph. Stat.* 13:456) are the largest sets of
//!   means without a difference inside, found here directly (Bron & Kerbosch 1973, *Commun. ACM*
//!   16:575).
//!
//! Refused: standard errors that are not above zero, probabilities that are not numbers from 0 to 1,
//! letter displays of more than [`MOST_COLUMNS`] columns.

use std::f64::consts::SQRT_2;

use crate::distribution::{DistributionError, t_critical, t_two_sided};
use crate::dunnett::Dunnett;
use crate::range::StudentizedRange;

/// A letter display of more columns than this is no help to a reader.
pub const MOST_COLUMNS: usize = 200;

/// Why means cannot be separated.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum SeparationError {
    /// Occurs when the standard error of a difference is zero, negative or not a number: an error
    /// mean square of 0, most often.
    #[error("the standard error of a difference is {0}: differences cannot be judged against it")]
    StandardError(f64),
    /// Occurs when a probability is not a number from 0 to 1.
    #[error("{0} is not a probability")]
    Probability(f64),
    /// Occurs when a mean is not a number.
    #[error("mean {0} (counted from 0) is not a number")]
    Mean(usize),
    /// Occurs when more than [`MOST_COLUMNS`] columns of letters would be needed.
    #[error(
        "the differences need more than {MOST_COLUMNS} columns of letters; show them as a table of pairs instead"
    )]
    TooManyColumns,
    /// Occurs when the distribution refuses its arguments.
    #[error(transparent)]
    Distribution(#[from] DistributionError),
}

/// A difference of two means with its own standard error and degrees of freedom.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Difference {
    /// First mean less second.
    pub value: f64,
    /// Standard error of the difference.
    pub standard_error: f64,
    /// Degrees of freedom of that standard error.
    pub df: f64,
}

impl Difference {
    /// The difference in units of its standard error.
    ///
    /// # Errors
    /// For a standard error that is not above zero.
    pub fn t(&self) -> Result<f64, SeparationError> {
        if self.standard_error > 0.0 && self.standard_error.is_finite() {
            Ok(self.value / self.standard_error)
        } else {
            Err(SeparationError::StandardError(self.standard_error))
        }
    }

    /// Two-sided probability of this one comparison by itself.
    ///
    /// # Errors
    /// For a standard error or degrees of freedom that are not above zero.
    pub fn alone(&self) -> Result<f64, SeparationError> {
        Ok(t_two_sided(self.t()?, self.df)?)
    }

    /// Probability among all pairs of the means that `range` was made for.
    ///
    /// # Errors
    /// For a standard error that is not above zero.
    pub fn among_all_pairs(&self, range: &StudentizedRange) -> Result<f64, SeparationError> {
        Ok(range.upper(SQRT_2 * self.t()?.abs())?)
    }

    /// Probability among the comparisons with one control; the control's mean is the one taken off.
    ///
    /// # Errors
    /// For a standard error that is not above zero.
    pub fn against_control(&self, dunnett: &Dunnett) -> Result<f64, SeparationError> {
        let t = self.t()?;
        Ok(dunnett.upper(match dunnett.sides() {
            crate::dunnett::Sides::Both => t.abs(),
            crate::dunnett::Sides::Above => t,
        })?)
    }
}

/// The difference that is significant for one pair by itself.
///
/// # Errors
/// For a standard error or degrees of freedom that are not above zero, and a level outside (0, 1).
pub fn least_significant_difference(
    standard_error: f64,
    alpha: f64,
    df: f64,
) -> Result<f64, SeparationError> {
    if !(standard_error > 0.0 && standard_error.is_finite()) {
        return Err(SeparationError::StandardError(standard_error));
    }
    Ok(standard_error * t_critical(alpha, df)?)
}

/// The difference that is significant among all pairs; `critical` is the quantile of the studentized
/// range at the chosen level.
///
/// # Errors
/// For a standard error that is not above zero.
pub fn honest_difference(standard_error: f64, critical: f64) -> Result<f64, SeparationError> {
    if !(standard_error > 0.0 && standard_error.is_finite()) {
        return Err(SeparationError::StandardError(standard_error));
    }
    Ok(standard_error * critical / SQRT_2)
}

/// Whether Fisher's protection lets single pairs be looked at: only after an F at least as rare as
/// the level.
#[must_use]
pub fn protection_met(f_probability: f64, alpha: f64) -> bool {
    f_probability <= alpha
}

/// Probabilities adjusted by Holm's step-down rule, in the order given.
///
/// ```
/// # use caneplot_numerics::separation::holm;
/// assert_eq!(holm(&[0.25, 0.125, 0.5]).unwrap(), vec![0.5, 0.375, 0.5]);
/// ```
///
/// # Errors
/// For a probability that is not a number from 0 to 1.
pub fn holm(probabilities: &[f64]) -> Result<Vec<f64>, SeparationError> {
    if let Some(bad) = probabilities.iter().find(|p| !(0.0..=1.0).contains(*p)) {
        return Err(SeparationError::Probability(*bad));
    }
    let mut order: Vec<usize> = (0..probabilities.len()).collect();
    order.sort_by(|a, b| probabilities[*a].total_cmp(&probabilities[*b]));
    let mut adjusted = vec![0.0; probabilities.len()];
    let mut highest = 0.0_f64;
    for (passed, place) in order.iter().enumerate() {
        let left = (probabilities.len() - passed) as f64;
        highest = highest.max(left * probabilities[*place]).min(1.0);
        adjusted[*place] = highest;
    }
    Ok(adjusted)
}

/// Letters for means, in the order of the means given; `different(i, j)` says whether two of them
/// differ. The highest mean has the letter a; equal means keep the order given.
///
/// # Errors
/// For a mean that is not a number and for more than [`MOST_COLUMNS`] columns.
pub fn letters(
    means: &[f64],
    different: impl Fn(usize, usize) -> bool,
) -> Result<Vec<String>, SeparationError> {
    if let Some(place) = means.iter().position(|mean| mean.is_nan()) {
        return Err(SeparationError::Mean(place));
    }
    let mut order: Vec<usize> = (0..means.len()).collect();
    order.sort_by(|a, b| means[*b].total_cmp(&means[*a]));
    let alike = |i: usize, j: usize| i != j && !different(order[i], order[j]);
    let mut columns = Vec::new();
    grow(
        &mut Vec::new(),
        (0..means.len()).collect(),
        Vec::new(),
        &alike,
        &mut columns,
    )?;
    columns.sort();
    let mut letters = vec![String::new(); means.len()];
    for (number, column) in columns.iter().enumerate() {
        for rank in column {
            letters[order[*rank]].push_str(&letter(number));
        }
    }
    Ok(letters)
}

/// Adds to `columns` every largest set of mutually alike ranks that contains `set`, takes its other
/// members from `open` and none from `closed`.
fn grow(
    set: &mut Vec<usize>,
    mut open: Vec<usize>,
    mut closed: Vec<usize>,
    alike: &impl Fn(usize, usize) -> bool,
    columns: &mut Vec<Vec<usize>>,
) -> Result<(), SeparationError> {
    let Some(pivot) = open
        .iter()
        .chain(&closed)
        .copied()
        .max_by_key(|p| open.iter().filter(|o| alike(*p, **o)).count())
    else {
        if !set.is_empty() {
            if columns.len() == MOST_COLUMNS {
                return Err(SeparationError::TooManyColumns);
            }
            let mut column = set.clone();
            column.sort_unstable();
            columns.push(column);
        }
        return Ok(());
    };
    let branches: Vec<usize> = open.iter().copied().filter(|o| !alike(pivot, *o)).collect();
    for rank in branches {
        let keep = |from: &[usize]| from.iter().copied().filter(|o| alike(rank, *o)).collect();
        set.push(rank);
        grow(set, keep(&open), keep(&closed), alike, columns)?;
        set.pop();
        open.retain(|o| *o != rank);
        closed.push(rank);
    }
    Ok(())
}

/// The name of a column: a … z, A … Z, then a1 … Z1, a2 ….
fn letter(number: usize) -> String {
    let within = (number % 52) as u8;
    let letter = char::from(if within < 26 {
        b'a' + within
    } else {
        b'A' + within - 26
    });
    match number / 52 {
        0 => letter.to_string(),
        round => format!("{letter}{round}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn letters_go_on_after_z() {
        let names: Vec<String> = [0, 25, 26, 51, 52, 77, 104].map(letter).to_vec();
        assert_eq!(names, ["a", "z", "A", "Z", "a1", "z1", "a2"]);
    }

    #[test]
    fn a_display_that_explodes_is_refused_quickly() {
        // Pairs (0,1), (2,3) … differ and nothing else: 2^20 columns.
        let means: Vec<f64> = (0..40).map(f64::from).collect();
        let found = letters(&means, |i, j| i / 2 == j / 2 && i != j);
        assert_eq!(found, Err(SeparationError::TooManyColumns));
    }

    #[test]
    fn no_mean_needs_no_letter_and_one_gets_one() {
        assert_eq!(letters(&[], |_, _| true), Ok(vec![]));
        assert_eq!(letters(&[2.0], |_, _| true), Ok(vec!["a".to_owned()]));
    }

    #[test]
    fn a_zero_standard_error_is_refused() {
        let difference = Difference {
            value: 1.0,
            standard_error: 0.0,
            df: 4.0,
        };
        assert_eq!(difference.alone(), Err(SeparationError::StandardError(0.0)));
    }
}
