//! Dunnett's test: several means against one control.
//!
//! The m statistics T_i share the control and the error estimate; their correlations are
//! λ_i λ_j with λ_i = √(n_i/(n_i + n_0)). Given the control's chance deviation z and the size s of
//! the error estimate they are independent:
//! P(max T > c) = ∫∫ φ(z) density(s) {1 − Π Φ[(c s − λ_i z)/√(1−λ_i²)]} dz ds, and with
//! Φ[(c s + λ_i z)/…] + Φ[(c s − λ_i z)/…] − 1 in place of Φ for both sides
//! (Dunnett 1955, *J. Am. Stat. Assoc.* 50:1096; 1964, *Biometrics* 20:482). Exact for any
//! numbers of replicates. Both integrals by the trapezoidal rule, see `quadrature`; the product is
//! taken through its complement so that small tails keep their digits.
//!
//! Refused: no comparison, λ outside (0, 1), degrees of freedom that are not above zero,
//! probabilities outside (0, 1), and one-sided quantiles at a half or more, which lie below zero.
//! Means adjusted for covariates or with unequal standard errors of difference have correlations that
//! are not such products: this is not exact for them.

use crate::distribution::{
    DistributionError, df_checked, probability_checked, statistic_checked, t_critical, t_two_sided,
};
use crate::quadrature::ErrorSizes;
use crate::root::{CLOSE, ROUGH, falling};
use crate::special::normal_below;

/// Whether differences on both sides count, or only means above the control.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sides {
    /// A mean may differ either way.
    Both,
    /// Only a mean above the control counts.
    Above,
}

/// The distribution of the largest of several comparisons with one control: make it once and ask it
/// often.
#[derive(Debug, Clone)]
pub struct Dunnett {
    /// λ and √(1−λ²), with how many comparisons share them.
    factors: Vec<(f64, f64, f64)>,
    comparisons: usize,
    df: f64,
    sides: Sides,
    fine: Grid,
}

/// Grids of both integrals.
#[derive(Debug, Clone)]
struct Grid {
    sizes: ErrorSizes,
    step: f64,
    /// step·φ(z) at the places k·step, k = 0, 1, 2 …
    density: Vec<f64>,
}

impl Grid {
    fn new(df: f64, step: f64, coarse: f64) -> Self {
        let step = step * coarse;
        let count = (upper_reach(WIDEST) / step).ceil() as usize;
        let density = (0..=count)
            .map(|k| {
                let z = k as f64 * step;
                step * (-0.5 * z * z).exp() / std::f64::consts::TAU.sqrt()
            })
            .collect();
        Self {
            sizes: ErrorSizes::new(df, coarse),
            step,
            density,
        }
    }
}

/// Beyond this many standard deviations the integrand is below 10⁻¹⁸ of the integral.
const REACH: f64 = 9.3;
/// Largest statistic whose tail is still followed with relative accuracy.
const WIDEST: f64 = 36.0;

impl Dunnett {
    /// For a control of `control` replicates and treatments of `replicates` each, with `df` degrees
    /// of freedom of their error.
    ///
    /// # Errors
    /// For no treatment, a count of zero, and degrees of freedom that are not above zero.
    pub fn for_replicates(
        control: usize,
        replicates: &[usize],
        df: f64,
        sides: Sides,
    ) -> Result<Self, DistributionError> {
        let factors: Vec<f64> = replicates
            .iter()
            .map(|n| (*n as f64 / (n + control) as f64).sqrt())
            .collect();
        Self::new(&factors, df, sides)
    }

    /// For factors λ_i whose products are the correlations; equal replication has λ = √½.
    ///
    /// # Errors
    /// For no factor, one outside (0, 1), and degrees of freedom that are not above zero.
    pub fn new(factors: &[f64], df: f64, sides: Sides) -> Result<Self, DistributionError> {
        if factors.is_empty() {
            return Err(DistributionError::TooFew { given: 0, least: 1 });
        }
        let mut grouped: Vec<(f64, f64, f64)> = Vec::new();
        for &factor in factors {
            if !(factor > 0.0 && factor < 1.0) {
                return Err(DistributionError::Correlation(factor));
            }
            match grouped.iter_mut().find(|(known, _, _)| *known == factor) {
                Some(group) => group.2 += 1.0,
                None => grouped.push((factor, (1.0 - factor * factor).sqrt(), 1.0)),
            }
        }
        let narrowest = grouped.iter().map(|g| g.1).fold(1.0, f64::min);
        let step = if factors.len() > 20 { 0.15 } else { 0.2 } * narrowest;
        let df = df_checked(df)?;
        Ok(Self {
            factors: grouped,
            comparisons: factors.len(),
            df,
            sides,
            fine: Grid::new(df, step, 1.0),
        })
    }

    /// Which sides count.
    #[must_use]
    pub fn sides(&self) -> Sides {
        self.sides
    }

    /// Probability that the largest statistic (in size, where both sides count) is above `c`.
    ///
    /// # Errors
    /// For a `c` that is not a number.
    pub fn upper(&self, c: f64) -> Result<f64, DistributionError> {
        statistic_checked(c)?;
        if self.sides == Sides::Both && c <= 0.0 || c == f64::NEG_INFINITY {
            return Ok(1.0);
        }
        if c == f64::INFINITY {
            return Ok(0.0);
        }
        if self.comparisons == 1 {
            let both = t_two_sided(c, self.df)?;
            return Ok(match self.sides {
                Sides::Both => both,
                Sides::Above if c >= 0.0 => 0.5 * both,
                Sides::Above => 1.0 - 0.5 * both,
            });
        }
        Ok(self.by_quadrature(&self.fine, c))
    }

    fn by_quadrature(&self, grid: &Grid, c: f64) -> f64 {
        grid.sizes.average(|s| self.beyond(grid, c * s))
    }

    /// The statistic exceeded with probability `alpha`.
    ///
    /// # Errors
    /// For a probability outside (0, 1), or outside (0, ½) where only one side counts.
    pub fn quantile(&self, alpha: f64) -> Result<f64, DistributionError> {
        probability_checked(alpha)?;
        let (sides, most) = match self.sides {
            Sides::Both => (1.0, 1.0),
            Sides::Above => (2.0, 0.5),
        };
        if alpha >= most {
            return Err(DistributionError::Probability(alpha));
        }
        let start = t_critical(sides * alpha / self.comparisons as f64, self.df)?;
        if self.comparisons == 1 {
            return Ok(start);
        }
        // A coarse grid finds about seven digits at a quarter of the work.
        let coarse = Grid::new(self.df, self.fine.step, 2.0);
        let near = falling(|c| self.by_quadrature(&coarse, c), alpha, start, ROUGH);
        Ok(falling(
            |c| self.by_quadrature(&self.fine, c),
            alpha,
            near,
            CLOSE,
        ))
    }

    /// Probability that some statistic is beyond `w` when the error estimate is known.
    fn beyond(&self, grid: &Grid, w: f64) -> f64 {
        let least = self.factors.iter().map(|f| f.0).fold(1.0, f64::min);
        let low = least * w.clamp(-WIDEST, WIDEST) - REACH;
        let from = (low / grid.step).floor() as i64;
        let last = grid.density.len() as i64 - 1;
        let to = ((upper_reach(w) / grid.step).ceil() as i64).min(last);
        let mut total = 0.0;
        match self.sides {
            Sides::Above => {
                for k in from.max(-last)..=to {
                    total += grid.density[k.unsigned_abs() as usize]
                        * self.some_beyond(w, k as f64 * grid.step);
                }
            }
            // Both halves are alike.
            Sides::Both => {
                for k in from.max(0)..=to {
                    let share = if k == 0 { 1.0 } else { 2.0 };
                    total += share
                        * grid.density[k as usize]
                        * self.some_beyond(w, k as f64 * grid.step);
                }
            }
        }
        total.min(1.0)
    }

    /// 1 − Π(1 − probability that T_i is beyond `w`), the control standing at `z`.
    fn some_beyond(&self, w: f64, z: f64) -> f64 {
        let mut none = 0.0;
        for (factor, rest, count) in &self.factors {
            let mut beyond = normal_below((factor * z - w) / rest);
            if self.sides == Sides::Both {
                beyond += normal_below((-factor * z - w) / rest);
            }
            if beyond >= 1.0 {
                return 1.0;
            }
            none += count * (-beyond).ln_1p();
        }
        -none.exp_m1()
    }
}

/// Where φ(z) has fallen to 10⁻¹⁸ of the tail beyond w.
fn upper_reach(w: f64) -> f64 {
    let w = w.min(WIDEST);
    (2.0 * 43.0 + w * w).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_quadrature_of_one_comparison_is_students_t() {
        for (c, df) in [(0.4, 2.0), (2.1, 9.5), (5.0, 30.0)] {
            for sides in [Sides::Both, Sides::Above] {
                let one = Dunnett::new(&[0.6], df, sides).unwrap();
                let (by_sum, exact) = (one.by_quadrature(&one.fine, c), one.upper(c).unwrap());
                assert!((by_sum / exact - 1.0).abs() < 1e-13, "{c} {df} {sides:?}");
            }
        }
    }

    #[test]
    fn published_table_values_are_met() {
        // Two-sided 5 % points of Dunnett (1964), from memory: 2 and 3 treatments.
        for (m, df, c) in [(2, 10.0, 2.57), (3, 20.0, 2.54), (4, 60.0, 2.51)] {
            let dunnett = Dunnett::new(&vec![0.5_f64.sqrt(); m], df, Sides::Both).unwrap();
            let got = dunnett.quantile(0.05).unwrap();
            assert!((got - c).abs() < 0.0075, "{m} {df}: {got}");
        }
    }

    #[test]
    fn what_has_no_meaning_is_refused() {
        assert!(Dunnett::new(&[], 5.0, Sides::Both).is_err());
        assert!(Dunnett::new(&[1.0], 5.0, Sides::Both).is_err());
        assert!(Dunnett::for_replicates(4, &[4, 0], 5.0, Sides::Both).is_err());
        assert!(Dunnett::new(&[0.7], 0.0, Sides::Both).is_err());
        let above = Dunnett::new(&[0.7, 0.7], 8.0, Sides::Above).unwrap();
        assert!(above.quantile(0.5).is_err());
        assert!(above.upper(f64::NAN).is_err());
    }
}
