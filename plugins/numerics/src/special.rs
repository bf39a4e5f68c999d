//! Incomplete beta and gamma integrals and the normal integral, with both tails relatively accurate.
//!
//! The general-purpose routines at hand take the difference of three log-gamma values (which loses
//! digits as degrees of freedom grow) and stop after a fixed number of terms. Here the factor before
//! the continued fraction is written with Stirling errors and deviance parts (Loader 2000, *Fast and
//! accurate computation of binomial probabilities*), which cancel nothing, and the fraction itself is
//! evaluated by Lentz's method to convergence (Thompson & Barnett 1986; DLMF 8.9.2 for gamma).

use std::f64::consts::{FRAC_1_SQRT_2, PI, TAU};

/// What is missing from 1/√2 in the constant of the standard library.
const FRAC_1_SQRT_2_REST: f64 = -4.833646656726457e-17;

/// A lower and an upper tail that add to one, each accurate by itself.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Tails {
    pub lower: f64,
    pub upper: f64,
}

impl Tails {
    fn from_lower(lower: f64) -> Self {
        Self {
            lower,
            upper: 1.0 - lower,
        }
    }

    fn from_upper(upper: f64) -> Self {
        Self {
            lower: 1.0 - upper,
            upper,
        }
    }
}

/// ln Γ(a) less Stirling's leading terms (a−½) ln a − a + ½ ln 2π.
pub(crate) fn stirling_error(a: f64) -> f64 {
    let (mut a, mut steps) = (a, 0.0);
    while a < 15.0 {
        steps += stirling_step(a);
        a += 1.0;
    }
    // DLMF 5.11.1; at a = 15 the first term left out is below 1e-18.
    let s = 1.0 / (a * a);
    steps
        + (1.0 / 12.0
            - s * (1.0 / 360.0
                - s * (1.0 / 1260.0
                    - s * (1.0 / 1680.0 - s * (1.0 / 1188.0 - s * 691.0 / 360_360.0)))))
            / a
}

/// The Stirling error at `a` less that at `a + 1`: (a+½) ln(1+1/a) − 1, as a sum of positive terms.
fn stirling_step(a: f64) -> f64 {
    if a < 0.25 {
        return (a + 0.5) * (1.0 / a).ln_1p() - 1.0;
    }
    let square = (2.0 * a + 1.0).powi(-2);
    let (mut power, mut total, mut odd) = (square, 0.0, 3.0);
    while power > 1e-19 * total {
        total += power / odd;
        power *= square;
        odd += 2.0;
    }
    total
}

/// x ln(x/m) + m − x without cancellation where x is near m.
pub(crate) fn deviance_part(x: f64, m: f64) -> f64 {
    let difference = x - m;
    if difference.abs() >= 0.1 * (x + m) {
        return x * (x / m).ln() - difference;
    }
    let v = difference / (x + m);
    let mut total = difference * v;
    let mut term = 2.0 * x * v;
    let mut odd = 3.0;
    loop {
        term *= v * v;
        let next = total + term / odd;
        if next == total {
            return total;
        }
        total = next;
        odd += 2.0;
    }
}

/// eˣ − 1 − x without cancellation near 0.
pub(crate) fn exp_less_line(x: f64) -> f64 {
    if x.abs() > 0.5 {
        return x.exp_m1() - x;
    }
    let mut term = x * x / 2.0;
    let mut total = term;
    let mut n = 3.0;
    while term.abs() > total.abs() * 1e-18 {
        term *= x / n;
        total += term;
        n += 1.0;
    }
    total
}

/// Regularised incomplete beta integral I_x(a, b) and its complement; `y` is 1 − x, given
/// separately so that neither end loses digits.
pub(crate) fn beta(a: f64, b: f64, x: f64, y: f64) -> Tails {
    if x <= 0.0 {
        return Tails::from_lower(0.0);
    }
    if y <= 0.0 {
        return Tails::from_upper(0.0);
    }
    // The fraction converges fast on the side of the mean where the tail lies.
    if x <= (a + 1.0) / (a + b + 2.0) {
        Tails::from_lower((beta_factor(a, b, x, y) * beta_fraction(a, b, x, y)).min(1.0))
    } else {
        Tails::from_upper((beta_factor(a, b, x, y) * beta_fraction(b, a, y, x)).min(1.0))
    }
}

/// xᵃ yᵇ / B(a, b).
pub(crate) fn beta_factor(a: f64, b: f64, x: f64, y: f64) -> f64 {
    let n = a + b;
    let errors = stirling_error(n) - stirling_error(a) - stirling_error(b);
    let deviance = deviance_part(a, n * x) + deviance_part(b, n * y);
    (errors - deviance).exp() * (a * (b / n) / TAU).sqrt()
}

/// The continued fraction f of I_x(a, b) = xᵃ yᵇ/B(a, b) · f, in the contracted form of DiDonato &
/// Morris (1992, *ACM Trans. Math. Softw.* 18:360, eq. 9): its terms are written with
/// λ = a y − b x, so that nothing cancels where x is near 1 and a is large.
fn beta_fraction(a: f64, b: f64, x: f64, y: f64) -> f64 {
    let lambda = a * y - b * x;
    let denominator = |n: f64| {
        n + n * (b - n) * x / (a + 2.0 * n - 1.0)
            + (a + n) / (a + 2.0 * n + 1.0) * (lambda + 1.0 + n * (1.0 + y))
    };
    let numerator = |n: f64| {
        let s = a + 2.0 * n - 1.0;
        (a + n - 1.0) / s * ((a + b + n - 1.0) / s) * n * (b - n) * x * x
    };
    let nudge = |v: f64| if v.abs() < 1e-300 { 1e-300 } else { v };
    let first = nudge(a / (a + 1.0) * (lambda + 1.0));
    let (mut c, mut d, mut total) = (first, 0.0, first);
    // About √max(a, b) steps are needed; a million serve degrees of freedom of 10^11.
    for step in 1..1_000_000 {
        let n = f64::from(step);
        d = 1.0 / nudge(denominator(n) + numerator(n) * d);
        c = nudge(denominator(n) + numerator(n) / c);
        total *= c * d;
        if (c * d - 1.0).abs() < 2e-16 {
            break;
        }
    }
    1.0 / total
}

/// Regularised incomplete gamma integrals P(a, x) and Q(a, x).
pub(crate) fn gamma(a: f64, x: f64) -> Tails {
    if x <= 0.0 {
        return Tails::from_lower(0.0);
    }
    let factor = (-stirling_error(a) - deviance_part(a, x)).exp() * (a / TAU).sqrt();
    if x < a + 1.0 {
        // DLMF 8.11.4: x^a e^{-x}/Γ(a+1) Σ x^k/((a+1)…(a+k)).
        let (mut term, mut total, mut n) = (1.0, 1.0, a);
        while term > total * 1e-17 {
            n += 1.0;
            term *= x / n;
            total += term;
        }
        return Tails::from_lower((factor / a * total).min(1.0));
    }
    let mut b = x + 1.0 - a;
    let mut c = 1e300;
    let mut d = 1.0 / b;
    let mut h = d;
    for step in 1..1_000_000 {
        let i = f64::from(step);
        let an = -i * (i - a);
        b += 2.0;
        d = 1.0 / (an * d + b);
        c = b + an / c;
        h *= d * c;
        if (d * c - 1.0).abs() < 2e-16 {
            break;
        }
    }
    Tails::from_upper((factor * h).min(1.0))
}

/// The normal integral below `z`, fast: its relative error grows as z²·10⁻¹⁶ in the lower tail.
pub(crate) fn normal_below(z: f64) -> f64 {
    0.5 * libm::erfc(-z * FRAC_1_SQRT_2)
}

/// The normal integral below `z` with the rounding of z/√2 made good, so that the lower tail is
/// relatively accurate as far as numbers reach.
pub(crate) fn normal_below_exact(z: f64) -> f64 {
    let x = -z * FRAC_1_SQRT_2;
    if x < 1.0 {
        return 0.5 * libm::erfc(x);
    }
    let rest = (-z).mul_add(FRAC_1_SQRT_2, -x) - z * FRAC_1_SQRT_2_REST;
    // erfc(x + rest) to first order; its logarithm falls by (2/√π) e^{-x²}/erfc(x).
    let value = libm::erfc(x);
    if value == 0.0 {
        return 0.0;
    }
    let slope = 2.0 / PI.sqrt() * (-x * x).exp() / value;
    0.5 * value * (1.0 - slope * rest)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn half_roots_add_up_to_the_full_precision() {
        let square =
            FRAC_1_SQRT_2.mul_add(FRAC_1_SQRT_2, -0.5) + 2.0 * FRAC_1_SQRT_2 * FRAC_1_SQRT_2_REST;
        assert!(square.abs() < 1e-32, "{square}");
    }

    #[test]
    fn closed_forms_are_met() {
        for x in [1e-9, 0.1, 0.5, 0.9, 0.999_999] {
            let got = beta(1.0, 3.0, x, 1.0 - x);
            let want = -(3.0 * f64::ln_1p(-x)).exp_m1();
            assert!((got.lower / want - 1.0).abs() < 1e-14, "{x}");
        }
        for x in [0.01, 1.0, 7.0, 60.0] {
            assert!(
                (gamma(1.0, x).upper / f64::exp(-x) - 1.0).abs() < 3e-14,
                "{x}"
            );
        }
    }

    #[test]
    fn the_line_is_taken_off_without_loss() {
        let x: f64 = 1e-8;
        assert!((exp_less_line(x) / (x * x / 2.0 * (1.0 + x / 3.0)) - 1.0).abs() < 1e-15);
        assert_eq!(exp_less_line(0.0), 0.0);
    }
}
