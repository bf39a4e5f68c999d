//! All pairs of levels of a factor, written to a file for those who need one of them.

use caneplot_numerics::range::StudentizedRange;
use caneplot_numerics::separation::holm;
use caneplot_plugin::findings::{Column, Format, Table};

use crate::compare::Rule;
use crate::control::with_unit;
use crate::section::id;
use crate::study::Study;
use crate::words;

impl Study<'_> {
    /// Differences of all pairs of levels of a factor of names, with their intervals and the
    /// probability under the rule of the options.
    pub fn pairs_table(&self, factor: usize) -> Option<Table> {
        let term = self.term(&[factor], false)?;
        let count = self.levels(factor).len();
        if self.factor(factor).is_numeric() || count < 3 {
            return None;
        }
        let pairs: Vec<(usize, usize)> = (0..count)
            .flat_map(|a| (a + 1..count).map(move |b| (a, b)))
            .collect();
        let differences = pairs
            .iter()
            .map(|&(a, b)| self.difference_of(term, a, b))
            .collect::<Option<Vec<_>>>()?;
        let halves = differences
            .iter()
            .map(|difference| self.half_width(difference))
            .collect::<Option<Vec<f64>>>()?;
        let alone = differences
            .iter()
            .map(|difference| difference.alone().ok())
            .collect::<Option<Vec<f64>>>()?;
        let (together, how) = match Rule::of(self.options.separation)? {
            Rule::Lsd => (alone, "each pair by itself"),
            Rule::Holm => (holm(&alone).ok()?, "all pairs together, Holm"),
            Rule::Tukey => {
                let range = StudentizedRange::new(count, differences.first()?.df).ok()?;
                let all = differences
                    .iter()
                    .map(|difference| difference.among_all_pairs(&range).ok())
                    .collect::<Option<Vec<f64>>>()?;
                (all, "all pairs together, Tukey")
            }
        };
        let format = words::of_means(self.response);
        let unit = self.response.unit.as_str();
        let name = |level: usize| self.level_label(factor, level);
        let numbers = |name: &str, values: Vec<f64>| {
            with_unit(
                Column::number(name, values.into_iter().map(Some).collect(), format),
                unit,
            )
        };
        let values: Vec<f64> = differences
            .iter()
            .map(|difference| difference.value)
            .collect();
        let limit = |sign: f64| {
            values
                .iter()
                .zip(&halves)
                .map(|(value, half)| value + sign * half)
                .collect::<Vec<f64>>()
        };
        Some(Table {
            id: format!("pairs-{}", id(&self.factor(factor).name)),
            title: format!(
                "All pairs of levels of {}",
                words::inside(&self.factor(factor).label)
            ),
            columns: vec![
                Column::text("First", pairs.iter().map(|pair| name(pair.0))),
                Column::text("Second", pairs.iter().map(|pair| name(pair.1))),
                numbers("First less second", values.clone()),
                with_unit(
                    Column::number(
                        "Standard error",
                        differences
                            .iter()
                            .map(|difference| Some(difference.standard_error))
                            .collect(),
                        words::of_errors(
                            self.response,
                            differences
                                .iter()
                                .map(|difference| difference.standard_error),
                        ),
                    ),
                    unit,
                ),
                Column::number(
                    "df",
                    differences
                        .iter()
                        .map(|difference| Some(difference.df))
                        .collect(),
                    Format::Significant(4),
                ),
                numbers("Lower limit", limit(-1.0)),
                numbers("Upper limit", limit(1.0)),
                Column::probability("P", together.into_iter().map(Some).collect()),
            ],
            notes: vec![format!(
                "Limits hold for each pair by itself ({}); P: {how}.",
                self.options.confidence_words()
            )],
            file_only: true,
            ..Table::default()
        })
    }
}
