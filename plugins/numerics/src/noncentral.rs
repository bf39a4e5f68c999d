//! The noncentral F distribution, for the power of F tests.
//!
//! P(F > f) = Σ_j Poisson(j; λ/2) I_y(ν₂/2, ν₁/2 + j), y = ν₂/(ν₂ + ν₁ f): a Poisson mixture of
//! incomplete beta integrals (Patnaik 1949, *Biometrika* 36:202; DLMF 8.17.20 for the steps from one
//! integral to the next). Its weights are followed from the largest both ways until they no longer
//! matter; the integrals are then summed in the direction in which every step adds, upwards for the
//! upper tail and downwards for the lower, so that nothing cancels and both tails are relatively
//! accurate.
//!
//! Refused: degrees of freedom that are not above zero or infinite, a noncentrality that is negative
//! or not a number or above [`LARGEST`], an f that is not a number.

use std::f64::consts::TAU;

use crate::distribution::{DistributionError, df_checked, f_upper, statistic_checked};
use crate::special::{beta, beta_factor, deviance_part, stirling_error};

/// The largest noncentrality that is followed.
pub const LARGEST: f64 = 1e8;

/// Weights below this share of the largest, or of the result, are left out.
const NEGLIGIBLE: f64 = 1e-20;

/// Probability of a noncentral F at least as large as `f`: the power of a test that rejects from `f`
/// on where the noncentrality is `noncentrality`, the sum of squares of the true effects over the
/// error variance.
///
/// ```
/// # use caneplot_numerics::noncentral::noncentral_f_upper;
/// // Without effects it is the central F: F(2, 4) has the closed form (1 + f/2)^-2.
/// assert!((noncentral_f_upper(6.0, 2.0, 4.0, 0.0).unwrap() - 1.0 / 16.0).abs() < 1e-15);
/// ```
///
/// # Errors
/// See the head of the module.
pub fn noncentral_f_upper(
    f: f64,
    df1: f64,
    df2: f64,
    noncentrality: f64,
) -> Result<f64, DistributionError> {
    let Some(mixture) = Mixture::new(f, df1, df2, noncentrality)? else {
        return f_upper(f, df1, df2);
    };
    Ok(mixture.upper())
}

/// Probability of a noncentral F below `f`: the risk of missing the effects.
///
/// # Errors
/// As for [`noncentral_f_upper`].
pub fn noncentral_f_lower(
    f: f64,
    df1: f64,
    df2: f64,
    noncentrality: f64,
) -> Result<f64, DistributionError> {
    let Some(mixture) = Mixture::new(f, df1, df2, noncentrality)? else {
        // F below f on ν₁ and ν₂ is 1/F above 1/f on ν₂ and ν₁.
        return f_upper(1.0 / f.max(0.0), df2, df1);
    };
    Ok(mixture.lower())
}

/// The weights and what the integrals need.
struct Mixture {
    mean: f64,
    first: f64,
    weights: Vec<f64>,
    half1: f64,
    half2: f64,
    x: f64,
    y: f64,
}

impl Mixture {
    /// `None` for a central F or a bound at an end, after the arguments are checked.
    fn new(
        f: f64,
        df1: f64,
        df2: f64,
        noncentrality: f64,
    ) -> Result<Option<Self>, DistributionError> {
        statistic_checked(f)?;
        for df in [df1, df2] {
            if df_checked(df)?.is_infinite() {
                return Err(DistributionError::DegreesOfFreedom(df));
            }
        }
        if !(0.0..=LARGEST).contains(&noncentrality) {
            return Err(DistributionError::Noncentrality(noncentrality));
        }
        if noncentrality == 0.0 || f <= 0.0 || f.is_infinite() {
            return Ok(None);
        }
        let (first, weights) = poisson(0.5 * noncentrality);
        let total = df1.mul_add(f, df2);
        Ok(Some(Self {
            mean: 0.5 * noncentrality,
            first,
            weights,
            half1: 0.5 * df1,
            half2: 0.5 * df2,
            x: df1 * f / total,
            y: df2 / total,
        }))
    }

    /// I_x(a, b) − I_x(a + 1, b) for the weight of this number: xᵃ yᵇ/(a B(a, b)).
    fn step(&self, number: f64) -> f64 {
        let a = self.half1 + number;
        beta_factor(a, self.half2, self.x, self.y) / a
    }

    fn upper(&self) -> f64 {
        let mut number = self.first;
        let mut tail = beta(self.half1 + number, self.half2, self.x, self.y).upper;
        let mut step = self.step(number);
        let mut sum = crate::sum::Sum::default();
        let mut weight = 0.0;
        let mut known = self.weights.iter();
        // The integrals grow with the number: far out, small weights still matter to a small tail.
        loop {
            weight = match known.next() {
                Some(known) => *known,
                None => weight * self.mean / number,
            };
            sum.add_product(weight, tail.min(1.0));
            if known.len() == 0 && weight <= NEGLIGIBLE * sum.total() {
                return sum.total().min(1.0);
            }
            let a = self.half1 + number;
            tail += step;
            step *= self.x * ((a + self.half2) / (a + 1.0));
            number += 1.0;
        }
    }

    fn lower(&self) -> f64 {
        let mut number = self.first + (self.weights.len() - 1) as f64;
        let mut tail = beta(self.half1 + number, self.half2, self.x, self.y).lower;
        let mut step = self.step(number);
        let mut sum = crate::sum::Sum::default();
        let mut weight = 0.0;
        let mut known = self.weights.iter().rev();
        loop {
            weight = match known.next() {
                Some(known) => *known,
                None => weight * (number + 1.0) / self.mean,
            };
            sum.add_product(weight, tail.min(1.0));
            if number == 0.0 || known.len() == 0 && weight <= NEGLIGIBLE * sum.total() {
                return sum.total().min(1.0);
            }
            // The step at a − 1 is that at a times a/(x (a − 1 + b)).
            let a = self.half1 + number;
            step *= a / (self.x * (a - 1.0 + self.half2));
            tail += step;
            number -= 1.0;
        }
    }
}

/// The first number whose weight matters and the weights from there on.
fn poisson(mean: f64) -> (f64, Vec<f64>) {
    let mode = mean.floor();
    let largest = match mode > 0.0 {
        true => (-stirling_error(mode) - deviance_part(mode, mean)).exp() / (TAU * mode).sqrt(),
        false => (-mean).exp(),
    };
    let mut below = Vec::new();
    let (mut number, mut weight) = (mode, largest);
    while number > 0.0 && weight > NEGLIGIBLE * largest {
        weight *= number / mean;
        number -= 1.0;
        below.push(weight);
    }
    let first = number;
    below.reverse();
    let mut weights = below;
    weights.push(largest);
    (number, weight) = (mode, largest);
    while weight > NEGLIGIBLE * largest {
        number += 1.0;
        weight *= mean / number;
        weights.push(weight);
    }
    (first, weights)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn weights_add_to_one_whatever_their_mean() {
        for mean in [1e-9, 0.3, 1.0, 7.5, 400.0, 3e5] {
            let (first, weights) = poisson(mean);
            let total: crate::sum::Sum = weights.iter().copied().collect();
            assert!((total.total() - 1.0).abs() < 2e-14, "{mean}");
            assert!(first >= 0.0);
        }
    }

    #[test]
    fn both_tails_add_to_one() {
        for (f, df1, df2, noncentrality) in [
            (3.2, 3.0, 12.0, 7.0),
            (40.0, 1.0, 5.0, 30.0),
            (1.0, 9.0, 60.0, 900.0),
        ] {
            let upper = noncentral_f_upper(f, df1, df2, noncentrality).unwrap();
            let lower = noncentral_f_lower(f, df1, df2, noncentrality).unwrap();
            assert!((upper + lower - 1.0).abs() < 1e-14, "{f} {upper} {lower}");
        }
    }

    #[test]
    fn ends_and_impossible_arguments() {
        assert_eq!(noncentral_f_upper(0.0, 2.0, 5.0, 3.0), Ok(1.0));
        assert_eq!(noncentral_f_lower(0.0, 2.0, 5.0, 3.0), Ok(0.0));
        assert_eq!(noncentral_f_upper(f64::INFINITY, 2.0, 5.0, 3.0), Ok(0.0));
        assert_eq!(noncentral_f_lower(f64::INFINITY, 2.0, 5.0, 3.0), Ok(1.0));
        assert!(noncentral_f_upper(1.0, 2.0, 5.0, -1.0).is_err());
        assert!(noncentral_f_upper(1.0, 2.0, 5.0, f64::NAN).is_err());
        assert!(noncentral_f_upper(1.0, 2.0, f64::INFINITY, 1.0).is_err());
        assert!(noncentral_f_upper(f64::NAN, 2.0, 5.0, 1.0).is_err());
    }
}
