//! What an analysis of variance holds: effects, sums of squares, and each term's test.

use crate::distribution::f_upper;

/// A vector split into effects.
#[derive(Debug, Clone, PartialEq)]
pub struct Swept {
    /// The mean of all units.
    pub mean: f64,
    /// Effects of each treatment term, one a cell.
    pub terms: Vec<Vec<f64>>,
    /// Residual effects of each stratum, one a cell.
    pub residuals: Vec<Vec<f64>>,
}

/// The analysis of variance of one response.
#[derive(Debug, Clone, PartialEq)]
pub struct Variance {
    /// Mean of all units, centred as the values were.
    pub mean: f64,
    /// A line for each treatment term.
    pub lines: Vec<TermLine>,
    /// The error of each stratum.
    pub errors: Vec<ErrorLine>,
    /// The effects behind the sums of squares.
    pub swept: Swept,
}

/// The error of a stratum.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ErrorLine {
    /// Degrees of freedom.
    pub df: usize,
    /// Sum of squares; exactly 0 where the values do not vary beyond rounding.
    pub sum_of_squares: f64,
    /// Mean square; `None` without degrees of freedom.
    pub mean_square: Option<f64>,
}

/// A treatment term, or one degree of freedom of it, tested against the error of its stratum.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TermLine {
    /// Degrees of freedom.
    pub df: usize,
    /// Sum of squares.
    pub sum_of_squares: f64,
    /// Mean square.
    pub mean_square: f64,
    /// Variance ratio; `None` where the error has no degrees of freedom or is exactly 0.
    pub f: Option<f64>,
    /// Probability of an F at least as large; `None` as for `f`.
    pub p: Option<f64>,
}

impl TermLine {
    /// A sum of squares with its test.
    #[must_use]
    pub fn tested(sum_of_squares: f64, df: usize, error: &ErrorLine) -> Self {
        let mean_square = sum_of_squares / df as f64;
        let f = match error.mean_square {
            Some(error) if error > 0.0 => Some(mean_square / error),
            _ => None,
        };
        Self {
            df,
            sum_of_squares,
            mean_square,
            f,
            p: f.and_then(|f| f_upper(f, df as f64, error.df as f64).ok()),
        }
    }
}
