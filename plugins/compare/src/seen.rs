//! What each trial saw: means and differences with their errors, wherever these are known.

use caneplot_numerics::sites::{Measured, Reported, difference_error};
use caneplot_plugin::estimates::Estimates;

use crate::asked::{Error, Published, Question, Source};

/// A value, with its error where it is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Value {
    pub value: f64,
    /// Standard error and degrees of freedom (`None`: a large-sample method).
    pub error: Option<(f64, Option<f64>)>,
}

impl Value {
    /// The value with its error.
    pub fn measured(&self) -> Option<Measured> {
        let (standard_error, df) = self.error?;
        (standard_error > 0.0 && standard_error.is_finite()).then_some(Measured {
            value: self.value,
            standard_error,
            df,
        })
    }
}

/// The pairs that are compared: every treatment less the control, or every later one less every
/// earlier one.
pub(crate) fn pairs(question: &Question) -> Vec<(usize, usize)> {
    let all = 0..question.treatments.len();
    match question.control {
        Some(control) => all
            .filter(|of| *of != control)
            .map(|of| (of, control))
            .collect(),
        None => all
            .flat_map(|against| {
                (against + 1..question.treatments.len()).map(move |of| (of, against))
            })
            .collect(),
    }
}

/// The mean of a treatment in one trial.
pub(crate) fn mean(source: &Source, treatment: usize) -> Value {
    match source {
        Source::Report { estimates, at } => {
            let one = &estimates.treatments[at[treatment]];
            Value {
                value: one.value,
                error: one.standard_error.map(|error| (error, estimates.df)),
            }
        }
        Source::Published(table) => Value {
            value: table.means[treatment],
            error: mean_error(table, treatment).map(|error| (error, table.df)),
        },
    }
}

/// The ends of a mean's interval, as the trial's own analysis gives them.
pub(crate) fn interval(source: &Source, treatment: usize) -> Option<(f64, f64)> {
    match source {
        Source::Report { estimates, at } => {
            let one = &estimates.treatments[at[treatment]];
            Some((one.low?, one.high?))
        }
        Source::Published(_) => None,
    }
}

/// The difference of a pair in one trial.
pub(crate) fn difference(source: &Source, of: usize, against: usize) -> Value {
    match source {
        Source::Report { estimates, at } => {
            let (of, against) = (at[of], at[against]);
            let value = estimates.treatments[of].value - estimates.treatments[against].value;
            listed(estimates, of, against).unwrap_or_else(|| Value {
                value,
                error: from_covariance(estimates, of, against),
            })
        }
        Source::Published(table) => Value {
            value: table.means[of] - table.means[against],
            error: published_error(table, of, against).map(|error| (error, table.df)),
        },
    }
}

/// A difference that the estimates list, either way round.
fn listed(estimates: &Estimates, of: usize, against: usize) -> Option<Value> {
    estimates.differences.iter().find_map(|one| {
        let sign = match (one.of, one.against) {
            pair if pair == (of, against) => 1.0,
            pair if pair == (against, of) => -1.0,
            _ => return None,
        };
        Some(Value {
            value: sign * one.value,
            error: Some((one.standard_error, one.df)),
        })
    })
}

fn from_covariance(estimates: &Estimates, of: usize, against: usize) -> Option<(f64, Option<f64>)> {
    let entry = |a: usize, b: usize| {
        let (row, column) = (a.max(b), a.min(b));
        estimates.covariance.get(row * (row + 1) / 2 + column)
    };
    let variance = entry(of, of)? + entry(against, against)? - 2.0 * entry(of, against)?;
    (variance > 0.0).then(|| (variance.sqrt(), estimates.df))
}

fn published_error(table: &Published, of: usize, against: usize) -> Option<f64> {
    let reported = match table.error.as_ref()? {
        Error::Means(errors) => Reported::OfMeans(errors[of], errors[against]),
        Error::Difference(error) => Reported::OfDifference(*error),
        Error::Least { value, level } => Reported::LeastSignificant {
            value: *value,
            level: *level,
            df: table.df?,
        },
        Error::Variation(share) => Reported::Variation {
            share: *share,
            mean: table.mean,
            plots: table.plots?,
        },
    };
    difference_error(&reported).ok()
}

/// Error of a published mean: given, or that of a difference over √2, since the plots of all means
/// are equally many.
fn mean_error(table: &Published, treatment: usize) -> Option<f64> {
    match table.error.as_ref()? {
        Error::Means(errors) => Some(errors[treatment]),
        _ => Some(published_error(table, 0, 1)? / std::f64::consts::SQRT_2),
    }
}
