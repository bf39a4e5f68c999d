//! The variance between sites by restricted maximum likelihood.
//!
//! With v = τ² and wᵢ = 1/(sᵢ² + v), twice the restricted log-likelihood is, up to a constant,
//! Σ ln wᵢ − ln Σ wᵢ − Σ wᵢ(yᵢ − μ̂)², and twice its slope in v
//! Σ wᵢ²(yᵢ − μ̂)² − Σ wᵢ + Σ wᵢ²/Σ wᵢ (Viechtbauer 2005, *J. Educ. Behav. Stat.* 30:261).
//!
//! The likelihood can have more than one summit: the slope is looked at on a fine grid, every summit
//! found is climbed by bisection, and the highest one, 0 included, is the estimate.

use super::{Site, SitesError, Weighed, checked};
use crate::sum::Sum;

/// Places of the grid of variances, evenly spaced in their logarithm.
const PLACES: u32 = 600;

/// How far the grid reaches below and above the scale of the sites, as powers of e: from 1e-9 of the
/// smallest variance to beyond where the slope must fall.
const BELOW: f64 = -20.0;
const ABOVE: f64 = 5.0;

/// Halvings of a bracket: more than a double has bits.
const HALVINGS: u32 = 70;

/// The variance of the difference between sites; 0 where the sites differ no more than their errors
/// let expect.
///
/// # Errors
/// See [`SitesError`].
pub fn between(sites: &[Site]) -> Result<f64, SitesError> {
    checked(sites)?;
    let errors = sites.iter().map(|site| site.standard_error);
    let smallest = errors.clone().fold(f64::INFINITY, f64::min);
    let largest = errors.fold(0.0, f64::max);
    let values = sites.iter().map(|site| site.value);
    let range =
        values.clone().fold(f64::NEG_INFINITY, f64::max) - values.fold(f64::INFINITY, f64::min);
    let (low, high) = (
        2.0 * smallest.ln() + BELOW,
        2.0 * range.max(largest).ln() + ABOVE,
    );
    let mut best = (likelihood(sites, 0.0), 0.0);
    let mut before = 0.0;
    let mut rising = slope(sites, 0.0) > 0.0;
    for place in 0..=PLACES {
        let here = (low + (high - low) * f64::from(place) / f64::from(PLACES)).exp();
        let rises = slope(sites, here) > 0.0;
        if rising && !rises {
            let summit = summit(sites, before, here);
            let height = likelihood(sites, summit);
            if height > best.0 {
                best = (height, summit);
            }
        }
        (before, rising) = (here, rises);
    }
    Ok(best.1)
}

/// Where the slope turns from rising to falling between two variances.
fn summit(sites: &[Site], mut low: f64, mut high: f64) -> f64 {
    for _ in 0..HALVINGS {
        let middle = 0.5 * (low + high);
        if slope(sites, middle) > 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

/// Twice the restricted log-likelihood, up to a constant.
fn likelihood(sites: &[Site], between: f64) -> f64 {
    let weighed = Weighed::of(sites, between);
    let logarithms = weighed.each.iter().map(|weight| weight.ln());
    logarithms.collect::<Sum>().total() - weighed.total.ln() - weighed.squares(sites)
}

/// Twice the slope of the restricted log-likelihood, over the sum of the weights.
fn slope(sites: &[Site], between: f64) -> f64 {
    let weighed = Weighed::of(sites, between);
    let parts = weighed.each.iter().zip(sites).map(|(weight, site)| {
        let residual = site.value - weighed.mean;
        weight / weighed.total * (weight * residual * residual - 1.0 + weight / weighed.total)
    });
    parts.collect::<Sum>().total()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sites(pairs: &[(f64, f64)]) -> Vec<Site> {
        let site = |&(value, standard_error): &(f64, f64)| Site {
            value,
            standard_error,
        };
        pairs.iter().map(site).collect()
    }

    #[test]
    fn the_estimate_is_where_no_neighbour_is_likelier() {
        let sites = sites(&[(0.4, 0.2), (1.9, 0.3), (-0.3, 0.9), (1.1, 0.25)]);
        let found = between(&sites).unwrap();
        let there = likelihood(&sites, found);
        for other in [0.0, 0.5 * found, 0.99 * found, 1.01 * found, 2.0 * found] {
            assert!(likelihood(&sites, other) < there, "{other}");
        }
    }

    #[test]
    fn the_estimate_does_not_depend_on_unit_or_zero() {
        let here = [(0.4, 0.2), (1.9, 0.3), (-0.3, 0.9), (1.1, 0.25)];
        let one = between(&sites(&here)).unwrap();
        let moved = here.map(|(y, s)| (1e3 * y + 5e4, 1e3 * s));
        let other = between(&sites(&moved)).unwrap();
        assert!((other / one / 1e6 - 1.0).abs() < 1e-9, "{one} {other}");
    }

    #[test]
    fn sites_that_agree_have_no_variance_between_them() {
        assert_eq!(
            between(&sites(&[(1.0, 0.5), (1.1, 0.4), (0.9, 0.6)])),
            Ok(0.0)
        );
    }
}
