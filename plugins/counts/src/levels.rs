//! Means of treatments on the scale they were counted on, comparisons with the control, trends.

use caneplot_numerics::counts::{CountError, Estimate, Family};
use caneplot_numerics::distribution::{t_critical, t_two_sided};
use caneplot_numerics::dunnett::{Dunnett, Sides};
use caneplot_numerics::polynomial;
use caneplot_numerics::separation::holm;

use crate::frame::Frame;
use crate::model::{Modelled, Numbers};
use crate::subject::Record;
use crate::terms::{Term, level_weights, mean_weights, stratum};

/// Pairs are listed for at most so many levels without a control.
const MOST_LEVELS_IN_PAIRS: usize = 6;
/// How far a correlation may be from a product of two factors for Dunnett's method to be used.
const PRODUCT_TOLERANCE: f64 = 0.05;

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

/// Two levels compared.
#[derive(Debug, Clone, PartialEq)]
pub struct Comparison {
    /// The dimension.
    pub dimension: usize,
    /// The level.
    pub level: usize,
    /// The level it is compared with.
    pub against: usize,
    /// Odds ratio or rate ratio.
    pub ratio: f64,
    /// Lower end of its interval.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// P, adjusted.
    pub probability: f64,
    /// Name of the adjustment.
    pub adjusted: Adjusted,
}

/// How comparisons of one family are adjusted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Adjusted {
    /// Dunnett.
    Dunnett,
    /// Holm, intervals by Bonferroni.
    Holm,
}

/// The straight line through the means of a numeric factor, on the scale of the model.
#[derive(Debug, Clone, PartialEq)]
pub struct Trend {
    /// The dimension.
    pub dimension: usize,
    /// Units of the factor that `ratio` is for.
    pub step: f64,
    /// Factor on the odds or the rate for one step.
    pub ratio: f64,
    /// Lower end of its interval.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// P of the slope.
    pub probability: f64,
    /// P of the departure from a straight line, for three levels and more.
    pub curvature: Option<f64>,
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
    fn df(&self, of: &[usize]) -> f64 {
        self.model.df[stratum(self.frame, &Term { of: of.to_vec() })] as f64
    }

    /// An estimate with its standard error widened as the stratum of these dimensions asks.
    fn estimate(&self, weights: &[f64], of: &[usize]) -> Result<Estimate, CountError> {
        let mut found = self.model.fit.estimate(weights)?;
        found.standard_error *= self.widening(of).sqrt();
        Ok(found)
    }

    fn widening(&self, of: &[usize]) -> f64 {
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
    fn critical(&self, df: f64, comparisons: f64) -> Result<f64, CountError> {
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

    fn comparisons(&self, dimension: usize) -> Result<Vec<Comparison>, CountError> {
        let described = &self.frame.dimensions[dimension];
        let size = described.size();
        let pairs: Vec<(usize, usize)> = match described.control {
            Some(control) => (0..size)
                .filter(|level| *level != control)
                .map(|level| (level, control))
                .collect(),
            None if described.values.is_none() && size <= MOST_LEVELS_IN_PAIRS => (0..size)
                .flat_map(|against| (against + 1..size).map(move |level| (level, against)))
                .collect(),
            None => return Ok(Vec::new()),
        };
        let df = self.df(&[dimension]);
        let weights: Vec<Vec<f64>> = pairs
            .iter()
            .map(|(level, against)| {
                let mut weights = vec![0.0; size];
                weights[*level] = 1.0;
                weights[*against] = -1.0;
                level_weights(self.frame, dimension, &weights)
            })
            .collect();
        let estimates: Vec<_> = weights
            .iter()
            .map(|w| self.model.fit.estimate(w))
            .collect::<Result<_, _>>()?;
        let t: Vec<f64> = estimates
            .iter()
            .map(|e| e.value / e.standard_error)
            .collect();
        let dunnett = match described.control {
            Some(_) => self.dunnett(&weights, df)?,
            None => None,
        };
        let wrong = |_| CountError::Contrast;
        let (probabilities, critical, adjusted) = match dunnett {
            Some(dunnett) => {
                let of = |t: &f64| dunnett.upper(t.abs()).map_err(wrong);
                let probabilities = t.iter().map(of).collect::<Result<Vec<_>, _>>()?;
                let critical = dunnett.quantile(self.level).map_err(wrong)?;
                (probabilities, critical, Adjusted::Dunnett)
            }
            None => {
                let of = |t: &f64| t_two_sided(*t, df).map_err(wrong);
                let alone = t.iter().map(of).collect::<Result<Vec<_>, _>>()?;
                let adjusted = holm(&alone).map_err(|_| CountError::Contrast)?;
                (
                    adjusted,
                    self.critical(df, pairs.len() as f64)?,
                    Adjusted::Holm,
                )
            }
        };
        let rows = pairs.iter().zip(&estimates).zip(probabilities);
        Ok(rows
            .map(|(((level, against), estimate), probability)| Comparison {
                dimension,
                level: *level,
                against: *against,
                ratio: estimate.value.exp(),
                low: (estimate.value - critical * estimate.standard_error).exp(),
                high: (estimate.value + critical * estimate.standard_error).exp(),
                probability,
                adjusted,
            })
            .collect())
    }

    /// Dunnett's distribution for comparisons with one control; `None` where their correlations are
    /// not near enough to products of one factor each.
    fn dunnett(&self, weights: &[Vec<f64>], df: f64) -> Result<Option<Dunnett>, CountError> {
        let size = weights.len();
        let mut covariance = vec![vec![0.0; size]; size];
        for (a, left) in weights.iter().enumerate() {
            for (b, right) in weights.iter().enumerate() {
                covariance[a][b] = self.model.fit.covariance(left, right)?;
            }
        }
        // The control's own variance is what two comparisons share.
        let shared: Vec<f64> = (0..size)
            .flat_map(|a| (0..a).map(move |b| (a, b)))
            .map(|(a, b)| covariance[a][b])
            .collect();
        if shared.is_empty() {
            return Ok(Dunnett::new(&[0.5], df, Sides::Both).ok());
        }
        let control = shared.iter().sum::<f64>() / shared.len() as f64;
        if control <= 0.0 {
            return Ok(None);
        }
        let factors: Vec<f64> = (0..size)
            .map(|a| (control / covariance[a][a]).sqrt())
            .collect();
        let off = (0..size)
            .flat_map(|a| (0..a).map(move |b| (a, b)))
            .any(|(a, b)| {
                let correlation = covariance[a][b] / (covariance[a][a] * covariance[b][b]).sqrt();
                (correlation - factors[a] * factors[b]).abs() > PRODUCT_TOLERANCE
            });
        if off {
            return Ok(None);
        }
        Ok(Dunnett::new(&factors, df, Sides::Both).ok())
    }

    fn trend(&self, dimension: usize) -> Result<Option<Trend>, CountError> {
        let Some(values) = &self.frame.dimensions[dimension].values else {
            return Ok(None);
        };
        let middle = values.iter().sum::<f64>() / values.len() as f64;
        let squares: f64 = values.iter().map(|value| (value - middle).powi(2)).sum();
        let mut sorted = values.clone();
        sorted.sort_by(f64::total_cmp);
        let step = sorted
            .windows(2)
            .map(|pair| pair[1] - pair[0])
            .fold(f64::INFINITY, f64::min);
        if !(squares > 0.0 && step > 0.0) {
            return Ok(None);
        }
        let slope: Vec<f64> = values
            .iter()
            .map(|value| step * (value - middle) / squares)
            .collect();
        let df = self.df(&[dimension]);
        let found = self
            .model
            .fit
            .estimate(&level_weights(self.frame, dimension, &slope))?;
        let wrong = |_| CountError::Contrast;
        let reach = self.critical(df, 1.0)? * found.standard_error;
        Ok(Some(Trend {
            dimension,
            step,
            ratio: found.value.exp(),
            low: (found.value - reach).exp(),
            high: (found.value + reach).exp(),
            probability: t_two_sided(found.value / found.standard_error, df).map_err(wrong)?,
            curvature: self.curvature(dimension, values, df)?,
        }))
    }

    fn curvature(
        &self,
        dimension: usize,
        values: &[f64],
        df: f64,
    ) -> Result<Option<f64>, CountError> {
        if values.len() < 3 {
            return Ok(None);
        }
        let weights = vec![1.0; values.len()];
        let contrasts = polynomial::contrasts(values, &weights, values.len() - 1)
            .map_err(|_| CountError::Contrast)?;
        let bent: Vec<Vec<f64>> = contrasts
            .iter()
            .filter(|contrast| contrast.degree > 1)
            .map(|contrast| level_weights(self.frame, dimension, &contrast.values))
            .collect();
        Ok(Some(
            self.model
                .fit
                .test(&bent, df, self.widening(&[dimension]))?
                .probability,
        ))
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
