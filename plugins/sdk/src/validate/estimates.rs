//! What results for programs must keep beyond their types.

use super::{Fault, fault};
use crate::estimates::{Estimates, Test};

/// Checks the results of one section.
///
/// # Errors
/// A number that is not finite, lengths that do not fit, an index without a treatment, an interval
/// whose ends are turned round, a confidence or P outside 0 to 1.
pub(super) fn check(estimates: &Estimates, path: &str) -> Result<(), Fault> {
    if !(estimates.level > 0.0 && estimates.level < 1.0) {
        return fault(format!("{path}.level"), "is not between 0 and 1");
    }
    let n = estimates.treatments.len();
    for (index, treatment) in estimates.treatments.iter().enumerate() {
        let path = format!("{path}.treatments[{index}]");
        if treatment.levels.len() != estimates.factors.len() {
            return fault(path, "has not one level a factor");
        }
        finite(treatment.value, &path)?;
        for number in [treatment.standard_error, treatment.low, treatment.high] {
            finite(number.unwrap_or(0.0), &path)?;
        }
        if let (Some(low), Some(high)) = (treatment.low, treatment.high) {
            ordered(low, high, &path)?;
        }
    }
    let entries = n * (n + 1) / 2;
    if !estimates.covariance.is_empty() && estimates.covariance.len() != entries {
        return fault(
            format!("{path}.covariance"),
            format!("has not {entries} numbers, a lower triangle of {n} treatments"),
        );
    }
    for number in estimates.covariance.iter().chain(&estimates.df) {
        finite(*number, path)?;
    }
    for (index, difference) in estimates.differences.iter().enumerate() {
        let path = format!("{path}.differences[{index}]");
        if difference.of >= n || difference.against >= n {
            return fault(path, "names a treatment that is not there");
        }
        for number in [difference.value, difference.standard_error] {
            finite(number, &path)?;
        }
        finite(difference.df.unwrap_or(0.0), &path)?;
        ordered(difference.low, difference.high, &path)?;
        probability(difference.p.unwrap_or(0.0), &path)?;
    }
    for (name, test) in [
        ("test", &estimates.test),
        ("seasons_test", &estimates.seasons_test),
    ] {
        if let Some(Test { p, f, df, error_df }) = test {
            let path = format!("{path}.{name}");
            probability(*p, &path)?;
            for number in [f, df, error_df].into_iter().flatten() {
                finite(*number, &path)?;
            }
        }
    }
    for (index, range) in estimates.ranges.iter().enumerate() {
        let path = format!("{path}.ranges[{index}]");
        ordered(range.low, range.high, &path)?;
        if range.treatments.iter().any(|one| *one >= n) {
            return fault(path, "names a treatment that is not there");
        }
    }
    Ok(())
}

fn finite(number: f64, path: &str) -> Result<(), Fault> {
    match number.is_finite() {
        true => Ok(()),
        false => fault(path, "holds a number that is not finite"),
    }
}

fn ordered(low: f64, high: f64, path: &str) -> Result<(), Fault> {
    finite(low, path)?;
    finite(high, path)?;
    match low <= high {
        true => Ok(()),
        false => fault(path, "has an interval whose ends are turned round"),
    }
}

fn probability(p: f64, path: &str) -> Result<(), Fault> {
    match (0.0..=1.0).contains(&p) {
        true => Ok(()),
        false => fault(path, "has a probability outside 0 to 1"),
    }
}
