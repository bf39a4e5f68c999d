//! The table of trends over a numeric factor.

use caneplot_numerics::variance::TermLine;
use caneplot_plugin::findings::{Column, Format, Table};

use super::decimals;
use crate::study::Study;
use crate::trend::Trend;

impl Study<'_> {
    /// The table of trends: the factor itself, then its linear part in every two-way interaction.
    pub fn trend_table(&self, trend: &Trend) -> Option<Table> {
        // Two levels have one degree of freedom, which stands in the analysis of variance already.
        if trend.quantities.len() < 3 {
            return None;
        }
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
        let decimals = Format::Decimals(decimals(self));
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
