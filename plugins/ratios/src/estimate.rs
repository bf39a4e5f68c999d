//! The ratio of each treatment with its confidence set.
//!
//! The ratio is the mean above the line over the mean below it, over the plots of the treatment: it is
//! what the treatment as a whole gave per unit of what it grew. Fieller's set needs the variances of
//! the two means and their covariance. These come from the error of the design, not from the spread
//! inside the treatment, which has a handful of degrees of freedom and holds the differences between
//! blocks:
//!
//! * completely randomised: plots within treatments;
//! * randomised block: what is left after blocks and treatments;
//! * Latin square: what is left after rows, columns and treatments;
//! * split, split-split and strip plots: each stratum has its own mean squares and products, and a
//!   mean takes from each the share that its plots take (a mean over r blocks of one sub-plot
//!   treatment has variance [E_a + (b−1) E_b]/(r b)). Simply pooling what is left after blocks and
//!   treatments would call the differences between whole plots smaller than they are.
//!
//! One error serves all treatments; where plots of one treatment vary more than those of another, its
//! interval is too narrow and the other's too wide. Blocks are taken as they are: the ratio is that of
//! these blocks. Over seasons the plots' means are analysed, so that a plot counts once and seasons are
//! no replicates.

use caneplot_numerics::distribution::t_critical;
use caneplot_numerics::error_products::{ErrorProducts, ErrorProductsError, MeanVariance};
use caneplot_numerics::fieller::{Covariance, FiellerSet, fieller};
use caneplot_numerics::sum::mean;
use caneplot_plugin::request::{DesignKind, Role, TrialInfo};

use crate::plots::{Plot, Plots};
use crate::treatments::{Group, Treatment};

/// The ratio of one treatment.
#[derive(Debug, Clone, PartialEq)]
pub struct Estimate {
    /// Number of plots.
    pub plots: usize,
    /// Ratio of the two means.
    pub ratio: f64,
    /// Fieller's set; `None` where the trial gives no estimate of error.
    pub set: Option<FiellerSet>,
    /// Mean of the plots' own ratios.
    pub mean_of_ratios: f64,
    /// Standard error of that mean; `None` where the trial gives no estimate of error.
    pub standard_error: Option<f64>,
}

impl Estimate {
    /// The ends of the interval, where it is one.
    #[must_use]
    pub fn interval(&self) -> Option<(f64, f64)> {
        match self.set {
            Some(FiellerSet::Bounded { low, high }) => Some((low, high)),
            _ => None,
        }
    }
}

/// The estimates of all treatments from one set of plots.
#[derive(Debug, Clone, PartialEq)]
pub struct Estimates {
    /// As the groups and their treatments; `None` where a treatment has no plot.
    pub groups: Vec<Vec<Option<Estimate>>>,
    /// Why there is no estimate of error, where there is none.
    pub no_error: Option<NoError>,
}

/// Why a trial gives no estimate of error.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoError {
    /// No treatment is repeated beyond what blocks and treatments account for.
    NotRepeated,
    /// The larger plots of the design are not repeated.
    LargerPlots,
    /// Plots treated alike have exactly the same values, as after copying a row.
    Copied,
}

impl From<ErrorProductsError> for NoError {
    fn from(error: ErrorProductsError) -> Self {
        match error {
            ErrorProductsError::NoStratum(_) => Self::LargerPlots,
            _ => Self::NotRepeated,
        }
    }
}

/// Estimates for `groups`, with confidence `level`.
#[must_use]
pub fn estimates(trial: &TrialInfo, plots: &Plots, groups: &[Group], level: f64) -> Estimates {
    let errors = errors(trial, plots);
    let one = |treatment: &Treatment| estimate(plots, errors.as_ref().ok(), treatment, level);
    Estimates {
        groups: groups
            .iter()
            .map(|group| group.treatments.iter().map(one).collect())
            .collect(),
        no_error: errors.as_ref().err().copied(),
    }
}

fn estimate(
    plots: &Plots,
    errors: Option<&ErrorProducts>,
    treatment: &Treatment,
    level: f64,
) -> Option<Estimate> {
    let members: Vec<usize> = (0..plots.plots.len())
        .filter(|at| treatment.has(&plots.plots[*at]))
        .collect();
    let mean_of = |value: &dyn Fn(&Plot) -> f64| {
        let values: Vec<f64> = members.iter().map(|at| value(&plots.plots[*at])).collect();
        mean(&values)
    };
    let above = plots.above_offset + mean_of(&|plot| plot.above)?;
    let below = plots.below_offset + mean_of(&|plot| plot.below)?;
    let variance = errors.and_then(|errors| errors.of_mean(&members));
    let set = variance
        .as_ref()
        .and_then(|variance| confidence_set(above, below, variance, level));
    Some(Estimate {
        plots: members.len(),
        ratio: above / below * plots.scale,
        set: set.map(|set| scaled(set, plots.scale)),
        mean_of_ratios: mean_of(&|plot| plots.ratio(plot))?,
        standard_error: variance.map(|variance| variance.products[RATIO][RATIO].sqrt()),
    })
}

/// Places of the responses in the error products.
pub(crate) const ABOVE: usize = 0;
pub(crate) const BELOW: usize = 1;
const RATIO: usize = 2;

fn confidence_set(
    above: f64,
    below: f64,
    variance: &MeanVariance,
    level: f64,
) -> Option<FiellerSet> {
    let products = &variance.products;
    let t = t_critical(1.0 - level, degrees_of_freedom(variance)).ok()?;
    let covariance = Covariance {
        numerator: products[ABOVE][ABOVE],
        denominator: products[BELOW][BELOW],
        between: products[ABOVE][BELOW],
    };
    Some(fieller(above, below, covariance, t).ok()?.set)
}

/// Each response has degrees of freedom of its own; the fewer are the safer. A fixed length below the
/// line has no error and no say.
pub(crate) fn degrees_of_freedom(variance: &MeanVariance) -> f64 {
    if variance.products[BELOW][BELOW] > 0.0 {
        variance.df[ABOVE].min(variance.df[BELOW])
    } else {
        variance.df[ABOVE]
    }
}

fn scaled(set: FiellerSet, scale: f64) -> FiellerSet {
    match set {
        FiellerSet::Bounded { low, high } => FiellerSet::Bounded {
            low: low * scale,
            high: high * scale,
        },
        FiellerSet::Outside { low, high } => FiellerSet::Outside {
            low: low * scale,
            high: high * scale,
        },
        FiellerSet::All => FiellerSet::All,
    }
}

/// Error mean squares and products of above, below and the plot's ratio.
///
/// # Errors
/// See [`NoError`].
pub(crate) fn errors(trial: &TrialInfo, plots: &Plots) -> Result<ErrorProducts, NoError> {
    let list = &plots.plots;
    let above: Vec<f64> = list.iter().map(|plot| plot.above).collect();
    let below: Vec<f64> = list.iter().map(|plot| plot.below).collect();
    let ratio: Vec<f64> = list.iter().map(|plot| plots.ratio(plot)).collect();
    let places = list.first().map_or(0, |plot| plot.place.len());
    let mut fixed: Vec<Vec<usize>> = (0..places)
        .map(|at| codes(list, |plot| &plot.place[at]))
        .collect();
    fixed.push(codes(list, |plot| &plot.levels));
    let random: Vec<Vec<usize>> = random_roles(trial.design.kind)
        .iter()
        .map(|roles| {
            codes(list, |plot| {
                let pairs = trial.factors.iter().zip(&plot.levels);
                let applied = pairs.filter(|(factor, _)| roles.contains(&factor.role));
                let levels: Vec<usize> = applied.map(|(_, level)| *level).collect();
                (&plot.place, levels)
            })
        })
        .collect();
    let errors = ErrorProducts::new(&[&above, &below, &ratio], &fixed, &random)?;
    if is_nothing(&errors, ABOVE, &above) && is_nothing(&errors, BELOW, &below) {
        return Err(NoError::Copied);
    }
    Ok(errors)
}

/// Whether the error of a response is no larger than the rounding of its values.
fn is_nothing(errors: &ErrorProducts, response: usize, values: &[f64]) -> bool {
    let largest = values
        .iter()
        .fold(0.0_f64, |most, value| most.max(value.abs()));
    let rounding = (16.0 * f64::EPSILON * largest).powi(2);
    (0..errors.strata()).all(|at| errors.mean_products(at)[response][response] <= rounding)
}

/// The factors whose levels, within a block, make the units of each stratum above the plots.
fn random_roles(kind: DesignKind) -> &'static [&'static [Role]] {
    match kind {
        DesignKind::CompletelyRandomised
        | DesignKind::RandomisedBlock
        | DesignKind::LatinSquare => &[],
        DesignKind::SplitPlot => &[&[Role::WholePlot]],
        DesignKind::StripPlot => &[&[Role::RowStrip], &[Role::CrossStrip]],
        DesignKind::SplitSplitPlot => &[&[Role::WholePlot], &[Role::WholePlot, Role::SubPlot]],
    }
}

/// Each plot's class as a number, in sorted order of what tells classes apart.
fn codes<'a, K: Ord + 'a>(plots: &'a [Plot], key: impl Fn(&'a Plot) -> K) -> Vec<usize> {
    let mut known: Vec<K> = plots.iter().map(&key).collect();
    known.sort();
    known.dedup();
    let at = |plot| known.binary_search(&key(plot)).unwrap_or_else(|at| at);
    plots.iter().map(at).collect()
}
