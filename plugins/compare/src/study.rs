//! Everything that is computed for one question.

use caneplot_numerics::sites::{Moved, Site, SitesError, Summary, moved, summary};
use caneplot_plugin::Refusal;
use caneplot_plugin::words::percent;

use crate::asked::{Question, Source};
use crate::seen::{self, Value};

/// A question with its answers.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Study<'a> {
    pub question: &'a Question,
    /// Level of tests; intervals have the confidence 1 − level.
    pub level: f64,
    pub pairs: Vec<Pair>,
    pub means: Vec<Mean>,
}

/// A difference between two treatments in all trials.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Pair {
    pub of: usize,
    pub against: usize,
    /// One a trial.
    pub seen: Vec<Value>,
    /// From the first trial to the second, where there are two with errors.
    pub moved: Option<Moved>,
    /// Over all reports with an error, where there are two at least.
    pub over: Option<Over>,
}

/// A difference over trials.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Over {
    pub summary: Summary,
    /// The trials in it, in the order of its weights.
    pub trials: Vec<usize>,
}

/// A treatment's mean in all trials.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Mean {
    pub seen: Vec<Value>,
    /// Its interval in each trial.
    pub intervals: Vec<Option<(f64, f64)>>,
    pub moved: Option<Moved>,
}

impl<'a> Study<'a> {
    pub fn of(question: &'a Question, level: f64) -> Result<Self, Refusal> {
        let stop = |error: SitesError| Refusal::new(format!("{}: {error}", question.title));
        let two = question.trials.len() == 2;
        let from_to = |seen: &[Value]| match (seen[0].measured(), seen[1].measured()) {
            (Some(first), Some(second)) if two => {
                moved(&first, &second, level).map(Some).map_err(stop)
            }
            _ => Ok(None),
        };
        let published = question.has_published();
        let mut pairs = Vec::new();
        for (of, against) in seen::pairs(question) {
            let trials = question.trials.iter();
            let seen: Vec<Value> = trials
                .map(|trial| seen::difference(&trial.source, of, against))
                .collect();
            pairs.push(Pair {
                of,
                against,
                moved: from_to(&seen)?,
                over: match published {
                    true => None,
                    false => over(&seen, level).map_err(stop)?,
                },
                seen,
            });
        }
        let mut means = Vec::new();
        for treatment in 0..question.treatments.len() {
            let trials = question.trials.iter();
            let seen: Vec<Value> = trials
                .map(|trial| seen::mean(&trial.source, treatment))
                .collect();
            let trials = question.trials.iter();
            means.push(Mean {
                intervals: trials
                    .map(|trial| seen::interval(&trial.source, treatment))
                    .collect(),
                moved: from_to(&seen)?,
                seen,
            });
        }
        Ok(Self {
            question,
            level,
            pairs,
            means,
        })
    }

    /// Confidence of the intervals in words: "95 %".
    pub fn confidence(&self) -> String {
        percent(1.0 - self.level)
    }

    /// A pair in words: "48 nodes/vine less 24 nodes/vine".
    pub fn words(&self, pair: &Pair) -> String {
        let treatments = &self.question.treatments;
        format!("{} less {}", treatments[pair.of], treatments[pair.against])
    }

    /// Whether a set of trials is compared one by one, and not two with each other.
    pub fn several(&self) -> bool {
        self.question.trials.len() > 2
    }

    /// Name of a trial.
    pub fn name(&self, trial: usize) -> &str {
        &self.question.trials[trial].name
    }
}

impl Question {
    /// Whether one of the trials is a published table.
    pub fn has_published(&self) -> bool {
        let mut trials = self.trials.iter();
        trials.any(|trial| matches!(trial.source, Source::Published(_)))
    }
}

fn over(seen: &[Value], level: f64) -> Result<Option<Over>, SitesError> {
    let known = seen.iter().enumerate().filter_map(|(trial, value)| {
        let measured = value.measured()?;
        let site = Site {
            value: measured.value,
            standard_error: measured.standard_error,
        };
        Some((trial, site))
    });
    let (trials, sites): (Vec<usize>, Vec<Site>) = known.unzip();
    if sites.len() < 2 {
        return Ok(None);
    }
    Ok(Some(Over {
        summary: summary(&sites, level)?,
        trials,
    }))
}
