//! Intervals of differences between means of a split plot, of which there are four kinds with errors of
//! their own.

use caneplot_numerics::distribution::t_critical;
use caneplot_numerics::mixed::grid::Grid;
use caneplot_numerics::mixed::kenward_roger::{self, Estimate, Order};
use caneplot_numerics::mixed::{Fit, Structure, satterthwaite};

use crate::loss::Loss;
use crate::null::Fits;
use crate::plan::Plan;
use crate::table::{Row, Table};
use crate::tally::{Outcome, Run, Tally, tallies};

/// A kind of difference: two means, each by the levels of some factors.
struct Kind {
    words: &'static str,
    factors: &'static [usize],
    first: &'static [usize],
    second: &'static [usize],
}

const KINDS: [Kind; 4] = [
    Kind {
        words: "two whole-plot treatments",
        factors: &[0],
        first: &[0],
        second: &[1],
    },
    Kind {
        words: "two sub-plot treatments",
        factors: &[1],
        first: &[0],
        second: &[1],
    },
    Kind {
        words: "two sub-plot treatments of one whole-plot treatment",
        factors: &[0, 1],
        first: &[0, 0],
        second: &[0, 1],
    },
    Kind {
        words: "two whole-plot treatments at one sub-plot treatment",
        factors: &[0, 1],
        first: &[0, 0],
        second: &[1, 0],
    },
];

impl Kind {
    fn weights(&self, grid: &Grid) -> Option<Vec<f64>> {
        let mean = |levels: &[usize]| {
            let given: Vec<(usize, usize)> = self
                .factors
                .iter()
                .copied()
                .zip(levels.iter().copied())
                .collect();
            grid.mean(&given)
        };
        let (first, second) = (mean(self.first)?, mean(self.second)?);
        Some(first.iter().zip(second).map(|(a, b)| a - b).collect())
    }
}

const METHODS: usize = 4;

/// How often 95 % intervals held the difference.
#[derive(Debug, Clone, Copy)]
pub struct Coverage {
    /// What was compared.
    pub words: &'static str,
    /// From the strata; complete trials only.
    pub strata: Tally,
    /// Restricted maximum likelihood as in the program, with Kenward and Roger's standard error and
    /// degrees of freedom.
    pub program: Tally,
    /// The same with Satterthwaite's.
    pub satterthwaite: Tally,
    /// Kenward and Roger's with variances at 0 or above.
    pub held: Tally,
}

/// Whether the interval of an estimate holds 0.
pub(crate) fn holds_zero(estimate: &Estimate) -> Option<bool> {
    let t = t_critical(0.05, estimate.df).ok()?;
    Some(estimate.value.abs() <= t * estimate.standard_error)
}

/// The coverage of each kind of difference, all of which are 0.
#[must_use]
pub fn coverage(run: Run, plan: &Plan, loss: Loss) -> Vec<Coverage> {
    let units = plan.units();
    let design = match loss {
        Loss::Nothing => plan.sheet(&units).design().ok(),
        _ => None,
    };
    let found = tallies(run, "means", METHODS * KINDS.len(), |stream| {
        let all = plan.errors(&units, stream);
        let left = loss.left(plan, &units, stream);
        let (units, values) = units.kept(&all, |unit| left[unit]);
        let (problem, grid) = plan.problem(&units, &values, Structure::Independent);
        let fits = Fits::of(&problem);
        let held = fits.held.as_ref();
        let fitted = fits.free.as_ref().or(held);
        let adjusted_of = |fit: &Fit| kenward_roger::adjusted_covariance(fit, Order::First);
        let adjusted = [fitted, held].map(|fit| fit.map(adjusted_of));
        KINDS
            .iter()
            .flat_map(|kind| {
                let strata = design.as_ref().and_then(|design| {
                    let of: Vec<usize> = kind
                        .factors
                        .iter()
                        .map(|&at| design.treatments[at])
                        .collect();
                    let plan = design.layout.mean_plan(&of);
                    let variance = design.layout.analyse(&values);
                    let table = design.layout.mean_table(&plan, &values, &variance);
                    let place = |levels: &[usize]| plan.levels.iter().position(|l| l == levels);
                    let (first, second) = (place(kind.first)?, place(kind.second)?);
                    let pair = (first.min(second), first.max(second));
                    let at = plan
                        .kinds
                        .iter()
                        .position(|kind| kind.pairs.contains(&pair))?;
                    let precision = table.of_difference[at]?;
                    holds_zero(&Estimate {
                        value: table.means[first] - table.means[second],
                        standard_error: precision.standard_error(),
                        df: precision.df,
                    })
                });
                let weights = kind.weights(&grid);
                let row = || weights.as_deref();
                let by_adjusted = |fit: Option<&Fit>, adjusted: &Option<_>| {
                    let found = kenward_roger::estimate(fit?, adjusted.as_ref()?, row()?);
                    holds_zero(&found.ok()?)
                };
                let program = by_adjusted(fitted, &adjusted[0]);
                let plain = (|| holds_zero(&satterthwaite::estimate(fitted?, row()?).ok()?))();
                [strata, program, plain, by_adjusted(held, &adjusted[1])].map(Outcome::of)
            })
            .collect()
    });
    KINDS
        .iter()
        .zip(found.chunks(METHODS))
        .map(|(kind, of)| Coverage {
            words: kind.words,
            strata: of[0],
            program: of[1],
            satterthwaite: of[2],
            held: of[3],
        })
        .collect()
}

/// The table of all kinds and losses.
#[must_use]
pub fn table(run: Run) -> Table {
    let mut rows = Vec::new();
    let plans = [
        ("split plot, 4 × 3 × 4", Plan::split()),
        (
            "split plot, whole plots alike",
            Plan::split().with(|sds| sds.whole = 0.0),
        ),
    ];
    for (words, plan) in &plans {
        for loss in Loss::ALL {
            for c in coverage(run, plan, loss) {
                rows.push(Row {
                    labels: [words, loss.words(), c.words].map(str::to_owned).to_vec(),
                    tallies: vec![c.strata, c.program, c.satterthwaite, c.held],
                });
            }
        }
    }
    Table {
        title: "Coverage of 95 % intervals of differences in a split plot",
        labels: vec!["design", "plots", "difference between"],
        figures: vec![
            ("strata", Some(0.95)),
            ("program, Kenward–Roger", Some(0.95)),
            ("program, Satterthwaite", Some(0.95)),
            ("KR, variances held at 0", Some(0.95)),
        ],
        rows,
    }
}
