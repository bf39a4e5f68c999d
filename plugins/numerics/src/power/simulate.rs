//! Power by drawing trials and analysing each.
//!
//! Trial k draws from stream k of the seed, so the counts do not depend on the number of threads.
//! Power is a share of rejections and has the standard error of one.

use super::squares::Squares;
use super::{Plan, PowerError};
use crate::random::Streams;

/// Trials from which a further thread is worth starting.
const WORTH_A_THREAD: u64 = 200;

/// How to simulate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    /// Seed of the trials.
    pub seed: u64,
    /// Number of trials.
    pub draws: u64,
    /// Threads at most; the result does not depend on it.
    pub threads: usize,
    /// Level of the tests.
    pub level: f64,
}

/// How each simulated trial is analysed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Analysis {
    /// Each term against the mean square of its stratum.
    Strata,
    /// Restricted likelihood with variances of 0 or more, tests as Kenward & Roger (1997).
    ///
    /// In an orthogonal design of nested strata both have a closed form: the estimates are the mean
    /// squares, pooled with their neighbours where a finer one is larger (Thompson 1962, *Ann. Math.
    /// Stat.* 33:273), and because each term has its own stratum the scale is 1 and the degrees of
    /// freedom are those of the stratum, zero variances staying in the model. No search is needed.
    Restricted,
}

/// Rejections among simulated trials.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Simulated {
    /// Trials in which the test rejected.
    pub rejected: u64,
    /// Trials.
    pub draws: u64,
}

impl Simulated {
    /// The share of rejections.
    #[must_use]
    pub fn power(&self) -> f64 {
        self.rejected as f64 / self.draws as f64
    }

    /// The standard error of that share.
    #[must_use]
    pub fn standard_error(&self) -> f64 {
        let power = self.power();
        (power * (1.0 - power) / self.draws as f64).sqrt()
    }

    /// Power ± 1.96 standard errors, within 0 and 1.
    #[must_use]
    pub fn interval(&self) -> (f64, f64) {
        let reach = 1.96 * self.standard_error();
        (
            (self.power() - reach).max(0.0),
            (self.power() + reach).min(1.0),
        )
    }
}

/// The power of every term's test by simulation.
///
/// # Errors
/// See [`PowerError`].
pub fn by_simulation(
    plan: Plan<'_>,
    analysis: Analysis,
    settings: Settings,
) -> Result<Vec<Simulated>, PowerError> {
    plan.check()?;
    let (layout, critical) = (plan.layout, plan.critical(settings.level)?);
    let strata = layout.strata();
    if analysis == Analysis::Restricted {
        for pair in strata.windows(2) {
            if !pair[1].cells.refines(&pair[0].cells) {
                return Err(PowerError::NotNested(pair[1].name.clone()));
            }
        }
    }
    let dfs: Vec<f64> = strata
        .iter()
        .map(|stratum| stratum.residual_df as f64)
        .collect();
    simulated(plan, settings, || {
        let mut squares = Squares::new(layout);
        let mut errors = vec![0.0; strata.len()];
        let (critical, dfs) = (&critical, &dfs);
        move |values: &[f64], rejected: &mut [u64]| {
            squares.take(values);
            for (at, (error, df)) in errors.iter_mut().zip(dfs).enumerate() {
                *error = squares.of_error(at) / df.max(1.0);
            }
            if analysis == Analysis::Restricted {
                pool(&mut errors, dfs);
            }
            for (place, term) in layout.terms().iter().enumerate() {
                let mean_square = squares.of_term(place) / term.df as f64;
                rejected[place] += u64::from(mean_square >= critical[place] * errors[term.stratum]);
            }
        }
    })
}

/// Mean squares as the restricted likelihood has them where every stratum is at least as variable as
/// those inside it: neighbours in the wrong order are averaged by their degrees of freedom.
fn pool(mean_squares: &mut [f64], dfs: &[f64]) {
    let mut from = 0;
    while from < dfs.len() {
        // The run from here whose average is least decides the estimate of all in it.
        let (mut sum, mut df) = (0.0, 0.0);
        let mut best = (f64::NEG_INFINITY, from + 1);
        for at in from..dfs.len() {
            sum += mean_squares[at] * dfs[at];
            df += dfs[at];
            if df > 0.0 && sum / df >= best.0 {
                best = (sum / df, at + 1);
            }
        }
        if best.0.is_finite() {
            mean_squares[from..best.1].fill(best.0);
        }
        from = best.1;
    }
}

/// Draws trials and hands each to an analysis, which adds 1 at every term it rejects.
///
/// `analysis` makes the analysis of one thread, with its own room to work in.
///
/// # Errors
/// See [`PowerError`].
pub fn simulated<A: FnMut(&[f64], &mut [u64])>(
    plan: Plan<'_>,
    settings: Settings,
    analysis: impl Fn() -> A + Sync,
) -> Result<Vec<Simulated>, PowerError> {
    plan.check()?;
    if settings.draws == 0 {
        return Err(PowerError::NoDraws);
    }
    let streams = Streams::new(settings.seed, "power");
    let (terms, units) = (plan.layout.terms().len(), plan.layout.units());
    let deviations: Vec<(&[usize], usize, f64)> = plan
        .layout
        .strata()
        .iter()
        .zip(plan.variances)
        .filter(|(_, variance)| **variance > 0.0)
        .map(|(stratum, variance)| {
            (
                stratum.cells.of_unit(),
                stratum.cells.count(),
                variance.sqrt(),
            )
        })
        .collect();
    let threads = (settings.draws / WORTH_A_THREAD).clamp(1, settings.threads.max(1) as u64);
    let work = |own: u64| {
        let (mut values, mut cells) = (vec![0.0; units], vec![0.0; units]);
        let mut rejected = vec![0; terms];
        let mut analysis = analysis();
        for trial in (own..settings.draws).step_by(threads as usize) {
            let mut stream = streams.replicate(trial);
            values.copy_from_slice(plan.expected);
            for &(of_unit, count, deviation) in &deviations {
                stream.fill_normal(&mut cells[..count]);
                for (value, &cell) in values.iter_mut().zip(of_unit) {
                    *value += deviation * cells[cell];
                }
            }
            analysis(&values, &mut rejected);
        }
        rejected
    };
    let work = &work;
    let parts: Vec<Vec<u64>> = std::thread::scope(|scope| {
        let running: Vec<_> = (1..threads)
            .map(|own| scope.spawn(move || work(own)))
            .collect();
        let mut parts = vec![work(0)];
        for thread in running {
            parts.push(
                thread
                    .join()
                    .unwrap_or_else(|panic| std::panic::resume_unwind(panic)),
            );
        }
        parts
    });
    Ok((0..terms)
        .map(|term| Simulated {
            rejected: parts.iter().map(|part| part[term]).sum(),
            draws: settings.draws,
        })
        .collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn mean_squares_in_the_wrong_order_are_pooled_by_their_degrees_of_freedom() {
        let pooled = |mut mean_squares: Vec<f64>, dfs: &[f64]| {
            pool(&mut mean_squares, dfs);
            mean_squares
        };
        assert_eq!(
            pooled(vec![9.0, 4.0, 1.0], &[3.0, 6.0, 27.0]),
            [9.0, 4.0, 1.0]
        );
        // (6·1 + 2·5)/8.
        assert_eq!(
            pooled(vec![9.0, 1.0, 5.0], &[3.0, 6.0, 2.0]),
            [9.0, 2.0, 2.0]
        );
        // The first two average 1.5, below the third: all three are one.
        assert_eq!(
            pooled(vec![1.0, 2.0, 12.0], &[1.0, 1.0, 1.0]),
            [5.0, 5.0, 5.0]
        );
        assert_eq!(
            pooled(vec![3.0, 7.0, 1.0], &[1.0, 1.0, 1.0]),
            [5.0, 5.0, 1.0]
        );
        // A stratum without degrees of freedom says nothing.
        assert_eq!(
            pooled(vec![0.0, 7.0, 1.0], &[0.0, 1.0, 1.0]),
            [7.0, 7.0, 1.0]
        );
    }
}
