//! Firth's penalty: half the log of the determinant of the information.
//!
//! P(β) = ½ ln|X' W X|, W = −l″ at the predictor without random effects (Firth 1993, *Biometrika*
//! 80:27, for the canonical links, where it removes the first-order bias). Where a treatment has
//! only zeros it acts as half a success and half a failure would, so that estimates stay finite.
//! With random effects the penalty is that of the model without them: a soft pull on β alone
//! (Sterzinger & Kosmidis 2023, *Stat. Comput.* 33:53).
//!
//! P_a = ½ tr(F⁻¹ F_a), P_ab = ½ tr(F⁻¹ F_ab) − ½ tr(F⁻¹ F_a F⁻¹ F_b), F_a = X' diag(−l‴ x_a) X.

use nalgebra::{Cholesky, DMatrix, DVector};

use super::Counts;
use super::linear::{log_determinant, weighted_squares};

/// The penalty with its derivatives in the coefficients.
pub(super) struct Penalty {
    pub value: f64,
    pub gradient: DVector<f64>,
    pub hessian: DMatrix<f64>,
}

/// The penalty at `beta`; `None` where the information is singular.
pub(super) fn penalty(model: &Counts, beta: &[f64]) -> Option<Penalty> {
    let eta = model.fixed_eta(beta);
    let parts: Vec<[f64; 5]> = (0..model.rows())
        .map(|row| {
            let total = model.totals[row];
            model
                .family
                .parts(model.counts[row], total, 0.0, eta[row], 0.0)
                .eta
        })
        .collect();
    let weighted = |order: usize, columns: &[&[f64]]| {
        let weights: Vec<f64> = (0..model.rows())
            .map(|row| {
                columns
                    .iter()
                    .fold(-parts[row][order], |w, column| w * column[row])
            })
            .collect();
        weighted_squares(&model.fixed, &weights)
    };
    let factor = Cholesky::new(weighted(2, &[]))?;
    let size = model.coefficients();
    let changes: Vec<DMatrix<f64>> = model
        .fixed
        .iter()
        .map(|column| factor.solve(&weighted(3, &[column])))
        .collect();
    let mut gradient = DVector::zeros(size);
    let mut hessian = DMatrix::zeros(size, size);
    for a in 0..size {
        gradient[a] = 0.5 * changes[a].trace();
        for b in 0..=a {
            let bend = factor.solve(&weighted(4, &[&model.fixed[a], &model.fixed[b]]));
            let products = changes[a].dot(&changes[b].transpose());
            let second = 0.5 * (bend.trace() - products);
            hessian[(a, b)] = second;
            hessian[(b, a)] = second;
        }
    }
    let value = 0.5 * log_determinant(&factor);
    value.is_finite().then_some(Penalty {
        value,
        gradient,
        hessian,
    })
}
