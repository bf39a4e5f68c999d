//! Degrees of freedom by matching moments of variances (Satterthwaite 1946, *Biometrics Bull.* 2:110).
//!
//! A contrast l'β with variance v = l'Φl has ν = 2v²/(g'Ag), g_i = ∂v/∂θ_i and A the inverse of the
//! observed information (Giesbrecht & Burns 1985, *Biometrics* 41:477). Several contrasts are turned
//! to the eigenvectors of LΦL', each with its own ν, and the expectation of F is matched (Fai &
//! Cornelius 1996, *J. Stat. Comput. Simul.* 54:363). The answer depends on the scale of the rows of
//! L where the ν differ: give rows that are orthonormal in the means they compare; every orthonormal
//! basis of the same hypothesis then gives the same answer.

use nalgebra::{DMatrix, DVector, SymmetricEigen};

use super::kenward_roger::{Estimate, FTest};
use super::{Fit, MixedError};
use crate::distribution::f_upper;

/// 2v²/(g'Ag); `None` for a contrast without variance.
pub(crate) fn single_df(fit: &Fit, row: &DVector<f64>, inverse: &DMatrix<f64>) -> Option<f64> {
    Some(single(fit, row, inverse, &[])?.1)
}

/// What some variances below zero take off the variance of a contrast, and the degrees of freedom with
/// those counted as zero; `None` for a contrast without variance.
pub(crate) fn single(
    fit: &Fit,
    row: &DVector<f64>,
    inverse: &DMatrix<f64>,
    none: &[usize],
) -> Option<(f64, f64)> {
    let turned = &fit.covariance * row;
    let mut gradient = DVector::from_iterator(
        fit.slopes.len(),
        fit.slopes
            .iter()
            .map(|slope| turned.dot(&(slope * &turned))),
    );
    let mut taken_off = 0.0;
    for &at in none.iter().filter(|&&at| fit.theta[at] < 0.0) {
        taken_off -= fit.theta[at] * gradient[at];
        gradient[at] = 0.0;
    }
    let variance = row.dot(&turned) + taken_off;
    let spread = gradient.dot(&(inverse * &gradient));
    (variance > 0.0 && spread > 0.0).then(|| (taken_off, 2.0 * variance * variance / spread))
}

/// One contrast.
///
/// # Errors
/// [`MixedError::Hypothesis`] for a contrast without variance.
pub fn estimate(fit: &Fit, contrast: &[f64]) -> Result<Estimate, MixedError> {
    mean(fit, contrast, &[])
}

/// A single mean, with those of the variances `none` that are below zero counted as zero: see
/// [`super::kenward_roger::mean`].
///
/// # Errors
/// [`MixedError::Hypothesis`] for a mean without variance.
pub fn mean(fit: &Fit, weights: &[f64], none: &[usize]) -> Result<Estimate, MixedError> {
    let row = DVector::from_column_slice(weights);
    let (taken_off, df) =
        single(fit, &row, &fit.observed_inverse, none).ok_or(MixedError::Hypothesis)?;
    Ok(Estimate {
        value: row.dot(&fit.beta),
        standard_error: (row.dot(&(&fit.covariance * &row)) + taken_off).sqrt(),
        df,
    })
}

/// Tests Lβ = 0; rows of `contrasts` orthonormal in the means they compare.
///
/// Where a direction has two degrees of freedom or fewer, the expectation of F does not exist: the
/// smallest of them all is taken.
///
/// # Errors
/// [`MixedError::Hypothesis`] for empty or dependent rows.
pub fn test(fit: &Fit, contrasts: &DMatrix<f64>) -> Result<FTest, MixedError> {
    let rows = contrasts.nrows();
    if rows == 0 {
        return Err(MixedError::Hypothesis);
    }
    let spread = contrasts * &fit.covariance * contrasts.transpose();
    let eigen = SymmetricEigen::new(spread);
    let largest = eigen.eigenvalues.amax();
    let (mut sum, mut expectation, mut smallest) = (0.0, 0.0, f64::INFINITY);
    for (at, variance) in eigen.eigenvalues.iter().enumerate() {
        if variance.is_nan() || *variance <= 1e-13 * largest {
            return Err(MixedError::Hypothesis);
        }
        let row = contrasts.tr_mul(&eigen.eigenvectors.column(at).into_owned());
        let df = single_df(fit, &row, &fit.observed_inverse).ok_or(MixedError::Hypothesis)?;
        sum += row.dot(&fit.beta).powi(2) / variance;
        expectation += df / (df - 2.0);
        smallest = smallest.min(df);
    }
    let l = rows as f64;
    let denominator_df = match rows == 1 || smallest <= 2.0 {
        true => smallest,
        false => 2.0 * expectation / (expectation - l),
    };
    let f = sum / l;
    Ok(FTest {
        numerator_df: l,
        denominator_df,
        f,
        p: f_upper(f, l, denominator_df)?,
    })
}
