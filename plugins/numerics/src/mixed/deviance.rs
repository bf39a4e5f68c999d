//! −2 log restricted likelihood at given variance parameters.
//!
//! With D = LL' by blocks and W = [Z X y], everything follows from F = W'D⁻¹W. Scaling the columns
//! of Z by the square roots of their variances keeps a variance of exactly 0 an ordinary value:
//! M = ΛFΛ + diag(I_z, 0) over [Z X] has log|D| + log|M| = log|V| + log|X'V⁻¹X|, and with
//! C = ΛM⁻¹Λ, y'Py = F_yy − F_y· C F_·y (Harville 1977, *J. Am. Stat. Assoc.* 72:320).

use nalgebra::{Cholesky, DMatrix};

use super::error::ErrorAt;
use super::matrices::Prepared;

/// One pattern at given parameters.
pub(crate) struct PatternAt {
    pub(crate) inverse: DMatrix<f64>,
}

/// The problem at given parameters.
pub(crate) struct Absorbed {
    pub(crate) theta: Vec<f64>,
    pub(crate) error: ErrorAt,
    pub(crate) deviance: f64,
    pub(crate) patterns: Vec<PatternAt>,
    /// D⁻¹W of each block, over its own columns.
    pub(crate) solved: Vec<DMatrix<f64>>,
    /// F = W'D⁻¹W.
    pub(crate) gram: DMatrix<f64>,
    /// C, over [Z X].
    pub(crate) c: DMatrix<f64>,
}

impl Prepared {
    /// Absorbs the problem at these parameters; `None` where a covariance matrix is not positive
    /// definite.
    pub(crate) fn absorb(&self, theta: &[f64]) -> Option<Absorbed> {
        let covariance = self.error_at(theta)?;
        let mut patterns = Vec::with_capacity(self.patterns.len());
        let mut logs = Vec::with_capacity(self.patterns.len());
        for pattern in &self.patterns {
            let mut d = pattern.spread(&covariance);
            for (parameter, shared) in &pattern.narrow {
                d += shared * theta[*parameter];
            }
            let cholesky = Cholesky::new(d)?;
            logs.push(log_determinant(&cholesky)?);
            patterns.push(PatternAt {
                inverse: cholesky.inverse(),
            });
        }

        let width = self.width();
        let mut gram = DMatrix::zeros(width, width);
        let mut solved = Vec::with_capacity(self.blocks.len());
        let mut log_d = 0.0;
        for block in &self.blocks {
            log_d += logs[block.pattern];
            let part = &patterns[block.pattern].inverse * &block.part;
            add_at(&mut gram, &block.part.tr_mul(&part), &block.columns);
            solved.push(part);
        }

        let absorbed = self.absorbed();
        let mut root = vec![1.0; absorbed];
        for (range, variance) in self.wide.iter().zip(theta) {
            if let Some(range) = range {
                if *variance < 0.0 {
                    return None;
                }
                root[range.clone()].fill(variance.sqrt());
            }
        }
        let mut m = DMatrix::from_fn(absorbed, absorbed, |i, j| root[i] * gram[(i, j)] * root[j]);
        for at in 0..self.wide_columns {
            m[(at, at)] += 1.0;
        }
        let cholesky = Cholesky::new(m)?;
        let log_m = log_determinant(&cholesky)?;
        let inverse = cholesky.inverse();
        let c = DMatrix::from_fn(absorbed, absorbed, |i, j| {
            root[i] * inverse[(i, j)] * root[j]
        });
        let y = gram.view((0, absorbed), (absorbed, 1));
        let quadratic = gram[(absorbed, absorbed)] - (&c * y).dot(&y);
        let free = (self.values - self.effects) as f64;
        let deviance = free * std::f64::consts::TAU.ln() + log_d + log_m + quadratic;
        deviance.is_finite().then(|| Absorbed {
            theta: theta.to_vec(),
            error: covariance,
            deviance,
            patterns,
            solved,
            gram,
            c,
        })
    }
}

/// log|A| from its Cholesky factor; `None` where a pivot is rounding, so that A is not safely
/// positive definite.
fn log_determinant(cholesky: &Cholesky<f64, nalgebra::Dyn>) -> Option<f64> {
    let l = cholesky.l_dirty();
    let mut log = 0.0;
    for at in 0..l.nrows() {
        let pivot = l[(at, at)];
        let row: f64 = (0..=at).map(|column| l[(at, column)].powi(2)).sum();
        // row is the diagonal of A: what a pivot keeps of it must be more than rounding.
        if pivot.is_nan() || pivot * pivot <= 1e-13 * row {
            return None;
        }
        log += pivot.ln();
    }
    Some(2.0 * log)
}

/// Adds a small matrix at these rows and columns.
pub(crate) fn add_at(into: &mut DMatrix<f64>, part: &DMatrix<f64>, at: &[usize]) {
    for (j, &column) in at.iter().enumerate() {
        for (i, &row) in at.iter().enumerate() {
            into[(row, column)] += part[(i, j)];
        }
    }
}
