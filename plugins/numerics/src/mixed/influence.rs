//! What single values and plots do to a fit, with the variance parameters held.
//!
//! Taking out a set g of values moves β̂ by −ΦX'V⁻¹E(P_gg)⁻¹(Py)_g, where E picks them out (Christensen,
//! Pearson & Johnson 1992, *Technometrics* 34:38). Cook's distance on a hypothesis Lβ = 0 is the
//! squared length of that move in the metric of LΦL', over its rows (Cook 1977, *Technometrics*
//! 19:15). A standardized residual is (Py)_i/√P_ii: how far the value lies from what all others
//! predict, in standard errors of that.

use nalgebra::{Cholesky, DMatrix, DVector};

use super::deviance::Absorbed;
use super::matrices::Prepared;
use super::problem::Problem;
use super::{Fit, MixedError};

/// A variance below this share of its unconditional one means that nothing else predicts the value.
const NOTHING: f64 = 1e-9;

/// A fitted problem laid open.
pub struct Influence<'a> {
    fit: &'a Fit,
    prepared: Prepared,
    at: Absorbed,
    /// Block and row of each value.
    place: Vec<(usize, usize)>,
}

impl<'a> Influence<'a> {
    /// Lays a fit open.
    ///
    /// # Errors
    /// [`MixedError`] where the fit does not belong to the problem.
    pub fn new(problem: &Problem, fit: &'a Fit) -> Result<Self, MixedError> {
        let dense = fit.theta[..problem.random.len()]
            .iter()
            .any(|variance| *variance < 0.0);
        let prepared = problem.prepare(dense)?;
        let lost = || MixedError::NotConverged("its variances do not fit the problem".to_owned());
        let at = match prepared.parameters.len() == fit.theta.len() {
            true => prepared.absorb(&fit.theta).ok_or_else(lost)?,
            false => return Err(lost()),
        };
        let mut place = vec![(0, 0); prepared.values];
        for (block, about) in prepared.blocks.iter().enumerate() {
            for (row, &unit) in about.units.iter().enumerate() {
                place[unit] = (block, row);
            }
        }
        Ok(Self {
            fit,
            prepared,
            at,
            place,
        })
    }

    /// P over some values and their rows of D⁻¹[Z X].
    fn projector(&self, units: &[usize]) -> (DMatrix<f64>, DMatrix<f64>) {
        let absorbed = self.prepared.absorbed();
        let mut rows = DMatrix::zeros(units.len(), absorbed);
        for (at, &unit) in units.iter().enumerate() {
            let (block, row) = self.place[unit];
            let columns = &self.prepared.blocks[block].columns;
            for (place, &column) in columns.iter().enumerate() {
                if column < absorbed {
                    rows[(at, column)] = self.at.solved[block][(row, place)];
                }
            }
        }
        let inverse = DMatrix::from_fn(units.len(), units.len(), |i, j| {
            let ((a, row), (b, column)) = (self.place[units[i]], self.place[units[j]]);
            match a == b {
                true => {
                    let pattern = self.prepared.blocks[a].pattern;
                    self.at.patterns[pattern].inverse[(row, column)]
                }
                false => 0.0,
            }
        });
        (inverse - &rows * &self.at.c * rows.transpose(), rows)
    }

    /// Standardized residuals; `None` for a value that no other predicts, such as the only one of its
    /// cell.
    #[must_use]
    pub fn standardized(&self) -> Vec<Option<f64>> {
        (0..self.prepared.values)
            .map(|unit| {
                let (p, _) = self.projector(&[unit]);
                let (block, row) = self.place[unit];
                let pattern = self.prepared.blocks[block].pattern;
                let whole = self.at.patterns[pattern].inverse[(row, row)];
                (p[(0, 0)] > NOTHING * whole)
                    .then(|| self.fit.weighted_residuals[unit] / p[(0, 0)].sqrt())
            })
            .collect()
    }

    /// How β̂ moves when these values are taken out; `None` where a cell would be left empty.
    #[must_use]
    pub fn without(&self, units: &[usize]) -> Option<DVector<f64>> {
        let (p, rows) = self.projector(units);
        let own = DVector::from_iterator(
            units.len(),
            units.iter().map(|&unit| self.fit.weighted_residuals[unit]),
        );
        let scale = p.diagonal().amax();
        let cholesky = Cholesky::new(p)?;
        let l = cholesky.l_dirty();
        if (0..units.len()).any(|at| l[(at, at)].powi(2) < NOTHING * scale) {
            return None;
        }
        let z = self.prepared.wide_columns;
        let to_beta = self.at.c.rows(z, self.prepared.effects) * rows.transpose();
        Some(-(to_beta * cholesky.solve(&own)))
    }

    /// Cook's distance of a move of β̂ on a hypothesis; `None` for dependent rows.
    #[must_use]
    pub fn distance(&self, shift: &DVector<f64>, contrasts: &DMatrix<f64>) -> Option<f64> {
        let moved = contrasts * shift;
        let spread = contrasts * &self.fit.covariance * contrasts.transpose();
        let cholesky = Cholesky::new(spread)?;
        Some(moved.dot(&cholesky.solve(&moved)) / contrasts.nrows() as f64)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mixed::{RandomTerm, Residual, Settings, Structure, fit};

    #[test]
    fn a_move_is_what_generalised_least_squares_without_the_plot_gives() {
        let units = 48;
        let value = |unit: usize| ((unit * 7919 + 13) % 101) as f64 / 50.0;
        let problem = Problem {
            values: (0..units).map(|u| value(u) + (u / 12) as f64).collect(),
            fixed: DMatrix::from_fn(units, 4, |u, c| f64::from(u / 3 % 4 == c)),
            random: vec![RandomTerm {
                name: "block".to_owned(),
                codes: (0..units).map(|u| u / 12).collect(),
            }],
            residual: Residual {
                structure: Structure::Symmetric,
                plot: (0..units).map(|u| u / 3).collect(),
                season: (0..units).map(|u| u % 3).collect(),
                times: vec![0.0, 1.0, 2.0],
                group: Vec::new(),
            },
        };
        let found = fit(&problem, Settings::default()).unwrap();
        let influence = Influence::new(&problem, &found).unwrap();
        let gone = [15, 16, 17];
        let kept: Vec<usize> = (0..units).filter(|u| !gone.contains(u)).collect();
        let pick = |codes: &[usize]| kept.iter().map(|&u| codes[u]).collect::<Vec<_>>();
        let smaller = Problem {
            values: kept.iter().map(|&u| problem.values[u]).collect(),
            fixed: problem.fixed.select_rows(&kept),
            random: vec![RandomTerm {
                name: "block".to_owned(),
                codes: pick(&problem.random[0].codes),
            }],
            residual: Residual {
                plot: pick(&problem.residual.plot),
                season: pick(&problem.residual.season),
                ..problem.residual.clone()
            },
        };
        let prepared = smaller.prepare(false).unwrap();
        let at = prepared.absorb(&found.theta).unwrap();
        let p = prepared.absorbed();
        let z = prepared.wide_columns;
        let beta = (&at.c * at.gram.view((0, p), (p, 1)))
            .rows(z, 4)
            .into_owned();
        let shift = influence.without(&gone).unwrap();
        assert!((&found.beta + shift - beta).amax() < 1e-10);
        assert!(influence.standardized().iter().all(Option::is_some));
    }
}
