//! How far a value moved from one trial to another, independent one.
//!
//! The variances of the two add; the degrees of freedom that go with their sum are those of
//! Satterthwaite (1946, *Biometrics Bull.* 2:110): (s₁² + s₂²)²/(s₁⁴/f₁ + s₂⁴/f₂), where a
//! large-sample method has f = ∞.
//!
//! Refused: standard errors that are not above zero.

use super::SitesError;
use crate::distribution::{t_critical, t_two_sided};

/// A value of one trial.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measured {
    /// The value.
    pub value: f64,
    /// Its standard error.
    pub standard_error: f64,
    /// Degrees of freedom of that; `None` for a large-sample method.
    pub df: Option<f64>,
}

/// The second value less the first.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moved {
    /// By how much it moved.
    pub value: f64,
    /// Standard error of that.
    pub standard_error: f64,
    /// Degrees of freedom; `None` where both come from large-sample methods.
    pub df: Option<f64>,
    /// Lower end of the interval.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// P of no move, two-sided.
    pub p: f64,
}

/// The move from `first` to `second` with its interval of confidence 1 − `alpha`.
///
/// # Errors
/// See [`SitesError`].
pub fn moved(first: &Measured, second: &Measured, alpha: f64) -> Result<Moved, SitesError> {
    for (place, one) in [first, second].into_iter().enumerate() {
        let known = one.value.is_finite() && one.standard_error > 0.0;
        if !(known && one.standard_error.is_finite()) {
            return Err(SitesError::NoError(place));
        }
    }
    let value = second.value - first.value;
    let standard_error = first.standard_error.hypot(second.standard_error);
    // In shares of the sum, so that neither small nor large units overflow.
    let part = |one: &Measured| {
        let share = (one.standard_error / standard_error).powi(2);
        share * share / one.df.unwrap_or(f64::INFINITY)
    };
    let free = 1.0 / (part(first) + part(second));
    let reach = t_critical(alpha, free)? * standard_error;
    Ok(Moved {
        value,
        standard_error,
        df: free.is_finite().then_some(free),
        low: value - reach,
        high: value + reach,
        p: t_two_sided(value / standard_error, free)?,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn measured(value: f64, standard_error: f64, df: Option<f64>) -> Measured {
        Measured {
            value,
            standard_error,
            df,
        }
    }

    #[test]
    fn equal_errors_have_the_sum_of_their_degrees_of_freedom() {
        let one = measured(1.0, 0.3, Some(12.0));
        let other = measured(1.6, 0.3, Some(12.0));
        let found = moved(&one, &other, 0.05).unwrap();
        assert!((found.df.unwrap() - 24.0).abs() < 1e-12);
        assert!((found.value - 0.6).abs() < 1e-15);
        assert!((found.standard_error - 0.3 * 2.0_f64.sqrt()).abs() < 1e-15);
    }

    #[test]
    fn a_value_without_error_is_refused_and_large_samples_are_normal() {
        let one = measured(1.0, 0.0, None);
        let other = measured(3.0, 1.0, None);
        assert_eq!(moved(&one, &other, 0.05), Err(SitesError::NoError(0)));
        let one = measured(1.0, 1.0, None);
        let found = moved(&one, &other, 0.05).unwrap();
        assert_eq!(found.df, None);
        // The normal value exceeded, on either side, with probability 0.05.
        let reach = 1.959_963_984_540_054 * 2.0_f64.sqrt();
        assert!((found.high - 2.0 - reach).abs() < 1e-12);
    }
}
