//! Trends over the levels of a numeric factor, with their true spacing.

use caneplot_numerics::polynomial::{Contrast, contrasts, highest_degree};
use caneplot_numerics::variance::TermLine;

use crate::study::Study;

/// Degrees beyond this are one line of what is left.
const HIGHEST: usize = 3;

/// The polynomial contrasts of one numeric factor.
pub(crate) struct Trend {
    pub factor: usize,
    pub term: usize,
    pub quantities: Vec<f64>,
    weights: Vec<f64>,
    contrasts: Vec<Contrast>,
    /// Tests of degree 1, 2, 3.
    pub lines: Vec<TermLine>,
}

impl Trend {
    /// Coefficients over the level means of a degree.
    pub fn coefficients(&self, degree: usize) -> Vec<f64> {
        let values = &self.contrasts[degree - 1].values;
        values
            .iter()
            .zip(&self.weights)
            .map(|(value, weight)| value * weight)
            .collect()
    }

    /// Whether a degree is clear at a level.
    pub fn clear(&self, degree: usize, level: f64) -> bool {
        self.lines
            .get(degree - 1)
            .and_then(|line| line.p)
            .is_some_and(|p| p < level)
    }

    /// The highest clear degree, 0 where none is.
    pub fn degree(&self, level: f64) -> usize {
        (1..=self.lines.len())
            .rev()
            .find(|&degree| self.clear(degree, level))
            .unwrap_or(0)
    }

    /// The fitted curve of a degree at x, and the length of its weights: the variance of the curve
    /// at x is that of one value times this.
    pub fn curve(&self, means: &[f64], degree: usize, x: f64) -> (f64, f64) {
        let total: f64 = self.weights.iter().sum();
        let grand = self
            .weights
            .iter()
            .zip(means)
            .map(|(w, m)| w * m)
            .sum::<f64>()
            / total;
        let (mut height, mut length) = (grand, 1.0 / total);
        for degree in 1..=degree {
            let along: f64 = self
                .coefficients(degree)
                .iter()
                .zip(means)
                .map(|(c, mean)| c * mean)
                .sum();
            let place = self.at(degree, x);
            height += along * place;
            length += place * place;
        }
        (height, length)
    }

    /// A contrast as the polynomial it is, at any x: through as many of its own values as it needs.
    fn at(&self, degree: usize, x: f64) -> f64 {
        let values = &self.contrasts[degree - 1].values;
        let last = self.quantities.len() - 1;
        let knots: Vec<usize> = (0..=degree).map(|knot| knot * last / degree).collect();
        knots
            .iter()
            .map(|&own| {
                let others = knots.iter().filter(|&&knot| knot != own);
                let share: f64 = others
                    .map(|&knot| {
                        (x - self.quantities[knot]) / (self.quantities[own] - self.quantities[knot])
                    })
                    .product();
                values[own] * share
            })
            .sum()
    }
}

impl Study<'_> {
    /// The trend over a numeric factor; `None` for a factor of names or an error without degrees of
    /// freedom.
    pub fn trend(&self, factor: usize) -> Option<Trend> {
        let quantities = self.quantities(factor)?;
        let term = self.term(&[factor], false)?;
        let weights: Vec<f64> = self.tables[term]
            .counts
            .iter()
            .map(|&count| count as f64)
            .collect();
        let degree = highest_degree(&quantities).min(HIGHEST);
        let mut trend = Trend {
            factor,
            term,
            contrasts: contrasts(&quantities, &weights, degree).ok()?,
            quantities,
            weights,
            lines: Vec::new(),
        };
        let classifier = self.planned.design.treatments[factor];
        let layout = &self.planned.design.layout;
        for degree in 1..=degree {
            let coefficients = trend.coefficients(degree);
            trend
                .lines
                .push(layout.part(&self.variance, term, classifier, &coefficients)?);
        }
        Some(trend)
    }
}
