//! The most likely random effects for given parameters, by penalised iteratively reweighted least
//! squares: Newton's method on Σ l(η_i) − ½ u'u, which has one maximum for every family here, with
//! halved steps where one overshoots. It goes on until steps are rounding, because the derivatives
//! of Laplace's approximation are taken at the exact mode.

use nalgebra::DVector;

use super::Counts;
use super::curvature::Curvature;
use super::family::Parts;

/// Where the random effects of each term begin among all of them, and the columns of each count.
#[derive(Debug, Clone)]
pub(super) struct Places {
    /// By count, one column a random term.
    pub columns: Vec<Vec<usize>>,
    /// First column of each term.
    pub starts: Vec<usize>,
    /// Number of random effects.
    pub size: usize,
    /// The term that has a unit for each count, whose effects stand last.
    pub single: Option<usize>,
    /// Number of random effects of all other terms.
    pub rest: usize,
    /// By effect of that term, its count.
    pub row_of_single: Vec<usize>,
}

impl Places {
    pub(super) fn of(model: &Counts) -> Self {
        let each = |codes: &[usize]| {
            let mut sorted = codes.to_vec();
            sorted.sort_unstable();
            sorted.iter().enumerate().all(|(at, code)| at == *code)
        };
        let single = model.random.iter().rposition(|term| each(&term.codes));
        let mut starts = vec![0; model.random.len()];
        let mut rest = 0;
        for (at, term) in model.random.iter().enumerate() {
            if Some(at) != single {
                starts[at] = rest;
                rest += term.units();
            }
        }
        let mut row_of_single = Vec::new();
        if let Some(at) = single {
            starts[at] = rest;
            row_of_single = vec![0; model.rows()];
            for (row, code) in model.random[at].codes.iter().enumerate() {
                row_of_single[*code] = row;
            }
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
            size: rest + row_of_single.len(),
            single,
            rest,
            row_of_single,
        }
    }

    /// Column and standard deviation of the terms of a count, the one with a unit for each left out.
    pub(super) fn others<'a>(
        &self,
        columns: &'a [usize],
        sds: &'a [f64],
    ) -> impl Iterator<Item = (usize, f64)> + use<'a> {
        let single = self.single;
        let terms = columns.iter().zip(sds).enumerate();
        terms
            .filter(move |(at, _)| Some(*at) != single)
            .map(|(_, (column, sd))| (*column, *sd))
    }
}

/// The mode with what is known at it.
#[derive(Debug, Clone)]
pub(super) struct Mode {
    /// Random effects in units of their standard deviation.
    pub effects: DVector<f64>,
    /// Log-likelihood and derivatives of each count.
    pub parts: Vec<Parts>,
    /// H = I − Σ l″ a a', a the row of a count times the standard deviations.
    pub curvature: Curvature,
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

/// The mode, or `None` where the likelihood is not finite there.
pub(super) fn mode(model: &Counts, places: &Places, at: &At) -> Option<Mode> {
    let mut effects = DVector::zeros(places.size);
    let mut here = step_at(model, places, at, &effects);
    for _ in 0..200 {
        if !here.joint.is_finite() {
            return None;
        }
        let curvature = Curvature::new(places, at.sds, |row| -here.parts[row].eta[2])?;
        let mut slope = -effects.clone();
        for (columns, parts) in places.columns.iter().zip(&here.parts) {
            for (column, sd) in columns.iter().zip(at.sds) {
                slope[*column] += sd * parts.eta[1];
            }
        }
        let change = curvature.solve(places, at.sds, &slope);
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
                curvature: Curvature::new(places, at.sds, |row| -here.parts[row].eta[2])?,
                effects,
                parts: here.parts,
                joint: here.joint,
            })
            .filter(|mode| mode.joint.is_finite());
        }
    }
    None
}
