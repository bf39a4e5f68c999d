//! The incomplete or unequally weighted design with one error: least squares with a mean for every
//! combination of treatments and an effect for every block, row and column.
//!
//! The normal equations are never formed: with √W X = U D V', a combination L of the coefficients is
//! the plot values times L V D⁻¹ U'√W and has variance L V D⁻² V'L' times the error mean square; it is
//! estimable where L V V' = L.

use nalgebra::{DMatrix, DVector, RowDVector};

use crate::cells::Cells;
use crate::design::Sheet;
use crate::sum::dot;

use super::{Compared, ContrastError, groupings};

/// A singular value below this share of the largest is none.
const RANK: f64 = 1e-9;
/// How far a combination may be from estimable and still be rounding.
const ESTIMABLE: f64 = 1e-8;

#[derive(Debug, Clone)]
pub(super) struct Fit {
    /// Combination of each plot.
    combinations: Cells,
    /// Levels of each grouping, in the order of the columns behind the combinations.
    groups: Vec<usize>,
    roots: Vec<f64>,
    weighted: bool,
    left: DMatrix<f64>,
    right: DMatrix<f64>,
    sizes: Vec<f64>,
}

impl Fit {
    pub(super) fn new(sheet: &Sheet, weights: Option<&[f64]>) -> Result<Self, ContrastError> {
        let units = sheet.plot.codes.len();
        let combinations = sheet.combinations();
        let groupings = groupings(sheet);
        let roots: Vec<f64> = match weights {
            Some(weights) => weights.iter().map(|weight| weight.sqrt()).collect(),
            None => vec![1.0; units],
        };
        let mut codes = vec![(combinations.of_unit(), combinations.count())];
        codes.extend(
            groupings
                .iter()
                .map(|g| (g.codes.as_slice(), g.levels.len())),
        );
        let columns = codes.iter().map(|(_, count)| count).sum();
        let mut design = DMatrix::zeros(units, columns);
        let mut start = 0;
        for (codes, count) in codes {
            for (unit, &code) in codes.iter().enumerate() {
                design[(unit, start + code)] = roots[unit];
            }
            start += count;
        }
        let svd = design.svd(true, true);
        // Both halves were asked for, so both are there; a decomposition without them has no rank.
        let (Some(left), Some(right)) = (svd.u, svd.v_t) else {
            return Err(ContrastError::NotConnected);
        };
        let largest = svd.singular_values.max();
        let kept: Vec<usize> = (0..svd.singular_values.len())
            .filter(|&at| svd.singular_values[at] > RANK * largest)
            .collect();
        Ok(Self {
            groups: groupings.iter().map(|g| g.levels.len()).collect(),
            combinations,
            roots,
            weighted: weights.is_some(),
            left: left.select_columns(&kept),
            right: right.select_rows(&kept),
            sizes: kept.iter().map(|&at| svd.singular_values[at]).collect(),
        })
    }

    pub(super) fn weighted(&self) -> bool {
        self.weighted
    }

    /// Degrees of freedom and mean products of what is left over.
    pub(super) fn error(&self, responses: &[&[f64]]) -> (usize, Vec<Vec<f64>>) {
        let df = self.roots.len() - self.sizes.len();
        let left: Vec<Vec<f64>> = responses
            .iter()
            .map(|values| self.residual(values))
            .collect();
        let product = |a: &Vec<f64>, b: &Vec<f64>| {
            if df == 0 { 0.0 } else { dot(a, b) / df as f64 }
        };
        let products = left
            .iter()
            .map(|a| left.iter().map(|b| product(a, b)).collect())
            .collect();
        (df, products)
    }

    /// Weighted residuals, projected twice so that they keep their digits.
    fn residual(&self, values: &[f64]) -> Vec<f64> {
        let scaled = values
            .iter()
            .zip(&self.roots)
            .map(|(value, root)| value * root);
        let mut left = DVector::from_iterator(values.len(), scaled);
        for _ in 0..2 {
            let fitted = &self.left * self.left.tr_mul(&left);
            left -= fitted;
        }
        left.iter().copied().collect()
    }

    pub(super) fn difference(
        &self,
        compared: &Compared,
        first: usize,
        second: usize,
    ) -> Result<(Vec<f64>, Vec<f64>), ContrastError> {
        self.functional(&(self.margin(compared, first) - self.margin(compared, second)))
    }

    pub(super) fn mean(
        &self,
        compared: &Compared,
        treatment: usize,
    ) -> Result<(Vec<f64>, Vec<f64>), ContrastError> {
        let mut wanted = self.margin(compared, treatment);
        let mut start = self.combinations.count();
        for &levels in &self.groups {
            for at in start..start + levels {
                wanted[at] = 1.0 / levels as f64;
            }
            start += levels;
        }
        self.functional(&wanted)
    }

    /// Sum of squares of a factor's levels beside everything else, its degrees of freedom, and the
    /// place of the only error.
    pub(super) fn treatment(
        &self,
        compared: &Compared,
        values: &[f64],
    ) -> Option<(f64, usize, usize)> {
        let df = compared.levels.len().checked_sub(1).filter(|df| *df > 0)?;
        let base = self.margin(compared, 0);
        let mut shapes = DMatrix::zeros(df, self.sizes.len());
        let mut found = DVector::zeros(df);
        for row in 0..df {
            let wanted = self.margin(compared, row + 1) - &base;
            let (weights, _) = self.functional(&wanted).ok()?;
            found[row] = dot(&weights, values);
            shapes.set_row(row, &self.shape(&wanted));
        }
        let variance = &shapes * shapes.transpose();
        let solved = variance.cholesky()?.solve(&found);
        Some((found.dot(&solved), df, 0))
    }

    /// The mean of the combinations of a treatment, each counting once.
    fn margin(&self, compared: &Compared, treatment: usize) -> RowDVector<f64> {
        let width = self.combinations.count() + self.groups.iter().sum::<usize>();
        let mut wanted = RowDVector::zeros(width);
        let inside: Vec<usize> = (0..self.combinations.count())
            .filter(|&at| {
                let unit = self.combinations.first()[at];
                compared.cells.of_unit()[unit] == treatment
            })
            .collect();
        for &at in &inside {
            wanted[at] = 1.0 / inside.len() as f64;
        }
        wanted
    }

    /// L V D⁻¹.
    fn shape(&self, wanted: &RowDVector<f64>) -> RowDVector<f64> {
        let mut shape = wanted * self.right.transpose();
        for (value, size) in shape.iter_mut().zip(&self.sizes) {
            *value /= size;
        }
        shape
    }

    fn functional(&self, wanted: &RowDVector<f64>) -> Result<(Vec<f64>, Vec<f64>), ContrastError> {
        let seen = wanted * self.right.transpose() * &self.right;
        if (seen - wanted).amax() > ESTIMABLE {
            return Err(ContrastError::NotConnected);
        }
        let shape = self.shape(wanted);
        let weights = (&shape * self.left.transpose())
            .iter()
            .zip(&self.roots)
            .map(|(weight, root)| weight * root)
            .collect();
        Ok((weights, vec![shape.norm_squared()]))
    }
}
