//! Maximum of a log-likelihood by Newton's method, with a certificate that it is one.
//!
//! Where the curvature is not that of a maximum, eigenvalues are turned round; steps that do not
//! climb are halved. A standard deviation that shrinks towards 0 is set to 0 when the likelihood
//! falls on leaving it (its second derivative there is negative, the Kuhn–Tucker condition at the
//! boundary), and let go again when it does not.

use nalgebra::{DMatrix, DVector, SymmetricEigen};

use super::CountError;
use super::laplace::{Evaluation, Parameter};

/// A fit has converged when no parameter could move further than this many of its standard errors.
const LARGEST_SLOPE: f64 = 1e-7;
/// Gain in log-likelihood that a further Newton step promises, below which the search ends.
const SMALLEST_GAIN: f64 = 1e-19;
/// A standard deviation below this is tried at 0.
const NEAR_ZERO: f64 = 0.02;
const MOST_STEPS: usize = 100;

/// What shows that a fit is a maximum.
#[derive(Debug, Clone, PartialEq)]
pub struct Certificate {
    /// Newton steps taken.
    pub iterations: usize,
    /// Gain in log-likelihood that one more step would promise.
    pub promised_gain: f64,
    /// Largest gradient in units of the standard error of its parameter.
    pub largest_slope: f64,
    /// Smallest eigenvalue of the information, scaled to a unit diagonal: above 0 at a maximum.
    pub smallest_curvature: f64,
    /// Second derivative of the log-likelihood in each standard deviation that is at 0: none is
    /// positive at a maximum.
    pub at_boundary: Vec<f64>,
}

/// Where the search ended.
pub(super) struct Optimum {
    pub phi: Vec<f64>,
    pub evaluation: Evaluation,
    /// Parameters held at 0.
    pub held: Vec<bool>,
    pub certificate: Certificate,
    /// Inverse of the information of the free parameters, zeros at those held.
    pub covariance: DMatrix<f64>,
}

/// The log-likelihood to climb.
pub(super) trait Surface {
    fn kinds(&self) -> &[Parameter];
    fn evaluate(&self, phi: &[f64]) -> Option<Evaluation>;
    fn value(&self, phi: &[f64]) -> Option<f64>;
    /// A reason to stop at once: estimates that run away.
    fn runs_away(&self, phi: &[f64]) -> Option<CountError>;
}

struct Direction {
    step: DVector<f64>,
    gain: f64,
    is_maximum: bool,
}

/// Newton's direction among the free parameters.
fn direction(evaluation: &Evaluation, free: &[usize]) -> Direction {
    let gradient = DVector::from_iterator(free.len(), free.iter().map(|a| evaluation.gradient[*a]));
    let information = DMatrix::from_fn(free.len(), free.len(), |a, b| {
        -evaluation.hessian[(free[a], free[b])]
    });
    let eigen = SymmetricEigen::new(information);
    let largest = eigen
        .eigenvalues
        .iter()
        .fold(0.0_f64, |most, v| most.max(v.abs()));
    let mut step = DVector::zeros(free.len());
    for (value, vector) in eigen
        .eigenvalues
        .iter()
        .zip(eigen.eigenvectors.column_iter())
    {
        let curvature = value.abs().max(1e-10 * largest).max(f64::MIN_POSITIVE);
        step.axpy(vector.dot(&gradient) / curvature, &vector, 1.0);
    }
    Direction {
        gain: gradient.dot(&step),
        is_maximum: eigen.eigenvalues.iter().all(|value| *value > 0.0),
        step,
    }
}

/// How far one step may go, so that a poor start does not throw the search out of range.
fn reach(kind: Parameter, value: f64) -> f64 {
    match kind {
        Parameter::Shape => 1.5,
        Parameter::Sd(_) => 0.5 * (value + 0.5),
        Parameter::Coefficient(_) => 3.0,
    }
}

fn moved(phi: &[f64], free: &[usize], step: &DVector<f64>, kinds: &[Parameter]) -> Vec<f64> {
    let mut next = phi.to_vec();
    for (at, change) in free.iter().zip(step.iter()) {
        next[*at] += change;
        if matches!(kinds[*at], Parameter::Sd(_)) {
            // The likelihood is even in a standard deviation.
            next[*at] = next[*at].abs();
        }
    }
    next
}

/// Climbs from `start`.
pub(super) fn maximum(surface: &impl Surface, start: Vec<f64>) -> Result<Optimum, CountError> {
    let kinds = surface.kinds().to_vec();
    let lost = |iterations| CountError::NotConverged {
        iterations,
        slope: f64::INFINITY,
    };
    let mut phi = start;
    let mut held = vec![false; phi.len()];
    let mut releases = 0;
    let mut here = surface.evaluate(&phi).ok_or(lost(0))?;
    for iteration in 0..MOST_STEPS {
        if let Some(reason) = surface.runs_away(&phi) {
            return Err(reason);
        }
        let free: Vec<usize> = (0..phi.len()).filter(|at| !held[*at]).collect();
        let Direction {
            mut step,
            gain,
            is_maximum,
        } = direction(&here, &free);
        if is_maximum && gain < SMALLEST_GAIN {
            let grows = (0..phi.len()).find(|a| held[*a] && here.hessian[(*a, *a)] > 0.0);
            match grows {
                Some(at) if releases < 3 => {
                    releases += 1;
                    held[at] = false;
                    phi[at] = 5.0 * NEAR_ZERO;
                    here = surface.evaluate(&phi).ok_or(lost(iteration))?;
                    continue;
                }
                _ => {}
            }
            // Newton squares the error: one more step leaves rounding only.
            let last = moved(&phi, &free, &step, &kinds);
            if let Some(there) = surface.evaluate(&last) {
                (phi, here) = (last, there);
            }
            return certified(phi, here, held, iteration, gain);
        }
        let limits = free.iter().zip(step.iter());
        let scale = limits.fold(1.0_f64, |scale, (at, change)| {
            scale.min(reach(kinds[*at], phi[*at]) / change.abs().max(f64::MIN_POSITIVE))
        });
        step *= scale;
        let promised = gain * scale;
        let mut share = 1.0;
        loop {
            let next = moved(&phi, &free, &(&step * share), &kinds);
            // The value and the derivatives of quadrature agree to its own error only.
            let slack = 1e-10 * (1.0 + here.value.abs());
            let climbs = surface.value(&next).is_some_and(|value| {
                value >= here.value + 1e-4 * share * promised
                    || promised < 1e-6 && value >= here.value - slack
            });
            if climbs {
                phi = next;
                break;
            }
            share *= 0.5;
            if share < 1e-8 {
                return match is_maximum && gain < 1e-12 {
                    true => certified(phi, here, held, iteration, gain),
                    false => Err(not_converged(&here, &free, iteration)),
                };
            }
        }
        here = surface.evaluate(&phi).ok_or(lost(iteration))?;
        for at in 0..phi.len() {
            let small = matches!(kinds[at], Parameter::Sd(_)) && phi[at] < NEAR_ZERO;
            if held[at] || !small {
                continue;
            }
            let mut without = phi.clone();
            without[at] = 0.0;
            if let Some(there) = surface.evaluate(&without)
                && there.hessian[(at, at)] <= 0.0
            {
                phi = without;
                held[at] = true;
                here = there;
            }
        }
    }
    let free: Vec<usize> = (0..phi.len()).filter(|at| !held[*at]).collect();
    Err(not_converged(&here, &free, MOST_STEPS))
}

fn not_converged(here: &Evaluation, free: &[usize], iterations: usize) -> CountError {
    let slopes = free.iter().map(|a| {
        here.gradient[*a].abs() / here.hessian[(*a, *a)].abs().max(f64::MIN_POSITIVE).sqrt()
    });
    CountError::NotConverged {
        iterations,
        slope: slopes.fold(0.0, f64::max),
    }
}

fn certified(
    phi: Vec<f64>,
    evaluation: Evaluation,
    held: Vec<bool>,
    iterations: usize,
    gain: f64,
) -> Result<Optimum, CountError> {
    let free: Vec<usize> = (0..phi.len()).filter(|at| !held[*at]).collect();
    let failed = |slope| CountError::NotConverged { iterations, slope };
    let information = DMatrix::from_fn(free.len(), free.len(), |a, b| {
        -evaluation.hessian[(free[a], free[b])]
    });
    let factor = nalgebra::Cholesky::new(information.clone()).ok_or(failed(f64::INFINITY))?;
    let inverse = factor.inverse();
    let mut covariance = DMatrix::zeros(phi.len(), phi.len());
    let mut largest_slope = 0.0_f64;
    for (a, at) in free.iter().enumerate() {
        largest_slope = largest_slope.max(evaluation.gradient[*at].abs() * inverse[(a, a)].sqrt());
        for (b, other) in free.iter().enumerate() {
            covariance[(*at, *other)] = inverse[(a, b)];
        }
    }
    let scaled = DMatrix::from_fn(free.len(), free.len(), |a, b| {
        information[(a, b)] / (information[(a, a)] * information[(b, b)]).sqrt()
    });
    let curvatures = scaled.symmetric_eigenvalues();
    let smallest_curvature = curvatures
        .iter()
        .fold(f64::INFINITY, |least, v| least.min(*v));
    let at_boundary: Vec<f64> = (0..phi.len())
        .filter(|at| held[*at])
        .map(|at| evaluation.hessian[(at, at)])
        .collect();
    let grows = at_boundary.iter().any(|curvature| *curvature > 0.0);
    let level = largest_slope < LARGEST_SLOPE;
    if grows || !level {
        return Err(failed(largest_slope));
    }
    Ok(Optimum {
        phi,
        evaluation,
        held,
        certificate: Certificate {
            iterations,
            promised_gain: gain.max(0.0),
            largest_slope,
            smallest_curvature,
            at_boundary,
        },
        covariance,
    })
}
