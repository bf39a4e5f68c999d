//! Which means of a set are told apart, by the rule the trial file chose.

use std::collections::BTreeSet;

use caneplot_numerics::distribution::t_critical;
use caneplot_numerics::separation::{Difference, holm, letters};

use crate::options::Separation;
use crate::study::Study;

/// The rule by which pairs of means are called different.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Rule {
    Tukey,
    Lsd,
    Holm,
}

impl Rule {
    /// The rule of the options, where they ask for letters.
    pub fn of(separation: Separation) -> Option<Self> {
        match separation {
            Separation::Tukey => Some(Rule::Tukey),
            Separation::Lsd => Some(Rule::Lsd),
            Separation::Holm => Some(Rule::Holm),
            Separation::Dunnett | Separation::None => None,
        }
    }

    /// What stands under a table of letters.
    pub fn words(self, level: &str) -> String {
        let how = match self {
            Rule::Tukey => "Tukey's comparisons of all pairs",
            Rule::Lsd => "the protected least significant difference",
            Rule::Holm => "t tests with Holm's adjustment",
        };
        format!("Means with a letter in common are not clearly different ({how}, {level}).")
    }
}

impl Study<'_> {
    /// Letters of some cells of a term's table, compared among themselves.
    ///
    /// `None` where a difference has no standard error.
    pub fn letters(&self, term: usize, cells: &[usize], rule: Rule) -> Option<Vec<String>> {
        let level = self.options.level;
        let places = (0..cells.len()).flat_map(|a| (a + 1..cells.len()).map(move |b| (a, b)));
        let pairs: Vec<(usize, usize)> = places.collect();
        let differences = pairs
            .iter()
            .map(|&(a, b)| self.difference_of(term, cells[a], cells[b]))
            .collect::<Option<Vec<Difference>>>()?;
        let far = differences
            .iter()
            .map(|difference| match rule {
                Rule::Tukey => {
                    let critical = self.critical.range(cells.len(), difference.df, level)?;
                    Some(difference.t().ok()?.abs() * std::f64::consts::SQRT_2 > critical)
                }
                Rule::Lsd => {
                    Some(difference.t().ok()?.abs() > t_critical(level, difference.df).ok()?)
                }
                Rule::Holm => Some(true),
            })
            .collect::<Option<Vec<bool>>>()?;
        let far = if rule == Rule::Holm {
            let alone = differences
                .iter()
                .map(|difference| difference.alone().ok())
                .collect::<Option<Vec<f64>>>()?;
            holm(&alone).ok()?.iter().map(|&p| p <= level).collect()
        } else {
            far
        };
        let apart: BTreeSet<(usize, usize)> = pairs
            .into_iter()
            .zip(far)
            .filter(|&(_, far)| far)
            .map(|(pair, _)| pair)
            .collect();
        let means: Vec<f64> = cells
            .iter()
            .map(|&cell| self.tables[term].means[cell])
            .collect();
        letters(&means, |a, b| apart.contains(&(a.min(b), a.max(b)))).ok()
    }

    /// The difference of two means with its precision.
    pub fn difference_of(&self, term: usize, first: usize, second: usize) -> Option<Difference> {
        let precision = self.precision(term, first, second)?;
        Some(Difference {
            value: self.difference(term, first, second),
            standard_error: precision.standard_error(),
            df: precision.df,
        })
    }

    /// Half the width of the interval of a difference by itself.
    pub fn half_width(&self, difference: &Difference) -> Option<f64> {
        let t = t_critical(self.options.level, difference.df).ok()?;
        Some(t * difference.standard_error)
    }

    /// Cells of a term by their means, highest first; equal means keep their order.
    pub fn by_mean(&self, term: usize) -> Vec<usize> {
        let means = &self.tables[term].means;
        let mut order: Vec<usize> = (0..means.len()).collect();
        order.sort_by(|&a, &b| means[b].total_cmp(&means[a]));
        order
    }
}
