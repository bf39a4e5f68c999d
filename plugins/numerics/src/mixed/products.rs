//! Products of small matrices that make up most of the work of a fit.

use nalgebra::DMatrix;

/// An entry of a matrix that is not zero: row, column, value.
pub(crate) type Entry = (usize, usize, f64);

/// The entries of a matrix that are not zero, where they are so few that products with them are less
/// work than those with the whole: one for each row.
pub(crate) fn few_entries(matrix: &DMatrix<f64>) -> Option<Vec<Entry>> {
    let size = matrix.nrows();
    let mut entries = Vec::new();
    for column in 0..size {
        for row in 0..size {
            let value = matrix[(row, column)];
            if value != 0.0 {
                if entries.len() == size {
                    return None;
                }
                entries.push((row, column, value));
            }
        }
    }
    Some(entries)
}

/// A D A' for a matrix D of few entries.
pub(crate) fn between(a: &DMatrix<f64>, entries: &[Entry]) -> DMatrix<f64> {
    let size = a.nrows();
    let mut all = DMatrix::zeros(size, size);
    for &(row, column, value) in entries {
        let left = a.column(row);
        for (place, right) in a.column(column).iter().enumerate() {
            all.column_mut(place).axpy(value * right, &left, 1.0);
        }
    }
    all
}

/// tr(AB'), in four sums side by side.
pub(crate) fn dot(a: &DMatrix<f64>, b: &DMatrix<f64>) -> f64 {
    let (a, b) = (a.as_slice().chunks_exact(4), b.as_slice().chunks_exact(4));
    let rest = a.remainder().iter().zip(b.remainder());
    let rest: f64 = rest.map(|(x, y)| x * y).sum();
    let mut sums = [0.0; 4];
    for (x, y) in a.zip(b) {
        for (sum, (x, y)) in sums.iter_mut().zip(x.iter().zip(y)) {
            *sum += x * y;
        }
    }
    sums[0] + sums[1] + (sums[2] + sums[3]) + rest
}
