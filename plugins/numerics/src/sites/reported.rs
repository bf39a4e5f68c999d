//! The standard error of a difference between two means from what a published table gives.
//!
//! For means of n plots each with error variance s² (Snedecor & Cochran 1989, *Statistical Methods*,
//! 8th edition, chapters 6 and 12): SED = √2·SE = √(2s²/n); LSD = t·SED with the error's degrees of
//! freedom; the coefficient of variation is s over the mean of the trial.
//!
//! Refused: sizes that are not above zero.

use super::SitesError;
use crate::distribution::t_critical;

/// How a table reports its error.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Reported {
    /// Standard errors of the two means.
    OfMeans(f64, f64),
    /// The standard error of their difference.
    OfDifference(f64),
    /// The least significant difference at a level.
    LeastSignificant {
        /// The difference.
        value: f64,
        /// The level, as 0.05.
        level: f64,
        /// Degrees of freedom of the error.
        df: f64,
    },
    /// A coefficient of variation.
    Variation {
        /// Standard deviation of plots over the mean, as a share.
        share: f64,
        /// Mean of the trial.
        mean: f64,
        /// Plots of each mean.
        plots: f64,
    },
}

/// Standard error of a difference between two means.
///
/// # Errors
/// [`SitesError::Reported`] for a size that is not above zero.
pub fn difference_error(reported: &Reported) -> Result<f64, SitesError> {
    let above = |size: f64| match size > 0.0 && size.is_finite() {
        true => Ok(size),
        false => Err(SitesError::Reported(size)),
    };
    Ok(match *reported {
        Reported::OfMeans(one, other) => above(one)?.hypot(above(other)?),
        Reported::OfDifference(error) => above(error)?,
        Reported::LeastSignificant { value, level, df } => above(value)? / t_critical(level, df)?,
        Reported::Variation { share, mean, plots } => {
            above(share)? * above(mean.abs())? * (2.0 / above(plots)?).sqrt()
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_way_to_report_an_error_gives_the_same_one() {
        // s = 0.6 on 12 degrees of freedom, 5 plots a mean, mean of the trial 4.
        let sed = 0.6 * (2.0_f64 / 5.0).sqrt();
        let se = 0.6 / 5.0_f64.sqrt();
        let lsd = t_critical(0.05, 12.0).unwrap() * sed;
        for reported in [
            Reported::OfMeans(se, se),
            Reported::OfDifference(sed),
            Reported::LeastSignificant {
                value: lsd,
                level: 0.05,
                df: 12.0,
            },
            Reported::Variation {
                share: 0.15,
                mean: 4.0,
                plots: 5.0,
            },
        ] {
            let found = difference_error(&reported).unwrap();
            assert!((found - sed).abs() < 1e-15, "{reported:?}");
        }
        let wrong = difference_error(&Reported::OfDifference(0.0));
        assert_eq!(wrong, Err(SitesError::Reported(0.0)));
    }
}
