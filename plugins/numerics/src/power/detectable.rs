//! The effects a test finds with a wanted probability.
//!
//! The power of an F test rises with its noncentrality λ, so the λ of a wanted power is one number;
//! differences grow with its square root. Refused: a level or a power outside (0, 1), a power that is
//! not above the level, which a test has without any effect.

use super::PowerError;
use crate::distribution::{DistributionError, f_quantile};
use crate::noncentral::{LARGEST, noncentral_f_upper};

/// The noncentrality at which an F test of these degrees of freedom rejects with probability `power`
/// at this level.
///
/// ```
/// # use caneplot_numerics::power::noncentrality_for;
/// // More degrees of freedom of error need less.
/// let few = noncentrality_for(0.8, 3.0, 6.0, 0.05).unwrap();
/// let many = noncentrality_for(0.8, 3.0, 60.0, 0.05).unwrap();
/// assert!(few > many);
/// ```
///
/// # Errors
/// [`PowerError::Distribution`] for a level or power outside (0, 1), impossible degrees of freedom;
/// [`PowerError::NotAbove`] for a power at or below the level.
pub fn noncentrality_for(
    power: f64,
    df: f64,
    error_df: f64,
    level: f64,
) -> Result<f64, PowerError> {
    if !(power > 0.0 && power < 1.0) {
        return Err(DistributionError::Probability(power).into());
    }
    if power <= level {
        return Err(PowerError::NotAbove { power, level });
    }
    let critical = f_quantile(level, df, error_df)?;
    let reached = |noncentrality: f64| noncentral_f_upper(critical, df, error_df, noncentrality);
    let (mut low, mut high) = (0.0, 1.0);
    while reached(high)? < power {
        low = high;
        high *= 2.0;
        if high > LARGEST {
            return Err(DistributionError::Noncentrality(high).into());
        }
    }
    // Bisection: the power is monotone, and 60 halvings are beyond the digits of λ.
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        match reached(middle)? < power {
            true => low = middle,
            false => high = middle,
        }
    }
    Ok(0.5 * (low + high))
}
