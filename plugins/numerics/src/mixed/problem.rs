//! A problem as it is stated: values, fixed part, random terms and the plots with their seasons.

use std::collections::{BTreeMap, BTreeSet};

use nalgebra::{DMatrix, DVector};

use super::MixedError;
use super::season::Structure;

/// A random term: the level of each value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RandomTerm {
    /// Name in words.
    pub name: String,
    /// Level of each value, counted from 0.
    pub codes: Vec<usize>,
}

/// The error: plots with their seasons.
#[derive(Debug, Clone, PartialEq)]
pub struct Residual {
    /// Form of the covariance over seasons.
    pub structure: Structure,
    /// Plot of each value, counted from 0.
    pub plot: Vec<usize>,
    /// Season of each value, an index into `times`.
    pub season: Vec<usize>,
    /// Time of each season.
    pub times: Vec<f64>,
    /// Group of each value, counted from 0, where groups of plots have error variances of their own:
    /// the covariance over seasons is multiplied by one number in each. Empty for one group.
    pub group: Vec<usize>,
}

impl Residual {
    /// One independent error for each of `values` values.
    #[must_use]
    pub fn independent(values: usize) -> Self {
        Self {
            structure: Structure::Independent,
            plot: (0..values).collect(),
            season: vec![0; values],
            times: vec![0.0],
            group: Vec::new(),
        }
    }

    /// Number of groups with error variances of their own.
    #[must_use]
    pub fn groups(&self) -> usize {
        levels_of(&self.group).max(1)
    }
}

/// Everything a fit needs.
#[derive(Debug, Clone, PartialEq)]
pub struct Problem {
    /// The response, centred.
    pub values: Vec<f64>,
    /// Fixed effects, one row a value; of full column rank.
    pub fixed: DMatrix<f64>,
    /// Random terms.
    pub random: Vec<RandomTerm>,
    /// The error.
    pub residual: Residual,
}

impl Problem {
    /// Refuses parts of unequal length, values that are not numbers, dependent columns and plots that
    /// have a season twice.
    pub(crate) fn check(&self) -> Result<(), MixedError> {
        let values = self.values.len();
        let same = |what: &str, got: usize| match got == values {
            true => Ok(()),
            false => Err(MixedError::Length {
                what: what.to_owned(),
                got,
                wanted: values,
            }),
        };
        same("the fixed part", self.fixed.nrows())?;
        same("the column of plots", self.residual.plot.len())?;
        same("the column of seasons", self.residual.season.len())?;
        for term in &self.random {
            same(&term.name, term.codes.len())?;
        }
        if !self.residual.group.is_empty() {
            same("the column of groups", self.residual.group.len())?;
            let mut of_plot = BTreeMap::new();
            for (plot, group) in self.residual.plot.iter().zip(&self.residual.group) {
                if of_plot
                    .insert(plot, group)
                    .is_some_and(|other| other != group)
                {
                    return Err(MixedError::TwoGroups);
                }
            }
        }
        let numbers = self.values.iter().chain(self.fixed.iter());
        if !numbers.into_iter().all(|value| value.is_finite()) {
            return Err(MixedError::NotANumber);
        }
        if values <= self.fixed.ncols() {
            return Err(MixedError::TooFew {
                values,
                effects: self.fixed.ncols(),
            });
        }
        let mut met = BTreeSet::new();
        let pairs = self.residual.plot.iter().zip(&self.residual.season);
        if !pairs.into_iter().all(|pair| met.insert(pair)) {
            return Err(MixedError::Twice);
        }
        first_dependent_column(&self.fixed)
            .map_or(Ok(()), |column| Err(MixedError::Aliased { column }))
    }
}

/// Number of levels, the largest code plus one.
pub(crate) fn levels_of(codes: &[usize]) -> usize {
    codes.iter().max().map_or(0, |most| most + 1)
}

/// The first column that is a combination of those before it, by orthogonalisation: what is left of
/// it is below 10⁻⁷ of its length.
#[must_use]
pub fn first_dependent_column(matrix: &DMatrix<f64>) -> Option<usize> {
    let mut basis: Vec<DVector<f64>> = Vec::new();
    for (at, column) in matrix.column_iter().enumerate() {
        let length = column.norm();
        let mut left = column.into_owned();
        for _ in 0..2 {
            for direction in &basis {
                let along = direction.dot(&left);
                left.axpy(-along, direction, 1.0);
            }
        }
        let remains = left.norm();
        if remains.is_nan() || remains <= 1e-7 * length {
            return Some(at);
        }
        basis.push(left / remains);
    }
    None
}
