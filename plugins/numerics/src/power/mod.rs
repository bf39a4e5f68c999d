//! The power of a planned trial: how likely each term's test is to find effects of a given size.
//!
//! A [`Plan`] is a layout, the values its units are expected to have, and the variance that one unit
//! of each stratum adds. For an orthogonal layout the F of a term is noncentral with
//! λ = Σ(effects)²/ξ, ξ the expected mean square of its stratum (Scheffé 1959, *The Analysis of
//! Variance*, 2.8): [`by_noncentral_f`] is exact. [`simulated`] draws whole trials and analyses each,
//! and so serves any analysis; [`by_simulation`] does so with the two analyses of [`Analysis`].
//!
//! Refused: lengths that do not fit the layout, variances that are negative, an error stratum
//! without variance or degrees of freedom, a level outside (0, 1).

mod detectable;
mod lasting;
mod losses;
mod simulate;
mod squares;

use crate::distribution::{DistributionError, f_quantile};
use crate::noncentral::noncentral_f_upper;
use crate::strata::Layout;

pub use detectable::noncentrality_for;
pub use lasting::Lasting;
pub use losses::{Lossy, Vines, with_losses};
pub use simulate::{Analysis, Settings, Simulated, by_simulation, simulated};

/// A trial as planned.
#[derive(Debug, Clone, Copy)]
pub struct Plan<'a> {
    /// The layout.
    pub layout: &'a Layout,
    /// Expected value of each unit, in the unit of the response.
    pub expected: &'a [f64],
    /// Variance that one unit of each stratum adds to a value, coarse to fine, in the squared unit of
    /// the response.
    pub variances: &'a [f64],
}

/// Why there is no power.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PowerError {
    /// Occurs when a list does not have one entry for each unit or stratum.
    #[error("{got} {what} given for {wanted}")]
    Length {
        /// What is listed.
        what: &'static str,
        /// Entries given.
        got: usize,
        /// Entries needed.
        wanted: usize,
    },
    /// Occurs when an expected value is not a number.
    #[error("the expected value of unit {0} (counted from 0) is not a number")]
    Expected(usize),
    /// Occurs when a variance is negative or not a number.
    #[error("a variance of {variance} was given for '{stratum}'; it must be 0 or more")]
    Variance {
        /// The stratum.
        stratum: String,
        /// The variance.
        variance: f64,
    },
    /// Occurs when a term would be tested against an error that is exactly 0.
    #[error(
        "'{0}' has no variance: every test against it is certain; give the variance of its units"
    )]
    NoVariance(String),
    /// Occurs when a term would be tested against an error without degrees of freedom.
    #[error("'{0}' leaves no degrees of freedom for error; more replicates are needed")]
    NoError(String),
    /// Occurs when the strata of a design are not nested in each other, where an analysis needs that.
    #[error(
        "'{0}' is not nested in the stratum before it, as the restricted likelihood in closed form needs"
    )]
    NotNested(String),
    /// Occurs when no trial is to be drawn.
    #[error("no trial is to be drawn; ask for at least one")]
    NoDraws,
    /// Occurs when a power is wanted that a test has without any effect.
    #[error("a power of {power} is not above the level of {level}; ask for more, such as 0.8")]
    NotAbove {
        /// Power.
        power: f64,
        /// Level of the test.
        level: f64,
    },
    /// Occurs when the level is not a probability, or a noncentrality is too large.
    #[error(transparent)]
    Distribution(#[from] DistributionError),
}

/// The power of one term's test.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TermPower {
    /// Noncentrality λ.
    pub noncentrality: f64,
    /// Degrees of freedom of the term.
    pub df: usize,
    /// Degrees of freedom of its error.
    pub error_df: usize,
    /// The F from which on the test rejects.
    pub critical: f64,
    /// Probability that it does.
    pub power: f64,
}

impl Plan<'_> {
    /// Expected mean square of each stratum: what its own units and those inside them add.
    #[must_use]
    pub fn expected_mean_squares(&self) -> Vec<f64> {
        let strata = self.layout.strata();
        let units = self.layout.units() as f64;
        strata
            .iter()
            .map(|stratum| {
                strata
                    .iter()
                    .zip(self.variances)
                    .filter(|(inner, _)| inner.cells.refines(&stratum.cells))
                    .map(|(inner, variance)| variance * units / inner.cells.count() as f64)
                    .sum()
            })
            .collect()
    }

    /// Refuses what no trial can have.
    fn check(&self) -> Result<(), PowerError> {
        let strata = self.layout.strata();
        let lists = [
            ("expected values", self.expected.len(), self.layout.units()),
            ("variances", self.variances.len(), strata.len()),
        ];
        for (what, got, wanted) in lists {
            if got != wanted {
                return Err(PowerError::Length { what, got, wanted });
            }
        }
        if let Some(unit) = self.expected.iter().position(|value| !value.is_finite()) {
            return Err(PowerError::Expected(unit));
        }
        for (stratum, &variance) in strata.iter().zip(self.variances) {
            if !(0.0..f64::INFINITY).contains(&variance) {
                return Err(PowerError::Variance {
                    stratum: stratum.name.clone(),
                    variance,
                });
            }
        }
        let expected = self.expected_mean_squares();
        for term in self.layout.terms() {
            let stratum = &strata[term.stratum];
            if stratum.residual_df == 0 {
                return Err(PowerError::NoError(stratum.name.clone()));
            }
            if expected[term.stratum] <= 0.0 {
                return Err(PowerError::NoVariance(stratum.name.clone()));
            }
        }
        Ok(())
    }

    /// The F from which on each term's test rejects at this level.
    fn critical(&self, level: f64) -> Result<Vec<f64>, PowerError> {
        let strata = self.layout.strata();
        self.layout
            .terms()
            .iter()
            .map(|term| {
                let error = strata[term.stratum].residual_df as f64;
                Ok(f_quantile(level, term.df as f64, error)?)
            })
            .collect()
    }
}

/// The power of every term's test at this level, exactly.
///
/// # Errors
/// See [`PowerError`].
pub fn by_noncentral_f(plan: Plan<'_>, level: f64) -> Result<Vec<TermPower>, PowerError> {
    plan.check()?;
    let mean_squares = plan.expected_mean_squares();
    let swept = plan.layout.sweep(plan.expected);
    let critical = plan.critical(level)?;
    plan.layout
        .terms()
        .iter()
        .zip(&swept.terms)
        .zip(critical)
        .map(|((term, effects), critical)| {
            let error_df = plan.layout.strata()[term.stratum].residual_df;
            let noncentrality = term.cells.sum_of_squares(effects) / mean_squares[term.stratum];
            Ok(TermPower {
                noncentrality,
                df: term.df,
                error_df,
                critical,
                power: noncentral_f_upper(
                    critical,
                    term.df as f64,
                    error_df as f64,
                    noncentrality,
                )?,
            })
        })
        .collect()
}
