//! Tables of means with the standard error of every kind of difference between them.
//!
//! For weights c over the units, Var(c'y) = Σ over strata of ξ_s ‖P_s c‖², where P_s projects on
//! stratum s and ξ_s is its expected mean square. So one routine serves every difference of every
//! design: take c apart by strata, put the mean squares in, and, where more than one stratum
//! contributes, approximate the degrees of freedom (Satterthwaite 1946, Biometrics Bull. 2:110).

use std::collections::BTreeMap;

use crate::cells::Cells;
use crate::strata::{Layout, Variance};

/// Share of a contrast below which it is rounding and not part of a stratum.
const NOTHING: f64 = 1e-11;

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

/// Squared length of a contrast in each stratum, the mean first.
#[derive(Debug, Clone, PartialEq)]
pub struct Split {
    /// In the direction of the overall mean.
    pub mean: f64,
    /// In each stratum.
    pub strata: Vec<f64>,
}

/// Pairs of means whose differences have the same precision.
#[derive(Debug, Clone, PartialEq)]
pub struct PairKind {
    /// Classifiers in which the two means differ.
    pub differ: Vec<usize>,
    /// Pairs of cells.
    pub pairs: Vec<(usize, usize)>,
    split: Split,
}

/// The part of a table of means that does not depend on a response.
#[derive(Debug, Clone)]
pub struct MeanPlan {
    /// Classifiers that span the table.
    pub classifiers: Vec<usize>,
    /// Its cells.
    pub cells: Cells,
    /// Level of each classifier in each cell.
    pub levels: Vec<Vec<usize>>,
    /// Kinds of differences.
    pub kinds: Vec<PairKind>,
    single: Vec<Split>,
}

/// A table of means of one response.
#[derive(Debug, Clone, PartialEq)]
pub struct MeanTable {
    /// Means, centred as the values were.
    pub means: Vec<f64>,
    /// Values behind each mean.
    pub counts: Vec<usize>,
    /// Precision of each mean with the groupings (blocks, rows, columns) taken as fixed.
    pub of_mean: Vec<Option<Precision>>,
    /// Precision of each kind of difference, in the order of [`MeanPlan::kinds`].
    pub of_difference: Vec<Option<Precision>>,
}

impl Layout {
    /// Takes weights over the units apart by strata.
    #[must_use]
    pub fn split(&self, weights: &[f64]) -> Split {
        let mut working = weights.to_vec();
        let mut taken = |cells: &Cells| {
            let means = cells.means(&working);
            for (value, &cell) in working.iter_mut().zip(cells.of_unit()) {
                *value -= means[cell];
            }
            cells.sum_of_squares(&means)
        };
        let mean = taken(&Cells::whole(self.units()));
        let strata: Vec<f64> = self
            .strata()
            .iter()
            .map(|stratum| taken(&stratum.cells))
            .collect();
        let total: f64 = mean + strata.iter().sum::<f64>();
        let settled = |part: f64| if part < NOTHING * total { 0.0 } else { part };
        Split {
            mean: settled(mean),
            strata: strata.into_iter().map(settled).collect(),
        }
    }

    /// A table of means over these classifiers.
    #[must_use]
    pub fn mean_plan(&self, classifiers: &[usize]) -> MeanPlan {
        let codes = |at: usize| self.classifiers()[at].codes.as_slice();
        let cells = Cells::crossing(self.units(), classifiers.iter().map(|&at| codes(at)));
        let levels: Vec<Vec<usize>> = cells
            .first()
            .iter()
            .map(|&unit| classifiers.iter().map(|&at| codes(at)[unit]).collect())
            .collect();
        let weights = |plus: usize, minus: Option<usize>| -> Vec<f64> {
            let share = |cell: usize| 1.0 / cells.sizes()[cell] as f64;
            cells
                .of_unit()
                .iter()
                .map(|&cell| {
                    if cell == plus {
                        share(cell)
                    } else if Some(cell) == minus {
                        -share(cell)
                    } else {
                        0.0
                    }
                })
                .collect()
        };
        let mut kinds: Vec<PairKind> = Vec::new();
        let mut known: BTreeMap<(Vec<usize>, Vec<i64>), usize> = BTreeMap::new();
        for first in 0..cells.count() {
            for second in first + 1..cells.count() {
                let differ: Vec<usize> = (0..classifiers.len())
                    .filter(|&at| levels[first][at] != levels[second][at])
                    .map(|at| classifiers[at])
                    .collect();
                let split = self.split(&weights(first, Some(second)));
                // Splits that agree to nine digits are one kind.
                let key: Vec<i64> = split
                    .strata
                    .iter()
                    .map(|part| (part * 1e9).round() as i64)
                    .collect();
                let at = *known.entry((differ.clone(), key)).or_insert_with(|| {
                    kinds.push(PairKind {
                        differ,
                        pairs: Vec::new(),
                        split,
                    });
                    kinds.len() - 1
                });
                kinds[at].pairs.push((first, second));
            }
        }
        let single = (0..cells.count())
            .map(|cell| self.split(&weights(cell, None)))
            .collect();
        MeanPlan {
            classifiers: classifiers.to_vec(),
            cells,
            levels,
            kinds,
            single,
        }
    }

    /// The table of means of a response.
    #[must_use]
    pub fn mean_table(&self, plan: &MeanPlan, values: &[f64], variance: &Variance) -> MeanTable {
        let conditional = self.without_groupings(variance);
        MeanTable {
            means: plan.cells.means(values),
            counts: plan.cells.sizes().to_vec(),
            of_mean: plan
                .single
                .iter()
                .map(|split| self.precision_of_mean(split, variance, &conditional))
                .collect(),
            of_difference: plan
                .kinds
                .iter()
                .map(|kind| self.precision(&kind.split, variance))
                .collect(),
        }
    }

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
    fn without_groupings(&self, variance: &Variance) -> Option<Vec<Vec<f64>>> {
        self.additions(variance)?;
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
        Some(rows)
    }

    fn precision_of_mean(
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
            if weight.abs() > NOTHING * largest {
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
