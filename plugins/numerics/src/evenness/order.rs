//! Expected order statistics of normal values: E x_(i) = ∫ x i C(n, i) Φ^{i−1} (1−Φ)^{n−i} φ dx.
//!
//! The integrand is analytic and falls off faster than any power, where the trapezoidal rule
//! converges exponentially (Trefethen & Weideman 2014, *SIAM Rev.* 56:385).

use crate::distribution::normal_cdf;
use crate::sum::Sum;

/// Places where the normal density is below 1e-40 are left out.
const REACH: i32 = 140;
const STEP: f64 = 0.1;

/// Mean distance from the median that `n` ≥ 2 independent normal values of spread 1 are expected to
/// have.
pub(super) fn expected_deviation(n: usize) -> f64 {
    // Distances add to (sum of the upper half) − (sum of the lower half), and the two are mirrored.
    let upper: Sum = (n / 2 + n % 2 + 1..=n)
        .map(|place| expected(place, n))
        .collect();
    2.0 * upper.total() / n as f64
}

/// E x_(place), the smallest being place 1.
fn expected(place: usize, n: usize) -> f64 {
    let (above, below) = ((n - place) as f64, (place - 1) as f64);
    let number = libm::lgamma(n as f64 + 1.0)
        - libm::lgamma(below + 1.0)
        - libm::lgamma(above + 1.0)
        - 0.5 * std::f64::consts::TAU.ln();
    let total: Sum = (-REACH..=REACH)
        .map(|at| {
            let x = f64::from(at) * STEP;
            let log =
                number - 0.5 * x * x + power(below, normal_cdf(x)) + power(above, normal_cdf(-x));
            x * log.exp()
        })
        .collect();
    total.total() * STEP
}

/// ln of `base` to the `exponent`, 0⁰ being 1.
fn power(exponent: f64, base: f64) -> f64 {
    if exponent == 0.0 {
        0.0
    } else {
        exponent * base.ln()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    #[test]
    fn small_samples_have_their_known_expectations() {
        // Closed forms (Jones 1948, Ann. Math. Stat. 19:270): E of the largest of 2 is 1/√π, of 3 it
        // is 3/(2√π).
        assert!((expected(2, 2) - 1.0 / PI.sqrt()).abs() < 1e-13);
        assert!((expected(3, 3) - 1.5 / PI.sqrt()).abs() < 1e-13);
        assert!((expected(2, 3)).abs() < 1e-14);
        assert!((expected_deviation(2) - 1.0 / PI.sqrt()).abs() < 1e-13);
        assert!((expected_deviation(3) - 1.0 / PI.sqrt()).abs() < 1e-13);
        // Of 4 values the middle two are ±0.2970 and the outer two ±1.0294 (four-figure tables of
        // normal scores, Fisher & Yates 1938, Table XX: 0.30 and 1.03).
        assert!((expected(3, 4) - 0.297_011_382).abs() < 1e-8);
        assert!((expected(4, 4) - 1.029_375_373).abs() < 1e-8);
    }

    #[test]
    fn many_values_come_to_the_mean_deviation_of_the_normal() {
        assert!((expected_deviation(400) / (2.0 / PI).sqrt() - 1.0).abs() < 2e-3);
    }
}
