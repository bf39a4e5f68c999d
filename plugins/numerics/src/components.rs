//! Parts of a product: which factor of yield a treatment changed, and by how much.
//!
//! Yield is vines × nodes × shoots per node × clusters per shoot × berries per cluster × berry weight.
//! With amounts per vine measured one after the other (nodes, shoots, clusters, yield), each factor
//! is the ratio of one amount to the amount before it, so its logarithm is a difference of logarithms
//! and the logarithms of all factors add up to that of the last amount, whatever was measured. That is
//! an identity of every single plot; means of logarithms keep it, and so do differences of means.
//! Variances and covariances of the parts add up to the variance of the whole, because every estimate
//! is the same sum of plot values for all of them (see [`crate::contrasts`]).
//!
//! Refused: amounts that are not above zero, which have no logarithm.

use crate::contrasts::Estimate;
use crate::distribution::DistributionError;
use crate::fieller::{Covariance, FiellerError, FiellerSet, fieller};
use crate::sum::Sum;

/// Occurs when an amount of a plot has no logarithm.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("amount {amount} of the chain is not above zero")]
pub struct NotPositive {
    /// Place of the amount in the chain.
    pub amount: usize,
}

/// Logarithms of the factors of one plot: the first amount, then each amount over the one before it.
///
/// ```
/// # use caneplot_numerics::components::factors;
/// // 20 nodes, 30 shoots, 45 clusters, 6 kg.
/// let parts = factors(&[20.0, 30.0, 45.0, 6.0]).unwrap();
/// assert!((parts[1] - 1.5_f64.ln()).abs() < 1e-15);
/// assert!((parts.iter().sum::<f64>() - 6.0_f64.ln()).abs() < 1e-15);
/// ```
///
/// # Errors
/// [`NotPositive`] with the place of the first amount that is zero, negative or not a number.
pub fn factors(amounts: &[f64]) -> Result<Vec<f64>, NotPositive> {
    let mut before = 0.0;
    amounts
        .iter()
        .enumerate()
        .map(|(amount, &value)| {
            if !(value > 0.0 && value.is_finite()) {
                return Err(NotPositive { amount });
            }
            let log = value.ln();
            let part = log - before;
            before = log;
            Ok(part)
        })
        .collect()
}

/// The whole of an estimate of parts: its value and its variance, the sum of all variances and twice
/// all covariances.
#[must_use]
pub fn whole(parts: &Estimate) -> (f64, f64) {
    let value: Sum = parts.values.iter().copied().collect();
    let variance: Sum = parts.products.iter().flatten().copied().collect();
    (value.total(), variance.total())
}

/// How much of the change in one part the parts after it took back: −Σ after / part, with its set.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Compensation {
    /// The share: 0 where nothing was taken back, 1 where all was.
    pub share: f64,
    /// Its confidence set (Fieller 1954).
    pub set: FiellerSet,
}

/// Why there is no share.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum CompensationError {
    /// Occurs when the part did not change, or the variances do not belong together.
    #[error(transparent)]
    Ratio(#[from] FiellerError),
    /// Occurs when the confidence is not between 0 and 1.
    #[error(transparent)]
    Confidence(#[from] DistributionError),
}

/// The compensation of the change in part `of` by all parts behind it.
///
/// # Errors
/// See [`CompensationError`].
///
/// # Panics
/// Where there is no such part.
pub fn compensation(
    parts: &Estimate,
    of: usize,
    confidence: f64,
) -> Result<Compensation, CompensationError> {
    let after = || of + 1..parts.values.len();
    let value: Sum = after().map(|at| -parts.values[at]).collect();
    let variance: Sum = after()
        .flat_map(|a| after().map(move |b| (a, b)))
        .map(|(a, b)| parts.products[a][b])
        .collect();
    let between: Sum = after().map(|at| -parts.products[of][at]).collect();
    let df = after().map(|at| parts.df[at]).fold(parts.df[of], f64::min);
    let t = crate::distribution::t_critical(1.0 - confidence, df)?;
    let covariance = Covariance {
        numerator: variance.total().max(0.0),
        denominator: parts.products[of][of],
        between: between.total(),
    };
    let found = fieller(value.total(), parts.values[of], covariance, t)?;
    Ok(Compensation {
        share: found.ratio,
        set: found.set,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_identity_of_yield_gives_the_yield_of_an_acre() {
        // 605 vines × 0.95 alive × 40 nodes × 0.85 × 1.6 × 90 berries × 1.5 g, worked by hand:
        // 7.344 kg a living vine, 4220.964 kg an acre.
        let mut amount = 1.0;
        let amounts: Vec<f64> = [605.0, 0.95, 40.0, 0.85, 1.6, 90.0, 1.5e-3]
            .iter()
            .map(|factor| {
                amount *= factor;
                amount
            })
            .collect();
        let parts = factors(&amounts).unwrap();
        let product = |range: std::ops::Range<usize>| parts[range].iter().sum::<f64>().exp();
        assert!((product(2..7) - 7.344).abs() < 1e-12);
        assert!((product(0..7) - 4220.964).abs() < 1e-8);
        assert!((parts[3].exp() - 0.85).abs() < 1e-14);
    }

    #[test]
    fn eight_two_node_spurs_carry_thirty_two_clusters() {
        // Common practice: 8 spurs of 2 nodes, a shoot from each node, 2 clusters a shoot.
        let parts = factors(&[8.0, 16.0, 16.0, 32.0]).unwrap();
        let expected = [8.0_f64.ln(), 2.0_f64.ln(), 0.0, 2.0_f64.ln()];
        for (part, expected) in parts.iter().zip(expected) {
            assert!((part - expected).abs() < 1e-15);
        }
        assert!((parts.iter().sum::<f64>() - 32.0_f64.ln()).abs() < 1e-15);
    }

    #[test]
    fn what_is_not_above_zero_is_named_by_its_place() {
        assert_eq!(factors(&[3.0, 0.0, 2.0]), Err(NotPositive { amount: 1 }));
        assert_eq!(factors(&[-3.0]), Err(NotPositive { amount: 0 }));
        assert_eq!(factors(&[f64::NAN]), Err(NotPositive { amount: 0 }));
    }

    #[test]
    fn half_taken_back_is_a_compensation_of_a_half() {
        // Nodes doubled, shoots per node down by a quarter, weight per cluster such that √2 is left.
        let double = 2.0_f64.ln();
        let parts = Estimate {
            values: vec![double, -0.2, 0.2 - double / 2.0],
            products: vec![
                vec![0.0004, 0.0, 0.0],
                vec![0.0, 0.0016, -0.0008],
                vec![0.0, -0.0008, 0.0025],
            ],
            df: vec![12.0; 3],
        };
        let (value, variance) = whole(&parts);
        assert!((value - double / 2.0).abs() < 1e-15);
        assert!((variance - 0.0029).abs() < 1e-16);
        let found = compensation(&parts, 0, 0.95).unwrap();
        assert!((found.share - 0.5).abs() < 1e-14);
        // By hand: t(12) = 2.178812829667; a = ln 2 / 2, b = ln 2, v_aa = 0.0025, v_bb = 0.0004:
        // g = 0.003952265, centre 0.5/(1−g), half (t/b) √(v_aa (1−g) + 0.25 v_bb)/(1−g).
        let g = 2.178_812_829_667_f64.powi(2) * 0.0004 / double.powi(2);
        let half = 2.178_812_829_667 / double * (0.0025 * (1.0 - g) + 0.25 * 0.0004).sqrt();
        let FiellerSet::Bounded { low, high } = found.set else {
            panic!("bounded")
        };
        assert!((low - (0.5 - half) / (1.0 - g)).abs() < 1e-9);
        assert!((high - (0.5 + half) / (1.0 - g)).abs() < 1e-9);
    }
}
