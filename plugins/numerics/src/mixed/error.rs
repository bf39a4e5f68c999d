//! The covariance of the errors at given parameters: over the seasons of a plot, and in groups of
//! plots with variances of their own.
//!
//! In group g the covariance over seasons is λ_g Σ(θ), λ of the first group being 1: correlations
//! are the same everywhere, standard deviations have a ratio √λ_g. λ enters every covariance as a
//! factor, so its derivative is Σ in its own group and nothing elsewhere.

use nalgebra::DMatrix;

use super::matrices::{Pattern, Prepared};
use super::season::Covariance;

/// The errors at given parameters.
pub(crate) struct ErrorAt {
    pub(crate) over: Covariance,
    /// λ of each group.
    pub(crate) scales: Vec<f64>,
}

impl ErrorAt {
    /// Whether the covariance is not linear in its parameters.
    pub(crate) fn bent(&self) -> bool {
        !self.over.second.is_empty() || self.scales.len() > 1
    }
}

impl Prepared {
    /// The errors at these parameters; `None` where they are no covariance.
    pub(crate) fn error_at(&self, theta: &[f64]) -> Option<ErrorAt> {
        let of_groups = theta.len() - (self.groups - 1);
        let over = self
            .structure
            .covariance(&theta[self.random..of_groups], &self.times)?;
        let scales: Vec<f64> = std::iter::once(1.0)
            .chain(theta[of_groups..].iter().copied())
            .collect();
        scales
            .iter()
            .all(|scale| *scale > 0.0)
            .then_some(ErrorAt { over, scales })
    }

    /// Derivatives of the covariance of a pattern by each parameter of the errors.
    pub(crate) fn first_of(&self, pattern: &Pattern, error: &ErrorAt) -> Vec<DMatrix<f64>> {
        let by_seasons = error.over.first.iter();
        let by_groups = (1..self.groups).map(|group| pattern.inside(group, &error.over.value));
        by_seasons
            .map(|over| pattern.scaled(over, &error.scales))
            .chain(by_groups)
            .collect()
    }

    /// Second derivatives that are not zero, by pairs of parameters of the problem, the smaller first.
    pub(crate) fn second_of(
        &self,
        pattern: &Pattern,
        error: &ErrorAt,
    ) -> Vec<(usize, usize, DMatrix<f64>)> {
        let start = self.random;
        let of_groups = start + error.over.first.len();
        let mut all: Vec<(usize, usize, DMatrix<f64>)> = error
            .over
            .second
            .iter()
            .map(|(a, b, over)| (start + a, start + b, pattern.scaled(over, &error.scales)))
            .collect();
        for group in 1..self.groups {
            for (at, over) in error.over.first.iter().enumerate() {
                let matrix = pattern.inside(group, over);
                all.push((start + at, of_groups + group - 1, matrix));
            }
        }
        all
    }
}

impl Pattern {
    /// The covariance of the errors of this pattern.
    pub(crate) fn spread(&self, error: &ErrorAt) -> DMatrix<f64> {
        self.scaled(&error.over.value, &error.scales)
    }

    /// A matrix over seasons set out over the values, times the number of each group.
    fn scaled(&self, over: &DMatrix<f64>, scales: &[f64]) -> DMatrix<f64> {
        self.set_out(|i, j| over[(self.season[i], self.season[j])] * scales[self.group[i]])
    }

    /// A matrix over seasons set out over the values of one group.
    fn inside(&self, group: usize, over: &DMatrix<f64>) -> DMatrix<f64> {
        self.set_out(|i, j| match self.group[i] == group {
            true => over[(self.season[i], self.season[j])],
            false => 0.0,
        })
    }

    fn set_out(&self, entry: impl Fn(usize, usize) -> f64) -> DMatrix<f64> {
        DMatrix::from_fn(self.size, self.size, |i, j| {
            match self.plot[i] == self.plot[j] {
                true => entry(i, j),
                false => 0.0,
            }
        })
    }
}
