//! Several numbers of each plot of a set, analysed by its design.

use std::rc::Rc;

use caneplot_numerics::contrasts::{Errors, Estimate};
use caneplot_numerics::separation::Difference;
use caneplot_plugin::Refusal;
use caneplot_readings::{Treatments, refusal};

use crate::plan::Planned;

/// Standard errors below this share of the largest value are rounding.
const ROUNDING: f64 = 1e-12;

/// The F test of a term for one column.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Test {
    pub df: usize,
    pub error_df: usize,
    pub f: f64,
    pub p: f64,
}

/// The columns of a set of plots analysed.
pub(crate) struct Analysed<'a> {
    pub planned: Rc<Planned<'a>>,
    largest: Vec<f64>,
    /// By term, then column.
    tests: Vec<Vec<Option<Test>>>,
    /// By term, treatment: the means of all columns.
    means: Vec<Vec<Estimate>>,
    /// By term, first and second treatment: first less second of all columns.
    differences: Vec<Vec<Vec<Option<Estimate>>>>,
}

impl<'a> Analysed<'a> {
    /// Analyses columns of one value a plot.
    pub fn of(planned: Rc<Planned<'a>>, columns: &[Vec<f64>]) -> Result<Self, Refusal> {
        let slices: Vec<&[f64]> = columns.iter().map(Vec::as_slice).collect();
        let errors = planned
            .plots
            .errors(&slices)
            .map_err(|error| refusal(&error))?;
        let (mut means, mut differences) = (Vec::new(), Vec::new());
        for term in &planned.terms {
            let (mut of_term, mut pairs) = (Vec::new(), Vec::new());
            if let Some(treatments) = &term.treatments {
                for at in 0..treatments.count() {
                    let mean = planned.plots.mean(&errors, &treatments.compared, at);
                    of_term.push(mean.map_err(|error| refusal(&error))?);
                    let lower = |other| {
                        let compared = &treatments.compared;
                        planned.plots.difference(&errors, compared, at, other).ok()
                    };
                    pairs.push((0..at).map(lower).collect());
                }
            }
            means.push(of_term);
            differences.push(pairs);
        }
        let tests = tests(&planned, &errors, columns);
        let largest = columns
            .iter()
            .map(|values| {
                values
                    .iter()
                    .fold(0.0_f64, |most, value| most.max(value.abs()))
            })
            .collect();
        Ok(Self {
            planned,
            largest,
            tests,
            means,
            differences,
        })
    }

    /// The treatments of a term.
    pub fn treatments(&self, term: usize) -> Option<&Treatments<'a>> {
        self.planned.terms[term].treatments.as_ref()
    }

    /// The terms that are single factors.
    pub fn factors(&self) -> impl Iterator<Item = usize> {
        let terms = &self.planned.terms;
        (0..terms.len()).filter(|&term| terms[term].factors.len() == 1)
    }

    /// The test of a term.
    pub fn test(&self, term: usize, column: usize) -> Option<Test> {
        self.tests[term][column]
    }

    /// Mean of a treatment, centred as its column is.
    pub fn mean(&self, term: usize, column: usize, treatment: usize) -> f64 {
        self.means[term][treatment].values[column]
    }

    /// Standard error of a mean; `None` where the plots leave nothing to judge it by.
    pub fn error_of_mean(&self, term: usize, column: usize, treatment: usize) -> Option<f64> {
        let error = self.means[term][treatment].standard_error(column);
        self.judged(column, error)
    }

    /// First treatment less second; `None` where the plots leave nothing to judge it by.
    pub fn difference(
        &self,
        term: usize,
        column: usize,
        first: usize,
        second: usize,
    ) -> Option<Difference> {
        let (high, low) = (first.max(second), first.min(second));
        let estimate = self.differences[term].get(high)?.get(low)?.as_ref()?;
        let sign = if first > second { 1.0 } else { -1.0 };
        Some(Difference {
            value: sign * estimate.values[column],
            standard_error: self.judged(column, estimate.standard_error(column))?,
            df: estimate.df[column],
        })
    }

    /// The largest standard error of a difference between treatments of a term.
    pub fn error_of_difference(&self, term: usize, column: usize) -> Option<f64> {
        let count = self.means[term].len();
        let pairs = (0..count).flat_map(|a| (a + 1..count).map(move |b| (a, b)));
        pairs
            .filter_map(|(a, b)| self.difference(term, column, a, b))
            .map(|difference| difference.standard_error)
            .reduce(f64::max)
    }

    /// The smallest standard error of a mean of a factor, to which means are written.
    pub fn smallest_error(&self, column: usize) -> Option<f64> {
        self.factors()
            .flat_map(|term| {
                (0..self.means[term].len())
                    .filter_map(move |at| self.error_of_mean(term, column, at))
            })
            .reduce(f64::min)
    }

    /// Treatments of a term by their means, highest first.
    pub fn by_mean(&self, term: usize, column: usize) -> Vec<usize> {
        let mut order: Vec<usize> = (0..self.means[term].len()).collect();
        order.sort_by(|&a, &b| {
            let mean = |at| self.mean(term, column, at);
            mean(b).total_cmp(&mean(a))
        });
        order
    }

    fn judged(&self, column: usize, error: f64) -> Option<f64> {
        (error > ROUNDING * self.largest[column]).then_some(error)
    }
}

fn tests(planned: &Planned<'_>, errors: &Errors, columns: &[Vec<f64>]) -> Vec<Vec<Option<Test>>> {
    let variances: Vec<_> = columns
        .iter()
        .map(|values| {
            planned
                .design
                .as_ref()
                .map(|design| design.layout.analyse(values))
        })
        .collect();
    (0..planned.terms.len())
        .map(|term| {
            variances
                .iter()
                .enumerate()
                .map(|(column, variance)| match (planned.line(term), variance) {
                    (Some((design, line)), Some(variance)) => {
                        let stratum = design.layout.terms()[line].stratum;
                        let line = &variance.lines[line];
                        Some(Test {
                            df: line.df,
                            error_df: variance.errors[stratum].df,
                            f: line.f?,
                            p: line.p?,
                        })
                    }
                    _ => {
                        let treatments = planned.terms[term].treatments.as_ref()?;
                        let test = planned.plots.test(errors, &treatments.compared, column)?;
                        Some(Test {
                            df: test.df,
                            error_df: test.error_df as usize,
                            f: test.f,
                            p: test.p,
                        })
                    }
                })
                .collect()
        })
        .collect()
}
