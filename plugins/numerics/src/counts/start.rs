//! Where the search for a maximum begins.

use nalgebra::{Cholesky, DVector};

use super::linear::weighted_squares;
use super::{Counts, Family};

/// Coefficients of a weighted regression of the counts' own predictors, moved half a count inwards.
pub(super) fn start(model: &Counts) -> Vec<f64> {
    let (mut targets, mut weights) = (Vec::new(), Vec::new());
    for (row, count) in model.counts.iter().enumerate() {
        let up = count + 0.5;
        let (eta, weight) = match model.family {
            Family::Binomial => {
                let down = model.totals[row] - count + 0.5;
                ((up / down).ln(), up * down / (up + down))
            }
            Family::Poisson | Family::NegativeBinomial => (up.ln(), up),
        };
        targets.push(eta - model.offset[row]);
        weights.push(weight);
    }
    let right = DVector::from_iterator(
        model.coefficients(),
        model.fixed.iter().map(|column| {
            let terms = column.iter().zip(&targets).zip(&weights);
            terms
                .map(|((x, target), weight)| x * target * weight)
                .sum::<f64>()
        }),
    );
    Cholesky::new(weighted_squares(&model.fixed, &weights)).map_or_else(
        || vec![0.0; model.coefficients()],
        |factor| factor.solve(&right).iter().copied().collect(),
    )
}

/// ln θ by moments: Σ μ² over the variance beyond Poisson.
pub(super) fn shape_start(model: &Counts, beta: &[f64]) -> f64 {
    let eta = model.fixed_eta(beta);
    let (mut squares, mut excess) = (0.0, 0.0);
    for (count, eta) in model.counts.iter().zip(eta) {
        let mean = eta.exp();
        squares += mean * mean;
        excess += (count - mean).powi(2) - mean;
    }
    let theta = if excess > 0.0 {
        squares / excess
    } else {
        100.0
    };
    theta.ln().clamp(-5.0, 8.0)
}
