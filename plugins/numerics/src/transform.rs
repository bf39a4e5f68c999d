//! The scale on which a response is best analysed, and the way back from it.
//!
//! Box & Cox (1964, *J. R. Stat. Soc. B* 26:211) take the powers (y^λ − 1)/(λ ġ^{λ−1}), ġ the
//! geometric mean of the values, with ġ ln y at λ = 0. On this scale the Jacobian is 1, so error sums
//! of squares of different λ compare directly: the profile log-likelihood is −½ Σ ν ln S(λ) over the
//! error strata, S the sum of squares and ν its degrees of freedom (their marginal likelihood, each
//! stratum with a variance of its own; with one stratum and ν the number of values it is their maximum
//! likelihood). The interval of λ holds what lies less than half the upper chi-square point of one
//! degree of freedom below the maximum.
//!
//! Refused: values that are not above 0, and errors that vanish. The profile is searched from −3
//! to 3; an end beyond that is reported as open.

use crate::curves::root::crossing;
use crate::distribution::{DistributionError, chi_square_quantile};
use crate::sum::mean;

/// Ends of the search.
const REACH: f64 = 3.0;
/// Places of the first look in each unit of λ.
const PLACES: i32 = 4;

/// Why a scale cannot be looked for.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum TransformError {
    /// Occurs when there is no value.
    #[error("there is no value")]
    Empty,
    /// Occurs when values are 0, negative or not finite; holds their places, counted from 0.
    #[error("{} of the values are not above 0", .0.len())]
    NotPositive(Vec<usize>),
    /// Occurs when the likelihood cannot be had anywhere, as where plots treated alike do not vary.
    #[error("the error is zero or cannot be estimated on any scale")]
    NoError,
    /// Occurs when the confidence is not between 0 and 1.
    #[error(transparent)]
    Level(#[from] DistributionError),
}

/// The scales people can read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scale {
    /// y, λ = 1.
    Measured,
    /// ln y, λ = 0: differences are ratios.
    Log,
    /// √y, λ = ½: counts and areas.
    Root,
    /// −1/y, λ = −1: times become rates; the sign keeps large values large.
    Reciprocal,
}

/// The scales in the order in which they are preferred where the data allow several: the one that
/// needs no way back, the one whose differences mean something, and the rest.
pub const SCALES: [Scale; 4] = [Scale::Measured, Scale::Log, Scale::Root, Scale::Reciprocal];

/// A mean on another scale, brought back with its interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Back {
    /// What half the values lie below where they are symmetric on that scale. `None` where the scale
    /// has no way back from this mean.
    pub median: Option<f64>,
    /// Lower limit; `None` where it is open.
    pub low: Option<f64>,
    /// Upper limit; `None` where it is open.
    pub high: Option<f64>,
}

/// A ratio of medians with its interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ratio {
    /// First median over the second.
    pub ratio: f64,
    /// Lower limit.
    pub low: f64,
    /// Upper limit.
    pub high: f64,
}

impl Ratio {
    /// A difference of means of logarithms, with the half width of its interval, as a ratio.
    #[must_use]
    pub fn of_difference(difference: f64, half_width: f64) -> Self {
        Self {
            ratio: difference.exp(),
            low: (difference - half_width).exp(),
            high: (difference + half_width).exp(),
        }
    }
}

impl Scale {
    /// The power.
    #[must_use]
    pub fn lambda(self) -> f64 {
        match self {
            Scale::Measured => 1.0,
            Scale::Log => 0.0,
            Scale::Root => 0.5,
            Scale::Reciprocal => -1.0,
        }
    }

    /// A value above 0 on this scale; larger values stay larger.
    #[must_use]
    pub fn of(self, value: f64) -> f64 {
        match self {
            Scale::Measured => value,
            Scale::Log => value.ln(),
            Scale::Root => value.sqrt(),
            Scale::Reciprocal => -value.recip(),
        }
    }

    /// The value that stands here on this scale; `None` where there is none above or at 0.
    #[must_use]
    pub fn back(self, here: f64) -> Option<f64> {
        match self {
            Scale::Measured => Some(here),
            Scale::Log => Some(here.exp()),
            Scale::Root => (here >= 0.0).then_some(here * here),
            Scale::Reciprocal => (here < 0.0).then(|| -here.recip()),
        }
    }

    /// A mean on this scale with the half width of its interval, brought back.
    ///
    /// A lower limit below 0 on the scale of roots is 0; an upper limit that passes 0 on the scale of
    /// reciprocals is open.
    #[must_use]
    pub fn interval(self, mean: f64, half_width: f64) -> Back {
        let low = match self {
            Scale::Root => self.back((mean - half_width).max(0.0)),
            _ => self.back(mean - half_width),
        };
        Back {
            median: self.back(mean),
            low,
            high: self.back(mean + half_width),
        }
    }

    /// Mean of values that are normal on this scale with this mean and variance.
    ///
    /// `variance` is that of a single value about the mean of its treatment on this scale, all that
    /// makes such values differ added up (blocks and plots, say); not the squared standard error of
    /// the mean. For logarithms it is exp(m + s²/2) (Aitchison & Brown 1957, *The Lognormal
    /// Distribution*, eq. 2.5), for roots m² + s². The reciprocal of a normal value has no mean.
    #[must_use]
    pub fn mean_of_values(self, mean: f64, variance: f64) -> Option<f64> {
        match self {
            Scale::Measured => Some(mean),
            Scale::Log => Some((mean + 0.5 * variance).exp()),
            Scale::Root => Some(mean * mean + variance),
            Scale::Reciprocal => None,
        }
    }
}

/// Values above 0, ready to be raised to any power.
#[derive(Debug, Clone, PartialEq)]
pub struct Powers {
    geometric_mean: f64,
    /// ln(y/ġ).
    logs: Vec<f64>,
}

impl Powers {
    /// Of values as measured, not centred.
    ///
    /// # Errors
    /// [`TransformError::NotPositive`] with the places of values that are not above 0.
    pub fn new(values: &[f64]) -> Result<Self, TransformError> {
        let bad = |&at: &usize| !(values[at] > 0.0 && values[at].is_finite());
        let places: Vec<usize> = (0..values.len()).filter(bad).collect();
        if !places.is_empty() {
            return Err(TransformError::NotPositive(places));
        }
        let logs: Vec<f64> = values.iter().map(|value| value.ln()).collect();
        let centre = mean(&logs).ok_or(TransformError::Empty)?;
        Ok(Self {
            geometric_mean: centre.exp(),
            logs: logs.iter().map(|log| log - centre).collect(),
        })
    }

    /// The values raised to a power and scaled by the geometric mean, less a constant: no digits are
    /// lost near λ = 0, and sums of squares of error are Box & Cox's.
    #[must_use]
    pub fn raised(&self, lambda: f64) -> Vec<f64> {
        let one = |&log: &f64| {
            self.geometric_mean
                * if lambda == 0.0 {
                    log
                } else {
                    (lambda * log).exp_m1() / lambda
                }
        };
        self.logs.iter().map(one).collect()
    }
}

/// Log-likelihood of the scaled values of [`Powers::raised`] from their error strata: sum of squares
/// and degrees of freedom of each. `None` where one is 0.
#[must_use]
pub fn likelihood(errors: impl IntoIterator<Item = (f64, f64)>) -> Option<f64> {
    errors.into_iter().try_fold(0.0, |sum, (squares, df)| {
        (squares > 0.0 && squares.is_finite()).then(|| sum - 0.5 * df * squares.ln())
    })
}

/// What the data say about the power.
#[derive(Debug, Clone, PartialEq)]
pub struct Profile {
    /// The likeliest power, from −3 to 3.
    pub best: f64,
    /// Lower limit of its interval; `None` where it lies below −3.
    pub low: Option<f64>,
    /// Upper limit; `None` where it lies above 3.
    pub high: Option<f64>,
    /// The scales of [`SCALES`] that lie inside, in that order.
    pub inside: Vec<Scale>,
}

impl Profile {
    /// The profile of a log-likelihood of the values at each power: [`likelihood`] of the error strata
    /// or that of any other model of the same values. `alpha` is 1 less the confidence.
    ///
    /// # Errors
    /// [`TransformError::NoError`] where the likelihood is nowhere known.
    pub fn of(likelihood: impl Fn(f64) -> Option<f64>, alpha: f64) -> Result<Self, TransformError> {
        let drop = 0.5 * chi_square_quantile(alpha, 1.0)?;
        let at = |lambda: f64| likelihood(lambda).unwrap_or(f64::NEG_INFINITY);
        let count = (2.0 * REACH) as i32 * PLACES;
        let place = |step: i32| f64::from(step) / f64::from(PLACES) - REACH;
        let grid: Vec<f64> = (0..=count).map(|step| at(place(step))).collect();
        let Some(top) = (0..=count)
            .max_by(|&a, &b| grid[a as usize].total_cmp(&grid[b as usize]))
            .filter(|&top| grid[top as usize].is_finite())
        else {
            return Err(TransformError::NoError);
        };
        let (best, highest) = summit(&at, place((top - 1).max(0)), place((top + 1).min(count)));
        let floor = highest - drop;
        let excess = |lambda: f64| at(lambda) - floor;
        let below = |step: &i32| grid[*step as usize] < floor;
        let low = (0..=top)
            .rev()
            .find(|step| below(step) && place(*step) < best)
            .and_then(|step| crossing(&excess, place(step), place(step + 1).min(best)));
        let high = (top..=count)
            .find(|step| below(step) && place(*step) > best)
            .and_then(|step| crossing(&excess, place(step - 1).max(best), place(step)));
        let inside = SCALES
            .into_iter()
            .filter(|scale| excess(scale.lambda()) >= 0.0)
            .collect();
        Ok(Self {
            best,
            low,
            high,
            inside,
        })
    }

    /// The scale to analyse on; `None` where none of the four that people read fits.
    #[must_use]
    pub fn choice(&self) -> Option<Scale> {
        self.inside.first().copied()
    }
}

/// Where a function with one summit between two places is highest, and how high, by golden section.
fn summit(function: &dyn Fn(f64) -> f64, low: f64, high: f64) -> (f64, f64) {
    let golden = 0.5 * (5.0_f64.sqrt() - 1.0);
    let (mut low, mut high) = (low, high);
    let (mut left, mut right) = (high - golden * (high - low), low + golden * (high - low));
    let (mut at_left, mut at_right) = (function(left), function(right));
    // Near a summit values differ by the square of the distance, so nearer than √ε they are equal.
    while high - low > 1e-9 {
        if at_left >= at_right {
            (high, right, at_right) = (right, left, at_left);
            left = high - golden * (high - low);
            at_left = function(left);
        } else {
            (low, left, at_left) = (left, right, at_right);
            right = low + golden * (high - low);
            at_right = function(right);
        }
    }
    let middle = 0.5 * (low + high);
    [low, middle, high]
        .map(|place| (place, function(place)))
        .into_iter()
        .fold((middle, f64::NEG_INFINITY), |best, found| {
            if found.1 > best.1 { found } else { best }
        })
}
