//! Where the search for the variance parameters begins.
//!
//! For components that enter V linearly one scoring step from any place is the minimum-norm quadratic
//! estimate (Rao 1971, *J. Multivar. Anal.* 1:445); in balanced data that is the analysis of variance,
//! and where its components are not negative it already is the solution. Other forms start from the
//! plot and error variances so found, the spread of residuals in each season and several
//! correlations, for their likelihood can have more than one top.

use nalgebra::{Cholesky, DMatrix, DVector};

use super::MixedError;
use super::matrices::Prepared;
use super::optimise::Settings;
use super::problem::Problem;
use super::season::{Parameter, Structure, pairs};

/// Correlations tried for forms with one.
const CORRELATIONS: [f64; 3] = [-0.3, 0.3, 0.7];
/// Correlation of neighbouring seasons from which an unstructured covariance starts.
const FADING: f64 = 0.6;
/// Smallest share of the error variance a start keeps for a parameter that must be above zero.
const LEAST_SHARE: f64 = 1e-3;

/// Smallest mean squared residual of a season or group that a start takes, over their average.
const LEAST_SPREAD: f64 = 0.05;

/// Residuals of least squares and their variance.
struct Plain {
    residuals: DVector<f64>,
    variance: f64,
}

fn plain(problem: &Problem) -> Result<Plain, MixedError> {
    let x = &problem.fixed;
    let y = DVector::from_column_slice(&problem.values);
    let cholesky = Cholesky::new(x.tr_mul(x)).ok_or(MixedError::NoError)?;
    let mut residuals = y.clone();
    // The second pass takes out what rounding left of the first.
    for _ in 0..2 {
        residuals -= x * cholesky.solve(&x.tr_mul(&residuals));
    }
    let sum = residuals.norm_squared();
    let size = y.amax();
    if sum <= 1e-20 * size * size * y.len() as f64 {
        return Err(MixedError::NoError);
    }
    Ok(Plain {
        residuals,
        variance: sum / (x.nrows() - x.ncols()) as f64,
    })
}

/// Components of a linear form by one scoring step; negative ones are left negative.
pub(crate) fn scoring_step(prepared: &Prepared, variance: f64) -> Result<Vec<f64>, MixedError> {
    let theta: Vec<f64> = prepared
        .parameters
        .iter()
        .map(|parameter| match parameter {
            Parameter::Covariance(..) => 0.0,
            Parameter::Error | Parameter::Season(_) => variance,
            _ => 0.5 * variance,
        })
        .collect();
    let at = prepared.absorb(&theta).ok_or(MixedError::NoError)?;
    let derivatives = prepared.derivatives(&at);
    identified(&derivatives.expected, &prepared.parameters)?;
    let step = Cholesky::new(derivatives.expected)
        .ok_or(MixedError::NoError)?
        .solve(&derivatives.score);
    Ok(theta.iter().zip(step.iter()).map(|(a, b)| a + b).collect())
}

/// Refuses parameters about which the data carry no information of their own; the error carries
/// their place.
fn identified(expected: &DMatrix<f64>, parameters: &[Parameter]) -> Result<(), MixedError> {
    let size = expected.nrows();
    let unit = |at: usize| expected[(at, at)].max(f64::MIN_POSITIVE).sqrt();
    let mut left = DMatrix::from_fn(size, size, |i, j| expected[(i, j)] / (unit(i) * unit(j)));
    for at in 0..size {
        let pivot = left[(at, at)];
        if pivot.is_nan() || pivot <= 1e-9 {
            return Err(MixedError::NotIdentified(format!("{:?}", parameters[at])));
        }
        for row in at + 1..size {
            let share = left[(row, at)] / pivot;
            for column in at + 1..size {
                left[(row, column)] -= share * left[(at, column)];
            }
        }
    }
    Ok(())
}

/// Places to start from, in the parameters of the problem.
pub(crate) fn starts(
    problem: &Problem,
    prepared: &Prepared,
    settings: Settings,
) -> Result<Vec<Vec<f64>>, MixedError> {
    let negative = settings.negative;
    if problem.residual.groups() > 1 {
        return grouped(problem, settings);
    }
    let plain = plain(problem)?;
    let structure = problem.residual.structure;
    if matches!(structure, Structure::Independent | Structure::Symmetric) {
        let theta = scoring_step(prepared, plain.variance)?;
        let mut allowed = theta.clone();
        at_least(&mut allowed, &prepared.parameters, plain.variance);
        // Negative components may belong to no covariance matrix off balance: a second place to start.
        return Ok(match negative && theta != allowed {
            true => vec![theta, allowed],
            false => vec![allowed],
        });
    }
    let mut simple = problem.clone();
    simple.residual.structure = match structure.correlated() {
        true => Structure::Symmetric,
        false => Structure::Independent,
    };
    let rough_prepared = simple.prepare(false)?;
    let mut rough = scoring_step(&rough_prepared, plain.variance)?;
    at_least(&mut rough, &rough_prepared.parameters, plain.variance);
    let random = &rough[..prepared.random];
    let total: f64 = rough[prepared.random..].iter().sum();
    let seasons = problem.residual.times.len();
    let spread = season_variances(problem, &plain, total);
    let told = settings.correlation;
    let correlations = match &told {
        Some(one) => std::slice::from_ref(one),
        None => &CORRELATIONS[..],
    };
    let with = |error: Vec<f64>| -> Vec<f64> { random.iter().copied().chain(error).collect() };
    Ok(match structure {
        Structure::Autoregressive => correlations
            .iter()
            .map(|rho| with(vec![total, *rho]))
            .collect(),
        Structure::UnequalSymmetric | Structure::UnequalAutoregressive => correlations
            .iter()
            .map(|rho| with(spread.iter().copied().chain([*rho]).collect()))
            .collect(),
        // Linear in its parameters, with one top where plots outnumber seasons well: one start.
        Structure::Unstructured => vec![with(
            pairs(seasons)
                .map(|(a, b)| {
                    let apart = b.abs_diff(a) as i32;
                    (spread[a] * spread[b]).sqrt() * told.unwrap_or(FADING).powi(apart)
                })
                .collect(),
        )],
        _ => vec![with(spread)],
    })
}

/// Starts with groups of error variance: those of one group, scaled to the squared residuals of each.
fn grouped(problem: &Problem, settings: Settings) -> Result<Vec<Vec<f64>>, MixedError> {
    let mut one = problem.clone();
    one.residual.group.clear();
    let prepared = one.prepare(settings.negative)?;
    let plain = plain(problem)?;
    let spread = shares(&problem.residual.group, problem.residual.groups(), &plain);
    let errors = prepared.random..prepared.parameters.len();
    Ok(starts(&one, &prepared, settings)?
        .into_iter()
        .map(|mut start| {
            for (value, parameter) in start[errors.clone()]
                .iter_mut()
                .zip(&prepared.parameters[errors.clone()])
            {
                if *parameter != Parameter::Correlation {
                    *value *= spread[0];
                }
            }
            start.extend(spread[1..].iter().map(|share| share / spread[0]));
            start
        })
        .collect())
}

/// Moves a start into the allowed range.
fn at_least(theta: &mut [f64], parameters: &[Parameter], variance: f64) {
    for (value, parameter) in theta.iter_mut().zip(parameters) {
        let least = match parameter.may_be_zero() {
            true => 0.0,
            false => LEAST_SHARE * variance,
        };
        *value = value.max(least);
    }
}

/// Variances of the seasons in proportion to their squared residuals, `total` on average.
fn season_variances(problem: &Problem, plain: &Plain, total: f64) -> Vec<f64> {
    let seasons = problem.residual.times.len();
    shares(&problem.residual.season, seasons, plain)
        .into_iter()
        .map(|share| total * share)
        .collect()
}

/// Mean squared residuals of each group of values, over their average.
fn shares(codes: &[usize], groups: usize, plain: &Plain) -> Vec<f64> {
    let (mut sums, mut counts) = (vec![0.0; groups], vec![0.0; groups]);
    for (&code, residual) in codes.iter().zip(plain.residuals.iter()) {
        sums[code] += residual * residual;
        counts[code] += 1.0;
    }
    let means: Vec<f64> = sums
        .iter()
        .zip(&counts)
        .map(|(sum, count): (&f64, &f64)| sum / count.max(1.0))
        .collect();
    let middle = means.iter().sum::<f64>() / groups as f64;
    means
        .iter()
        .map(|mean| (mean / middle).max(LEAST_SPREAD))
        .collect()
}
