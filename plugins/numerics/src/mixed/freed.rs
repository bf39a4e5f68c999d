//! From a fit with variances held at zero to one that lets them be negative.
//!
//! Held at zero, a variance that belongs below it makes tests lose their level. In 10,000 simulated
//! trials a cell without any difference (the workspace's crate `caneplot-calibration`, part `null`)
//! tests at 5 % of whole plots, or of treatments over seasons, rejected in 3.6–4.9 % with usual errors
//! and in 0.7–0.9 % where whole plots were alike, those of sub plots and interactions in up to 6.1 %:
//! the smaller mean square of the larger units is pooled with that inside them, in just those trials in
//! which it is small. Leaving the variance out of the degrees of freedom as well made 2.8–6.3 %. Free to
//! be negative it left every test 4.8–5.6 %, and on complete data this is the analysis of variance by
//! strata. So a component below zero is no variance to report as such, but the right thing for tests,
//! differences and their intervals.
//!
//! There need not be a maximum: where only one group of values is as large as the largest, the fixed
//! effects take up what tells its variance, and the likelihood can rise until the covariance is
//! singular. Then the fit held at zero is all there is.

use super::optimise::{Settings, best};
use super::problem::Problem;
use super::season::{Parameter, Structure};
use super::start::starts;
use super::{Fit, MixedError, assemble};

/// Whether every parameter of the covariance enters it as a factor, so that negative ones have a
/// meaning: forms without correlation or with one for all seasons, and the unstructured one, with one
/// error for all plots.
#[must_use]
pub fn linear(problem: &Problem) -> bool {
    let residual = &problem.residual;
    let form = matches!(
        residual.structure,
        Structure::Independent | Structure::Symmetric | Structure::Unstructured
    );
    form && residual.groups() < 2
}

/// The fit with variances of random terms free to be negative; that which is held, where nothing is at
/// zero or the covariance is not [`linear`].
///
/// # Errors
/// [`MixedError::NotConverged`] where the likelihood has no certified maximum there.
pub fn freed(problem: &Problem, held: &Fit, settings: Settings) -> Result<Fit, MixedError> {
    let zeros = &held.certificate.at_zero;
    if zeros.is_empty() || !linear(problem) {
        return Ok(held.clone());
    }
    let settings = Settings {
        negative: true,
        ..settings
    };
    let prepared = problem.prepare(true)?;
    let mut places = starts(problem, &prepared, settings)?;
    // The held maximum is a covariance matrix, which a place with negative components need not be.
    places.push(held.theta.clone());
    let found = best(&prepared, places, settings)?;
    assemble::fit(problem, &prepared, found, settings)
}

impl Fit {
    /// Places of the random terms and plots whose variance is below zero.
    #[must_use]
    pub fn below_zero(&self) -> Vec<usize> {
        (0..self.theta.len())
            .filter(|&at| {
                let variance =
                    matches!(self.parameters[at], Parameter::Random(_) | Parameter::Plot);
                variance && self.theta[at] < 0.0
            })
            .collect()
    }
}
