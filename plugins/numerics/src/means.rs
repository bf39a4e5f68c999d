//! Tables of means with the standard error of every kind of difference between them.
//!
//! For weights c over the units, Var(c'y) = Σ over strata of ξ_s ‖P_s c‖², where P_s projects on
//! stratum s and ξ_s is its expected mean square. So one routine serves every difference of every
//! design: take c apart by strata, put the mean squares in, and, where more than one stratum
//! contributes, approximate the degrees of freedom (Satterthwaite 1946, Biometrics Bull. 2:110).

use std::collections::BTreeMap;

use crate::averages::Averages;
use crate::cells::Cells;
pub use crate::precision::Precision;
use crate::strata::Layout;
use crate::variance::Variance;

/// Squared length of a contrast in each stratum, the mean first.
#[derive(Debug, Clone, PartialEq)]
pub struct Split {
    /// In the direction of the overall mean.
    pub mean: f64,
    /// In each stratum.
    pub strata: Vec<f64>,
}

impl Split {
    /// Share of a contrast below which it is rounding and not part of a stratum.
    pub(crate) const NOTHING: f64 = 1e-11;

    /// A split in which parts that are only rounding are exactly 0.
    pub(crate) fn settled(mean: f64, strata: Vec<f64>) -> Self {
        let total: f64 = mean + strata.iter().sum::<f64>();
        let settled = |part: f64| {
            if part < Self::NOTHING * total {
                0.0
            } else {
                part
            }
        };
        Self {
            mean: settled(mean),
            strata: strata.into_iter().map(settled).collect(),
        }
    }
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
        Split::settled(mean, strata)
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
        let averages = Averages::new(self, &cells);
        let mut kinds: Vec<PairKind> = Vec::new();
        let mut known: BTreeMap<(Vec<usize>, Vec<i64>), usize> = BTreeMap::new();
        for first in 0..cells.count() {
            for second in first + 1..cells.count() {
                let differ: Vec<usize> = (0..classifiers.len())
                    .filter(|&at| levels[first][at] != levels[second][at])
                    .map(|at| classifiers[at])
                    .collect();
                let split = averages.difference(first, second);
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
            .map(|cell| averages.single(cell))
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
}
