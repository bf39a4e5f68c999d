//! Tail probabilities and quantiles of the normal, t, chi-square and F distributions.
//!
//! F above f: I_x(ν₂/2, ν₁/2) at x = ν₂/(ν₂ + ν₁ f); t is F with ν₁ = 1 (Abramowitz & Stegun 1964,
//! 26.5–26.7). Tails keep their relative accuracy: a P of 10⁻⁴⁰ has as many right digits as one of
//! 0.05. Degrees of freedom may be fractions (Satterthwaite's are) and infinite where that has a
//! meaning. Refused: degrees of freedom that are not positive, probabilities outside the open
//! interval from 0 to 1, arguments that are not numbers.

use statrs::function::erf::erfc_inv;

use crate::root::{ROUGH, falling};
use crate::special::{Tails, beta, gamma, normal_below_exact};

/// Why there is no probability or quantile.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum DistributionError {
    /// Occurs when degrees of freedom are zero, negative or not a number: an error stratum without
    /// degrees of freedom, most often.
    #[error("{0} degrees of freedom: they must be above zero")]
    DegreesOfFreedom(f64),
    /// Occurs when a probability does not lie strictly between 0 and 1.
    #[error("{0} is not a probability between 0 and 1")]
    Probability(f64),
    /// Occurs when the statistic is not a number, as 0/0 gives.
    #[error("the test statistic is not a number")]
    Statistic,
    /// Occurs when fewer than the needed number of means or comparisons is given.
    #[error("{given} given where at least {least} are needed")]
    TooFew {
        /// How many there are.
        given: usize,
        /// How many there must be.
        least: usize,
    },
    /// Occurs when a coefficient of correlation lies outside the open interval from 0 to 1.
    #[error("the correlation factor {0} does not lie between 0 and 1")]
    Correlation(f64),
    /// Occurs when a noncentrality is negative, not a number or too large to be followed.
    #[error("a noncentrality of {0} has no distribution here: it must lie between 0 and 10^8")]
    Noncentrality(f64),
}

pub(crate) fn df_checked(df: f64) -> Result<f64, DistributionError> {
    if df > 0.0 {
        Ok(df)
    } else {
        Err(DistributionError::DegreesOfFreedom(df))
    }
}

pub(crate) fn probability_checked(p: f64) -> Result<f64, DistributionError> {
    if p > 0.0 && p < 1.0 {
        Ok(p)
    } else {
        Err(DistributionError::Probability(p))
    }
}

pub(crate) fn statistic_checked(x: f64) -> Result<f64, DistributionError> {
    if x.is_nan() {
        Err(DistributionError::Statistic)
    } else {
        Ok(x)
    }
}

fn f_tails(f: f64, df1: f64, df2: f64) -> Tails {
    if f <= 0.0 {
        return Tails {
            lower: 0.0,
            upper: 1.0,
        };
    }
    if f.is_infinite() {
        return Tails {
            lower: 1.0,
            upper: 0.0,
        };
    }
    if df2.is_infinite() {
        return gamma(0.5 * df1, 0.5 * df1 * f);
    }
    let total = df1.mul_add(f, df2);
    let swapped = beta(0.5 * df2, 0.5 * df1, df2 / total, df1 * f / total);
    Tails {
        lower: swapped.upper,
        upper: swapped.lower,
    }
}

/// Probability of an F at least as large as `f` on `df1` and `df2` degrees of freedom; `df2` may be
/// infinite. An infinite `f` (an error mean square of exactly 0) gives 0.
///
/// ```
/// # use caneplot_numerics::distribution::f_upper;
/// // F(2, 4) has the closed form (1 + f/2)^-2.
/// assert!((f_upper(6.0, 2.0, 4.0).unwrap() - 1.0 / 16.0).abs() < 1e-15);
/// ```
///
/// # Errors
/// For degrees of freedom that are not above zero and an `f` that is not a number.
pub fn f_upper(f: f64, df1: f64, df2: f64) -> Result<f64, DistributionError> {
    statistic_checked(f)?;
    if df1.is_infinite() {
        return Err(DistributionError::DegreesOfFreedom(df1));
    }
    Ok(f_tails(f, df_checked(df1)?, df_checked(df2)?).upper)
}

/// The F that is exceeded with probability `upper`.
///
/// # Errors
/// For degrees of freedom that are not above zero and a probability outside (0, 1).
pub fn f_quantile(upper: f64, df1: f64, df2: f64) -> Result<f64, DistributionError> {
    probability_checked(upper)?;
    if df1.is_infinite() {
        return Err(DistributionError::DegreesOfFreedom(df1));
    }
    let (df1, df2) = (df_checked(df1)?, df_checked(df2)?);
    Ok(tail_quantile(|f| f_tails(f, df1, df2), upper))
}

/// Where the tails meet `upper`, solved on the smaller of the two so that no digits are lost.
fn tail_quantile(tails: impl Fn(f64) -> Tails, upper: f64) -> f64 {
    if upper <= 0.5 {
        falling(|x| tails(x).upper, upper, 2.0, ROUGH)
    } else {
        1.0 / falling(
            |inverse| tails(1.0 / inverse).lower,
            1.0 - upper,
            2.0,
            ROUGH,
        )
    }
}

/// Probability of a t at least as far from 0 as `t`, both sides; `df` may be infinite.
///
/// # Errors
/// For degrees of freedom that are not above zero and a `t` that is not a number.
pub fn t_two_sided(t: f64, df: f64) -> Result<f64, DistributionError> {
    statistic_checked(t)?;
    Ok(t_tails(t.abs(), df_checked(df)?).upper)
}

fn t_tails(t: f64, df: f64) -> Tails {
    if df.is_infinite() {
        let upper = 2.0 * normal_below_exact(-t);
        return Tails {
            lower: if t < 0.5 {
                libm::erf(t * std::f64::consts::FRAC_1_SQRT_2)
            } else {
                1.0 - upper
            },
            upper,
        };
    }
    f_tails(t * t, 1.0, df)
}

/// The t that is exceeded in size, on either side, with probability `alpha`: the value a least
/// significant difference or a confidence interval is made with.
///
/// # Errors
/// For degrees of freedom that are not above zero and a probability outside (0, 1).
pub fn t_critical(alpha: f64, df: f64) -> Result<f64, DistributionError> {
    probability_checked(alpha)?;
    let df = df_checked(df)?;
    Ok(tail_quantile(|t| t_tails(t, df), alpha))
}

/// The t below which the probability is `p`.
///
/// # Errors
/// For degrees of freedom that are not above zero and a probability outside (0, 1).
pub fn t_quantile(p: f64, df: f64) -> Result<f64, DistributionError> {
    probability_checked(p)?;
    df_checked(df)?;
    if p == 0.5 {
        Ok(0.0)
    } else if p < 0.5 {
        Ok(-t_critical(2.0 * p, df)?)
    } else {
        t_critical(2.0 * (1.0 - p), df)
    }
}

/// Probability of a chi-square at least as large as `x`.
///
/// # Errors
/// For degrees of freedom that are not above zero or infinite, and an `x` that is not a number.
pub fn chi_square_upper(x: f64, df: f64) -> Result<f64, DistributionError> {
    statistic_checked(x)?;
    if df_checked(df)?.is_infinite() {
        return Err(DistributionError::DegreesOfFreedom(df));
    }
    Ok(f_tails(x / df, df, f64::INFINITY).upper)
}

/// The chi-square that is exceeded with probability `upper`.
///
/// # Errors
/// For degrees of freedom that are not above zero or infinite, and a probability outside (0, 1).
pub fn chi_square_quantile(upper: f64, df: f64) -> Result<f64, DistributionError> {
    if df_checked(df)?.is_infinite() {
        return Err(DistributionError::DegreesOfFreedom(df));
    }
    Ok(df * f_quantile(upper, df, f64::INFINITY)?)
}

/// Probability of a standard normal value below `z`; for the upper tail pass −z.
#[must_use]
pub fn normal_cdf(z: f64) -> f64 {
    normal_below_exact(z)
}

/// The standard normal value below which the probability is `p`.
///
/// # Errors
/// For a probability outside (0, 1).
pub fn normal_quantile(p: f64) -> Result<f64, DistributionError> {
    probability_checked(p)?;
    if p > 0.5 {
        return Ok(-normal_quantile(1.0 - p)?);
    }
    // One Newton step on ln p from the rational approximation settles the last digits.
    let start = -std::f64::consts::SQRT_2 * erfc_inv(2.0 * p);
    let reached = normal_below_exact(start);
    let density = (-0.5 * start * start).exp() / std::f64::consts::TAU.sqrt();
    if density == 0.0 || reached == 0.0 {
        return Ok(start);
    }
    Ok(start - (reached / p).ln() * reached / density)
}
