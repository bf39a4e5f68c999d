//! Trends over the levels of a numeric factor, with their true spacing.

use caneplot_numerics::polynomial::{Contrast, contrasts, highest_degree};
use caneplot_numerics::strata::TermLine;
use caneplot_plugin::findings::{Column, Format, Table};

use crate::study::Study;
use crate::table;

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
    fn coefficients(&self, degree: usize) -> Vec<f64> {
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

    /// The table of trends: the factor itself, then its linear part in every two-way interaction.
    pub fn trend_table(&self, trend: &Trend) -> Option<Table> {
        let layout = &self.planned.design.layout;
        let name = &self.factor(trend.factor).label;
        let mut rows: Vec<(String, TermLine)> = Vec::new();
        for (line, word) in trend.lines.iter().zip(["linear", "quadratic", "cubic"]) {
            rows.push((format!("{name}, {word}"), *line));
        }
        if let Some(rest) = self.left(trend.term, &trend.lines) {
            rows.push((format!("{name}, higher degrees"), rest));
        }
        let classifier = self.planned.design.treatments[trend.factor];
        for (term, line) in layout.terms().iter().enumerate() {
            if line.classifiers.len() != 2 || !line.classifiers.contains(&classifier) {
                continue;
            }
            let other = line.classifiers.iter().find(|&&at| at != classifier)?;
            let other = &layout.classifiers()[*other].name;
            let linear = layout.part(&self.variance, term, classifier, &trend.coefficients(1))?;
            rows.push((format!("{name}, linear × {other}"), linear));
            if let Some(rest) = self.left(term, &[linear]) {
                rows.push((format!("{name}, deviations × {other}"), rest));
            }
        }
        let decimals = Format::Decimals(table::decimals(self));
        let numbers = |value: &dyn Fn(&TermLine) -> Option<f64>| {
            rows.iter().map(|(_, line)| value(line)).collect::<Vec<_>>()
        };
        Some(Table {
            id: format!(
                "trend-{}",
                crate::section::id(&self.factor(trend.factor).name)
            ),
            title: format!("Trend over {}", crate::words::inside(name)),
            columns: vec![
                Column::text("Part", rows.iter().map(|(name, _)| name.clone())),
                Column::count(
                    "df",
                    rows.iter().map(|(_, line)| Some(line.df as i64)).collect(),
                ),
                Column::number(
                    "Sum of squares",
                    numbers(&|line| Some(line.sum_of_squares)),
                    decimals,
                ),
                Column::number("F", numbers(&|line| line.f), Format::Decimals(2)),
                Column::probability("P", numbers(&|line| line.p)),
            ],
            notes: vec![format!(
                "Orthogonal polynomials with the true spacing of the levels ({}), tested against the residual of the stratum of each term.",
                crate::words::list(self.levels(trend.factor))
            )],
            ..Table::default()
        })
    }

    /// What parts of a term leave of it.
    fn left(&self, term: usize, parts: &[TermLine]) -> Option<TermLine> {
        let whole = self.line(term);
        let df = whole.df - parts.iter().map(|part| part.df).sum::<usize>();
        let taken: f64 = parts.iter().map(|part| part.sum_of_squares).sum();
        let stratum = self.planned.design.layout.terms()[term].stratum;
        (df > 0).then(|| {
            let rest = (whole.sum_of_squares - taken).max(0.0);
            TermLine::tested(rest, df, &self.variance.errors[stratum])
        })
    }
}
