//! Log-likelihoods of counts and their derivatives with respect to the linear predictor η.
//!
//! * binomial, logit link: l = ln C(N, y) + y η − N ln(1 + e^η);
//! * Poisson, log link: l = y η − e^η − ln y!;
//! * negative binomial, log link, variance μ + μ²/θ (Lawless 1987, *Can. J. Stat.* 15:209):
//!   l = ln Γ(y+θ) − ln Γ(θ) − ln y! + y ζ − (y+θ) ln(1 + e^ζ) with ζ = η − ln θ, which is the
//!   binomial form with y + θ in the place of N.
//!
//! All constants are kept, so that log-likelihoods of different families compare. Nothing is
//! refused here; [`super::Counts::new`] has checked the data.

/// The distribution of the counts given the linear predictor.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Family {
    /// A count out of a total; log odds are linear.
    Binomial,
    /// A count without a ceiling, variance equal to its mean; the log of the mean is linear.
    Poisson,
    /// A count without a ceiling, variance μ + μ²/θ; the log of the mean is linear.
    NegativeBinomial,
}

/// The log-likelihood of one count with its derivatives. `shape` is ln θ of the negative binomial.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Parts {
    /// l and its first four derivatives in η.
    pub eta: [f64; 5],
    /// Derivative in ln θ of l and of its first three derivatives in η.
    pub shape: [f64; 4],
    /// Second derivative in ln θ of l and of its first two derivatives in η.
    pub shape2: [f64; 3],
}

/// ln(1 + e^x) and its first four derivatives, and ln(1 + e^−x), without cancellation.
struct Softplus {
    up: f64,
    down: f64,
    share: f64,
    rest: f64,
}

impl Softplus {
    fn new(x: f64) -> Self {
        let small = (-x.abs()).exp();
        let (large_share, small_share) = (1.0 / (1.0 + small), small / (1.0 + small));
        let tail = small.ln_1p();
        if x >= 0.0 {
            Self {
                up: x + tail,
                down: tail,
                share: large_share,
                rest: small_share,
            }
        } else {
            Self {
                up: tail,
                down: tail - x,
                share: small_share,
                rest: large_share,
            }
        }
    }

    /// Derivatives of ln(1 + e^x) from the first to the fourth.
    fn derivatives(&self) -> [f64; 4] {
        let spread = self.share * self.rest;
        [
            self.share,
            spread,
            spread * (self.rest - self.share),
            spread * (1.0 - 6.0 * spread),
        ]
    }
}

impl Family {
    /// The part of the log-likelihood that depends on the data alone.
    pub(super) fn constant(self, count: f64, total: f64) -> f64 {
        let ln_factorial = |n: f64| libm::lgamma(n + 1.0);
        match self {
            Family::Binomial => {
                ln_factorial(total) - ln_factorial(count) - ln_factorial(total - count)
            }
            Family::Poisson | Family::NegativeBinomial => -ln_factorial(count),
        }
    }

    /// Log-likelihood (with `constant` added) and derivatives at `eta`; `ln_theta` is used by the
    /// negative binomial alone.
    pub(super) fn parts(
        self,
        count: f64,
        total: f64,
        constant: f64,
        eta: f64,
        ln_theta: f64,
    ) -> Parts {
        match self {
            Family::Binomial => {
                let link = Softplus::new(eta);
                let value = constant - count * link.down - (total - count) * link.up;
                let first = count * link.rest - (total - count) * link.share;
                Parts {
                    eta: with_derivatives(value, first, total, &link),
                    ..Parts::default()
                }
            }
            Family::Poisson => {
                let mean = eta.exp();
                Parts {
                    eta: [
                        constant + count * eta - mean,
                        count - mean,
                        -mean,
                        -mean,
                        -mean,
                    ],
                    ..Parts::default()
                }
            }
            Family::NegativeBinomial => {
                negative_binomial(count, constant, eta - ln_theta, ln_theta)
            }
        }
    }

    /// Mean of a count at `eta`.
    #[must_use]
    pub fn mean(self, total: f64, eta: f64) -> f64 {
        match self {
            Family::Binomial => total * Softplus::new(eta).share,
            Family::Poisson | Family::NegativeBinomial => eta.exp(),
        }
    }

    /// Variance of a count at `eta`.
    #[must_use]
    pub fn variance(self, total: f64, eta: f64, theta: f64) -> f64 {
        match self {
            Family::Binomial => {
                let link = Softplus::new(eta);
                total * link.share * link.rest
            }
            Family::Poisson => eta.exp(),
            Family::NegativeBinomial => eta.exp() * (1.0 + eta.exp() / theta),
        }
    }
}

fn with_derivatives(value: f64, first: f64, trials: f64, link: &Softplus) -> [f64; 5] {
    let [_, second, third, fourth] = link.derivatives();
    [
        value,
        first,
        -trials * second,
        -trials * third,
        -trials * fourth,
    ]
}

fn negative_binomial(count: f64, constant: f64, zeta: f64, ln_theta: f64) -> Parts {
    let theta = ln_theta.exp();
    // ln Γ(y+θ) − ln Γ(θ) and its derivatives, as sums over 0 … y−1 that do not cancel.
    let (mut logs, mut inverses, mut squares) = (0.0, 0.0, 0.0);
    let mut step = theta;
    for _ in 0..count as u64 {
        logs += (step / theta).ln();
        inverses += 1.0 / step;
        squares += 1.0 / (step * step);
        step += 1.0;
    }
    let link = Softplus::new(zeta);
    // Σ ln(θ+j) = logs + y ln θ, and y ζ − (y+θ) ln(1+e^ζ) = −y ln(1+e^−ζ) − θ ln(1+e^ζ).
    let value = constant + logs + count * (ln_theta - link.down) - theta * link.up;
    let first = count * link.rest - theta * link.share;
    let eta = with_derivatives(value, first, count + theta, &link);
    let [s1, s2, s3, _] = link.derivatives();
    let s0 = link.up;
    Parts {
        eta,
        shape: [
            theta * inverses - eta[1] - theta * s0,
            -eta[2] - theta * s1,
            -eta[3] - theta * s2,
            -eta[4] - theta * s3,
        ],
        shape2: [
            theta * inverses - theta * theta * squares + eta[2] + theta * (2.0 * s1 - s0),
            eta[3] + theta * (2.0 * s2 - s1),
            eta[4] + theta * (2.0 * s3 - s2),
        ],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn value(family: Family, eta: f64, ln_theta: f64) -> f64 {
        let constant = family.constant(7.0, 19.0);
        family.parts(7.0, 19.0, constant, eta, ln_theta).eta[0]
    }

    /// Each derivative against a central difference of the one before it.
    #[test]
    fn derivatives_are_those_of_the_value() {
        let step = 1e-5;
        for family in [Family::Binomial, Family::Poisson, Family::NegativeBinomial] {
            for eta in [-3.0, -0.4, 0.0, 1.3, 2.5] {
                let at = |eta, shape| family.parts(7.0, 19.0, 0.0, eta, shape);
                let (here, shape) = (at(eta, 0.7), 0.7);
                let (low, high) = (at(eta - step, shape), at(eta + step, shape));
                for order in 0..4 {
                    let slope = (high.eta[order] - low.eta[order]) / (2.0 * step);
                    let want = here.eta[order + 1];
                    assert!(
                        (slope - want).abs() < 1e-7,
                        "{family:?} {eta} order {order}"
                    );
                }
                let (low, high) = (at(eta, shape - step), at(eta, shape + step));
                for order in 0..4 {
                    let slope = (high.eta[order] - low.eta[order]) / (2.0 * step);
                    assert!(
                        (slope - here.shape[order]).abs() < 1e-7,
                        "{family:?} {eta} {order}"
                    );
                }
                for order in 0..3 {
                    let slope = (high.shape[order] - low.shape[order]) / (2.0 * step);
                    assert!(
                        (slope - here.shape2[order]).abs() < 1e-7,
                        "{family:?} {eta} {order}"
                    );
                }
            }
        }
    }

    #[test]
    fn probabilities_of_all_counts_add_to_one() {
        let sum: f64 = (0..=12)
            .map(|y| {
                let y = f64::from(y);
                let constant = Family::Binomial.constant(y, 12.0);
                Family::Binomial.parts(y, 12.0, constant, 0.8, 0.0).eta[0].exp()
            })
            .sum();
        assert!((sum - 1.0).abs() < 1e-13);
        let sum: f64 = (0..400)
            .map(|y| {
                let y = f64::from(y);
                let constant = Family::NegativeBinomial.constant(y, 0.0);
                let parts = Family::NegativeBinomial.parts(y, 0.0, constant, 1.6, 0.9);
                parts.eta[0].exp()
            })
            .sum();
        assert!((sum - 1.0).abs() < 1e-12, "{sum}");
    }

    #[test]
    fn a_negative_binomial_of_huge_theta_is_poisson() {
        let gap = value(Family::NegativeBinomial, 1.9, 20.0) - value(Family::Poisson, 1.9, 0.0);
        assert!(gap.abs() < 1e-7, "{gap}");
    }

    #[test]
    fn extreme_predictors_stay_finite() {
        for eta in [-700.0, 700.0] {
            let parts = Family::Binomial.parts(7.0, 19.0, 0.0, eta, 0.0);
            assert!(parts.eta.iter().all(|v| v.is_finite()));
        }
    }
}
