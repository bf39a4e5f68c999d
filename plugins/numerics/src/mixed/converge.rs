//! Whether a fit may be trusted: the certificate.
//!
//! At a maximum the score is zero for every free parameter and not above zero for a variance held at
//! zero (Karush–Kuhn–Tucker), and the information is positive definite. The score is judged by its
//! distance √(s'I⁻¹s): how many standard errors of the estimates a Newton step would still move them.

use nalgebra::{Cholesky, DMatrix, DVector};

/// Largest distance from the maximum, in standard errors, that passes.
pub const CERTIFIED: f64 = 1e-6;

/// What is known about a fit at its end.
#[derive(Debug, Clone, PartialEq)]
pub struct Certificate {
    /// Distance of the estimates from the maximum, in their standard errors.
    pub distance: f64,
    /// Score of each parameter, on its own scale.
    pub score: Vec<f64>,
    /// Parameters held at zero; their scores are not above zero.
    pub at_zero: Vec<usize>,
    /// Steps taken.
    pub steps: usize,
}

/// √(s'I⁻¹s) over the free parameters; `None` where the information is not positive definite.
pub(crate) fn distance(
    score: &DVector<f64>,
    information: &DMatrix<f64>,
    free: &[usize],
) -> Option<f64> {
    if free.is_empty() {
        return Some(0.0);
    }
    let s = score.select_rows(free);
    let cholesky = Cholesky::new(square(information, free))?;
    let squared = s.dot(&cholesky.solve(&s));
    (squared.is_finite() && squared >= 0.0).then(|| squared.sqrt())
}

/// Rows and columns of these parameters.
pub(crate) fn square(of: &DMatrix<f64>, chosen: &[usize]) -> DMatrix<f64> {
    DMatrix::from_fn(chosen.len(), chosen.len(), |i, j| {
        of[(chosen[i], chosen[j])]
    })
}
