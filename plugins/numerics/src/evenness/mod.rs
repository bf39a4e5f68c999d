//! How evenly the vines of a plot behave: the spread inside a plot, as one number a plot.
//!
//! Three numbers, each of which can be analysed like any other measurement of a plot:
//! * [`LogVariance`]: ln s² freed from its bias. For normal values with ν degrees of freedom
//!   E ln s² = ln σ² + ψ(ν/2) − ln(ν/2) and Var ln s² = ψ'(ν/2), whatever σ (Bartlett & Kendall 1946,
//!   *Suppl. J. R. Stat. Soc.* 8:128), so plots are comparable and nearly normal on this scale.
//! * [`Deviations`]: the mean distance of the vines from the median of their plot (Brown & Forsythe
//!   1974, *J. Am. Stat. Assoc.* 69:364), over what it would be for normal values of spread 1 in as
//!   many vines, so that plots with different numbers of vines are comparable.
//! * [`Course`]: the days on which a tenth, half and nine tenths of the vines have come to a stage.
//!
//! Refused: fewer than two vines; the logarithm of a variance of 0; a course of fewer than five vines.

mod course;
mod order;

pub use course::{Course, FEWEST};

use std::collections::BTreeMap;

use crate::sum::{Sum, squares_about_mean};

/// ln of the variance inside a plot, freed from its bias.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LogVariance {
    /// ln s² − ψ(ν/2) + ln(ν/2): its expectation is ln σ².
    pub value: f64,
    /// Variance of `value` for normal values of the vines, ψ'(ν/2).
    pub sampling: f64,
    /// Degrees of freedom ν: vines less one.
    pub df: usize,
}

/// Why a plot has no measure of its spread.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum SpreadError {
    /// Occurs when a plot has one vine, or none.
    #[error("the spread inside a plot needs two vines or more")]
    TooFew,
    /// Occurs when all vines have the same value.
    #[error("all vines have the same value, and a variance of 0 has no logarithm")]
    Same,
}

impl LogVariance {
    /// From the values of the vines of a plot, centred or not.
    ///
    /// # Errors
    /// See [`SpreadError`].
    pub fn of(values: &[f64]) -> Result<Self, SpreadError> {
        if values.len() < 2 {
            return Err(SpreadError::TooFew);
        }
        if values.iter().all(|value| *value == values[0]) {
            return Err(SpreadError::Same);
        }
        let df = values.len() - 1;
        let half = df as f64 / 2.0;
        let variance = squares_about_mean(values) / df as f64;
        Ok(Self {
            value: variance.ln() - digamma_of_half(df) + half.ln(),
            sampling: trigamma_of_half(df),
            df,
        })
    }
}

/// Mean distances from the median, over what they are expected to be for normal values of spread 1.
///
/// ```
/// # use caneplot_numerics::evenness::Deviations;
/// let mut deviations = Deviations::default();
/// // Two values lie half their difference from their median, normal ones 1/√π of their spread.
/// let found = deviations.of(&[3.0, 5.0]).unwrap();
/// assert!((found - std::f64::consts::PI.sqrt()).abs() < 1e-12);
/// ```
#[derive(Debug, Clone, Default)]
pub struct Deviations {
    /// What is expected of as many values, worked out once.
    expected: BTreeMap<usize, f64>,
}

impl Deviations {
    /// Of the values of the vines of a plot, centred or not; equal values have 0.
    ///
    /// # Errors
    /// [`SpreadError::TooFew`] for fewer than two vines.
    pub fn of(&mut self, values: &[f64]) -> Result<f64, SpreadError> {
        let count = values.len();
        if count < 2 {
            return Err(SpreadError::TooFew);
        }
        let mut sorted = values.to_vec();
        sorted.sort_by(f64::total_cmp);
        let centre = median(&sorted);
        let distances: Sum = sorted.iter().map(|value| (value - centre).abs()).collect();
        let expected = self
            .expected
            .entry(count)
            .or_insert_with(|| order::expected_deviation(count));
        Ok(distances.total() / count as f64 / *expected)
    }
}

fn median(sorted: &[f64]) -> f64 {
    let upper = sorted.len() / 2;
    if sorted.len() % 2 == 1 {
        sorted[upper]
    } else {
        sorted[upper - 1] + (sorted[upper] - sorted[upper - 1]) / 2.0
    }
}

/// Euler's constant.
const EULER: f64 = 0.577_215_664_901_532_9;

/// ψ(n/2) by its recurrence from ψ(1) = −γ or ψ(½) = −γ − 2 ln 2 (DLMF 5.4.12, 5.4.13, 5.5.2).
fn digamma_of_half(n: usize) -> f64 {
    let mut total = Sum::default();
    total.add(-EULER);
    if n % 2 == 1 {
        total.add(-2.0 * std::f64::consts::LN_2);
    }
    for step in steps(n) {
        total.add(1.0 / step);
    }
    total.total()
}

/// ψ'(n/2) by its recurrence from ψ'(1) = π²/6 or ψ'(½) = π²/2 (DLMF 5.15.1, 5.15.3, 5.15.5).
fn trigamma_of_half(n: usize) -> f64 {
    let square = std::f64::consts::PI.powi(2);
    let mut total = Sum::default();
    total.add(if n % 2 == 1 {
        square / 2.0
    } else {
        square / 6.0
    });
    for step in steps(n) {
        total.add(-1.0 / (step * step));
    }
    total.total()
}

/// The arguments passed on the way from ½ or 1 to n/2.
fn steps(n: usize) -> impl Iterator<Item = f64> {
    let first = if n % 2 == 1 { 1 } else { 2 };
    (first..n).step_by(2).map(|twice| twice as f64 / 2.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(found: f64, expected: f64, within: f64) {
        assert!((found - expected).abs() < within, "{found} {expected}");
    }

    fn deviation(values: &[f64]) -> Result<f64, SpreadError> {
        Deviations::default().of(values)
    }

    #[test]
    fn two_vines_have_the_log_variance_of_their_difference() {
        // By hand: 3 and 5 have s² = 2; ψ(½) = −γ − 2 ln 2 = −1.963510026021423 (DLMF 5.4.13).
        let found = LogVariance::of(&[3.0, 5.0]).unwrap();
        near(
            found.value,
            2.0_f64.ln() + 1.963_510_026_021_423 + 0.5_f64.ln(),
            1e-14,
        );
        near(found.sampling, std::f64::consts::PI.powi(2) / 2.0, 1e-14);
        assert_eq!(found.df, 1);
    }

    #[test]
    fn three_vines_have_two_degrees_of_freedom() {
        // By hand: 1, 2, 6 have mean 3 and s² = (4 + 1 + 9)/2 = 7; ψ(1) = −γ, ln 1 = 0.
        let found = LogVariance::of(&[1.0, 2.0, 6.0]).unwrap();
        near(found.value, 7.0_f64.ln() + EULER, 1e-14);
        near(found.sampling, std::f64::consts::PI.powi(2) / 6.0, 1e-14);
    }

    #[test]
    fn functions_of_halves_agree_with_their_series() {
        // DLMF 5.11.2 and 5.15.8, three terms, at x = 50: the next terms are below 1e-14.
        let x: f64 = 50.0;
        let psi = x.ln() - 0.5 / x - 1.0 / (12.0 * x * x) + 1.0 / (120.0 * x.powi(4))
            - 1.0 / (252.0 * x.powi(6));
        near(digamma_of_half(100), psi, 1e-14);
        let slope = 1.0 / x + 0.5 / (x * x) + 1.0 / (6.0 * x.powi(3)) - 1.0 / (30.0 * x.powi(5))
            + 1.0 / (42.0 * x.powi(7));
        near(trigamma_of_half(100), slope, 1e-14);
    }

    #[test]
    fn a_shift_leaves_spread_as_it_is_and_a_scale_moves_it() {
        let values = [21.5, 22.25, 20.75, 23.0, 22.0];
        let shifted: Vec<f64> = values.iter().map(|value| value + 1024.0).collect();
        let doubled: Vec<f64> = values.iter().map(|value| value * 2.0).collect();
        let of = |values: &[f64]| LogVariance::of(values).unwrap().value;
        near(of(&shifted), of(&values), 1e-13);
        near(of(&doubled), of(&values) + 4.0_f64.ln(), 1e-13);
        near(
            deviation(&shifted).unwrap(),
            deviation(&values).unwrap(),
            1e-13,
        );
        near(
            deviation(&doubled).unwrap(),
            2.0 * deviation(&values).unwrap(),
            1e-13,
        );
    }

    #[test]
    fn deviations_are_reckoned_from_the_median() {
        // By hand: 1, 2, 6 are 1, 0 and 4 away from 2: 5/3. Normal triples: E range/3 = 1.692569/3.
        near(
            deviation(&[6.0, 1.0, 2.0]).unwrap(),
            5.0 / 1.692_568_750_643_269,
            1e-12,
        );
        // Two values lie half their difference from the median; normal pairs: 1/√π.
        near(
            deviation(&[3.0, 5.0]).unwrap(),
            std::f64::consts::PI.sqrt(),
            1e-12,
        );
        assert_eq!(deviation(&[4.0, 4.0, 4.0]), Ok(0.0));
    }

    #[test]
    fn one_vine_and_equal_vines_are_refused() {
        assert_eq!(LogVariance::of(&[4.0]), Err(SpreadError::TooFew));
        assert_eq!(deviation(&[]), Err(SpreadError::TooFew));
        assert_eq!(LogVariance::of(&[4.0, 4.0]), Err(SpreadError::Same));
    }
}
