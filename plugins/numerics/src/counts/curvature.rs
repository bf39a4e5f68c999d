//! The curvature H = I + Σ W_i a_i a_i' of the joint likelihood in the random effects, factored.
//!
//! a_i is the row of a count: one standard deviation for each random term. Where one term has a unit
//! for each count (a plot effect beside blocks), its part of H is diagonal and is eliminated first:
//! with D_i = 1 + σ² W_i, what is left is I + Σ (W_i / D_i) a_i a_i' over the other terms, so that
//! the cost grows with the blocks and not with the counts.

use nalgebra::{Cholesky, DMatrix, DVector, Dyn};

use super::linear::log_determinant;
use super::mode::Places;

/// H factored.
#[derive(Debug, Clone)]
pub(super) struct Curvature {
    /// Factor of what is left when single counts are eliminated.
    rest: Cholesky<f64, Dyn>,
    /// By count, where a term has a unit for each: D_i and σ W_i.
    single: Option<Vec<(f64, f64)>>,
}

impl Curvature {
    /// From the weights W of the counts; `None` where a weight is not finite.
    pub(super) fn new(
        places: &Places,
        sds: &[f64],
        weights: impl Fn(usize) -> f64,
    ) -> Option<Self> {
        let mut rest = DMatrix::identity(places.rest, places.rest);
        let mut single = places
            .single
            .map(|_| Vec::with_capacity(places.columns.len()));
        for (row, columns) in places.columns.iter().enumerate() {
            let mut weight = weights(row);
            if let (Some(term), Some(single)) = (places.single, &mut single) {
                let diagonal = 1.0 + sds[term] * sds[term] * weight;
                single.push((diagonal, sds[term] * weight));
                weight /= diagonal;
            }
            for (a, sd_a) in places.others(columns, sds) {
                for (b, sd_b) in places.others(columns, sds) {
                    rest[(a, b)] += sd_a * sd_b * weight;
                }
            }
        }
        Some(Self {
            rest: Cholesky::new(rest)?,
            single,
        })
    }

    /// ln|H|.
    pub(super) fn log_determinant(&self) -> f64 {
        let single: f64 = self.single.iter().flatten().map(|(d, _)| d.ln()).sum();
        single + log_determinant(&self.rest)
    }

    /// The curvature of one effect, where there is one term only and H is diagonal.
    pub(super) fn diagonal(&self, places: &Places, column: usize) -> f64 {
        match &self.single {
            Some(single) => single[places.row_of_single[column]].0,
            None => self.rest.l_dirty()[(column, column)].powi(2),
        }
    }

    /// H⁻¹ v; random effects of single counts stand last.
    pub(super) fn solve(&self, places: &Places, sds: &[f64], right: &DVector<f64>) -> DVector<f64> {
        let Some(single) = &self.single else {
            return self.rest.solve(right);
        };
        let first = places.rest;
        let mut rest = right.rows(0, first).into_owned();
        for (at, row) in places.row_of_single.iter().enumerate() {
            let (diagonal, coupling) = single[*row];
            for (column, sd) in places.others(&places.columns[*row], sds) {
                rest[column] -= coupling * sd / diagonal * right[first + at];
            }
        }
        let rest = self.rest.solve(&rest);
        let mut all = DVector::zeros(places.size);
        all.rows_mut(0, first).copy_from(&rest);
        for (at, row) in places.row_of_single.iter().enumerate() {
            let (diagonal, coupling) = single[*row];
            let others = places.others(&places.columns[*row], sds);
            let shared: f64 = others.map(|(column, sd)| sd * rest[column]).sum();
            all[first + at] = (right[first + at] - coupling * shared) / diagonal;
        }
        all
    }

    /// H⁻¹ in full.
    pub(super) fn inverse(&self, places: &Places, sds: &[f64]) -> DMatrix<f64> {
        let rest = self.rest.inverse();
        let Some(single) = &self.single else {
            return rest;
        };
        let first = places.rest;
        let mut inverse = DMatrix::zeros(places.size, places.size);
        inverse.view_mut((0, 0), (first, first)).copy_from(&rest);
        let shrunk: Vec<f64> = places
            .row_of_single
            .iter()
            .map(|row| single[*row].1 / single[*row].0)
            .collect();
        for (at, row) in places.row_of_single.iter().enumerate() {
            let mut seen = DVector::zeros(first);
            for (column, sd) in places.others(&places.columns[*row], sds) {
                seen.axpy(sd, &rest.column(column), 1.0);
            }
            for column in 0..first {
                inverse[(first + at, column)] = -shrunk[at] * seen[column];
                inverse[(column, first + at)] = -shrunk[at] * seen[column];
            }
            for (other, other_row) in places.row_of_single.iter().enumerate().take(at + 1) {
                let others = places.others(&places.columns[*other_row], sds);
                let shared: f64 = others.map(|(column, sd)| sd * seen[column]).sum();
                let entry = shrunk[at] * shrunk[other] * shared;
                inverse[(first + at, first + other)] = entry;
                inverse[(first + other, first + at)] = entry;
            }
            inverse[(first + at, first + at)] += 1.0 / single[*row].0;
        }
        inverse
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::counts::{Counts, Family};

    /// Against H written out in full.
    #[test]
    fn single_counts_are_eliminated_without_changing_anything() {
        let counts = [3.0, 1.0, 4.0, 1.0, 5.0, 9.0];
        let model = Counts::new(Family::Poisson, &counts, &[], &[vec![1.0; 6]]).unwrap();
        let model = model.random("plot", &[4, 0, 3, 5, 1, 2]).unwrap();
        let model = model.random("block", &[0, 0, 1, 1, 2, 2]).unwrap();
        let places = Places::of(&model);
        assert_eq!((places.single, places.rest, places.size), (Some(0), 3, 9));
        let sds = [0.7, 0.4];
        let found = Curvature::new(&places, &sds, |row| counts[row]).unwrap();
        let mut full = DMatrix::<f64>::identity(9, 9);
        for (row, columns) in places.columns.iter().enumerate() {
            for (a, sd_a) in columns.iter().zip(&sds) {
                for (b, sd_b) in columns.iter().zip(&sds) {
                    full[(*a, *b)] += sd_a * sd_b * counts[row];
                }
            }
        }
        let factor = Cholesky::new(full).unwrap();
        assert!((found.log_determinant() - log_determinant(&factor)).abs() < 1e-12);
        let gap = found.inverse(&places, &sds) - factor.inverse();
        assert!(gap.amax() < 1e-14);
        let right = DVector::from_fn(9, |at, _| at as f64 - 2.5);
        let gap = found.solve(&places, &sds, &right) - factor.solve(&right);
        assert!(gap.amax() < 1e-13);
    }
}
