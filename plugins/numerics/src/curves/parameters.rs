//! The parameters of a fitted curve as a table prints them, with their linearised variances.

use crate::curves::fit::Fit;
use crate::curves::levels::{Estimate, Levels};
use crate::curves::shape::Shape;

impl Levels {
    /// The coefficients of a line or quadratic as a polynomial in x: constant, slope, curvature.
    #[must_use]
    pub fn coefficients(&self, fit: &Fit) -> Option<Vec<Estimate>> {
        let curve = fit.curve;
        let constant = self.height(fit, 0.0);
        let slope_at_zero = self.functional(fit, 0.0, fit.slope(0.0), [1.0, -2.0 * curve.origin]);
        match curve.shape {
            Shape::Line => Some(vec![
                constant,
                self.functional(fit, 0.0, curve.first, [1.0, 0.0]),
            ]),
            Shape::Quadratic => Some(vec![
                constant,
                slope_at_zero,
                self.functional(fit, 0.0, curve.second, [0.0, 1.0]),
            ]),
            _ => None,
        }
    }

    /// The first parameter of a curve: see [`Curve`](crate::curves::Curve).
    #[must_use]
    pub fn first_parameter(&self, fit: &Fit) -> Estimate {
        self.functional(fit, 0.0, fit.curve.first, [1.0, 0.0])
    }

    /// The second parameter of a curve, with its linearised variance.
    #[must_use]
    pub fn second_parameter(&self, fit: &Fit) -> Estimate {
        self.functional(fit, 0.0, fit.curve.second, [0.0, 1.0])
    }

    /// The height of a plateau, or the level an asymptotic curve tends to.
    #[must_use]
    pub fn plateau(&self, fit: &Fit) -> Option<Estimate> {
        match fit.curve.shape {
            Shape::LinePlateau | Shape::QuadraticPlateau => {
                Some(self.functional(fit, 1.0, 0.0, [0.0, 0.0]))
            }
            Shape::Asymptotic => Some(self.functional(fit, 1.0, fit.curve.first, [1.0, 0.0])),
            _ => None,
        }
    }
}
