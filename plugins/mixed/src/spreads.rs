//! Error variances of their own for treatments.
//!
//! Each combination of treatments has its variance where it has four plots or more, else each level of
//! the first factor. Correlations over seasons are the same everywhere.

use std::collections::BTreeSet;

use caneplot_numerics::mixed::season::Parameter;
use caneplot_numerics::mixed::{Settings, candidate_near};
use caneplot_plugin::findings::{Column, Format, Rank, Statement, Table};
use caneplot_plugin::words::inside;

use crate::readings::{Readings, combinations};
use crate::study::Study;
use crate::tests_table::unescaped;

/// Plots that a variance of its own needs.
const LEAST_PLOTS: usize = 4;

/// Groups of plots with error variances of their own.
#[derive(Debug, Clone)]
pub(crate) struct Spreads {
    /// What the groups are, inside a sentence.
    pub name: String,
    /// Groups in a sentence.
    pub words: Vec<String>,
    /// Group of each value.
    pub codes: Vec<usize>,
    plots: Vec<usize>,
}

/// The groups; `None` where too few plots stand in one.
pub(crate) fn of(readings: &Readings) -> Option<Spreads> {
    let all = combinations(&readings.margins, readings.values.len());
    let first = readings.margins.first()?;
    let combined = match readings.margins.as_slice() {
        [_] => None,
        margins => {
            let names: Vec<String> = margins.iter().map(|m| inside(&m.label)).collect();
            Some((
                format!("combination of {}", caneplot_plugin::words::list(&names)),
                all.levels,
                all.codes,
            ))
        }
    };
    let single = (
        format!("level of {}", inside(&first.label)),
        first.words.clone(),
        first.codes.clone(),
    );
    combined
        .into_iter()
        .chain([single])
        .map(|(name, words, codes)| Spreads {
            name,
            plots: plots(&codes, words.len(), readings),
            words,
            codes,
        })
        .find(|spreads| spreads.plots.iter().all(|&count| count >= LEAST_PLOTS))
}

fn plots(codes: &[usize], groups: usize, readings: &Readings) -> Vec<usize> {
    let mut met = vec![BTreeSet::new(); groups];
    for (&code, &plot) in codes.iter().zip(&readings.plot) {
        met[code].insert(plot);
    }
    met.iter().map(BTreeSet::len).collect()
}

impl Study<'_> {
    /// Error variance of each group as a multiple of that of the first.
    fn multiples(&self, spreads: &Spreads) -> Vec<f64> {
        (0..spreads.words.len())
            .map(|group| match group {
                0 => 1.0,
                _ => self.choice.fit.of(Parameter::Spread(group)).unwrap_or(1.0),
            })
            .collect()
    }

    /// Error variance of a plot in a season, on average over seasons and groups.
    pub fn error_variance(&self, parameters: &[Parameter], theta: &[f64]) -> f64 {
        let (mut shared, mut seasons, mut count) = (0.0, 0.0, 0.0_f64);
        let mut multiples = vec![1.0];
        for (parameter, value) in parameters.iter().zip(theta) {
            match parameter {
                Parameter::Plot | Parameter::Error => shared += value,
                Parameter::Season(_) => {
                    seasons += value;
                    count += 1.0;
                }
                Parameter::Spread(_) => multiples.push(*value),
                Parameter::Random(_) | Parameter::Covariance(..) | Parameter::Correlation => {}
            }
        }
        let groups = &self.problem.residual.group;
        let multiple = match groups.is_empty() {
            true => 1.0,
            false => {
                groups.iter().map(|&group| multiples[group]).sum::<f64>() / groups.len() as f64
            }
        };
        (shared + seasons / count.max(1.0)) * multiple
    }

    /// The table of error standard deviations by group.
    pub fn spreads_table(&self) -> Option<Table> {
        let spreads = self.spreads.as_ref()?;
        let multiples = self.multiples(spreads);
        let fit = &self.choice.fit;
        let mean =
            spreads.codes.iter().map(|&g| multiples[g]).sum::<f64>() / spreads.codes.len() as f64;
        let one = self.error_variance(&fit.parameters, &fit.theta) / mean;
        let deviations: Vec<Option<f64>> =
            multiples.iter().map(|m| Some((m * one).sqrt())).collect();
        let format = self.of_errors(deviations.iter().flatten().copied());
        let labels = spreads.words.iter().map(|words| unescaped(words));
        let counts = spreads.plots.iter().map(|&count| Some(count as i64));
        Some(Table {
            id: "spreads".to_owned(),
            title: format!("Error standard deviations by {}", unescaped(&spreads.name)),
            columns: vec![
                Column::text("Treatment", labels),
                Column::count("Plots", counts.collect()),
                self.scaled_amounts("Standard deviation", deviations, format),
                Column::number(
                    "Variance over that of the first",
                    multiples.into_iter().map(Some).collect(),
                    Format::Significant(3),
                ),
            ],
            notes: match self.seasons().len() {
                0 => Vec::new(),
                _ => vec!["Of a plot in a season, on average over the seasons; correlations between seasons are the same in all treatments.".to_owned()],
            },
            ..Table::default()
        })
    }

    /// Whether variances of their own fit better than one.
    pub fn spreads_statement(&self) -> Option<Statement> {
        let spreads = self.spreads.as_ref()?;
        let mut problem = self.problem.clone();
        problem.residual.group.clear();
        let fit = &self.choice.fit;
        let near = &fit.theta[..fit.theta.len() + 1 - spreads.words.len()];
        let equal = candidate_near(&problem, near, Settings::default()).ok()?;
        let (own, one) = (fit.criteria().aicc?, equal.criteria().aicc?);
        let verdict = match own < one {
            true => "which fits better than one variance for all",
            false => {
                "which fits no better than one variance for all: the default, equal variances, would serve as well"
            }
        };
        Some(
            Statement::new(format!(
                "Each {} has an error variance of its own, {verdict} (AICc {{own}} against {{one}}); every difference is judged by the errors of the treatments it compares.",
                spreads.name
            ))
            .with("own", own, Format::Decimals(1))
            .with("one", one, Format::Decimals(1))
            .rank(Rank::Detail),
        )
    }
}
