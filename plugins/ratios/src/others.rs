//! Other intervals for the ratio of means, beside Fieller's.
//!
//! * On the log scale: ln(a/b) has variance v_aa/a² + v_bb/b² − 2 v_ab/(ab) to first order, and the
//!   interval is the ratio times exp(± t √v); it stays above zero and is short where both means are
//!   far from zero.
//! * By resampling blocks with their plots: no error variance is taken from other treatments, and
//!   nothing is supposed about how values spread; it is corrected for bias and acceleration.
//!
//! Where all three agree the choice does not matter; where they part, the trial is too small, or a
//! plot too unlike the others, for the interval to rest on one of them alone.

use std::collections::BTreeMap;

use caneplot_numerics::bootstrap::{FEW, Resamples};
use caneplot_numerics::distribution::t_critical;
use caneplot_numerics::error_products::ErrorProducts;
use caneplot_numerics::random::Streams;
use caneplot_numerics::sum::{mean, sum};
use caneplot_plugin::request::{DesignKind, TrialInfo};

use crate::Options;
use crate::estimate::{ABOVE, BELOW, degrees_of_freedom, errors};
use crate::plots::{Plot, Plots};
use crate::treatments::{Group, Treatment};

/// Two more intervals of one treatment.
#[derive(Debug, Clone, PartialEq)]
pub struct Others {
    /// On the log scale; `None` without an estimate of error or with a mean of zero or less.
    pub log: Option<(f64, f64)>,
    /// By resampling; `None` where it was not asked for or blocks are too few.
    pub resampled: Option<(f64, f64)>,
    /// Blocks (or plots) that were resampled.
    pub units: usize,
    /// Number of resamples.
    pub resamples: u64,
    /// Whether all resamples were counted, none drawn.
    pub counted: bool,
}

/// What is resampled as a whole.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unit {
    /// Blocks with their plots.
    Blocks,
    /// Plots.
    Plots,
}

impl Unit {
    /// In words, for a heading.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Unit::Blocks => "blocks",
            Unit::Plots => "plots",
        }
    }
}

/// The other intervals of all treatments.
#[derive(Debug, Clone, PartialEq)]
pub struct OtherIntervals {
    /// As the groups and their treatments; `None` where a treatment has no plot.
    pub groups: Vec<Vec<Option<Others>>>,
    /// What was resampled.
    pub unit: Unit,
    /// Whether resampling was asked for.
    pub wanted: bool,
}

impl OtherIntervals {
    /// Of the plots of a window.
    #[must_use]
    pub fn of(
        trial: &TrialInfo,
        plots: &Plots,
        groups: &[Group],
        options: Options,
        seed: u64,
    ) -> Self {
        let errors = errors(trial, plots).ok();
        let unit = match trial.design.kind {
            DesignKind::CompletelyRandomised | DesignKind::LatinSquare => Unit::Plots,
            _ => Unit::Blocks,
        };
        let streams = Streams::new(seed, "ratio of means");
        let one = |treatment: &Treatment| {
            let members: Vec<usize> = (0..plots.plots.len())
                .filter(|at| treatment.has(&plots.plots[*at]))
                .collect();
            if members.is_empty() {
                return None;
            }
            let resamples = (options.bootstrap > 0)
                .then(|| resamples(plots, &members, unit, &streams, options.bootstrap))
                .flatten();
            Some(Others {
                log: errors
                    .as_ref()
                    .and_then(|errors| log_interval(plots, &members, errors, options.level)),
                resampled: resamples
                    .as_ref()
                    .and_then(|found| found.interval(options.level).ok())
                    .map(|(low, high)| (low * plots.scale, high * plots.scale)),
                units: resamples.as_ref().map_or(0, |found| found.blocks),
                resamples: resamples.as_ref().map_or(0, Resamples::number),
                counted: resamples.is_some_and(|found| found.counted),
            })
        };
        Self {
            groups: groups
                .iter()
                .map(|group| group.treatments.iter().map(one).collect())
                .collect(),
            unit,
            wanted: options.bootstrap > 0,
        }
    }

    /// Those of the first group that have a resampled interval.
    pub fn resampled(&self) -> impl Iterator<Item = &Others> {
        let first = self.groups.first().into_iter().flatten().flatten();
        first.filter(|others| others.resampled.is_some())
    }

    /// Whether a resampled interval rests on too few units to be trusted.
    #[must_use]
    pub fn few(&self) -> bool {
        self.resampled().any(|others| others.units < FEW)
    }
}

fn log_interval(
    plots: &Plots,
    members: &[usize],
    errors: &ErrorProducts,
    level: f64,
) -> Option<(f64, f64)> {
    let mean_of = |value: fn(&Plot) -> f64| {
        let values: Vec<f64> = members.iter().map(|at| value(&plots.plots[*at])).collect();
        mean(&values)
    };
    let above = plots.above_offset + mean_of(|plot| plot.above)?;
    let below = plots.below_offset + mean_of(|plot| plot.below)?;
    if above <= 0.0 || below <= 0.0 {
        return None;
    }
    let variance = errors.of_mean(members)?;
    let products = &variance.products;
    let relative = products[ABOVE][ABOVE] / above.powi(2) + products[BELOW][BELOW] / below.powi(2)
        - 2.0 * products[ABOVE][BELOW] / (above * below);
    let t = t_critical(1.0 - level, degrees_of_freedom(&variance)).ok()?;
    let reach = (t * relative.max(0.0).sqrt()).exp();
    let ratio = above / below * plots.scale;
    Some((ratio / reach, ratio * reach))
}

/// Resamples of the ratio of means over units taken as wholes; `None` where they are too few.
fn resamples(
    plots: &Plots,
    members: &[usize],
    unit: Unit,
    streams: &Streams,
    draws: u64,
) -> Option<Resamples> {
    type Values = (Vec<f64>, Vec<f64>);
    let mut units: BTreeMap<(&[String], usize), Values> = BTreeMap::new();
    for &at in members {
        let plot = &plots.plots[at];
        let key = match unit {
            Unit::Blocks => (plot.place.as_slice(), 0),
            Unit::Plots => (plot.place.as_slice(), at),
        };
        let (above, below) = units.entry(key).or_default();
        above.push(plot.above + plots.above_offset);
        below.push(plot.below + plots.below_offset);
    }
    let totals: Vec<(f64, f64)> = units
        .values()
        .map(|(above, below)| (sum(above), sum(below)))
        .collect();
    Resamples::new(totals.len(), streams, draws, |counts| {
        let mut ratio = (0.0, 0.0);
        for (total, &count) in totals.iter().zip(counts) {
            ratio.0 += total.0 * f64::from(count);
            ratio.1 += total.1 * f64::from(count);
        }
        ratio.0 / ratio.1
    })
    .ok()
}
