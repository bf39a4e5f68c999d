//! A maximum by itself, for comparing covariances.

use super::matrices::Prepared;
use super::optimise::Found;
use super::season::Parameter;

/// The maximum of the restricted likelihood of a problem.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    /// What each variance parameter means.
    pub parameters: Vec<Parameter>,
    /// Estimates of the variance parameters.
    pub theta: Vec<f64>,
    /// −2 log restricted likelihood.
    pub deviance: f64,
    /// Number of values.
    pub values: usize,
    /// Number of fixed effects.
    pub effects: usize,
}

impl Candidate {
    pub(crate) fn of(prepared: &Prepared, found: Found) -> Self {
        Self {
            parameters: prepared.parameters.clone(),
            theta: found.at.theta,
            deviance: found.at.deviance,
            values: prepared.values,
            effects: prepared.effects,
        }
    }

    /// The estimate of a parameter.
    #[must_use]
    pub fn estimate(&self, parameter: Parameter) -> Option<f64> {
        let at = self.parameters.iter().position(|p| *p == parameter)?;
        Some(self.theta[at])
    }
}
