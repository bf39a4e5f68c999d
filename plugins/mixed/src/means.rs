//! Sets of adjusted means and which of them are told apart.

use caneplot_numerics::distribution::t_critical;
use caneplot_numerics::dunnett::{Dunnett, Sides};
use caneplot_numerics::mixed::kenward_roger::Estimate;
use caneplot_numerics::separation::{Difference, holm, letters};

use crate::options::Separation;
use crate::study::Study;

/// Adjusted means over the levels of some factors, some others given.
pub(crate) struct Means {
    pub factors: Vec<usize>,
    /// Levels of the factors in each mean.
    pub levels: Vec<Vec<usize>>,
    rows: Vec<Option<Vec<f64>>>,
    pub estimates: Vec<Option<Estimate>>,
    /// Plots behind each mean.
    pub plots: Vec<usize>,
}

/// A pair of means with its limits.
pub(crate) struct Pair {
    pub first: usize,
    pub second: usize,
    pub difference: Difference,
    pub half_width: f64,
    /// Adjusted for the comparisons made together, where the rule gives it.
    pub p: Option<f64>,
}

impl Study<'_> {
    /// Adjusted means over some factors at given levels of others.
    pub fn means(&self, factors: &[usize], given: &[(usize, usize)]) -> Means {
        let levels = self.grid.combinations(factors);
        let at = |levels: &Vec<usize>| -> Vec<(usize, usize)> {
            let own = factors.iter().copied().zip(levels.iter().copied());
            own.chain(given.iter().copied()).collect()
        };
        let rows: Vec<Option<Vec<f64>>> = levels
            .iter()
            .map(|levels| self.grid.mean(&at(levels)))
            .collect();
        Means {
            factors: factors.to_vec(),
            estimates: rows
                .iter()
                .map(|row| row.as_ref().and_then(|row| self.single(row)))
                .collect(),
            plots: levels
                .iter()
                .map(|levels| self.plots_at(&at(levels)))
                .collect(),
            rows,
            levels,
        }
    }

    /// Number of plots with values at these levels.
    fn plots_at(&self, given: &[(usize, usize)]) -> usize {
        let level = |factor: usize, unit: usize| match self.margins().get(factor) {
            Some(margin) => margin.codes[unit],
            None => self.problem.residual.season[unit],
        };
        let mut plots: Vec<usize> = (0..self.readings.values.len())
            .filter(|&unit| given.iter().all(|&(factor, at)| level(factor, unit) == at))
            .map(|unit| self.readings.plot[unit])
            .collect();
        plots.sort_unstable();
        plots.dedup();
        plots.len()
    }

    /// A mean in the unit of the response (a median, where the analysis is on another scale).
    pub fn mean(&self, means: &Means, at: usize) -> Option<f64> {
        self.back(means.estimates[at]?.value)
    }

    /// First mean less second.
    pub fn difference(&self, means: &Means, first: usize, second: usize) -> Option<Difference> {
        let (first, second) = (means.rows[first].as_ref()?, means.rows[second].as_ref()?);
        let row: Vec<f64> = first.iter().zip(second).map(|(a, b)| a - b).collect();
        let found = self.estimate(&row)?;
        Some(Difference {
            value: found.value,
            standard_error: found.standard_error,
            df: found.df,
        })
    }

    /// Covariances of some of the means, lower triangle row by row, such that every difference has the
    /// variance of [`Study::difference`].
    pub fn covariances(&self, means: &Means, places: &[usize]) -> Option<Vec<f64>> {
        let rows = places
            .iter()
            .map(|&at| {
                Some(nalgebra::DVector::from_column_slice(
                    means.rows[at].as_ref()?,
                ))
            })
            .collect::<Option<Vec<_>>>()?;
        let mut all = Vec::new();
        for (at, row) in rows.iter().enumerate() {
            let turned = &self.adjusted * row;
            all.extend(rows[..=at].iter().map(|other| other.dot(&turned)));
        }
        Some(all)
    }

    /// All pairs under the rule of the options; empty where a difference has no standard error.
    pub fn pairs(&self, means: &Means) -> Vec<Pair> {
        let size = means.levels.len();
        let level = self.options.level;
        let mut all = Vec::new();
        for first in 0..size {
            for second in first + 1..size {
                let Some(difference) = self.difference(means, first, second) else {
                    continue;
                };
                let critical = match self.options.separation {
                    Separation::Tukey => self.joint(size, difference.df),
                    _ => t_critical(level, difference.df).ok(),
                };
                if let Some(critical) = critical {
                    all.push(Pair {
                        first,
                        second,
                        half_width: critical * difference.standard_error,
                        p: None,
                        difference,
                    });
                }
            }
        }
        if matches!(self.options.separation, Separation::Holm) {
            let alone: Option<Vec<f64>> = all
                .iter()
                .map(|pair| pair.difference.alone().ok())
                .collect();
            if let Some(adjusted) = alone.and_then(|alone| holm(&alone).ok()) {
                for (pair, p) in all.iter_mut().zip(adjusted) {
                    pair.p = Some(p);
                }
            }
        }
        all
    }

    /// Letters of a set of means; `None` where the options ask for none or a difference is lacking.
    pub fn letters(&self, means: &Means) -> Option<Vec<String>> {
        if !matches!(
            self.options.separation,
            Separation::Tukey | Separation::Holm
        ) {
            return None;
        }
        let size = means.levels.len();
        let pairs = self.pairs(means);
        if pairs.len() != size * (size - 1) / 2 {
            return None;
        }
        let mut apart = vec![vec![false; size]; size];
        for pair in &pairs {
            apart[pair.first][pair.second] = match pair.p {
                Some(p) => p <= self.options.level,
                None => pair.difference.value.abs() > pair.half_width,
            };
        }
        let values: Option<Vec<f64>> = means
            .estimates
            .iter()
            .map(|estimate| estimate.map(|estimate| estimate.value))
            .collect();
        letters(&values?, |a, b| apart[a.min(b)][a.max(b)]).ok()
    }

    /// Every level against the control with joint limits.
    pub fn against_control(&self, means: &Means, control: usize) -> Option<Vec<Pair>> {
        let others: Vec<usize> = (0..means.levels.len())
            .filter(|&at| at != control)
            .collect();
        let differences: Vec<Difference> = others
            .iter()
            .map(|&at| self.difference(means, at, control))
            .collect::<Option<_>>()?;
        let df = differences
            .iter()
            .map(|d| d.df)
            .fold(f64::INFINITY, f64::min);
        let factors = self.control_factors(means, control, &others, &differences)?;
        let dunnett = Dunnett::new(&factors, df, Sides::Both).ok()?;
        let critical = dunnett.quantile(self.options.level).ok()?;
        others
            .into_iter()
            .zip(differences)
            .map(|(first, difference)| {
                Some(Pair {
                    first,
                    second: control,
                    half_width: critical * difference.standard_error,
                    p: Some(difference.against_control(&dunnett).ok()?),
                    difference,
                })
            })
            .collect()
    }

    /// λ_i such that the correlations of differences from the control are about λ_i λ_j: the variance
    /// the differences share is their mean covariance. Exact where the design is balanced.
    fn control_factors(
        &self,
        means: &Means,
        control: usize,
        others: &[usize],
        differences: &[Difference],
    ) -> Option<Vec<f64>> {
        let base = means.rows[control].as_ref()?;
        let rows: Vec<nalgebra::DVector<f64>> = others
            .iter()
            .map(|&at| {
                let row = means.rows[at].as_ref()?;
                let weights = row.iter().zip(base).map(|(a, b)| a - b);
                Some(nalgebra::DVector::from_iterator(row.len(), weights))
            })
            .collect::<Option<_>>()?;
        let (mut shared, mut count) = (0.0, 0.0);
        for (at, first) in rows.iter().enumerate() {
            for second in &rows[at + 1..] {
                shared += first.dot(&(&self.adjusted * second));
                count += 1.0;
            }
        }
        let of = |difference: &Difference| {
            let variance = difference.standard_error.powi(2);
            let share = if count > 0.0 {
                shared / count / variance
            } else {
                0.5
            };
            share.clamp(0.01, 0.99).sqrt()
        };
        Some(differences.iter().map(of).collect())
    }

    /// The critical value of all pairs among so many means, on the scale of a t.
    fn joint(&self, means: usize, df: f64) -> Option<f64> {
        let range = self
            .criticals
            .range_between(means, df, self.options.level)?;
        Some(range / std::f64::consts::SQRT_2)
    }

    /// Half the width of the interval of the difference of two of several means, allowing for all
    /// pairs of them: what a difference that was picked for its size deserves.
    pub fn joint_half_width(&self, means: &Means, difference: &Difference) -> Option<f64> {
        let size = means.estimates.iter().flatten().count();
        Some(self.joint(size, difference.df)? * difference.standard_error)
    }

    /// Half the width of the interval of an estimate by itself.
    pub fn half_width(&self, standard_error: f64, df: f64) -> Option<f64> {
        let t = t_critical(self.options.level, df).ok()?;
        Some(t * standard_error)
    }

    /// Means that exist, highest first; equal ones keep their order.
    pub fn by_mean(&self, means: &Means) -> Vec<usize> {
        let mut order: Vec<(usize, f64)> = means
            .estimates
            .iter()
            .enumerate()
            .filter_map(|(at, estimate)| estimate.map(|estimate| (at, estimate.value)))
            .collect();
        order.sort_by(|a, b| b.1.total_cmp(&a.1));
        order.into_iter().map(|(at, _)| at).collect()
    }
}
