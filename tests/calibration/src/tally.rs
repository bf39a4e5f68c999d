//! Counting what happens in many simulated trials, the same on any number of threads.

use caneplot_numerics::random::{Stream, Streams};

/// How a simulation is run.
#[derive(Debug, Clone, Copy)]
pub struct Run {
    /// Seed of all streams.
    pub seed: u64,
    /// Trials simulated for each figure.
    pub trials: u64,
    /// Threads at most; no figure depends on it.
    pub threads: u64,
}

/// What one trial adds to one figure.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// The test rejected, or the interval held the truth.
    Yes,
    /// It did not.
    No,
    /// The method gave no answer.
    NoAnswer,
    /// The trial is not of those this figure is about.
    Apart,
}

impl Outcome {
    /// Of a question; `None` is no answer.
    #[must_use]
    pub fn of(answer: Option<bool>) -> Self {
        match answer {
            Some(true) => Self::Yes,
            Some(false) => Self::No,
            None => Self::NoAnswer,
        }
    }

    /// The same where the trial is one of those in question.
    #[must_use]
    pub fn among(self, belongs: bool) -> Self {
        if belongs { self } else { Self::Apart }
    }
}

/// A share of simulated trials.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Tally {
    /// Trials in which it happened.
    pub hits: u64,
    /// Trials with an answer.
    pub answered: u64,
    /// Trials without one.
    pub without: u64,
}

impl Tally {
    fn add(&mut self, outcome: Outcome) {
        match outcome {
            Outcome::Yes => {
                self.hits += 1;
                self.answered += 1;
            }
            Outcome::No => self.answered += 1,
            Outcome::NoAnswer => self.without += 1,
            Outcome::Apart => {}
        }
    }

    fn merge(&mut self, other: &Self) {
        self.hits += other.hits;
        self.answered += other.answered;
        self.without += other.without;
    }

    /// Share of the trials with an answer; `None` where there is none.
    #[must_use]
    pub fn share(&self) -> Option<f64> {
        (self.answered > 0).then(|| self.hits as f64 / self.answered as f64)
    }

    /// Monte Carlo standard error of the share, √(p(1−p)/n).
    #[must_use]
    pub fn error(&self) -> f64 {
        let p = self.share().unwrap_or(0.0);
        (p * (1.0 - p) / self.answered.max(1) as f64).sqrt()
    }

    /// Standard errors between the share and what it would be if `wanted` were true; infinite where
    /// no trial has an answer.
    #[must_use]
    pub fn distance(&self, wanted: f64) -> f64 {
        let error = (wanted * (1.0 - wanted) / self.answered.max(1) as f64).sqrt();
        self.share()
            .map_or(f64::INFINITY, |share| (share - wanted).abs() / error)
    }
}

/// The tallies of `figures` figures over the trials of a run. `trial` draws one trial from its own
/// stream and says what it adds to each figure; `purpose` keeps simulations apart.
pub fn tallies(
    run: Run,
    purpose: &str,
    figures: usize,
    trial: impl Fn(&mut Stream) -> Vec<Outcome> + Sync,
) -> Vec<Tally> {
    let streams = Streams::new(run.seed, purpose);
    let part = |first: u64| {
        let mut found = vec![Tally::default(); figures];
        for number in (first..run.trials).step_by(run.threads.max(1) as usize) {
            let outcomes = trial(&mut streams.replicate(number));
            debug_assert_eq!(outcomes.len(), figures, "{purpose}");
            for (tally, outcome) in found.iter_mut().zip(outcomes) {
                tally.add(outcome);
            }
        }
        found
    };
    let mut total = vec![Tally::default(); figures];
    std::thread::scope(|scope| {
        let part = &part;
        let others: Vec<_> = (1..run.threads)
            .map(|first| scope.spawn(move || part(first)))
            .collect();
        let own = part(0);
        let all = std::iter::once(own).chain(others.into_iter().map(|other| {
            other
                .join()
                .unwrap_or_else(|panic| std::panic::resume_unwind(panic))
        }));
        for found in all {
            for (sum, tally) in total.iter_mut().zip(&found) {
                sum.merge(tally);
            }
        }
    });
    total
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_do_not_depend_on_the_number_of_threads() {
        let found = |threads| {
            let run = Run {
                seed: 1,
                trials: 1001,
                threads,
            };
            tallies(run, "a test", 2, |stream| {
                let drawn = stream.uniform();
                let first = Outcome::of((drawn > 0.1).then_some(drawn > 0.5));
                vec![first, Outcome::of(Some(drawn > 0.9)).among(drawn > 0.5)]
            })
        };
        assert_eq!(found(1), found(3));
        assert_eq!(found(1)[0].answered + found(1)[0].without, 1001);
        assert!(found(1)[0].distance(0.5 / 0.9) < 4.0);
        assert!(found(1)[1].distance(0.2) < 4.0);
        assert!(found(1)[1].distance(0.5) > 4.0);
    }
}
