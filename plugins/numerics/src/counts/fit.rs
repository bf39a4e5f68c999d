//! From counts to a fit: starting values, search, and what is reported of the maximum.

use nalgebra::{Cholesky, DMatrix, DVector};

use super::curvature::Curvature;
use super::laplace::{self, Evaluation, Parameter, mode_at, parameters, split};
use super::linear::weighted_squares;
use super::mode::Places;
use super::optimise::{Certificate, Optimum, Surface, maximum};
use super::penalty::penalty;
use super::quadrature::{self, Rule};
use super::{CountError, Counts, FEWEST_POINTS, Family, LARGEST_LOGIT};

/// ln θ beyond which the negative binomial is Poisson to seven digits.
const LARGEST_LN_THETA: f64 = 16.0;

/// How the random effects are integrated out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Integration {
    /// Laplace's approximation; exact where there is no random term.
    Laplace,
    /// Adaptive quadrature with so many points; for one random term.
    Quadrature(usize),
}

/// A random term as fitted.
#[derive(Debug, Clone, PartialEq)]
pub struct RandomEffect {
    /// Name of the term.
    pub name: String,
    /// Standard deviation on the scale of the predictor.
    pub sd: f64,
    /// Its standard error; `None` at the boundary.
    pub sd_error: Option<f64>,
    /// Whether the estimate is 0 because the likelihood falls as soon as it leaves 0.
    pub at_boundary: bool,
    /// Most likely effect of each unit.
    pub effects: Vec<f64>,
}

/// A fitted model.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// Log-likelihood with all constants; with the penalty where it was asked for.
    pub log_likelihood: f64,
    /// Coefficients.
    pub coefficients: Vec<f64>,
    /// Random terms in the order given.
    pub random: Vec<RandomEffect>,
    /// θ of the negative binomial with its standard error (coefficients held).
    pub shape: Option<(f64, f64)>,
    /// Mean of each count at random effects of 0.
    pub fitted: Vec<f64>,
    /// Σ (y − μ)²/Var(y) over the counts where there is no random term, for judging whether they
    /// vary more than the family allows.
    pub pearson: Option<f64>,
    /// Number of parameters estimated.
    pub parameters: usize,
    /// Number of counts.
    pub rows: usize,
    /// Why this is a maximum.
    pub certificate: Certificate,
    /// Covariance of the coefficients from the joint information.
    pub(super) covariance: DMatrix<f64>,
    /// Covariance of the coefficients with the variances taken as known.
    pub(super) conditional: DMatrix<f64>,
}

impl Fit {
    /// Standard error of a coefficient.
    #[must_use]
    pub fn standard_error(&self, coefficient: usize) -> f64 {
        self.covariance[(coefficient, coefficient)].sqrt()
    }

    /// Standard error of a coefficient as if the variances of the random terms were known, from the
    /// weights of the family: smaller, and given for comparison only.
    #[must_use]
    pub fn conditional_error(&self, coefficient: usize) -> f64 {
        self.conditional[(coefficient, coefficient)].sqrt()
    }

    /// Pearson's statistic over its degrees of freedom; `None` with random terms or without degrees
    /// of freedom.
    #[must_use]
    pub fn dispersion(&self) -> Option<f64> {
        let df = self
            .rows
            .checked_sub(self.coefficients.len())
            .filter(|df| *df > 0)?;
        Some(self.pearson? / df as f64)
    }
}

struct Likelihood<'a> {
    model: &'a Counts,
    places: Places,
    kinds: Vec<Parameter>,
    rule: Option<Rule>,
}

impl Likelihood<'_> {
    fn penalise(&self, phi: &[f64], evaluation: &mut Evaluation) -> Option<()> {
        if !self.model.penalised {
            return Some(());
        }
        let penalty = penalty(self.model, split(self.model, phi).beta)?;
        let first = self.kinds.len() - self.model.coefficients();
        evaluation.value += penalty.value;
        for a in 0..self.model.coefficients() {
            evaluation.gradient[first + a] += penalty.gradient[a];
            for b in 0..self.model.coefficients() {
                evaluation.hessian[(first + a, first + b)] += penalty.hessian[(a, b)];
            }
        }
        Some(())
    }
}

impl Surface for Likelihood<'_> {
    fn kinds(&self) -> &[Parameter] {
        &self.kinds
    }

    fn evaluate(&self, phi: &[f64]) -> Option<Evaluation> {
        let mut evaluation = match &self.rule {
            Some(rule) => quadrature::evaluate(self.model, &self.places, rule, phi, true),
            None => laplace::evaluate(self.model, &self.places, phi),
        }?;
        self.penalise(phi, &mut evaluation)?;
        let finite = evaluation.value.is_finite()
            && evaluation.gradient.iter().all(|v| v.is_finite())
            && evaluation.hessian.iter().all(|v| v.is_finite());
        finite.then_some(evaluation)
    }

    fn value(&self, phi: &[f64]) -> Option<f64> {
        let value = match &self.rule {
            Some(rule) => quadrature::evaluate(self.model, &self.places, rule, phi, false)?.value,
            None => laplace::value(self.model, &self.places, phi)?,
        };
        let penalty = match self.model.penalised {
            true => penalty(self.model, split(self.model, phi).beta)?.value,
            false => 0.0,
        };
        Some(value + penalty).filter(|value| value.is_finite())
    }

    fn runs_away(&self, phi: &[f64]) -> Option<CountError> {
        let parts = split(self.model, phi);
        if parts.ln_theta > LARGEST_LN_THETA {
            return Some(CountError::NoExtraVariance);
        }
        let eta = self.model.fixed_eta(parts.beta);
        let away = |eta: &f64| match self.model.family {
            Family::Binomial => eta.abs() > LARGEST_LOGIT,
            Family::Poisson | Family::NegativeBinomial => *eta < -LARGEST_LOGIT,
        };
        eta.iter().any(away).then_some(CountError::Separated)
    }
}

/// Fits a model.
///
/// # Errors
/// [`CountError::Separated`] where estimates run away, [`CountError::NoExtraVariance`] where the
/// negative binomial is Poisson, [`CountError::NotConverged`] where no maximum is found, and
/// [`CountError::Quadrature`] where quadrature does not apply.
pub fn fit(model: &Counts, integration: Integration) -> Result<Fit, CountError> {
    let rule = match integration {
        Integration::Laplace => None,
        Integration::Quadrature(points) if points >= FEWEST_POINTS && model.random.len() == 1 => {
            Some(Rule::new(points))
        }
        Integration::Quadrature(_) => return Err(CountError::Quadrature),
    };
    let surface = Likelihood {
        model,
        places: Places::of(model),
        kinds: parameters(model),
        rule,
    };
    let beta = start(model);
    let mut first_error = None;
    // One start is enough as a rule; the others are for surfaces on which Newton's method strays.
    for sd in [0.4, 0.1, 1.0] {
        let phi: Vec<f64> = surface
            .kinds
            .iter()
            .map(|kind| match kind {
                Parameter::Shape => shape_start(model, &beta),
                Parameter::Sd(_) => sd,
                Parameter::Coefficient(at) => beta[*at],
            })
            .collect();
        match maximum(&surface, phi) {
            Ok(optimum) => return report(&surface, optimum),
            Err(error @ CountError::NotConverged { .. }) => {
                first_error = first_error.or(Some(error))
            }
            Err(error) => return Err(error),
        }
        if model.random.is_empty() {
            break;
        }
    }
    Err(first_error.unwrap_or(CountError::NotConverged {
        iterations: 0,
        slope: f64::INFINITY,
    }))
}

/// Coefficients of a weighted regression of the counts' own predictors, moved half a count inwards.
fn start(model: &Counts) -> Vec<f64> {
    let (mut targets, mut weights) = (Vec::new(), Vec::new());
    for (row, count) in model.counts.iter().enumerate() {
        let up = count + 0.5;
        let (eta, weight) = match model.family {
            Family::Binomial => {
                let down = model.totals[row] - count + 0.5;
                ((up / down).ln(), up * down / (up + down))
            }
            Family::Poisson | Family::NegativeBinomial => (up.ln(), up),
        };
        targets.push(eta - model.offset[row]);
        weights.push(weight);
    }
    let right = DVector::from_iterator(
        model.coefficients(),
        model.fixed.iter().map(|column| {
            let terms = column.iter().zip(&targets).zip(&weights);
            terms
                .map(|((x, target), weight)| x * target * weight)
                .sum::<f64>()
        }),
    );
    Cholesky::new(weighted_squares(&model.fixed, &weights)).map_or_else(
        || vec![0.0; model.coefficients()],
        |factor| factor.solve(&right).iter().copied().collect(),
    )
}

/// ln θ by moments: Σ μ² over the variance beyond Poisson.
fn shape_start(model: &Counts, beta: &[f64]) -> f64 {
    let eta = model.fixed_eta(beta);
    let (mut squares, mut excess) = (0.0, 0.0);
    for (count, eta) in model.counts.iter().zip(eta) {
        let mean = eta.exp();
        squares += mean * mean;
        excess += (count - mean).powi(2) - mean;
    }
    let theta = if excess > 0.0 {
        squares / excess
    } else {
        100.0
    };
    theta.ln().clamp(-5.0, 8.0)
}

fn report(surface: &Likelihood, optimum: Optimum) -> Result<Fit, CountError> {
    let model = surface.model;
    let lost = CountError::NotConverged {
        iterations: optimum.certificate.iterations,
        slope: f64::INFINITY,
    };
    let parts = split(model, &optimum.phi);
    let mode = mode_at(model, &surface.places, &optimum.phi).ok_or(lost.clone())?;
    let shapes = surface.kinds.len() - model.random.len() - model.coefficients();
    let random = model
        .random
        .iter()
        .enumerate()
        .map(|(term, described)| {
            let at = shapes + term;
            let start = surface.places.starts[term];
            let sd = parts.sds[term];
            RandomEffect {
                name: described.name.clone(),
                sd,
                sd_error: (!optimum.held[at]).then(|| optimum.covariance[(at, at)].sqrt()),
                at_boundary: optimum.held[at],
                effects: (0..described.units())
                    .map(|unit| sd * mode.effects[start + unit])
                    .collect(),
            }
        })
        .collect();
    let theta = parts.ln_theta.exp();
    // At the maximum the information of θ is that of ln θ over θ².
    let shape =
        (shapes == 1).then(|| (theta, theta / (-optimum.evaluation.hessian[(0, 0)]).sqrt()));
    let eta = model.fixed_eta(parts.beta);
    let each = || eta.iter().zip(&model.totals);
    let fitted: Vec<f64> = each()
        .map(|(eta, total)| model.family.mean(*total, *eta))
        .collect();
    let pearson = model.random.is_empty().then(|| {
        let variances = each().map(|(eta, total)| model.family.variance(*total, *eta, theta));
        let terms = model.counts.iter().zip(&fitted).zip(variances);
        terms
            .map(|((count, mean), variance)| (count - mean).powi(2) / variance)
            .sum()
    });
    let first = shapes + model.random.len();
    let size = model.coefficients();
    Ok(Fit {
        log_likelihood: optimum.evaluation.value,
        coefficients: parts.beta.to_vec(),
        random,
        shape,
        fitted,
        pearson,
        parameters: optimum.held.iter().filter(|held| !**held).count(),
        rows: model.rows(),
        covariance: optimum
            .covariance
            .view((first, first), (size, size))
            .into_owned(),
        conditional: conditional(surface, &optimum.phi).ok_or(lost)?,
        certificate: optimum.certificate,
    })
}

/// (X'WX − X'WA H⁻¹ A'WX)⁻¹ with the weights of the family at the mode.
fn conditional(surface: &Likelihood, phi: &[f64]) -> Option<DMatrix<f64>> {
    let model = surface.model;
    let parts = split(model, phi);
    let mode = mode_at(model, &surface.places, phi)?;
    let eta = model.fixed_eta(parts.beta);
    let weights: Vec<f64> = (0..model.rows())
        .map(|row| {
            let columns = surface.places.columns[row].iter().zip(parts.sds);
            let eta = eta[row] + columns.map(|(c, sd)| sd * mode.effects[*c]).sum::<f64>();
            match model.family {
                Family::NegativeBinomial => eta.exp() / (1.0 + eta.exp() / parts.ln_theta.exp()),
                _ => model.family.variance(model.totals[row], eta, 1.0),
            }
        })
        .collect();
    let mut crossed: DMatrix<f64> = DMatrix::zeros(surface.places.size, model.coefficients());
    for (row, columns) in surface.places.columns.iter().enumerate() {
        for (column, sd) in columns.iter().zip(parts.sds) {
            for (at, x) in model.fixed.iter().enumerate() {
                crossed[(*column, at)] += sd * weights[row] * x[row];
            }
        }
    }
    let curved = Curvature::new(&surface.places, parts.sds, |row| weights[row])?;
    let mut solved = crossed.clone();
    for at in 0..model.coefficients() {
        let column = curved.solve(&surface.places, parts.sds, &crossed.column(at).into_owned());
        solved.set_column(at, &column);
    }
    let squares = weighted_squares(&model.fixed, &weights);
    let explained = crossed.transpose() * solved;
    Some(Cholesky::new(squares - explained)?.inverse())
}
