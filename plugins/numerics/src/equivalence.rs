//! Whether two means are equivalent within a margin that was declared beforehand.
//!
//! Two one-sided tests, each at level α: the difference lies above −margin, and below +margin. Both
//! hold exactly where the interval of confidence 1 − 2α lies inside the margin, and the P of
//! equivalence is the larger of the two (Schuirmann 1987, *J. Pharmacokinet. Biopharm.* 15:657). A
//! test that finds no difference shows nothing of the kind.
//!
//! Refused: margins that are not above zero, standard errors that are not above zero.

use crate::distribution::{DistributionError, t_critical, t_two_sided};
use crate::separation::{Difference, SeparationError};

/// Why equivalence cannot be judged.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum EquivalenceError {
    /// Occurs when a margin is zero, negative or not a number.
    #[error("{0} is no margin: it must be above zero")]
    Margin(f64),
    /// Occurs when the difference has no standard error to be judged by.
    #[error(transparent)]
    Difference(#[from] SeparationError),
}

impl From<DistributionError> for EquivalenceError {
    fn from(error: DistributionError) -> Self {
        Self::Difference(error.into())
    }
}

/// What a trial says about a difference and a margin.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// The interval lies inside the margin.
    Equivalent {
        /// The difference, small as it is, is clear all the same.
        different: bool,
    },
    /// The difference is clear and not known to lie inside the margin.
    Different {
        /// The whole interval lies beyond the margin.
        beyond: bool,
    },
    /// Neither.
    Undecided,
}

/// A difference judged against a margin.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Equivalence {
    /// Lower end of the interval of confidence 1 − 2α.
    pub low: f64,
    /// Its upper end.
    pub high: f64,
    /// P of equivalence: the larger one of the two one-sided tests.
    pub p: f64,
    /// P of the two-sided test of no difference.
    pub difference_p: f64,
    /// What that says.
    pub verdict: Verdict,
}

/// Judges a difference against ± `margin`, each one-sided test and the test of no difference at
/// `alpha`.
///
/// # Errors
/// For a margin, a standard error or degrees of freedom that are not above zero, and for a level
/// outside (0, ½).
pub fn equivalence(
    difference: &Difference,
    margin: f64,
    alpha: f64,
) -> Result<Equivalence, EquivalenceError> {
    if !(margin > 0.0 && margin.is_finite()) {
        return Err(EquivalenceError::Margin(margin));
    }
    let difference_p = difference.alone()?;
    let Difference {
        value,
        standard_error,
        df,
    } = *difference;
    let half = standard_error * t_critical(2.0 * alpha, df)?;
    let (low, high) = (value - half, value + half);
    let above = one_sided((margin + value) / standard_error, df)?;
    let below = one_sided((margin - value) / standard_error, df)?;
    let different = difference_p < alpha;
    let verdict = if -margin < low && high < margin {
        Verdict::Equivalent { different }
    } else if different {
        Verdict::Different {
            beyond: margin < low || high < -margin,
        }
    } else {
        Verdict::Undecided
    };
    Ok(Equivalence {
        low,
        high,
        p: above.max(below),
        difference_p,
        verdict,
    })
}

/// Probability of a t at least as large as this one.
fn one_sided(t: f64, df: f64) -> Result<f64, DistributionError> {
    let half = 0.5 * t_two_sided(t, df)?;
    Ok(if t >= 0.0 { half } else { 1.0 - half })
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn difference(value: f64, standard_error: f64, df: f64) -> Difference {
        Difference {
            value,
            standard_error,
            df,
        }
    }

    #[test]
    fn a_difference_of_one_degree_of_freedom_is_judged_by_the_closed_form() {
        // With 1 degree of freedom P(T > t) = ½ − atan(t)/π, and t at 0.05 on one side is
        // tan(0.45 π) = 6.3138.
        let found = equivalence(&difference(1.0, 0.5, 1.0), 4.0, 0.05).unwrap();
        let pi = std::f64::consts::PI;
        let half = 0.5 * (0.45 * pi).tan();
        assert!((found.low - (1.0 - half)).abs() < 1e-12);
        assert!((found.high - (1.0 + half)).abs() < 1e-12);
        assert!((found.p - (0.5 - 6.0_f64.atan() / pi)).abs() < 1e-14);
        assert_eq!(found.verdict, Verdict::Undecided);
    }

    #[test]
    fn each_verdict_has_its_case() {
        let verdict = |value: f64, se: f64| {
            let found = equivalence(&difference(value, se, 20.0), 1.0, 0.05).unwrap();
            found.verdict
        };
        assert_eq!(verdict(0.1, 0.3), Verdict::Equivalent { different: false });
        assert_eq!(verdict(0.5, 0.1), Verdict::Equivalent { different: true });
        assert_eq!(verdict(1.2, 0.3), Verdict::Different { beyond: false });
        assert_eq!(verdict(-3.0, 0.3), Verdict::Different { beyond: true });
        assert_eq!(verdict(0.5, 0.6), Verdict::Undecided);
    }

    #[test]
    fn no_margin_and_no_error_are_refused() {
        let given = difference(0.1, 0.2, 8.0);
        assert_eq!(
            equivalence(&given, 0.0, 0.05),
            Err(EquivalenceError::Margin(0.0))
        );
        assert!(equivalence(&given, f64::NAN, 0.05).is_err());
        assert!(equivalence(&difference(0.1, 0.0, 8.0), 1.0, 0.05).is_err());
    }

    proptest! {
        #[test]
        fn equivalence_is_the_interval_inside_the_margin_and_both_tests(
            value in -3.0..3.0_f64,
            se in 0.01..2.0_f64,
            df in 1.0..60.0_f64,
            margin in 0.1..4.0_f64,
        ) {
            let found = equivalence(&difference(value, se, df), margin, 0.05).unwrap();
            let inside = matches!(found.verdict, Verdict::Equivalent { .. });
            // At the very edge rounding may tip either side.
            prop_assume!((found.p - 0.05).abs() > 1e-9);
            prop_assert_eq!(inside, found.p < 0.05);
        }

        #[test]
        fn it_does_not_matter_which_treatment_is_the_control(
            value in -3.0..3.0_f64, se in 0.01..2.0_f64, df in 1.0..60.0_f64,
        ) {
            let one = equivalence(&difference(value, se, df), 1.0, 0.05).unwrap();
            let other = equivalence(&difference(-value, se, df), 1.0, 0.05).unwrap();
            prop_assert_eq!(one.verdict, other.verdict);
            prop_assert_eq!(one.p, other.p);
        }
    }
}
