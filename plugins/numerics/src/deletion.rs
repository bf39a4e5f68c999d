//! What an analysis of variance would be without one of its plots.
//!
//! Leaving a plot out is the same as giving it a parameter of its own (Bartlett 1937, *Suppl. J. R.
//! Stat. Soc.* 4:137): with x its indicator, error and treatment lose the part of y that goes with x
//! in their stratum, E′ = E − Exy²/Exx and (T+E)′ = (T+E) − (Txy+Exy)²/(Txx+Exx). So the tests without
//! the plot are exact although the set is then unbalanced. The residual over its standard error, both
//! without the plot, is t with one degree of freedom less; how far the fitted values move is Cook's
//! (1977, *Technometrics* 19:15) distance.
//!
//! Refused: errors without two degrees of freedom, and plots that nothing else foretells.

use crate::distribution::t_two_sided;
use crate::strata::Layout;
use crate::variance::{ErrorLine, TermLine, Variance};

/// Less of a plot than this is left by the fit where nothing else foretells its value.
const ALONE: f64 = 1e-9;

/// An analysis of variance without one unit of a stratum.
#[derive(Debug, Clone, PartialEq)]
pub struct Deletion {
    /// The unit left out.
    pub cell: usize,
    /// What its value exceeds the one foretold without it.
    pub excess: f64,
    /// That over its standard error.
    pub t: f64,
    /// Probability of a t as far from 0, for a unit chosen beforehand.
    pub p: f64,
    /// Cook's distance.
    pub distance: f64,
    /// The terms of the stratum with their tests without the unit, each adjusted for all others.
    pub tests: Vec<(usize, TermLine)>,
}

impl Layout {
    /// The analysis of a stratum without one of its units; `None` where there is none.
    #[must_use]
    pub fn without(&self, variance: &Variance, stratum: usize, cell: usize) -> Option<Deletion> {
        let error = variance.errors.get(stratum)?;
        if error.df < 2 || error.sum_of_squares <= 0.0 {
            return None;
        }
        let cells = &self.strata()[stratum].cells;
        let indicator: Vec<f64> = cells
            .of_unit()
            .iter()
            .map(|&own| f64::from(u8::from(own == cell)))
            .collect();
        let own = self.sweep(&indicator);
        let size = cells.sizes()[cell] as f64;
        let left = own.residuals[stratum][cell];
        if left < ALONE {
            return None;
        }
        let residual = variance.swept.residuals[stratum][cell];
        let (squares, product) = (size * left, size * residual);
        let sum_of_squares = error.sum_of_squares - product * product / squares;
        let df = error.df - 1;
        let mean_square = sum_of_squares / df as f64;
        // All of the error sits in this unit.
        if sum_of_squares <= error.sum_of_squares * 1e-12 {
            return None;
        }
        let without = ErrorLine {
            df,
            sum_of_squares,
            mean_square: Some(mean_square),
        };
        let tests = self
            .terms()
            .iter()
            .enumerate()
            .filter(|(_, term)| term.stratum == stratum)
            .map(|(at, term)| {
                let sizes = term.cells.sizes();
                let (own, whole) = (&own.terms[at], &variance.swept.terms[at]);
                let with_own = term.cells.sum_of_squares(own);
                let with_whole: f64 = own
                    .iter()
                    .zip(whole)
                    .zip(sizes)
                    .map(|((a, b), &size)| size as f64 * a * b)
                    .sum();
                let both = variance.lines[at].sum_of_squares + error.sum_of_squares
                    - (with_whole + product).powi(2) / (with_own + squares);
                let between = (both - sum_of_squares).max(0.0);
                (at, TermLine::tested(between, term.df, &without))
            })
            .collect();
        let excess = residual / left;
        let t = residual / (mean_square * left / size).sqrt();
        let parameters = (cells.count() - error.df) as f64;
        let inside = residual * residual * size * error.df as f64 / (error.sum_of_squares * left);
        Some(Deletion {
            cell,
            excess,
            t,
            p: t_two_sided(t, df as f64).ok()?,
            distance: inside / parameters * (1.0 - left) / left,
            tests,
        })
    }
}
