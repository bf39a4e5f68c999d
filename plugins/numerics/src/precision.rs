//! Variances of means and differences from the mean squares of the strata.
//!
//! Degrees of freedom of a sum of mean squares: Satterthwaite (1946, Biometrics Bull. 2:110).

use crate::means::Split;
use crate::strata::Layout;
use crate::variance::Variance;

/// A variance with its degrees of freedom.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Precision {
    /// Variance.
    pub variance: f64,
    /// Degrees of freedom; exact where one stratum contributes, else approximate.
    pub df: f64,
    /// Whether one stratum alone contributes.
    pub exact: bool,
}

impl Precision {
    /// The standard error.
    #[must_use]
    pub fn standard_error(&self) -> f64 {
        self.variance.sqrt()
    }
}

impl Layout {
    /// Precision of a contrast whose weights sum to zero.
    ///
    /// `None` where a stratum that contributes has no error of its own.
    #[must_use]
    pub fn precision(&self, split: &Split, variance: &Variance) -> Option<Precision> {
        let mut parts = Vec::new();
        for (&weight, error) in split.strata.iter().zip(&variance.errors) {
            if weight > 0.0 {
                parts.push((weight * error.mean_square?, error.df as f64));
            }
        }
        satterthwaite(&parts)
    }

    /// What each stratum adds to the expected mean squares above it: ξ_s is the sum of these over s
    /// and every finer stratum. `None` where an error is missing.
    fn additions(&self, variance: &Variance) -> Option<Vec<f64>> {
        let strata = self.strata();
        let mut additions = vec![0.0; strata.len()];
        for at in (0..strata.len()).rev() {
            if strata[at].grouping {
                continue;
            }
            let finer: f64 = (at + 1..strata.len())
                .filter(|&other| strata[other].cells.refines(&strata[at].cells))
                .map(|other| additions[other])
                .sum();
            additions[at] = variance.errors[at].mean_square? - finer;
        }
        Some(additions)
    }

    /// Expected mean squares as sums of the mean squares of the error strata, with no variance of
    /// the groupings: row for the mean, then one a stratum.
    pub(crate) fn without_groupings(&self, variance: &Variance) -> Option<Vec<Vec<f64>>> {
        self.additions(variance)?;
        Some(self.without_groupings_rows())
    }

    /// As [`Layout::without_groupings`], whether or not every stratum has an error.
    pub(crate) fn without_groupings_rows(&self) -> Vec<Vec<f64>> {
        let strata = self.strata();
        // coefficient[s][t]: how much of the mean square of t goes into the addition of s.
        let mut coefficients = vec![vec![0.0; strata.len()]; strata.len()];
        for at in (0..strata.len()).rev() {
            if strata[at].grouping {
                continue;
            }
            coefficients[at][at] = 1.0;
            for other in at + 1..strata.len() {
                if strata[other].cells.refines(&strata[at].cells) {
                    let finer = coefficients[other].clone();
                    for (own, finer) in coefficients[at].iter_mut().zip(finer) {
                        *own -= finer;
                    }
                }
            }
        }
        let summed = |keep: &dyn Fn(usize) -> bool| {
            (0..strata.len())
                .map(|column| {
                    (0..strata.len())
                        .filter(|&at| keep(at))
                        .map(|at| coefficients[at][column])
                        .sum()
                })
                .collect::<Vec<f64>>()
        };
        let mut rows = vec![summed(&|_| true)];
        for stratum in strata {
            rows.push(summed(&|at| strata[at].cells.refines(&stratum.cells)));
        }
        rows
    }

    pub(crate) fn precision_of_mean(
        &self,
        split: &Split,
        variance: &Variance,
        conditional: &Option<Vec<Vec<f64>>>,
    ) -> Option<Precision> {
        let rows = conditional.as_ref()?;
        let mut weights = vec![0.0; self.strata().len()];
        for (part, row) in std::iter::once(&split.mean).chain(&split.strata).zip(rows) {
            for (weight, coefficient) in weights.iter_mut().zip(row) {
                *weight += part * coefficient;
            }
        }
        let largest = weights.iter().fold(0.0_f64, |most, w| most.max(w.abs()));
        let mut parts = Vec::new();
        for (weight, error) in weights.iter().zip(&variance.errors) {
            if weight.abs() > Split::NOTHING * largest {
                parts.push((weight * error.mean_square?, error.df as f64));
            }
        }
        satterthwaite(&parts)
    }

    /// Variance components of the strata: what one unit of each adds to the variance of a value.
    ///
    /// `None` for a stratum whose own or finer error has no degrees of freedom. They may be
    /// negative: then units of that stratum are more alike than chance would leave them.
    #[must_use]
    pub fn components(&self, variance: &Variance) -> Vec<Option<f64>> {
        let strata = self.strata();
        let mut additions: Vec<Option<f64>> = vec![None; strata.len()];
        for at in (0..strata.len()).rev() {
            let finer: Option<f64> = (at + 1..strata.len())
                .filter(|&other| strata[other].cells.refines(&strata[at].cells))
                .map(|other| additions[other])
                .sum();
            additions[at] = match (variance.errors[at].mean_square, finer) {
                (Some(own), Some(finer)) => Some(own - finer),
                _ => None,
            };
        }
        additions
            .iter()
            .zip(strata)
            .map(|(addition, stratum)| {
                let size = self.units() as f64 / stratum.cells.count() as f64;
                addition.map(|addition| addition / size)
            })
            .collect()
    }
}

/// A sum of mean squares times weights with its approximate degrees of freedom.
fn satterthwaite(parts: &[(f64, f64)]) -> Option<Precision> {
    let variance: f64 = parts.iter().map(|(part, _)| part).sum();
    if let [(_, df)] = parts {
        return Some(Precision {
            variance,
            df: *df,
            exact: true,
        });
    }
    let spread: f64 = parts.iter().map(|(part, df)| part * part / df).sum();
    (variance > 0.0 && spread > 0.0).then(|| Precision {
        variance,
        df: variance * variance / spread,
        exact: false,
    })
}
