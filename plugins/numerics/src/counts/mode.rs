//! The most likely random effects for given parameters, by penalised iteratively reweighted least
//! squares: Newton's method on Σ l(η_i) − ½ u'u, which has one maximum for every family here, with
//! halved steps where one overshoots. It goes on until steps are rounding, because the derivatives
//! of Laplace's approximation are taken at the exact mode.

use nalgebra::{Cholesky, DMatrix, DVector, Dyn};

use super::Counts;
use super::family::Parts;

/// Where the random effects of each term begin among all of them, and the column of each count.
#[derive(Debug, Clone)]
pub(super) struct Places {
    /// By count, one column a random term.
    pub columns: Vec<Vec<usize>>,
    /// First column of each term.
    pub starts: Vec<usize>,
    /// Number of random effects.
    pub size: usize,
}

impl Places {
    pub(super) fn of(model: &Counts) -> Self {
        let mut starts = Vec::new();
        let mut size = 0;
        for term in &model.random {
            starts.push(size);
            size += term.units();
        }
        let columns = (0..model.rows())
            .map(|row| {
                let terms = model.random.iter().zip(&starts);
                terms.map(|(term, start)| start + term.codes[row]).collect()
            })
            .collect();
        Self {
            columns,
            starts,
            size,
        }
    }
}

/// The mode with what is known at it.
#[derive(Debug, Clone)]
pub(super) struct Mode {
    /// Random effects in units of their standard deviation.
    pub effects: DVector<f64>,
    /// Log-likelihood and derivatives of each count.
    pub parts: Vec<Parts>,
    /// Factor of H = I − Σ l″ a a', a the row of a count times the standard deviations.
    pub factor: Cholesky<f64, Dyn>,
    /// Σ l − ½ u'u.
    pub joint: f64,
}

/// Parameters of one evaluation.
#[derive(Debug, Clone, Copy)]
pub(super) struct At<'a> {
    /// ln θ of the negative binomial.
    pub ln_theta: f64,
    /// Standard deviation of each random term.
    pub sds: &'a [f64],
    /// Predictor without the random effects.
    pub fixed_eta: &'a [f64],
}

struct Step {
    parts: Vec<Parts>,
    joint: f64,
}

fn step_at(model: &Counts, places: &Places, at: &At, effects: &DVector<f64>) -> Step {
    let mut joint = -0.5 * effects.norm_squared();
    let parts = (0..model.rows())
        .map(|row| {
            let random = places.columns[row].iter().zip(at.sds);
            let eta = at.fixed_eta[row] + random.map(|(c, sd)| sd * effects[*c]).sum::<f64>();
            let parts = model.family.parts(
                model.counts[row],
                model.totals[row],
                model.constants[row],
                eta,
                at.ln_theta,
            );
            joint += parts.eta[0];
            parts
        })
        .collect();
    Step { parts, joint }
}

fn curvature(places: &Places, sds: &[f64], parts: &[Parts]) -> DMatrix<f64> {
    let mut matrix = DMatrix::identity(places.size, places.size);
    for (columns, parts) in places.columns.iter().zip(parts) {
        for (a, sd_a) in columns.iter().zip(sds) {
            for (b, sd_b) in columns.iter().zip(sds) {
                matrix[(*a, *b)] -= sd_a * sd_b * parts.eta[2];
            }
        }
    }
    matrix
}

/// The mode, or `None` where the likelihood is not finite there.
pub(super) fn mode(model: &Counts, places: &Places, at: &At) -> Option<Mode> {
    let mut effects = DVector::zeros(places.size);
    let mut here = step_at(model, places, at, &effects);
    for _ in 0..200 {
        if !here.joint.is_finite() {
            return None;
        }
        let factor = Cholesky::new(curvature(places, at.sds, &here.parts))?;
        let mut slope = -effects.clone();
        for (columns, parts) in places.columns.iter().zip(&here.parts) {
            for (column, sd) in columns.iter().zip(at.sds) {
                slope[*column] += sd * parts.eta[1];
            }
        }
        let change = factor.solve(&slope);
        let size = change
            .iter()
            .fold(0.0_f64, |most, step| most.max(step.abs()));
        let mut share = 1.0;
        let mut next;
        loop {
            next = &effects + &change * share;
            let there = step_at(model, places, at, &next);
            // Rounding of the sum itself must not look like a fall.
            if there.joint >= here.joint - 1e-12 * (1.0 + here.joint.abs()) {
                here = there;
                break;
            }
            share *= 0.5;
            if share < 1e-10 {
                return None;
            }
        }
        effects = next;
        // Newton's steps square the error: after one of this size only rounding is left.
        if size <= 1e-9 {
            return Some(Mode {
                factor: Cholesky::new(curvature(places, at.sds, &here.parts))?,
                effects,
                parts: here.parts,
                joint: here.joint,
            })
            .filter(|mode| mode.joint.is_finite());
        }
    }
    None
}
