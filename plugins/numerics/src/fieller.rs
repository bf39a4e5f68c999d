//! The confidence set of a ratio of two means that vary together.
//!
//! ρ = α/β belongs to the set where (a − ρ b)² ≤ t² (v_aa − 2 ρ v_ab + ρ² v_bb)
//! (Fieller 1954, *J. R. Stat. Soc. B* 16:175). With g = t² v_bb/b² the set is an interval while
//! g < 1, that is, while b differs from zero at the chosen level; otherwise it is everything outside
//! an interval, or the whole line: the data then do not bound the ratio, and no interval may be shown.
//!
//! Refused: a denominator of exactly 0, variances that are negative or do not bound the covariance,
//! arguments that are not finite.

/// The set of ratios that the data do not contradict.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum FiellerSet {
    /// From `low` to `high`.
    Bounded {
        /// Lower end.
        low: f64,
        /// Upper end.
        high: f64,
    },
    /// Everything except what lies between `low` and `high`.
    Outside {
        /// Lower end of what is excluded.
        low: f64,
        /// Upper end of what is excluded.
        high: f64,
    },
    /// Every ratio. Also returned for g exactly 1, where the set is a half-line inside it.
    All,
}

/// A ratio of means with its confidence set.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fieller {
    /// The ratio of the two means.
    pub ratio: f64,
    /// t² v_bb/b²: how uncertain the denominator is; from 1 on there is no finite interval.
    pub g: f64,
    /// The set.
    pub set: FiellerSet,
}

/// Variances of two estimates and their covariance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Covariance {
    /// Variance of the numerator's estimate.
    pub numerator: f64,
    /// Variance of the denominator's estimate.
    pub denominator: f64,
    /// Their covariance.
    pub between: f64,
}

/// Why a ratio has no confidence set.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum FiellerError {
    /// Occurs when the denominator's mean is exactly 0.
    #[error("the mean of the denominator is 0, so the ratio does not exist")]
    ZeroDenominator,
    /// Occurs when a variance is negative or the covariance is larger than the variances allow.
    #[error("the variances and the covariance of the two means do not belong together")]
    Covariance,
    /// Occurs when a mean, a variance or t is not a finite number, or t is negative.
    #[error("a mean, a variance or the t value is not a finite number")]
    NotFinite,
}

/// The ratio `a/b` with its set at the level of the two-sided critical value `t`.
///
/// ```
/// # use caneplot_numerics::fieller::{Covariance, FiellerSet, fieller};
/// let exact = Covariance { numerator: 0.0, denominator: 0.0, between: 0.0 };
/// let found = fieller(6.0, 2.0, exact, 2.2).unwrap();
/// assert_eq!(found.set, FiellerSet::Bounded { low: 3.0, high: 3.0 });
/// ```
///
/// # Errors
/// See [`FiellerError`].
pub fn fieller(a: f64, b: f64, variance: Covariance, t: f64) -> Result<Fieller, FiellerError> {
    let Covariance {
        numerator: vaa,
        denominator: vbb,
        between: vab,
    } = variance;
    if ![a, b, vaa, vbb, vab, t].iter().all(|v| v.is_finite()) || t < 0.0 {
        return Err(FiellerError::NotFinite);
    }
    if b == 0.0 {
        return Err(FiellerError::ZeroDenominator);
    }
    // A correlation of one may overshoot by its rounding.
    if vaa < 0.0 || vbb < 0.0 || vab * vab > vaa * vbb * (1.0 + 1e-12) {
        return Err(FiellerError::Covariance);
    }
    let t2 = t * t;
    let square = b * b - t2 * vbb;
    let middle = a * b - t2 * vab;
    let constant = a * a - t2 * vaa;
    // The discriminant, expanded so that b²a² does not cancel against itself.
    let discriminant =
        t2 * (a * a * vbb - 2.0 * a * b * vab + b * b * vaa - t2 * (vaa * vbb - vab * vab));
    let set = if square > 0.0 {
        let (low, high) = ends(square, middle, constant, discriminant.max(0.0));
        FiellerSet::Bounded { low, high }
    } else if square < 0.0 && discriminant > 0.0 {
        let (low, high) = ends(square, middle, constant, discriminant);
        FiellerSet::Outside { low, high }
    } else {
        FiellerSet::All
    };
    Ok(Fieller {
        ratio: a / b,
        g: t2 * vbb / (b * b),
        set,
    })
}

/// Roots of square·ρ² − 2·middle·ρ + constant in order, the smaller in size from the product of both
/// so that it keeps its digits.
fn ends(square: f64, middle: f64, constant: f64, discriminant: f64) -> (f64, f64) {
    let sum = middle + discriminant.sqrt().copysign(middle);
    let one = sum / square;
    let other = if sum == 0.0 { 0.0 } else { constant / sum };
    (one.min(other), one.max(other))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn impossible_variances_and_denominators_are_refused() {
        let wide = Covariance {
            numerator: 1.0,
            denominator: 1.0,
            between: 1.1,
        };
        assert_eq!(fieller(1.0, 2.0, wide, 2.0), Err(FiellerError::Covariance));
        let fine = Covariance {
            between: 0.5,
            ..wide
        };
        assert_eq!(
            fieller(1.0, 0.0, fine, 2.0),
            Err(FiellerError::ZeroDenominator)
        );
        assert_eq!(
            fieller(f64::NAN, 1.0, fine, 2.0),
            Err(FiellerError::NotFinite)
        );
    }
}
