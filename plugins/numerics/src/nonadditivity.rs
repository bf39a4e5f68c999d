//! Tukey's test of one degree of freedom for non-additivity (Tukey 1949, Biometrics 5:232).
//!
//! Where blocks and treatments act by factors rather than by sums, the residuals follow the square
//! of the fitted value. The square is swept by the design like a response; the part of it left in
//! the stratum is the direction tested. In a randomised block this is Tukey's
//! (Σ rᵢcⱼyᵢⱼ)² / (Σrᵢ² Σcⱼ²), in a Latin square its extension to rows and columns (Tukey 1955).

use crate::strata::Layout;
use crate::sum::Sum;
use crate::variance::{ErrorLine, TermLine, Variance};

impl Layout {
    /// Test of non-additivity in a stratum.
    ///
    /// `None` where the fitted values do not vary, the error is zero, or fewer than two degrees of
    /// freedom are left for it.
    #[must_use]
    pub fn nonadditivity(&self, variance: &Variance, stratum: usize) -> Option<TermLine> {
        let error = variance.errors.get(stratum)?;
        if error.df < 2 || error.sum_of_squares <= 0.0 {
            return None;
        }
        let fitted = self.fitted(&variance.swept, stratum);
        let squares: Vec<f64> = fitted
            .iter()
            .map(|value| (value - variance.mean).powi(2))
            .collect();
        let total: f64 = squares.iter().map(|value| value * value).sum();
        let direction = &self.sweep(&squares).residuals[stratum];
        let cells = &self.strata()[stratum].cells;
        let length = cells.sum_of_squares(direction);
        if length <= total * 1e-20 {
            return None;
        }
        let mut product = Sum::default();
        for ((along, residual), &size) in direction
            .iter()
            .zip(&variance.swept.residuals[stratum])
            .zip(cells.sizes())
        {
            product.add(size as f64 * along * residual);
        }
        let sum_of_squares = product.total().powi(2) / length;
        let left = ErrorLine {
            df: error.df - 1,
            sum_of_squares: error.sum_of_squares - sum_of_squares,
            mean_square: Some((error.sum_of_squares - sum_of_squares) / (error.df - 1) as f64),
        };
        Some(TermLine::tested(sum_of_squares, 1, &left))
    }
}
