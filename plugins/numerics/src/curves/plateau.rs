//! Curves that level off at a join: the best place of the join and the set of places not excluded.
//!
//! Given the join x₀ the curve is linear in its one other parameter, so what is left is a function
//! of x₀ alone: S(x₀) = ‖z‖² − N²/D with N = z'Rf and D = ‖Rf‖², f being the curve of unit slope (or
//! curvature) that joins its level at x₀. Between two neighbouring levels N and D are polynomials
//! in x₀, so every minimum is a root of 2N'D − ND' and every end of the set {x₀ : S(x₀) ≤ S_min + t²s²}
//! a root of (‖z‖² − S_min − t²s²) D − N². They are all found, none by search; the set may be in
//! several pieces. Such profile sets hold their level near a kink, where linearised intervals fail
//! (Hinkley 1969, *Biometrika* 56:495; Lerman 1980, *Appl. Statist.* 29:77).
//!
//! S is constant below the second level (the third for the quadratic), because the join cannot be
//! told from the steepness there: the join is looked for from that level on, and a set that reaches
//! it has no lower end. A join at the highest level is no join.

use crate::curves::fit::FitError;
use crate::curves::levels::Levels;
use crate::curves::root::{Polynomial, combined, crossings, derivative, product};
use crate::curves::shape::{Curve, Shape};
use crate::sum::dot;

/// Places that the data do not exclude.
#[derive(Debug, Clone, PartialEq)]
pub struct PlaceSet {
    /// The pieces, ascending.
    pub pieces: Vec<(f64, f64)>,
    /// The set goes on below the lowest place that the levels can tell apart.
    pub open_below: bool,
    /// The set goes on beyond the highest level.
    pub open_above: bool,
}

impl PlaceSet {
    /// The lower end of all pieces, where there is one.
    #[must_use]
    pub fn low(&self) -> Option<f64> {
        self.pieces
            .first()
            .map(|piece| piece.0)
            .filter(|_| !self.open_below)
    }

    /// The upper end of all pieces, where there is one.
    #[must_use]
    pub fn high(&self) -> Option<f64> {
        self.pieces
            .last()
            .map(|piece| piece.1)
            .filter(|_| !self.open_above)
    }

    /// Both ends, where the set has both.
    #[must_use]
    pub fn bounded(&self) -> Option<(f64, f64)> {
        self.low().zip(self.high())
    }
}

/// A place where the sum of squares is smaller than all around it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Minimum {
    /// The join.
    pub join: f64,
    /// Sum of squares of the level means about the curve.
    pub lack_of_fit: f64,
}

/// The profile between two neighbouring levels, in τ = (x₀ − middle) / range.
struct Piece {
    low: f64,
    high: f64,
    numerator: Polynomial,
    denominator: Polynomial,
}

/// The profile of the join over the range.
struct Profile<'a> {
    levels: &'a Levels,
    shape: Shape,
    scale: f64,
    pieces: Vec<Piece>,
}

impl<'a> Profile<'a> {
    fn new(levels: &'a Levels, shape: Shape) -> Self {
        let (low, high) = levels.range();
        let scale = high - low;
        let first = match shape {
            Shape::QuadraticPlateau => 2,
            _ => 1,
        };
        let pieces = (first..levels.count() - 1)
            .map(|below| {
                let (low, high) = (levels.amounts[below], levels.amounts[below + 1]);
                let middle = 0.5 * (low + high);
                // Sums over the levels at or below of R times powers of their distance.
                let sums = |power: i32| -> Vec<f64> {
                    let heights: Vec<f64> = levels.amounts[..=below]
                        .iter()
                        .map(|x| ((x - middle) / scale).powi(power))
                        .collect();
                    levels.reduced(&heights)
                };
                let (zero, one, two) = (sums(0), sums(1), sums(2));
                // f as a polynomial in τ with vector coefficients.
                let parts: Vec<(Vec<f64>, f64)> = match shape {
                    Shape::QuadraticPlateau => vec![(two, 1.0), (one, -2.0), (zero, 1.0)],
                    _ => vec![(one, 1.0), (zero, -1.0)],
                };
                let numerator = parts
                    .iter()
                    .map(|(part, times)| times * dot(part, &levels.contrasts))
                    .collect();
                let mut denominator = vec![0.0; 2 * parts.len() - 1];
                for (i, (a, times_a)) in parts.iter().enumerate() {
                    for (j, (b, times_b)) in parts.iter().enumerate() {
                        denominator[i + j] += times_a * times_b * dot(a, b);
                    }
                }
                Piece {
                    low,
                    high,
                    numerator,
                    denominator,
                }
            })
            .collect();
        Self {
            levels,
            shape,
            scale,
            pieces,
        }
    }

    fn place(&self, piece: &Piece, tau: f64) -> f64 {
        (0.5 * (piece.low + piece.high) + tau * self.scale).clamp(piece.low, piece.high)
    }

    fn roots(&self, piece: &Piece, polynomial: &[f64]) -> Vec<f64> {
        let half = 0.5 * (piece.high - piece.low) / self.scale;
        crossings(polynomial, -half, half)
            .into_iter()
            .map(|tau| self.place(piece, tau))
            .collect()
    }

    /// The best curve with this join.
    fn curve(&self, join: f64) -> Curve {
        let unit = Curve {
            shape: self.shape,
            first: 1.0,
            second: join,
            origin: 0.0,
        };
        let heights: Vec<f64> = self.levels.amounts.iter().map(|&x| unit.at(x)).collect();
        let along = self.levels.reduced(&heights);
        Curve {
            first: dot(&along, &self.levels.contrasts) / dot(&along, &along),
            ..unit
        }
    }

    fn lack_of_fit(&self, join: f64) -> f64 {
        self.levels.about(self.curve(join))
    }

    /// Knots and stationary places, ascending: the profile is monotone between neighbours.
    fn candidates(&self) -> Vec<Minimum> {
        let mut places: Vec<f64> = Vec::new();
        for piece in &self.pieces {
            let (n, d) = (&piece.numerator, &piece.denominator);
            let stationary = combined(
                &product(&derivative(n), d),
                2.0,
                &product(n, &derivative(d)),
                -1.0,
            );
            places.push(piece.low);
            places.extend(self.roots(piece, &stationary));
            places.push(piece.high);
        }
        places.dedup();
        places
            .into_iter()
            .map(|join| Minimum {
                join,
                lack_of_fit: self.lack_of_fit(join),
            })
            .collect()
    }
}

/// Every local minimum of the profile, from left to right.
///
/// # Errors
/// [`FitError::TooFewLevels`] where the shape needs more levels.
pub fn minima(levels: &Levels, shape: Shape) -> Result<Vec<Minimum>, FitError> {
    if !shape.has_join() || levels.count() < shape.levels_needed() {
        return Err(FitError::TooFewLevels {
            needed: shape.levels_needed(),
        });
    }
    let candidates = Profile::new(levels, shape).candidates();
    let at = |place: usize| candidates.get(place).map(|found| found.lack_of_fit);
    Ok((0..candidates.len())
        .filter(|&place| {
            let own = candidates[place].lack_of_fit;
            let left = place.checked_sub(1).and_then(at);
            left.is_none_or(|left| own < left) && at(place + 1).is_none_or(|right| own <= right)
        })
        .map(|place| candidates[place])
        .collect())
}

pub(crate) fn best(levels: &Levels, shape: Shape) -> Result<Curve, FitError> {
    let found = minima(levels, shape)?
        .into_iter()
        .reduce(|best, next| {
            if next.lack_of_fit < best.lack_of_fit {
                next
            } else {
                best
            }
        })
        .ok_or(FitError::Singular)?;
    if found.join >= levels.range().1 {
        return Err(FitError::NoJoin);
    }
    let curve = Profile::new(levels, shape).curve(found.join);
    if curve.first.is_finite() {
        Ok(curve)
    } else {
        Err(FitError::Singular)
    }
}

/// The joins that leave at most `allowance` more than the best one: t² times the error mean square
/// for a confidence set.
///
/// # Errors
/// As [`minima`].
pub fn places(levels: &Levels, shape: Shape, allowance: f64) -> Result<PlaceSet, FitError> {
    let least = minima(levels, shape)?
        .iter()
        .map(|minimum| minimum.lack_of_fit)
        .fold(f64::INFINITY, f64::min);
    let profile = Profile::new(levels, shape);
    let limit = least + allowance;
    let explained = levels.sum_of_squares() - limit;
    let mut ends: Vec<f64> = Vec::new();
    for piece in &profile.pieces {
        let square = product(&piece.numerator, &piece.numerator);
        let excess = combined(&piece.denominator, explained, &square, -1.0);
        ends.push(piece.low);
        ends.extend(profile.roots(piece, &excess));
        ends.push(piece.high);
    }
    let mut pieces: Vec<(f64, f64)> = Vec::new();
    for pair in ends.windows(2).filter(|pair| pair[0] < pair[1]) {
        if profile.lack_of_fit(0.5 * (pair[0] + pair[1])) > limit {
            continue;
        }
        match pieces.last_mut() {
            Some(last) if last.1 == pair[0] => last.1 = pair[1],
            _ => pieces.push((pair[0], pair[1])),
        }
    }
    let bottom = profile.pieces.first().map(|piece| piece.low);
    let top = levels.range().1;
    Ok(PlaceSet {
        open_below: pieces.first().map(|piece| piece.0) == bottom,
        open_above: pieces.last().is_some_and(|piece| piece.1 >= top),
        pieces,
    })
}

/// Sum of squares of the level means about the best curve with this join, for drawing the profile.
#[must_use]
pub fn lack_of_fit_at(levels: &Levels, shape: Shape, join: f64) -> f64 {
    Profile::new(levels, shape).lack_of_fit(join)
}
