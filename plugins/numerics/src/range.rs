//! The studentized range, for Tukey's comparisons of all pairs of means.
//!
//! Q = (largest − smallest of k standard normal values)/s with s on ν degrees of freedom:
//! P(Q > q) = ∫ density(s) [1 − W(q s)] ds, and
//! 1 − W(w) = k ∫ φ(z) {Φ(z)^{k−1} − [Φ(z) − Φ(z−w)]^{k−1}} dz
//! (Tukey 1953; the double integral as in Copenhaver & Holland 1988, *J. Stat. Comput. Simul.* 30:1).
//! Both integrals are done with the trapezoidal rule, see `quadrature`; the difference in braces is
//! taken without cancellation so that small tails keep their digits.
//!
//! Where many probabilities are asked of one distribution, [`StudentizedRange::for_many`] tabulates
//! ln P over ln q. With x = ln s at multiples of a step h and ln q at multiples of h/m, all values
//! ln q + x fall on the same grid, so that a table of hundreds of probabilities needs little more
//! than hundreds of inner integrals.
//!
//! Refused: fewer than two means, degrees of freedom that are not above zero (fractions and infinity
//! are welcome), probabilities outside (0, 1).

use std::collections::BTreeMap;
use std::f64::consts::SQRT_2;

use crate::distribution::{
    DistributionError, df_checked, probability_checked, statistic_checked, t_critical, t_two_sided,
};
use crate::lookup::{Lookup, place};
use crate::quadrature::ErrorSizes;
use crate::root::{CLOSE, ROUGH, falling};
use crate::special::normal_below;

/// The distribution for one number of means and one number of degrees of freedom: make it once and
/// ask it often.
#[derive(Debug, Clone)]
pub struct StudentizedRange {
    means: usize,
    df: f64,
    fine: Grid,
    /// ln P over ln q.
    table: Option<Lookup>,
}

/// Grids of both integrals.
#[derive(Debug, Clone)]
struct Grid {
    sizes: ErrorSizes,
    step: f64,
    /// Of each place z = −REACH, −REACH + step …: k·step·φ(z), and Φ(z).
    nodes: Vec<(f64, f64)>,
    /// k − 1.
    others: i32,
}

/// Beyond this many standard deviations the inner integrand is below 10⁻¹⁸ of the integral.
const REACH: f64 = 6.6;
/// Widest standardised range whose tail is still followed with relative accuracy (10⁻¹⁰⁰ and below).
const WIDEST: f64 = 36.0;
/// Studentized ranges between which ln P is tabulated.
const TABULATED: (f64, f64) = (1e-3, 100.0);
/// The least ln P in a table: rarer ranges are left to the integrals.
const TABULATED_LOG: f64 = -46.0;
/// Places of a table lie no further apart than this in ln q.
const TABLE_STEP: f64 = 0.0125;
/// A table on the grid of more degrees of freedom than this costs more than it saves.
const TABLE_DF: f64 = 10_000.0;
/// Powers up to this are differenced term by term, higher ones through logarithms.
const FEW: i32 = 16;

impl Grid {
    /// The grids whose sums are right to rounding, or with `coarse` = 2 to about half the digits.
    fn new(means: usize, df: f64, coarse: f64) -> Self {
        let step = coarse
            * match means {
                0..=5 => 0.25,
                6..=12 => 0.15,
                13..=50 => 0.1,
                _ => 0.075,
            };
        let count = ((REACH + upper_reach(WIDEST)) / step).ceil() as usize;
        let nodes = (0..=count)
            .map(|i| {
                let z = i as f64 * step - REACH;
                let density = (-0.5 * z * z).exp() / std::f64::consts::TAU.sqrt();
                (means as f64 * step * density, normal_below(z))
            })
            .collect();
        Self {
            sizes: ErrorSizes::new(df, coarse),
            step,
            nodes,
            others: i32::try_from(means - 1).unwrap_or(i32::MAX),
        }
    }

    /// P(Q > q).
    fn upper(&self, q: f64) -> f64 {
        self.sizes.average(|s| self.wider_than(q * s))
    }

    /// ln P(Q > q) over ln q.
    fn tabulated(&self) -> Lookup {
        // A step between sizes is `fine` steps of the grid, on which every `stride`-th place is kept.
        let (step, fine, stride) = match self.sizes.step() {
            0.0 => (TABLE_STEP, 1, 1),
            wide if wide > TABLE_STEP => {
                let fine = (wide / TABLE_STEP).ceil();
                (wide / fine, fine as i32, 1)
            }
            narrow => (narrow, 1, (TABLE_STEP / narrow).floor() as i32),
        };
        let kept = f64::from(stride) * step;
        let at = |q: f64| (q.ln() / kept).floor() as i32;
        let mut wider: BTreeMap<i32, f64> = BTreeMap::new();
        let logs = (at(TABULATED.0)..at(TABULATED.1))
            .map(|number| {
                let average = self.sizes.average_placed(|size, _| {
                    let sum = stride * number + fine * size;
                    *wider
                        .entry(sum)
                        .or_insert_with(|| self.wider_than(place(sum, step)))
                });
                average.ln()
            })
            .take_while(|log| *log > TABULATED_LOG)
            .collect();
        Lookup::new(at(TABULATED.0), kept, logs)
    }

    /// 1 − W(w).
    fn wider_than(&self, w: f64) -> f64 {
        let place = |z: f64| (z + REACH) / self.step;
        let from = place(0.5 * w.min(WIDEST) - REACH).floor().max(0.0) as usize;
        let to = place(upper_reach(w))
            .ceil()
            .min((self.nodes.len() - 1) as f64) as usize;
        let mut total = 0.0;
        for (i, (weight, below)) in self.nodes.iter().enumerate().take(to + 1).skip(from) {
            let z = i as f64 * self.step - REACH;
            let out = normal_below(z - w).min(*below);
            total += weight * power_difference(*below, out, self.others);
        }
        total.min(1.0)
    }
}

/// aⁿ − (a − d)ⁿ for 0 ≤ d ≤ a, without cancellation: d Σ aⁱ (a−d)ⁿ⁻¹⁻ⁱ.
fn power_difference(a: f64, d: f64, n: i32) -> f64 {
    if n > FEW {
        return if d >= a {
            a.powi(n)
        } else {
            -a.powi(n) * (f64::from(n) * (-d / a).ln_1p()).exp_m1()
        };
    }
    let b = a - d;
    let (mut sum, mut power) = (1.0, 1.0);
    for _ in 1..n {
        power *= b;
        sum = sum * a + power;
    }
    d * sum
}

/// Where φ(z) has fallen to 10⁻¹⁸ of the tail of a range of width w.
fn upper_reach(w: f64) -> f64 {
    (2.0 * 43.0 + 0.5 * w * w).sqrt()
}

impl StudentizedRange {
    /// For `means` means and `df` degrees of freedom of their error.
    ///
    /// # Errors
    /// For fewer than two means and degrees of freedom that are not above zero.
    pub fn new(means: usize, df: f64) -> Result<Self, DistributionError> {
        if means < 2 {
            return Err(DistributionError::TooFew {
                given: means,
                least: 2,
            });
        }
        let df = df_checked(df)?;
        Ok(Self {
            means,
            df,
            fine: Grid::new(means, df, 1.0),
            table: None,
        })
    }

    /// The same for many questions: probabilities come from a table, made here at the cost of some
    /// tens of them, and agree with those of [`StudentizedRange::new`] to rounding.
    ///
    /// # Errors
    /// As [`StudentizedRange::new`].
    pub fn for_many(means: usize, df: f64) -> Result<Self, DistributionError> {
        let mut range = Self::new(means, df)?;
        let worth = means > 2 && (df.is_infinite() || df <= TABLE_DF);
        range.table = worth.then(|| range.fine.tabulated());
        Ok(range)
    }

    /// Probability of a studentized range above `q`.
    ///
    /// # Errors
    /// For a `q` that is not a number.
    pub fn upper(&self, q: f64) -> Result<f64, DistributionError> {
        statistic_checked(q)?;
        if q <= 0.0 {
            return Ok(1.0);
        }
        if q.is_infinite() {
            return Ok(0.0);
        }
        if self.means == 2 {
            return t_two_sided(q / SQRT_2, self.df);
        }
        match self.table.as_ref().and_then(|table| table.at(q)) {
            // Between places the polynomial may pass 0 by rounding.
            Some(log) => Ok(log.exp().min(1.0)),
            None => Ok(self.fine.upper(q)),
        }
    }

    /// The studentized range that is exceeded with probability `alpha`.
    ///
    /// # Errors
    /// For a probability outside (0, 1).
    pub fn quantile(&self, alpha: f64) -> Result<f64, DistributionError> {
        probability_checked(alpha)?;
        if self.means == 2 {
            return Ok(SQRT_2 * t_critical(alpha, self.df)?);
        }
        // Bonferroni's bound over all pairs is never below and seldom far above.
        let pairs = (self.means * (self.means - 1) / 2) as f64;
        let start = SQRT_2 * t_critical(alpha / pairs, self.df)?;
        // A coarse grid finds about seven digits at a quarter of the work.
        let coarse = Grid::new(self.means, self.df, 2.0);
        let near = falling(|q| coarse.upper(q), alpha, start, ROUGH);
        Ok(falling(|q| self.fine.upper(q), alpha, near, CLOSE))
    }
}

/// Probability of a studentized range of `means` means above `q`, see [`StudentizedRange::upper`].
///
/// # Errors
/// As [`StudentizedRange::new`] and [`StudentizedRange::upper`].
pub fn studentized_range_upper(q: f64, means: usize, df: f64) -> Result<f64, DistributionError> {
    StudentizedRange::new(means, df)?.upper(q)
}

/// The studentized range exceeded with probability `alpha`, see [`StudentizedRange::quantile`].
///
/// # Errors
/// As [`StudentizedRange::new`] and [`StudentizedRange::quantile`].
pub fn studentized_range_quantile(
    alpha: f64,
    means: usize,
    df: f64,
) -> Result<f64, DistributionError> {
    StudentizedRange::new(means, df)?.quantile(alpha)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_quadrature_of_two_means_is_students_t() {
        for (q, df) in [(0.5, 3.0), (3.5, 1.0), (4.0, 7.5), (9.0, 40.0)] {
            let range = StudentizedRange::new(2, df).unwrap();
            let (by_sum, exact) = (range.fine.upper(q), range.upper(q).unwrap());
            assert!(
                (by_sum / exact - 1.0).abs() < 1e-12,
                "{q} {df}: {by_sum} {exact}"
            );
        }
    }

    #[test]
    fn a_table_agrees_with_the_integrals_to_rounding() {
        for (means, dfs) in [
            (3, [1.0, 2.0, 7.5]),
            (8, [3.0, 35.0, 500.0]),
            (20, [4.0, 80.0, f64::INFINITY]),
        ] {
            for df in dfs {
                let (one, many) = (
                    StudentizedRange::new(means, df).unwrap(),
                    StudentizedRange::for_many(means, df).unwrap(),
                );
                let mut worst = 0.0_f64;
                for i in 0..120 {
                    let q = 0.0013 * 1.097_f64.powi(i);
                    let (exact, found) = (one.upper(q).unwrap(), many.upper(q).unwrap());
                    worst = worst.max((found / exact - 1.0).abs());
                }
                // Down to 10⁻²⁰, where rounding of ln q alone moves P by some 10⁻¹⁴ of itself.
                assert!(worst < 1e-13, "{means} {df}: {worst:e}");
            }
        }
    }

    #[test]
    fn published_table_values_are_met() {
        // Upper 5 % points as printed in textbook tables of the studentized range, from memory.
        for (means, df, q) in [(3, 10.0, 3.877), (4, 20.0, 3.958), (5, 60.0, 3.977)] {
            let got = studentized_range_quantile(0.05, means, df).unwrap();
            assert!((got - q).abs() < 0.0015, "{means} {df}: {got}");
        }
    }

    #[test]
    fn what_has_no_meaning_is_refused() {
        assert!(StudentizedRange::new(1, 5.0).is_err());
        assert!(StudentizedRange::new(3, 0.0).is_err());
        assert!(studentized_range_upper(f64::NAN, 3, 5.0).is_err());
        assert!(studentized_range_quantile(1.0, 3, 5.0).is_err());
        assert_eq!(studentized_range_upper(f64::INFINITY, 3, 5.0), Ok(0.0));
    }
}
