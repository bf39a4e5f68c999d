//! Vineyard row and position as covariates beside treatments and blocks.
//!
//! y = treatment + block + larger units + Σ slope × covariate + error, with blocks fixed, so that only
//! what they do not take up is tested, and larger units random: the slope of a split-plot trial is
//! judged with both errors, by restricted maximum likelihood and the F of Kenward & Roger (1997,
//! *Biometrics* 53:983). With a single error that is least squares and its usual F.

use std::ops::Range;

use nalgebra::DMatrix;

use super::SpatialError;
use super::ground::{Basis, Ground, matrix};
use crate::mixed::kenward_roger::{self, Estimate, FTest, Order};
use crate::mixed::{Fit, Problem, Residual, Settings, fit};

/// A covariate with its place among the columns of the fit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Covariate {
    /// In the fit, at this place among the covariates that are.
    Fitted(usize),
    /// Left out: it follows from treatments, blocks and the covariates before it.
    Aliased,
}

/// A fit of treatments, blocks and covariates.
#[derive(Debug, Clone)]
pub struct Surface {
    fit: Fit,
    adjusted: DMatrix<f64>,
    treatments: usize,
    /// Columns of treatments and blocks.
    ground: usize,
    covariates: Vec<Covariate>,
    random: usize,
}

impl Surface {
    /// Fits one value a plot; covariates are centred here.
    ///
    /// # Errors
    /// [`SpatialError`] where nothing is left for an error or the fit fails.
    ///
    /// # Panics
    /// Where values or a covariate have not one entry for every plot.
    pub fn new(
        ground: &Ground,
        values: &[f64],
        covariates: &[&[f64]],
    ) -> Result<Self, SpatialError> {
        let mut columns = ground.columns();
        let mut basis = Basis::default();
        for column in &columns {
            basis.take(column);
        }
        let before = columns.len();
        let mut found = Vec::new();
        for covariate in covariates {
            assert_eq!(covariate.len(), values.len(), "a value for every plot");
            let mean = covariate.iter().sum::<f64>() / covariate.len().max(1) as f64;
            let centred: Vec<f64> = covariate.iter().map(|value| value - mean).collect();
            found.push(match basis.take(&centred) {
                true => {
                    columns.push(centred);
                    Covariate::Fitted(columns.len() - 1 - before)
                }
                false => Covariate::Aliased,
            });
        }
        let problem = Problem {
            values: values.to_vec(),
            fixed: matrix(&columns),
            random: ground.larger.clone(),
            residual: Residual::independent(values.len()),
        };
        let fit = fit(&problem, Settings::default())?;
        Ok(Self {
            adjusted: kenward_roger::adjusted_covariance(&fit, Order::First),
            fit,
            treatments: ground.treatments(),
            ground: before,
            covariates: found,
            random: ground.larger.len(),
        })
    }

    /// The covariates, in the order given.
    #[must_use]
    pub fn covariates(&self) -> &[Covariate] {
        &self.covariates
    }

    /// The slope of a covariate; `None` where it is aliased.
    #[must_use]
    pub fn slope(&self, covariate: usize) -> Option<Estimate> {
        let mut contrast = vec![0.0; self.fit.beta.len()];
        contrast[self.column(covariate)?] = 1.0;
        kenward_roger::estimate(&self.fit, &self.adjusted, &contrast).ok()
    }

    /// F of some covariates together, beside all others; `None` where all are aliased.
    #[must_use]
    pub fn test(&self, covariates: Range<usize>) -> Option<FTest> {
        let columns: Vec<usize> = covariates.filter_map(|at| self.column(at)).collect();
        let width = self.fit.beta.len();
        let rows = DMatrix::from_fn(columns.len(), width, |row, c| f64::from(c == columns[row]));
        kenward_roger::test(&self.fit, &self.adjusted, &rows).ok()
    }

    fn column(&self, covariate: usize) -> Option<usize> {
        match self.covariates.get(covariate)? {
            Covariate::Fitted(at) => Some(self.ground + at),
            Covariate::Aliased => None,
        }
    }

    /// The difference of two sets of weights of the treatments, at equal places.
    #[must_use]
    pub fn difference(&self, first: &[f64], second: &[f64]) -> Option<Estimate> {
        let contrast = self.contrast(first, second);
        kenward_roger::estimate(&self.fit, &self.adjusted, &contrast).ok()
    }

    /// F of the differences between several sets of weights of the treatments.
    #[must_use]
    pub fn differences(&self, means: &[Vec<f64>]) -> Option<FTest> {
        let (base, others) = means.split_first()?;
        let rows: Vec<Vec<f64>> = others.iter().map(|one| self.contrast(base, one)).collect();
        let width = self.fit.beta.len();
        let rows = DMatrix::from_fn(rows.len(), width, |row, column| rows[row][column]);
        kenward_roger::test(&self.fit, &self.adjusted, &rows).ok()
    }

    /// Values less the means of their treatments, adjusted to equal blocks and places, about zero: what
    /// blocks and the field did to the plots.
    ///
    /// # Panics
    /// Where values have not one entry for every plot.
    #[must_use]
    pub fn without_treatments(&self, ground: &Ground, values: &[f64]) -> Vec<f64> {
        let of_plot = ground.combinations.of_unit();
        assert_eq!(of_plot.len(), values.len(), "a value for every plot");
        let left: Vec<f64> = of_plot
            .iter()
            .zip(values)
            .map(|(&treatment, value)| value - self.fit.beta[treatment])
            .collect();
        let mean = left.iter().sum::<f64>() / left.len().max(1) as f64;
        left.iter().map(|value| value - mean).collect()
    }

    fn contrast(&self, first: &[f64], second: &[f64]) -> Vec<f64> {
        let mut contrast = vec![0.0; self.fit.beta.len()];
        let pairs = first.iter().zip(second).take(self.treatments);
        for (entry, (a, b)) in contrast.iter_mut().zip(pairs) {
            *entry = b - a;
        }
        contrast
    }

    /// Variance of a plot about treatments, blocks, larger units and covariates.
    #[must_use]
    pub fn error_variance(&self) -> f64 {
        self.fit.theta[self.random]
    }
}
