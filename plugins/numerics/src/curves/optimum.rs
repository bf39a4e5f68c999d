//! Where a quadratic has its highest or lowest point, and how sure that is.
//!
//! The optimum −b/(2q) is a ratio of estimates that vary together, so its confidence set is
//! Fieller's ([`crate::fieller`]), which is an interval only while the curvature differs from zero at
//! the same level. The linearised interval is given beside it because papers print it.

use crate::curves::fit::Fit;
use crate::curves::levels::{Estimate, Levels};
use crate::curves::shape::Shape;
use crate::distribution::t_critical;
use crate::fieller::{Covariance, FiellerSet, fieller};
use crate::variance::ErrorLine;

/// The turning point of a quadratic, or the place where its slope has a given value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Turn {
    /// The place.
    pub place: f64,
    /// Whether it is a highest point.
    pub highest: bool,
    /// Fieller's set at the level asked for.
    pub set: FiellerSet,
    /// Fieller's g: below 1 the curvature is clear at the level and the set an interval.
    pub g: f64,
    /// Standard error of the place by linearisation.
    pub standard_error: f64,
    /// The linearised interval.
    pub linearised: (f64, f64),
}

impl Levels {
    /// Where the slope of a quadratic is `slope`, with the sets at `level` (0.05 for 95 %); the
    /// turning point is where it is 0.
    ///
    /// `None` for another shape, for a curvature of exactly 0 and for an error without degrees of
    /// freedom.
    #[must_use]
    pub fn turn(&self, fit: &Fit, slope: f64, error: &ErrorLine, level: f64) -> Option<Turn> {
        let curve = fit.curve;
        if curve.shape != Shape::Quadratic || curve.second == 0.0 {
            return None;
        }
        let square = error.mean_square?;
        let t = t_critical(level, error.df as f64).ok()?;
        let [[linear, between], [_, bend]] = fit.parameters;
        let covariance = Covariance {
            numerator: square * linear,
            denominator: 4.0 * square * bend,
            between: -2.0 * square * between,
        };
        let (above, below) = (slope - curve.first, 2.0 * curve.second);
        let found = fieller(above, below, covariance, t).ok()?;
        let moved = |(low, high): (f64, f64)| (curve.origin + low, curve.origin + high);
        let set = match found.set {
            FiellerSet::Bounded { low, high } => {
                let (low, high) = moved((low, high));
                FiellerSet::Bounded { low, high }
            }
            FiellerSet::Outside { low, high } => {
                let (low, high) = moved((low, high));
                FiellerSet::Outside { low, high }
            }
            FiellerSet::All => FiellerSet::All,
        };
        let place = curve.origin + found.ratio;
        let variance = (covariance.numerator - 2.0 * found.ratio * covariance.between
            + found.ratio * found.ratio * covariance.denominator)
            / (below * below);
        let standard_error = variance.max(0.0).sqrt();
        Some(Turn {
            place,
            highest: curve.second < 0.0,
            set,
            g: found.g,
            standard_error,
            linearised: (place - t * standard_error, place + t * standard_error),
        })
    }

    /// Where a quadratic to a plateau or an asymptotic curve has this slope, with its linearised
    /// variance.
    ///
    /// `None` for other shapes and where no place has the slope.
    #[must_use]
    pub fn place_of_slope(&self, fit: &Fit, slope: f64) -> Option<Estimate> {
        let curve = fit.curve;
        let (first, second) = (curve.first, curve.second);
        let (value, gradient) = match curve.shape {
            Shape::QuadraticPlateau if slope * first < 0.0 => (
                second + slope / (2.0 * first),
                [-slope / (2.0 * first * first), 1.0],
            ),
            Shape::Asymptotic if slope * first > 0.0 => {
                let logarithm = (first * second / slope).ln();
                (
                    curve.origin + logarithm / second,
                    [
                        1.0 / (first * second),
                        (1.0 - logarithm) / (second * second),
                    ],
                )
            }
            _ => return None,
        };
        Some(self.functional(fit, 0.0, value, gradient))
    }
}
