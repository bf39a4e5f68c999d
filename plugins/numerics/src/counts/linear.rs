//! The little linear algebra that the models share: rank of a design and sums over it.

use nalgebra::{DMatrix, DVector};

/// A column keeps less than this share of its length when it follows from those before it.
const NOTHING: f64 = 1e-9;

/// The columns one after another made orthonormal; those that follow from others are dropped and
/// named. Each is orthogonalised twice, which keeps the basis orthogonal to rounding.
pub(super) fn basis<'a>(
    columns: impl IntoIterator<Item = &'a [f64]>,
) -> (Vec<DVector<f64>>, Vec<usize>) {
    let mut basis: Vec<DVector<f64>> = Vec::new();
    let mut dependent = Vec::new();
    for (at, column) in columns.into_iter().enumerate() {
        if basis.len() == column.len() {
            dependent.push(at);
            continue;
        }
        let mut rest = DVector::from_column_slice(column);
        let length = rest.norm();
        for _ in 0..2 {
            for direction in &basis {
                let share = direction.dot(&rest);
                rest.axpy(-share, direction, 1.0);
            }
        }
        let left = rest.norm();
        if length == 0.0 || left <= NOTHING * length {
            dependent.push(at);
        } else {
            basis.push(rest / left);
        }
    }
    (basis, dependent)
}

/// The first column that follows from those before it.
pub(super) fn first_dependent(columns: &[Vec<f64>]) -> Option<usize> {
    basis(columns.iter().map(Vec::as_slice)).1.first().copied()
}

/// The places of the columns that do not follow from those before them.
#[must_use]
pub fn independent_columns(columns: &[Vec<f64>]) -> Vec<usize> {
    let dependent = basis(columns.iter().map(Vec::as_slice)).1;
    (0..columns.len())
        .filter(|at| !dependent.contains(at))
        .collect()
}

/// Σ_i w_i x_i x_i' over the rows of a design given by its columns.
pub(super) fn weighted_squares(columns: &[Vec<f64>], weights: &[f64]) -> DMatrix<f64> {
    let size = columns.len();
    let mut squares = DMatrix::zeros(size, size);
    for (a, left) in columns.iter().enumerate() {
        for (b, right) in columns.iter().enumerate().take(a + 1) {
            let products = left.iter().zip(right).zip(weights);
            let total: f64 = products.map(|((x, y), w)| x * y * w).sum();
            squares[(a, b)] = total;
            squares[(b, a)] = total;
        }
    }
    squares
}

/// Log of the determinant of a matrix from its Cholesky factor.
pub(super) fn log_determinant(factor: &nalgebra::Cholesky<f64, nalgebra::Dyn>) -> f64 {
    let lower = factor.l_dirty();
    (0..lower.nrows())
        .map(|at| 2.0 * lower[(at, at)].ln())
        .sum()
}
