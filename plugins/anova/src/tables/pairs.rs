//! All pairs of levels of a factor, written to a file for those who need one of them.
//!
//! Under Tukey's rule the pairs have joint limits rather than probabilities: one critical value
//! serves every pair of every response, where a probability takes a double integral each.

use caneplot_numerics::separation::{Difference, holm, honest_difference};
use caneplot_plugin::findings::{Column, Format, Table};

use super::with_unit;
use crate::compare::Rule;
use crate::section::id;
use crate::study::Study;
use crate::words;

/// A pair of levels.
struct Pair {
    first: usize,
    second: usize,
    difference: Difference,
    half_width: f64,
}

impl Study<'_> {
    /// Differences of all pairs of levels of a factor of names, with limits and, where the rule of
    /// the options gives them cheaply, probabilities.
    pub fn pairs_table(&self, factor: usize) -> Option<Table> {
        let term = self.term(&[factor], false)?;
        let count = self.levels(factor).len();
        if self.factor(factor).is_numeric() || count < 3 {
            return None;
        }
        let rule = Rule::of(self.options.separation)?;
        let pairs = (0..count)
            .flat_map(|first| (first + 1..count).map(move |second| (first, second)))
            .map(|(first, second)| self.pair(term, first, second, rule))
            .collect::<Option<Vec<Pair>>>()?;
        let alone = || {
            pairs
                .iter()
                .map(|pair| pair.difference.alone().ok())
                .collect::<Option<Vec<f64>>>()
        };
        let confidence = self.options.confidence_words();
        let (probabilities, note) = match rule {
            Rule::Tukey => (
                None,
                format!("Limits hold for all pairs together (Tukey, {confidence})."),
            ),
            Rule::Lsd => (
                Some(alone()?),
                format!("Limits ({confidence}) and P hold for each pair by itself."),
            ),
            Rule::Holm => (
                Some(holm(&alone()?).ok()?),
                format!(
                    "Limits ({confidence}) hold for each pair by itself, P for all pairs together (Holm)."
                ),
            ),
        };
        let mut columns = self.pair_columns(factor, &pairs);
        if let Some(probabilities) = probabilities {
            let probabilities = probabilities.into_iter().map(Some).collect();
            columns.push(Column::probability("P", probabilities));
        }
        Some(Table {
            id: format!("pairs-{}", id(&self.factor(factor).name)),
            title: format!(
                "All pairs of levels of {}",
                words::inside(&self.factor(factor).label)
            ),
            columns,
            notes: vec![note],
            file_only: true,
            ..Table::default()
        })
    }

    fn pair(&self, term: usize, first: usize, second: usize, rule: Rule) -> Option<Pair> {
        let difference = self.difference_of(term, first, second)?;
        let half_width = match rule {
            Rule::Tukey => {
                let means = self.tables[term].means.len();
                let critical = self
                    .critical
                    .range(means, difference.df, self.options.level)?;
                honest_difference(difference.standard_error, critical).ok()?
            }
            Rule::Lsd | Rule::Holm => self.half_width(&difference)?,
        };
        Some(Pair {
            first,
            second,
            difference,
            half_width,
        })
    }

    fn pair_columns(&self, factor: usize, pairs: &[Pair]) -> Vec<Column> {
        let unit = self.unit();
        let errors = || pairs.iter().map(|pair| pair.difference.standard_error);
        let numbers = |name: &str, format: Format, value: &dyn Fn(&Pair) -> f64| {
            let values = pairs.iter().map(|pair| Some(value(pair))).collect();
            with_unit(Column::number(name, values, format), unit)
        };
        let of_means = self.of_means();
        let level = |at: usize| self.level_label(factor, at);
        vec![
            Column::text("First", pairs.iter().map(|pair| level(pair.first))),
            Column::text("Second", pairs.iter().map(|pair| level(pair.second))),
            numbers("First less second", of_means, &|pair| pair.difference.value),
            numbers("Standard error", self.of_errors(errors()), &|pair| {
                pair.difference.standard_error
            }),
            Column::number(
                "df",
                pairs.iter().map(|pair| Some(pair.difference.df)).collect(),
                Format::Decimals(u8::from(
                    pairs.iter().any(|pair| pair.difference.df.fract() > 0.0),
                )),
            ),
            numbers("Lower limit", of_means, &|pair| {
                pair.difference.value - pair.half_width
            }),
            numbers("Upper limit", of_means, &|pair| {
                pair.difference.value + pair.half_width
            }),
        ]
    }
}
