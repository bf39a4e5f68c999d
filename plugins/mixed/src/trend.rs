//! How the adjusted means run over the levels of a numeric factor.

use caneplot_numerics::distribution::t_two_sided;
use caneplot_numerics::mixed::kenward_roger::FTest;
use caneplot_numerics::polynomial::{contrasts, highest_degree};
use caneplot_plugin::findings::{Column, Format, Table};
use nalgebra::DMatrix;

use crate::study::Study;
use crate::tests_table::unescaped;

/// Degrees that are told apart; what is above them is tested together.
const HIGHEST: usize = 3;
const NAMES: [&str; HIGHEST] = ["Linear", "Quadratic", "Cubic"];

/// Tests of the degrees of a trend.
pub(crate) struct Trend {
    pub factor: usize,
    pub quantities: Vec<f64>,
    pub degrees: Vec<FTest>,
    /// Everything above those degrees.
    pub rest: Option<FTest>,
}

impl Study<'_> {
    /// The trend over a numeric margin with three levels or more.
    pub fn trend(&self, factor: usize) -> Option<Trend> {
        let quantities = self.margins()[factor].quantities.clone()?;
        let possible = highest_degree(&quantities);
        if quantities.len() < 3 || possible < 2 {
            return None;
        }
        let rows: Vec<Vec<f64>> = (0..quantities.len())
            .map(|level| self.grid.mean(&[(factor, level)]))
            .collect::<Option<_>>()?;
        let weights = vec![1.0; quantities.len()];
        let all = contrasts(&quantities, &weights, possible).ok()?;
        let combined: Vec<Vec<f64>> = all
            .iter()
            .map(|contrast| {
                let mut sum = vec![0.0; self.grid.width()];
                for (weight, row) in contrast.values.iter().zip(&rows) {
                    for (total, entry) in sum.iter_mut().zip(row) {
                        *total += weight * entry;
                    }
                }
                sum
            })
            .collect();
        let degrees = combined
            .iter()
            .take(HIGHEST)
            .map(|row| {
                let found = self.estimate(row)?;
                let t = found.value / found.standard_error;
                Some(FTest {
                    numerator_df: 1.0,
                    denominator_df: found.df,
                    f: t * t,
                    p: t_two_sided(t, found.df).ok()?,
                })
            })
            .collect::<Option<Vec<_>>>()?;
        let left = &combined[degrees.len()..];
        let rest = (!left.is_empty())
            .then(|| {
                self.test(&DMatrix::from_fn(left.len(), self.grid.width(), |i, j| {
                    left[i][j]
                }))
            })
            .flatten();
        Some(Trend {
            factor,
            quantities,
            degrees,
            rest,
        })
    }

    /// The table of a trend.
    pub fn trend_table(&self, trend: &Trend) -> Table {
        let tests: Vec<FTest> = trend.degrees.iter().copied().chain(trend.rest).collect();
        let names = NAMES
            .iter()
            .take(trend.degrees.len())
            .chain(trend.rest.iter().map(|_| &"Higher degrees"));
        let column = |value: &dyn Fn(&FTest) -> f64| tests.iter().map(|t| Some(value(t))).collect();
        let margin = &self.margins()[trend.factor];
        Table {
            id: format!("trend-{}", margin.id),
            title: format!(
                "Trend over {}{}{}",
                unescaped(&self.factor_words(trend.factor)),
                self.over_seasons(),
                self.on_scale()
            ),
            columns: vec![
                Column::text("Part of the trend", names.copied()),
                Column::number("df", column(&|t| t.numerator_df), Format::Decimals(0)),
                Column::number(
                    "df of the error",
                    column(&|t| t.denominator_df),
                    Format::Decimals(1),
                ),
                Column::number("F", column(&|t| t.f), Format::Decimals(2)),
                Column::probability("P", column(&|t| t.p)),
            ],
            notes: vec![
                "Orthogonal polynomials of the adjusted means at the true distances of the levels."
                    .to_owned(),
            ],
            ..Table::default()
        }
    }
}
