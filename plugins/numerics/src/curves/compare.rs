//! Which shape describes the level means best for the number of parameters it spends.
//!
//! AICc = n ln(2π S/n) + n + 2k + 2k(k + 1)/(n − k − 1) (Akaike 1974, *IEEE Trans. Autom. Control*
//! 19:716; Hurvich & Tsai 1989, *Biometrika* 76:297), where S is error plus lack of fit and k counts
//! the curve, the constant, blocks, other factors and their interactions (the same in every shape)
//! and the error variance. Chosen is the simplest shape whose AICc lies within 2 of the smallest
//! (Burnham & Anderson 2002); among shapes equally simple, the one with the smallest.

use crate::curves::fit::{Fit, FitError};
use crate::curves::levels::Levels;
use crate::curves::shape::Shape;

/// How far above the smallest AICc a shape still counts as describing the data about as well.
pub const ABOUT_AS_GOOD: f64 = 2.0;

/// A shape among others.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    /// The shape.
    pub shape: Shape,
    /// The best curve of it, or why there is none.
    pub fit: Result<Fit, FitError>,
    /// Parameters in all: k.
    pub parameters: usize,
    /// Error and lack of fit.
    pub residual: Option<f64>,
    /// AICc; `None` where there is no curve, no residual or too few units for k.
    pub aicc: Option<f64>,
    /// AICc above the smallest.
    pub above_best: Option<f64>,
}

/// Shapes compared.
#[derive(Debug, Clone, PartialEq)]
pub struct Comparison {
    /// The shapes in the order given.
    pub candidates: Vec<Candidate>,
    /// Place of the chosen one; `None` where no AICc exists.
    pub chosen: Option<usize>,
}

impl Comparison {
    /// The chosen candidate with its curve.
    #[must_use]
    pub fn chosen(&self) -> Option<(&Candidate, &Fit)> {
        let candidate = &self.candidates[self.chosen?];
        candidate.fit.as_ref().ok().map(|fit| (candidate, fit))
    }

    /// Chooses again, among these shapes only: where a test has shown that there is a change, or that
    /// there is none to describe.
    pub fn choose(&mut self, among: impl Fn(Shape) -> bool) {
        let known: Vec<(usize, Shape, f64)> = self
            .candidates
            .iter()
            .enumerate()
            .filter(|(_, candidate)| among(candidate.shape))
            .filter_map(|(at, candidate)| Some((at, candidate.shape, candidate.aicc?)))
            .collect();
        let least = known.iter().map(|it| it.2).fold(f64::INFINITY, f64::min);
        self.chosen = known
            .iter()
            .filter(|it| it.2 <= least + ABOUT_AS_GOOD)
            .min_by(|a, b| {
                let simple = a.1.parameters().cmp(&b.1.parameters());
                simple.then(a.2.total_cmp(&b.2)).then(a.0.cmp(&b.0))
            })
            .map(|it| it.0);
    }

    /// Shapes other than the chosen one that describe the data about as well.
    pub fn rivals(&self) -> impl Iterator<Item = (&Candidate, &Fit)> {
        self.candidates
            .iter()
            .enumerate()
            .filter(|(at, candidate)| {
                Some(*at) != self.chosen
                    && candidate
                        .above_best
                        .is_some_and(|above| above <= ABOUT_AS_GOOD)
            })
            .filter_map(|(_, candidate)| candidate.fit.as_ref().ok().map(|fit| (candidate, fit)))
    }
}

/// AICc of a residual sum of squares.
///
/// `None` where the residual is not above zero or n − k − 1 is not.
#[must_use]
pub fn aicc(units: usize, residual: f64, parameters: usize) -> Option<f64> {
    if residual <= 0.0 || units <= parameters + 1 {
        return None;
    }
    let (n, k) = (units as f64, parameters as f64);
    Some(
        n * ((std::f64::consts::TAU * residual / n).ln() + 1.0)
            + 2.0 * k
            + 2.0 * k * (k + 1.0) / (n - k - 1.0),
    )
}

/// Fits the shapes and compares them.
#[must_use]
pub fn compare(levels: &Levels, shapes: &[Shape]) -> Comparison {
    let mut candidates: Vec<Candidate> = shapes
        .iter()
        .map(|&shape| {
            let fit = levels.fit(shape);
            let parameters = levels.other_parameters + shape.parameters() + 1;
            let residual = fit
                .as_ref()
                .ok()
                .map(|fit| levels.error.sum_of_squares + fit.lack_of_fit);
            Candidate {
                shape,
                parameters,
                residual,
                aicc: residual.and_then(|residual| aicc(levels.units, residual, parameters)),
                above_best: None,
                fit,
            }
        })
        .collect();
    let best = candidates
        .iter()
        .filter_map(|candidate| candidate.aicc)
        .fold(f64::INFINITY, f64::min);
    for candidate in &mut candidates {
        candidate.above_best = candidate.aicc.map(|aicc| aicc - best);
    }
    let mut comparison = Comparison {
        candidates,
        chosen: None,
    };
    comparison.choose(|_| true);
    comparison
}
