//! Estimates, tests of several comparisons at once, and likelihood ratios.
//!
//! A comparison l'β has the standard error √(l'Vl) with V from the joint information; several at once
//! are tested by F = (Lβ)'(LVL')⁻¹(Lβ)/r with the degrees of freedom of the stratum in which they
//! were randomised (Littell et al. 2006, containment). The likelihood ratio is referred to
//! chi-square, which rejects too often where there are few blocks, or turned into F.

use nalgebra::{Cholesky, DMatrix, DVector};

use super::{CountError, Fit};
use crate::distribution::{chi_square_upper, f_upper};

/// A comparison of coefficients on the scale of the predictor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// Its value.
    pub value: f64,
    /// Its standard error.
    pub standard_error: f64,
}

/// A test of comparisons against zero.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ContrastTest {
    /// F.
    pub f: f64,
    /// Number of comparisons.
    pub df: f64,
    /// Degrees of freedom of the error.
    pub error_df: f64,
    /// P.
    pub probability: f64,
}

/// A likelihood ratio.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LikelihoodRatio {
    /// Twice the difference of the log-likelihoods.
    pub statistic: f64,
    /// Coefficients left out.
    pub df: f64,
    /// P from chi-square.
    pub probability: f64,
}

impl LikelihoodRatio {
    /// From the two log-likelihoods and the number of coefficients left out.
    ///
    /// # Errors
    /// Where none is left out.
    pub fn of(full: f64, reduced: f64, df: usize) -> Result<Self, CountError> {
        let statistic = (2.0 * (full - reduced)).max(0.0);
        let df = df as f64;
        let probability = chi_square_upper(statistic, df).map_err(|_| CountError::Contrast)?;
        Ok(Self {
            statistic,
            df,
            probability,
        })
    }

    /// The F that has this likelihood ratio where errors are normal: with N degrees of freedom in a
    /// stratum, of which `error_df` are error, −2 ln Λ = N ln(1 + df F / error_df) (Wilks 1938 for Λ).
    /// It takes account of the error being estimated, which chi-square does not.
    ///
    /// # Errors
    /// For degrees of freedom that are not above zero.
    pub fn as_f(&self, stratum_df: f64, error_df: f64) -> Result<ContrastTest, CountError> {
        if !(stratum_df > 0.0 && error_df > 0.0) {
            return Err(CountError::Contrast);
        }
        let f = (self.statistic / stratum_df).exp_m1() * error_df / self.df;
        Ok(ContrastTest {
            f,
            df: self.df,
            error_df,
            probability: f_upper(f, self.df, error_df).map_err(|_| CountError::Contrast)?,
        })
    }
}

impl Fit {
    /// A comparison with one weight a coefficient.
    ///
    /// # Errors
    /// For weights that do not fit the coefficients.
    pub fn estimate(&self, weights: &[f64]) -> Result<Estimate, CountError> {
        let weights = self.checked(weights)?;
        let value = weights
            .iter()
            .zip(&self.coefficients)
            .map(|(w, b)| w * b)
            .sum();
        Ok(Estimate {
            value,
            standard_error: self.product(&weights, &weights).sqrt(),
        })
    }

    /// Covariance of two comparisons.
    ///
    /// # Errors
    /// For weights that do not fit the coefficients.
    pub fn covariance(&self, a: &[f64], b: &[f64]) -> Result<f64, CountError> {
        Ok(self.product(&self.checked(a)?, &self.checked(b)?))
    }

    /// F for independent comparisons being zero together; `error_df` may be infinite. `widening` is
    /// a factor on all variances, 1 for those of the fit as they are.
    ///
    /// # Errors
    /// For weights that do not fit the coefficients, comparisons that follow from one another, and
    /// degrees of freedom that are not above zero.
    pub fn test(
        &self,
        comparisons: &[Vec<f64>],
        error_df: f64,
        widening: f64,
    ) -> Result<ContrastTest, CountError> {
        let rows: Vec<DVector<f64>> = comparisons
            .iter()
            .map(|weights| self.checked(weights))
            .collect::<Result<_, _>>()?;
        if rows.is_empty() {
            return Err(CountError::Contrast);
        }
        let beta = DVector::from_column_slice(&self.coefficients);
        let values = DVector::from_iterator(rows.len(), rows.iter().map(|row| row.dot(&beta)));
        let spread = DMatrix::from_fn(rows.len(), rows.len(), |a, b| {
            self.product(&rows[a], &rows[b])
        });
        let factor = Cholesky::new(spread).ok_or(CountError::Contrast)?;
        let df = rows.len() as f64;
        let f = values.dot(&factor.solve(&values)) / (df * widening);
        let probability = f_upper(f, df, error_df).map_err(|_| CountError::Contrast)?;
        Ok(ContrastTest {
            f,
            df,
            error_df,
            probability,
        })
    }

    fn checked(&self, weights: &[f64]) -> Result<DVector<f64>, CountError> {
        let fits = weights.len() == self.coefficients.len()
            && weights.iter().all(|weight| weight.is_finite())
            && weights.iter().any(|weight| *weight != 0.0);
        fits.then(|| DVector::from_column_slice(weights))
            .ok_or(CountError::Contrast)
    }

    fn product(&self, a: &DVector<f64>, b: &DVector<f64>) -> f64 {
        a.dot(&(&self.covariance * b))
    }
}

/// The likelihood ratio of a model and the same model with coefficients left out, both fitted with
/// the same integration.
///
/// # Errors
/// Where the second has as many coefficients as the first, or more.
pub fn likelihood_ratio(full: &Fit, reduced: &Fit) -> Result<LikelihoodRatio, CountError> {
    let df = full
        .coefficients
        .len()
        .checked_sub(reduced.coefficients.len())
        .ok_or(CountError::Contrast)?;
    LikelihoodRatio::of(full.log_likelihood, reduced.log_likelihood, df)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 24 plots in 6 blocks of 4 treatments: 18 degrees of freedom within blocks, 15 of them error.
    #[test]
    fn a_likelihood_ratio_of_normal_errors_gives_its_own_f() {
        let f = 3.7;
        let ratio = LikelihoodRatio::of(9.0 * (1.0 + 3.0 * f / 15.0_f64).ln(), 0.0, 3).unwrap();
        let found = ratio.as_f(18.0, 15.0).unwrap();
        assert!((found.f - f).abs() < 1e-14);
        assert_eq!((found.df, found.error_df), (3.0, 15.0));
        assert!(found.probability > ratio.probability);
        assert_eq!(ratio.as_f(0.0, 0.0), Err(CountError::Contrast));
    }

    #[test]
    fn a_ratio_needs_something_left_out_and_is_never_negative() {
        assert_eq!(LikelihoodRatio::of(1.0, 0.0, 0), Err(CountError::Contrast));
        let ratio = LikelihoodRatio::of(-3.0, -3.0 + 1e-13, 2).unwrap();
        assert_eq!((ratio.statistic, ratio.probability), (0.0, 1.0));
    }
}
