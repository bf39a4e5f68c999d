//! A curve fitted to level means: what it leaves, how sure its parameters and heights are.
//!
//! Straight lines and quadratics are least squares; shapes with a join or a rate come from
//! [`plateau`](crate::curves::plateau) and [`asymptotic`](crate::curves::asymptotic). Variances of
//! parameters and heights are those of the curve linearised at its parameters, exact for straight
//! lines and quadratics; where a join or an optimum lies has its own interval, by profile or by
//! Fieller's theorem, because linearised ones fail there.

use crate::curves::levels::{Estimate, Levels};
use crate::curves::shape::{Curve, Shape};
use crate::curves::{asymptotic, plateau};
use crate::sum::dot;
use crate::variance::{ErrorLine, TermLine};

/// Why a shape has no curve for these levels.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum FitError {
    /// Occurs when the levels are too few to tell the shape from a simpler one.
    #[error("needs {needed} levels")]
    TooFewLevels {
        /// Levels needed.
        needed: usize,
    },
    /// Occurs when the best join is not inside the range of the levels.
    #[error("does not level off inside the tested range")]
    NoJoin,
    /// Occurs when the best asymptotic curve is a straight line.
    #[error("bends too little to be told from a straight line")]
    Straight,
    /// Occurs when the best asymptotic curve has reached its level before the second amount.
    #[error("is a single step between the lowest level and the rest")]
    Step,
    /// Occurs when levels lie so close together that parameters cannot be told apart.
    #[error("has parameters that these levels cannot tell apart")]
    Singular,
}

/// A fitted curve.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// The curve.
    pub curve: Curve,
    /// Sum of squares of the level means about it.
    pub lack_of_fit: f64,
    /// Level means left over: levels less the constant and the parameters of the curve.
    pub lack_of_fit_df: usize,
    /// Variances and covariance of the two parameters in units of the error variance.
    pub(crate) parameters: [[f64; 2]; 2],
    /// Mean of h over the levels, weighted as the reference height is.
    middle: f64,
    /// Mean gradient, likewise.
    middle_gradient: [f64; 2],
}

impl Levels {
    /// The least-squares curve of a shape.
    ///
    /// # Errors
    /// See [`FitError`].
    pub fn fit(&self, shape: Shape) -> Result<Fit, FitError> {
        if self.count() < shape.levels_needed() {
            return Err(FitError::TooFewLevels {
                needed: shape.levels_needed(),
            });
        }
        let curve = match shape {
            Shape::Flat => Curve {
                shape,
                first: 0.0,
                second: 0.0,
                origin: 0.0,
            },
            Shape::Line | Shape::Quadratic => self.polynomial(shape)?,
            Shape::LinePlateau | Shape::QuadraticPlateau => plateau::best(self, shape)?,
            Shape::Asymptotic => asymptotic::best(self)?,
        };
        self.fitted(curve)
    }

    /// Sum of squares of the level means about a curve, its height being free.
    #[must_use]
    pub fn about(&self, curve: Curve) -> f64 {
        let heights: Vec<f64> = self.amounts.iter().map(|&x| curve.at(x)).collect();
        let left: Vec<f64> = self
            .contrasts
            .iter()
            .zip(self.reduced(&heights))
            .map(|(z, fitted)| z - fitted)
            .collect();
        dot(&left, &left)
    }

    /// Everything about a curve whose parameters are known.
    pub(crate) fn fitted(&self, curve: Curve) -> Result<Fit, FitError> {
        let heights: Vec<f64> = self.amounts.iter().map(|&x| curve.at(x)).collect();
        let gradients: Vec<[f64; 2]> = self.amounts.iter().map(|&x| curve.gradient(x)).collect();
        let column = |at: usize| -> Vec<f64> { gradients.iter().map(|g| g[at]).collect() };
        let mean = |at: usize| dot(&self.weights, &column(at));
        Ok(Fit {
            curve,
            lack_of_fit: self.about(curve),
            lack_of_fit_df: self.count() - 1 - curve.shape.parameters(),
            parameters: inverse_products(
                curve.shape.parameters(),
                &self.reduced(&column(0)),
                &self.reduced(&column(1)),
            )?,
            middle: dot(&self.weights, &heights),
            middle_gradient: [mean(0), mean(1)],
        })
    }

    fn polynomial(&self, shape: Shape) -> Result<Curve, FitError> {
        let (low, high) = self.range();
        let origin = 0.5 * (low + high);
        let half = 0.5 * (high - low);
        let power = |power: i32| -> Vec<f64> {
            let heights: Vec<f64> = self
                .amounts
                .iter()
                .map(|x| ((x - origin) / half).powi(power))
                .collect();
            self.reduced(&heights)
        };
        let (linear, square) = (power(1), power(2));
        let mut curve = Curve {
            shape,
            first: dot(&linear, &self.contrasts) / dot(&linear, &linear) / half,
            second: 0.0,
            origin,
        };
        if shape == Shape::Quadratic {
            // The square made orthogonal to the line.
            let shared = dot(&linear, &square) / dot(&linear, &linear);
            let own: Vec<f64> = square
                .iter()
                .zip(&linear)
                .map(|(square, linear)| square - shared * linear)
                .collect();
            let length = dot(&own, &own);
            if length <= 1e-14 * dot(&square, &square) {
                return Err(FitError::Singular);
            }
            let bend = dot(&own, &self.contrasts) / length;
            curve.first -= bend * shared / half;
            curve.second = bend / (half * half);
        }
        Ok(curve)
    }

    /// The fitted height at x, over equally weighted blocks.
    #[must_use]
    pub fn height(&self, fit: &Fit, x: f64) -> Estimate {
        self.functional(fit, 1.0, fit.curve.at(x), fit.curve.gradient(x))
    }

    /// The fitted height at `to` less that at `from`.
    #[must_use]
    pub fn change(&self, fit: &Fit, from: f64, to: f64) -> Estimate {
        let (start, end) = (fit.curve.gradient(from), fit.curve.gradient(to));
        let step = [end[0] - start[0], end[1] - start[1]];
        self.functional(fit, 0.0, fit.curve.at(to) - fit.curve.at(from), step)
    }

    /// A number made of `share` of the common height, a value of h and its gradient.
    pub(crate) fn functional(
        &self,
        fit: &Fit,
        share: f64,
        value: f64,
        gradient: [f64; 2],
    ) -> Estimate {
        let steps = [
            gradient[0] - share * fit.middle_gradient[0],
            gradient[1] - share * fit.middle_gradient[1],
        ];
        Estimate {
            value: share * (self.reference.value - fit.middle) + value,
            unit_variance: share * share * self.reference.unit_variance
                + quadratic_form(&fit.parameters, steps),
        }
    }

    /// The test of what the curve leaves of the level means; `None` where it leaves no degree of
    /// freedom.
    #[must_use]
    pub fn lack_of_fit(&self, fit: &Fit) -> Option<TermLine> {
        (fit.lack_of_fit_df > 0)
            .then(|| TermLine::tested(fit.lack_of_fit, fit.lack_of_fit_df, &self.error))
    }

    /// Error and lack of fit together: the error a curve has when nothing else is known.
    #[must_use]
    pub fn residual(&self, fit: &Fit) -> ErrorLine {
        let df = self.error.df + fit.lack_of_fit_df;
        let sum_of_squares = self.error.sum_of_squares + fit.lack_of_fit;
        ErrorLine {
            df,
            sum_of_squares,
            mean_square: (df > 0).then(|| sum_of_squares / df as f64),
        }
    }
}

impl Fit {
    /// Slope of the curve at x.
    pub(crate) fn slope(&self, x: f64) -> f64 {
        self.curve.slope(x)
    }
}

pub(crate) fn quadratic_form(matrix: &[[f64; 2]; 2], v: [f64; 2]) -> f64 {
    let sum = v[0] * (matrix[0][0] * v[0] + matrix[0][1] * v[1])
        + v[1] * (matrix[1][0] * v[0] + matrix[1][1] * v[1]);
    sum.max(0.0)
}

/// Inverse of the products of one or two columns. A second column that adds nothing (a join at the
/// second level moves with the slope) counts as known.
fn inverse_products(
    parameters: usize,
    first: &[f64],
    second: &[f64],
) -> Result<[[f64; 2]; 2], FitError> {
    let mut inverse = [[0.0; 2]; 2];
    if parameters == 0 {
        return Ok(inverse);
    }
    let length = dot(first, first);
    if length <= 0.0 {
        return Err(FitError::Singular);
    }
    inverse[0][0] = 1.0 / length;
    if parameters == 1 {
        return Ok(inverse);
    }
    let shared = dot(first, second) / length;
    let own: Vec<f64> = second
        .iter()
        .zip(first)
        .map(|(second, first)| second - shared * first)
        .collect();
    let rest = dot(&own, &own);
    if rest > 1e-14 * dot(second, second) {
        inverse[1][1] = 1.0 / rest;
        inverse[0][1] = -shared / rest;
        inverse[1][0] = -shared / rest;
        inverse[0][0] += shared * shared / rest;
    }
    Ok(inverse)
}
