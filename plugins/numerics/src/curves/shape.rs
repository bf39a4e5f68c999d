//! The shapes a response curve may have, and a curve of each.
//!
//! Every curve is a height that depends on blocks and seasons plus h(x):
//!
//! - straight line: h = b x
//! - quadratic: h = b x + q x²
//! - line to a plateau: h = b (min(x, x₀) − x₀), the plateau being 0
//! - quadratic to a plateau: h = q (min(x, x₀) − x₀)², level and without a kink at x₀
//! - asymptotic (Mitscherlich 1909, *Landwirtsch. Jahrb.* 38:537): h = d (1 − exp(−k (x − x₁))), with
//!   x₁ the lowest level, d the whole rise that is possible above it and k > 0 how fast it is used up.

/// A shape.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Shape {
    /// No change with the amount.
    Flat,
    /// A straight line.
    Line,
    /// A quadratic.
    Quadratic,
    /// A straight line up to a join, level beyond it.
    LinePlateau,
    /// A quadratic up to its vertex, level beyond it.
    QuadraticPlateau,
    /// A rise that slows down towards a level it never quite reaches.
    Asymptotic,
}

impl Shape {
    /// All shapes, the simple ones first.
    pub const ALL: [Shape; 6] = [
        Shape::Flat,
        Shape::Line,
        Shape::Quadratic,
        Shape::LinePlateau,
        Shape::QuadraticPlateau,
        Shape::Asymptotic,
    ];

    /// Parameters beyond the height.
    #[must_use]
    pub fn parameters(self) -> usize {
        match self {
            Shape::Flat => 0,
            Shape::Line => 1,
            _ => 2,
        }
    }

    /// Levels without which the shape cannot be told from a simpler one.
    #[must_use]
    pub fn levels_needed(self) -> usize {
        match self {
            Shape::Flat | Shape::Line | Shape::Quadratic => 3,
            _ => 4,
        }
    }

    /// Whether it levels off at a place.
    #[must_use]
    pub fn has_join(self) -> bool {
        matches!(self, Shape::LinePlateau | Shape::QuadraticPlateau)
    }
}

/// h(x) of a shape with its parameters, up to a constant height.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Curve {
    /// The shape.
    pub shape: Shape,
    /// b of the lines, q of the quadratic to a plateau, d of the asymptotic curve; for the quadratic
    /// its slope at `origin`. 0 for the flat one.
    pub first: f64,
    /// q of the quadratic, the join x₀, the rate k. 0 where the shape has no second parameter.
    pub second: f64,
    /// Where x is counted from: the middle of the range for line and quadratic, the lowest level for
    /// the asymptotic curve.
    pub origin: f64,
}

impl Curve {
    /// h at x.
    #[must_use]
    pub fn at(&self, x: f64) -> f64 {
        let u = x - self.origin;
        match self.shape {
            Shape::Flat => 0.0,
            Shape::Line => self.first * u,
            Shape::Quadratic => u * (self.first + self.second * u),
            Shape::LinePlateau => self.first * (x - self.second).min(0.0),
            Shape::QuadraticPlateau => self.first * (x - self.second).min(0.0).powi(2),
            Shape::Asymptotic => -self.first * (-self.second * u).exp_m1(),
        }
    }

    /// Slope of h at x; at a kink the slope from the left.
    #[must_use]
    pub fn slope(&self, x: f64) -> f64 {
        let u = x - self.origin;
        match self.shape {
            Shape::Flat => 0.0,
            Shape::Line => self.first,
            Shape::Quadratic => self.first + 2.0 * self.second * u,
            Shape::LinePlateau if x <= self.second => self.first,
            Shape::LinePlateau => 0.0,
            Shape::QuadraticPlateau => 2.0 * self.first * (x - self.second).min(0.0),
            Shape::Asymptotic => self.first * self.second * (-self.second * u).exp(),
        }
    }

    /// Derivatives of h at x by the first and the second parameter.
    #[must_use]
    pub fn gradient(&self, x: f64) -> [f64; 2] {
        let u = x - self.origin;
        match self.shape {
            Shape::Flat => [0.0, 0.0],
            Shape::Line => [u, 0.0],
            Shape::Quadratic => [u, u * u],
            Shape::LinePlateau => {
                let below = (x - self.second).min(0.0);
                let rising = if below < 0.0 { -self.first } else { 0.0 };
                [below, rising]
            }
            Shape::QuadraticPlateau => {
                let below = (x - self.second).min(0.0);
                [below * below, -2.0 * self.first * below]
            }
            Shape::Asymptotic => {
                let left = (-self.second * u).exp();
                [-(-self.second * u).exp_m1(), self.first * u * left]
            }
        }
    }
}
