//! The maximum of the restricted likelihood by Newton steps.
//!
//! A variance that may be zero is searched on its own scale and stopped at zero, where the sign of
//! its score says whether it stays (on the scale of a standard deviation the score vanishes there
//! whatever the data say); variances that cannot be zero on the log scale; correlations as atanh ρ.
//! Steps use the observed information where it is positive definite, else the expected, and are halved
//! until the likelihood rises; a place whose covariance matrix has no Cholesky factor counts as
//! infinitely bad.

use nalgebra::{Cholesky, DMatrix, DVector};

use super::assemble::Fit;
use super::candidate::Candidate;
use super::converge::{CERTIFIED, Certificate, distance, square};
use super::deviance::Absorbed;
use super::matrices::Prepared;
use super::problem::Problem;
use super::scales::Scale;
use super::season::Parameter;
use super::start::starts;
use super::{MixedError, assemble};

/// A step that would still move the estimates by less than this many standard errors is the last.
const CLOSE: f64 = 1e-10;
/// Most halvings of a step.
const HALVINGS: usize = 30;

/// Nearer than this to a maximum that is known, in its standard errors, a search is given up: it
/// leads to the same one.
const KNOWN: f64 = 0.1;

/// How a fit is made.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    /// Lets variances of random terms be negative, which in balanced data reproduces the analysis of
    /// variance.
    pub negative: bool,
    /// Keeps a variance at zero among the parameters when degrees of freedom are found, as the design
    /// has that source of error whatever its estimate; else it is left out.
    pub keep_zero: bool,
    /// Correlation between seasons to start from, where a simpler form of the covariance has told it;
    /// else several are tried.
    pub correlation: Option<f64>,
    /// Most steps of one search.
    pub most_steps: usize,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            negative: false,
            keep_zero: true,
            correlation: None,
            most_steps: 100,
        }
    }
}

/// Fits a problem.
///
/// # Errors
/// [`MixedError`]; a fit without a certificate is an error.
pub fn fit(problem: &Problem, settings: Settings) -> Result<Fit, MixedError> {
    let prepared = problem.prepare(settings.negative)?;
    let found = searched(problem, &prepared, settings)?;
    assemble::fit(problem, &prepared, found, settings)
}

/// The maximum of a problem without what inference needs: enough to compare covariances by, at less
/// work. [`refit`] from its parameters gives the fit.
///
/// # Errors
/// As for [`fit`].
pub fn candidate(problem: &Problem, settings: Settings) -> Result<Candidate, MixedError> {
    let prepared = problem.prepare(settings.negative)?;
    let found = searched(problem, &prepared, settings)?;
    Ok(Candidate::of(&prepared, found))
}

/// The same from parameters that are nearly right.
///
/// # Errors
/// As for [`refit`].
pub fn candidate_near(
    problem: &Problem,
    near: &[f64],
    settings: Settings,
) -> Result<Candidate, MixedError> {
    let (prepared, found) = searched_near(problem, near, settings)?;
    Ok(Candidate::of(&prepared, found))
}

fn searched(
    problem: &Problem,
    prepared: &Prepared,
    settings: Settings,
) -> Result<Found, MixedError> {
    let named = |error: MixedError| named(error, problem, &prepared.parameters);
    let starts = starts(problem, prepared, settings).map_err(named)?;
    best(prepared, starts, settings)
}

fn searched_near(
    problem: &Problem,
    near: &[f64],
    settings: Settings,
) -> Result<(Prepared, Found), MixedError> {
    let prepared = problem.prepare(settings.negative)?;
    if near.len() != prepared.parameters.len() {
        return Err(MixedError::Length {
            what: "the list of variance parameters".to_owned(),
            got: near.len(),
            wanted: prepared.parameters.len(),
        });
    }
    let found = best(&prepared, vec![near.to_vec()], settings)?;
    Ok((prepared, found))
}

/// Fits a problem that differs little from one whose variance parameters are known, such as the same
/// without a plot: one search from those.
///
/// # Errors
/// As for [`fit`].
pub fn refit(problem: &Problem, near: &[f64], settings: Settings) -> Result<Fit, MixedError> {
    let (prepared, found) = searched_near(problem, near, settings)?;
    assemble::fit(problem, &prepared, found, settings)
}

/// The best end of the searches from some places.
pub(super) fn best(
    prepared: &Prepared,
    starts: Vec<Vec<f64>>,
    settings: Settings,
) -> Result<Found, MixedError> {
    let mut best: Option<Found> = None;
    let mut trouble = String::from("no start has a positive definite covariance matrix");
    for start in starts {
        match prepared.search(start, settings, best.as_ref()) {
            Ok(None) => {}
            Ok(Some(found)) => {
                let better = best
                    .as_ref()
                    .is_none_or(|best| found.at.deviance < best.at.deviance - 1e-9);
                if better {
                    best = Some(found);
                }
            }
            Err(why) => trouble = why,
        }
    }
    best.ok_or(MixedError::NotConverged(trouble))
}

/// Names the source of variation an error speaks of.
fn named(error: MixedError, problem: &Problem, parameters: &[Parameter]) -> MixedError {
    match error {
        MixedError::NotIdentified(text) => {
            let known = parameters
                .iter()
                .find(|parameter| format!("{parameter:?}") == text);
            MixedError::NotIdentified(match known {
                Some(Parameter::Random(at)) => problem.random[*at].name.clone(),
                Some(Parameter::Plot) => "plots".to_owned(),
                Some(Parameter::Correlation) => "the correlation between seasons".to_owned(),
                _ => "the error".to_owned(),
            })
        }
        other => other,
    }
}

/// The end of a search.
pub(crate) struct Found {
    pub(crate) at: Absorbed,
    pub(crate) certificate: Certificate,
    pub(crate) derivatives: super::derivatives::Derivatives,
}

impl Found {
    /// Whether a place is so near that a search from it ends here.
    fn near(&self, theta: &[f64]) -> bool {
        let away = theta.iter().zip(&self.at.theta).map(|(a, b)| a - b);
        let away = DVector::from_iterator(theta.len(), away);
        let squared = away.dot(&(&self.derivatives.observed * &away));
        (0.0..KNOWN * KNOWN).contains(&squared)
            && away.dot(&(&self.derivatives.expected * &away)) < KNOWN * KNOWN
    }
}

impl Prepared {
    /// The maximum a start leads to; `None` where that is the known one.
    fn search(
        &self,
        start: Vec<f64>,
        settings: Settings,
        known: Option<&Found>,
    ) -> Result<Option<Found>, String> {
        let scales = self.scales(settings.negative);
        let count = scales.len();
        let mut at = self
            .absorb(&start)
            .ok_or("a start has no positive definite covariance matrix")?;
        for steps in 0..settings.most_steps {
            if known.is_some_and(|known| known.near(&at.theta)) {
                return Ok(None);
            }
            let derivatives = self.derivatives(&at);
            let free: Vec<usize> = (0..count)
                .filter(|&i| {
                    scales[i] != Scale::FromZero || at.theta[i] > 0.0 || derivatives.score[i] > 0.0
                })
                .collect();
            let bends: Vec<(f64, f64)> = scales
                .iter()
                .zip(&at.theta)
                .map(|(scale, theta)| scale.bends(*theta))
                .collect();
            let score = DVector::from_fn(count, |i, _| derivatives.score[i] * bends[i].0);
            let turned = |of: &DMatrix<f64>| {
                DMatrix::from_fn(count, count, |i, j| of[(i, j)] * bends[i].0 * bends[j].0)
            };
            let mut observed = turned(&derivatives.observed);
            for i in 0..count {
                observed[(i, i)] -= derivatives.score[i] * bends[i].1;
            }
            let left = distance(&score, &observed, &free);
            let finished = left.is_some_and(|left| left < CLOSE);
            let next = match finished {
                true => None,
                false => {
                    let expected = turned(&derivatives.expected);
                    self.better(&at, &scales, &free, &score, &[&observed, &expected])
                }
            };
            match next {
                Some(next) => at = next,
                None => {
                    return match left {
                        Some(left) if left < CERTIFIED => Ok(Some(Found {
                            certificate: Certificate {
                                distance: left,
                                score: derivatives.score.iter().copied().collect(),
                                at_zero: (0..count).filter(|i| !free.contains(i)).collect(),
                                steps,
                            },
                            at,
                            derivatives,
                        })),
                        Some(left) => Err(format!(
                            "it stopped {left:.1e} standard errors away from the maximum"
                        )),
                        None => Err(
                            "at its end the information about the variances is not positive definite"
                                .to_owned(),
                        ),
                    };
                }
            }
        }
        Err(format!("{} steps were not enough", settings.most_steps))
    }

    /// A place with a higher likelihood along the Newton direction of the first information matrix
    /// that is positive definite and leads to one.
    fn better(
        &self,
        at: &Absorbed,
        scales: &[Scale],
        free: &[usize],
        score: &DVector<f64>,
        informations: &[&DMatrix<f64>],
    ) -> Option<Absorbed> {
        // Rounding of the criterion must not stop the last step.
        let noise = 1e-12 * at.deviance.abs().max(1.0);
        for information in informations {
            let Some(cholesky) = Cholesky::new(square(information, free)) else {
                continue;
            };
            let step = cholesky.solve(&score.select_rows(free));
            let mut share = 1.0;
            for _ in 0..HALVINGS {
                let mut theta = at.theta.clone();
                for (&i, by) in free.iter().zip(step.iter()) {
                    theta[i] = scales[i].moved(theta[i], share * by);
                }
                if theta != at.theta
                    && let Some(next) = self.absorb(&theta)
                    && next.deviance <= at.deviance + noise
                {
                    return Some(next);
                }
                share *= 0.5;
            }
        }
        None
    }
}
