//! Means of treatments on the scale they were counted on.

use caneplot_numerics::counts::{CountError, Estimate, Family};
use caneplot_numerics::distribution::t_critical;

use crate::compare::Comparison;
use crate::frame::Frame;
use crate::model::{Modelled, Numbers};
use crate::subject::Record;
use crate::terms::{Term, mean_weights, stratum};
use crate::trend::Trend;

/// The mean of one level (or combination of levels).
#[derive(Debug, Clone, PartialEq)]
pub struct LevelMean {
    /// Level of each dimension; `None` is averaged over.
    pub levels: Vec<Option<usize>>,
    /// Mean: a share, or a rate for one unit of size.
    pub mean: f64,
    /// Lower end of its interval.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// Plots (and seasons) it rests on.
    pub plots: usize,
    /// Sum of the counts.
    pub counted: f64,
    /// Sum of the totals, vines or nodes.
    pub size: f64,
    /// Vines, where known for every plot.
    pub vines: Option<f64>,
}

/// All of a set.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Levels {
    /// Means: of each level of each factor, then of combinations.
    pub means: Vec<LevelMean>,
    /// Comparisons.
    pub comparisons: Vec<Comparison>,
    /// Trends.
    pub trends: Vec<Trend>,
}

/// A set with its model, from which levels are read.
#[derive(Debug, Clone, Copy)]
pub struct Source<'a> {
    /// Design.
    pub frame: &'a Frame,
    /// Model.
    pub model: &'a Modelled,
    /// Numbers.
    pub numbers: &'a Numbers,
    /// Records of the set, in its order.
    pub records: &'a [Record],
    /// Level of significance.
    pub level: f64,
}

/// From the scale of the predictor to a share or a rate.
fn back(family: Family, eta: f64) -> f64 {
    family.mean(1.0, eta)
}

fn treatments(frame: &Frame) -> Vec<usize> {
    let all = frame.dimensions.iter().enumerate();
    all.filter(|(_, dimension)| dimension.factor.is_some())
        .map(|(at, _)| at)
        .collect()
}

impl Source<'_> {
    /// Degrees of freedom for comparisons of the levels of these dimensions.
    pub fn df(&self, of: &[usize]) -> f64 {
        self.model.df[stratum(self.frame, &Term { of: of.to_vec() })] as f64
    }

    /// An estimate with its standard error widened as the stratum of these dimensions asks.
    pub fn estimate(&self, weights: &[f64], of: &[usize]) -> Result<Estimate, CountError> {
        let mut found = self.model.fit.estimate(weights)?;
        found.standard_error *= self.widening(of).sqrt();
        Ok(found)
    }

    /// Factor on their variances.
    pub fn widening(&self, of: &[usize]) -> f64 {
        self.model.widening[stratum(self.frame, &Term { of: of.to_vec() })]
    }

    /// The mean of some levels; `None` where a combination it averages over has no count.
    fn mean(&self, levels: &[Option<usize>]) -> Result<Option<LevelMean>, CountError> {
        let frame = self.frame;
        let weights = mean_weights(frame, levels);
        let cells = weights.iter().filter(|weight| **weight > 0.0).count();
        let needed: usize = frame
            .dimensions
            .iter()
            .zip(levels)
            .map(|(dimension, level)| level.map_or(dimension.size(), |_| 1))
            .product();
        if cells < needed {
            return Ok(None);
        }
        let of: Vec<usize> = (0..levels.len())
            .filter(|at| levels[*at].is_some())
            .collect();
        let found = self.estimate(&weights, &of)?;
        let reach = self.critical(self.df(&of), 1.0)? * found.standard_error;
        let rows: Vec<usize> = (0..frame.cell_of.len())
            .filter(|row| weights[frame.cell_of[*row]] > 0.0)
            .collect();
        let sum = |values: &[f64]| rows.iter().map(|row| values[*row]).sum();
        let family = self.model.family;
        Ok(Some(LevelMean {
            levels: levels.to_vec(),
            mean: back(family, found.value),
            low: back(family, found.value - reach),
            high: back(family, found.value + reach),
            plots: rows.len(),
            counted: sum(&self.numbers.counts),
            size: sum(&self.numbers.sizes),
            vines: rows.iter().map(|row| self.records[*row].vines).sum(),
        }))
    }

    /// The t for an interval among `comparisons`.
    pub fn critical(&self, df: f64, comparisons: f64) -> Result<f64, CountError> {
        t_critical(self.level / comparisons, df).map_err(|_| CountError::Contrast)
    }

    /// Means of each level of each factor, and of the combinations of several factors.
    fn means(&self) -> Result<Vec<LevelMean>, CountError> {
        let frame = self.frame;
        let none = vec![None; frame.dimensions.len()];
        let mut wanted: Vec<Vec<Option<usize>>> = Vec::new();
        let treatments = treatments(frame);
        for at in &treatments {
            for level in 0..frame.dimensions[*at].size() {
                let mut levels = none.clone();
                levels[*at] = Some(level);
                wanted.push(levels);
            }
        }
        if treatments.len() > 1 {
            let mut combinations: Vec<Vec<Option<usize>>> = frame
                .cells
                .iter()
                .map(|cell| {
                    let mut levels = none.clone();
                    for at in &treatments {
                        levels[*at] = Some(cell[*at]);
                    }
                    levels
                })
                .collect();
            combinations.sort();
            combinations.dedup();
            wanted.extend(combinations);
        }
        let mut means = Vec::new();
        for levels in wanted {
            means.extend(self.mean(&levels)?);
        }
        Ok(means)
    }
}

/// The levels of a set.
///
/// # Errors
/// Where the engine refuses a comparison.
pub fn levels(source: &Source) -> Result<Levels, CountError> {
    let mut levels = Levels {
        means: source.means()?,
        ..Levels::default()
    };
    if source.frame.is_complete() {
        for dimension in treatments(source.frame) {
            levels.comparisons.extend(source.comparisons(dimension)?);
            levels.trends.extend(source.trend(dimension)?);
        }
    }
    Ok(levels)
}
