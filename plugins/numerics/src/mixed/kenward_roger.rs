//! Tests with the adjusted covariance and scaled F of Kenward & Roger (1997, *Biometrics* 53:983).
//!
//! Φ_A = Φ + 2Φ{Σ w_ij(Q_ij − P_iΦP_j − R_ij/4)}Φ allows for the variances being estimated; F is
//! scaled by λ and has m denominator degrees of freedom so that its first two moments are right. w
//! is the inverse of the expected information. Where the covariance is not linear in its parameters
//! the term R_ij depends on how they are written and can make standard errors smaller than if the
//! variances were known; [`Order::First`] leaves it out.
//!
//! Two removable singularities matter in small trials: at m = 4 a factor of the formula for m is 0/0
//! and at m = 2 that of λ; both are 1 in the limit.

use nalgebra::{Cholesky, DMatrix};

use super::satterthwaite::single;
use super::{Fit, MixedError};
use crate::distribution::f_upper;

/// Below this a difference from a singular place is rounding.
const NOTHING: f64 = 1e-9;

/// Terms of the adjustment.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Order {
    /// Without second derivatives.
    First,
    /// With second derivatives, as published in 1997.
    Second,
}

/// A test of several contrasts together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FTest {
    /// Contrasts.
    pub numerator_df: f64,
    /// Approximate degrees of freedom of the error.
    pub denominator_df: f64,
    /// Variance ratio, scaled.
    pub f: f64,
    /// Probability of an F at least as large.
    pub p: f64,
}

/// An estimated contrast.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// Its estimate; of a mean still centred.
    pub value: f64,
    /// Standard error.
    pub standard_error: f64,
    /// Degrees of freedom of that.
    pub df: f64,
}

/// The adjusted covariance Φ_A of the fixed effects.
#[must_use]
pub fn adjusted_covariance(fit: &Fit, order: Order) -> DMatrix<f64> {
    let phi = &fit.covariance;
    let mut inner = fit.products.clone();
    for (i, slope) in fit.slopes.iter().enumerate() {
        // Σ_j w_ij P_j, so that one product serves the row.
        let mut row = DMatrix::zeros(phi.nrows(), phi.ncols());
        for (j, other) in fit.slopes.iter().enumerate() {
            row += other * fit.expected_inverse[(i, j)];
        }
        inner -= slope * phi * row;
    }
    if let (Order::Second, Some(bends)) = (order, &fit.bends) {
        inner -= bends * 0.25;
    }
    phi + phi * inner * phi * 2.0
}

/// Tests Lβ = 0; `adjusted` from [`adjusted_covariance`], rows of `contrasts` independent.
///
/// # Errors
/// [`MixedError::Hypothesis`] for empty or dependent rows.
pub fn test(
    fit: &Fit,
    adjusted: &DMatrix<f64>,
    contrasts: &DMatrix<f64>,
) -> Result<FTest, MixedError> {
    let rows = contrasts.nrows();
    if rows == 0 {
        return Err(MixedError::Hypothesis);
    }
    let phi = &fit.covariance;
    // M = ΦL'(LΦL')⁻¹ᐟ² turns every trace into one of l × l matrices.
    let half = contrasts * phi;
    let cholesky = Cholesky::new(&half * contrasts.transpose()).ok_or(MixedError::Hypothesis)?;
    let m = cholesky
        .l()
        .solve_lower_triangular(&half)
        .ok_or(MixedError::Hypothesis)?;
    let shares: Vec<DMatrix<f64>> = fit
        .slopes
        .iter()
        .map(|slope| &m * slope * m.transpose())
        .collect();
    let (mut a1, mut a2) = (0.0, 0.0);
    for (i, first) in shares.iter().enumerate() {
        for (j, second) in shares.iter().enumerate() {
            let w = fit.expected_inverse[(i, j)];
            a1 += w * first.trace() * second.trace();
            a2 += w * first.dot(second);
        }
    }
    let l = rows as f64;
    let (denominator_df, scale) = scaled_f(l, a1, a2);
    let value = contrasts * &fit.beta;
    let spread = Cholesky::new(contrasts * adjusted * contrasts.transpose())
        .ok_or(MixedError::Hypothesis)?;
    let f = scale * value.dot(&spread.solve(&value)) / l;
    Ok(FTest {
        numerator_df: l,
        denominator_df,
        f,
        p: f_upper(f, l, denominator_df)?,
    })
}

/// Denominator degrees of freedom and scale from the two traces.
fn scaled_f(l: f64, a1: f64, a2: f64) -> (f64, f64) {
    let b = (a1 + 6.0 * a2) / (2.0 * l);
    let g = ((l + 1.0) * a1 - (l + 4.0) * a2) / ((l + 2.0) * a2);
    let below = 3.0 * l + 2.0 * (1.0 - g);
    let (c1, c2, c3) = (g / below, (l - g) / below, (l + 2.0 - g) / below);
    let d = 1.0 - a2 / l;
    let (v0, v1, v2) = (1.0 + c1 * b, 1.0 - c2 * b, 1.0 - c3 * b);
    let ratio = match d.abs() < NOTHING && v1.abs() < NOTHING {
        true => 1.0,
        false => d / v1,
    };
    let df = 4.0 + (l + 2.0) * v2 / (ratio * ratio * v0 - v2);
    let scale = match (df - 2.0).abs() < NOTHING && d.abs() < NOTHING {
        true => 1.0,
        false => df * d / (df - 2.0),
    };
    (df, scale)
}

/// One contrast with its adjusted standard error.
///
/// # Errors
/// [`MixedError::Hypothesis`] for a contrast without variance.
pub fn estimate(
    fit: &Fit,
    adjusted: &DMatrix<f64>,
    contrast: &[f64],
) -> Result<Estimate, MixedError> {
    mean(fit, adjusted, contrast, &[])
}

/// A single mean with its adjusted standard error, with those of the variances `none` that are below
/// zero counted as zero.
///
/// For differences a negative variance of blocks is as good as any, as it drops out or belongs to the
/// mean square they are judged by. The standard error of a mean counts how far blocks lie apart, and
/// blocks that lie apart by less than nothing would make it smaller than the plots inside them allow:
/// with weights c = V⁻¹XΦl, the variance l'Φl + |θ|c'ZZ'c is that of the same mean with θ at zero.
///
/// # Errors
/// [`MixedError::Hypothesis`] for a mean without variance.
pub fn mean(
    fit: &Fit,
    adjusted: &DMatrix<f64>,
    weights: &[f64],
    none: &[usize],
) -> Result<Estimate, MixedError> {
    let row = nalgebra::DVector::from_column_slice(weights);
    // With one contrast the scale is 1 and m = 2v²/(g'wg).
    let (taken_off, df) =
        single(fit, &row, &fit.expected_inverse, none).ok_or(MixedError::Hypothesis)?;
    let variance = row.dot(&(adjusted * &row)) + taken_off;
    if variance.is_nan() || variance <= 0.0 {
        return Err(MixedError::Hypothesis);
    }
    Ok(Estimate {
        value: row.dot(&fit.beta),
        standard_error: variance.sqrt(),
        df,
    })
}
