//! How often tests reject at 5 % where there is nothing to find.

use caneplot_numerics::contrasts::Plots;
use caneplot_numerics::design::{Design, Kind};
use caneplot_numerics::mixed::grid::Grid;
use caneplot_numerics::mixed::kenward_roger::{self, FTest, Order};
use caneplot_numerics::mixed::{Fit, Problem, Settings, Structure, fit, freed, satterthwaite};

use crate::loss::Loss;
use crate::plan::{Plan, Units};
use crate::table::{Row, Table};
use crate::tally::{Outcome, Run, Tally, tallies};

/// Level of every test.
pub const LEVEL: f64 = 0.05;

/// The rejections of one term.
#[derive(Debug, Clone, Copy)]
pub struct Rejections {
    /// Analysis of variance by strata, or least squares with blocks where plots of a randomised block
    /// design are lost; without answer where the design has several errors and plots are lost.
    pub strata: Tally,
    /// Restricted maximum likelihood with Kenward and Roger's degrees of freedom, variances free to be
    /// negative, at 0 or above where there is no maximum else, as in the program.
    pub program: Tally,
    /// The same with variances at 0 or above.
    pub kenward_roger: Tally,
    /// Trials in which a variance is estimated as 0.
    pub zeros: Tally,
    /// The same as `kenward_roger`, of those trials in which a variance is estimated as 0.
    pub at_zero: Tally,
    /// The same as `kenward_roger`, of the others.
    pub above_zero: Tally,
    /// Variances at 0 left out when degrees of freedom are found.
    pub dropped: Tally,
    /// Variances of random terms free to be negative, and no answer where there is no maximum.
    pub negative: Tally,
    /// As in the program, with Satterthwaite's degrees of freedom.
    pub satterthwaite: Tally,
}

const METHODS: usize = 9;

/// The fits of a problem that are compared.
pub(crate) struct Fits {
    /// Variances at 0 or above.
    pub held: Option<Fit>,
    /// Free to be negative.
    pub free: Option<Fit>,
}

impl Fits {
    /// The fits of a problem.
    pub fn of(problem: &Problem) -> Self {
        let held = fit(problem, Settings::default()).ok();
        let free = held
            .as_ref()
            .and_then(|held| freed(problem, held, Settings::default()).ok());
        Self { held, free }
    }

    /// What the program takes from them: from the free fit where that answers every question.
    pub fn program<T: Clone>(
        &self,
        answers: impl Fn(Option<&Fit>) -> Vec<Option<T>>,
    ) -> Vec<Option<T>> {
        let free = answers(self.free.as_ref());
        match free.iter().all(Option::is_some) {
            true => free,
            false => answers(self.held.as_ref()),
        }
    }
}

/// P of each term from the strata; `None` where the design has several errors and is not complete.
fn by_strata(
    plan: &Plan,
    complete: Option<&Design>,
    units: &Units,
    values: &[f64],
) -> Vec<Option<f64>> {
    let terms = plan.terms();
    if let Some(design) = complete {
        let variance = design.layout.analyse(values);
        let classifiers: Vec<usize> = design
            .treatments
            .iter()
            .copied()
            .chain(design.season)
            .collect();
        return terms
            .iter()
            .map(|(_, factors)| {
                let of: Vec<usize> = factors.iter().map(|&at| classifiers[at]).collect();
                variance.lines[design.layout.term_of(&of)?].p
            })
            .collect();
    }
    if plan.kind == Kind::RandomisedBlock && plan.seasons == 1 {
        let found = Plots::new(&plan.sheet(units), None).ok().and_then(|plots| {
            let errors = plots.errors(&[values]).ok()?;
            let compared = plots.compared(&[0]).ok()?;
            Some(plots.test(&errors, &compared, 0)?.p)
        });
        return vec![found];
    }
    vec![None; terms.len()]
}

/// P of each term from a fit.
fn by_fit(
    plan: &Plan,
    grid: &Grid,
    found: Option<&Fit>,
    test: impl Fn(&Fit, &Grid, &[usize]) -> Option<FTest>,
) -> Vec<Option<f64>> {
    plan.terms()
        .iter()
        .map(|(_, factors)| Some(test(found?, grid, factors)?.p))
        .collect()
}

fn kenward_roger_test(fit: &Fit, grid: &Grid, factors: &[usize]) -> Option<FTest> {
    let adjusted = kenward_roger::adjusted_covariance(fit, Order::First);
    kenward_roger::test(fit, &adjusted, &grid.hypothesis(factors, &[])?).ok()
}

fn satterthwaite_test(fit: &Fit, grid: &Grid, factors: &[usize]) -> Option<FTest> {
    satterthwaite::test(fit, &grid.hypothesis(factors, &[])?).ok()
}

/// The rejections of every term of a design.
#[must_use]
pub fn rejections(run: Run, plan: &Plan, loss: Loss) -> Vec<Rejections> {
    let units = plan.units();
    let design = match loss {
        Loss::Nothing => plan.sheet(&units).design().ok(),
        _ => None,
    };
    let structure = match plan.seasons {
        1 => Structure::Independent,
        _ => Structure::Symmetric,
    };
    let figures = plan.terms().len() * METHODS;
    let purpose = format!("null {:?} {}", plan.kind, plan.seasons);
    let found = tallies(run, &purpose, figures, |stream| {
        let all = plan.errors(&units, stream);
        let left = loss.left(plan, &units, stream);
        let (units, values) = units.kept(&all, |unit| left[unit]);
        let (problem, grid) = plan.problem(&units, &values, structure);
        let fits = Fits::of(&problem);
        let usual = fits.held.as_ref();
        let zero = usual.is_some_and(|fit| !fit.certificate.at_zero.is_empty());
        // Without a variance at zero, leaving those at zero out changes nothing.
        let dropped = match (usual, zero) {
            (Some(_), false) => usual.cloned(),
            _ => fit(
                &problem,
                Settings {
                    keep_zero: false,
                    ..Settings::default()
                },
            )
            .ok(),
        };
        let strata = by_strata(plan, design.as_ref(), &units, &values);
        let program = fits.program(|fit| by_fit(plan, &grid, fit, kenward_roger_test));
        let usual_p = by_fit(plan, &grid, usual, kenward_roger_test);
        let dropped = by_fit(plan, &grid, dropped.as_ref(), kenward_roger_test);
        let negative = by_fit(plan, &grid, fits.free.as_ref(), kenward_roger_test);
        let plain = fits.program(|fit| by_fit(plan, &grid, fit, satterthwaite_test));
        let rejects = |p: Option<f64>| Outcome::of(p.map(|p| p <= LEVEL));
        (0..strata.len())
            .flat_map(|term| {
                let own = rejects(usual_p[term]);
                [
                    rejects(strata[term]),
                    own,
                    own.among(zero),
                    own.among(!zero),
                    rejects(dropped[term]),
                    rejects(negative[term]),
                    rejects(plain[term]),
                    Outcome::of(usual.map(|_| zero)),
                    rejects(program[term]),
                ]
            })
            .collect()
    });
    found
        .chunks(METHODS)
        .map(|of| Rejections {
            strata: of[0],
            kenward_roger: of[1],
            at_zero: of[2],
            above_zero: of[3],
            dropped: of[4],
            negative: of[5],
            satterthwaite: of[6],
            zeros: of[7],
            program: of[8],
        })
        .collect()
}

/// The designs under test, in words.
#[must_use]
pub fn plans() -> Vec<(&'static str, Plan)> {
    vec![
        ("randomised block, 4 × 6", Plan::blocks()),
        (
            "randomised block, blocks alike",
            Plan::blocks().with(|sds| sds.block = 0.0),
        ),
        ("split plot, 4 × 3 × 4", Plan::split()),
        (
            "split plot, whole plots alike",
            Plan::split().with(|sds| sds.whole = 0.0),
        ),
        ("4 seasons on 4 × 4 plots", Plan::seasons()),
        (
            "4 seasons, plots alike",
            Plan::seasons().with(|sds| sds.plot = 0.0),
        ),
    ]
}

/// The table of all designs and losses.
#[must_use]
pub fn table(run: Run) -> Table {
    let mut rows = Vec::new();
    for (words, plan) in plans() {
        for loss in Loss::ALL {
            let found = rejections(run, &plan, loss);
            for ((term, _), r) in plan.terms().iter().zip(&found) {
                rows.push(Row {
                    labels: [words, loss.words(), term].map(str::to_owned).to_vec(),
                    tallies: vec![
                        r.strata,
                        r.program,
                        r.satterthwaite,
                        r.negative,
                        r.kenward_roger,
                        r.dropped,
                        r.zeros,
                        r.at_zero,
                        r.above_zero,
                    ],
                });
            }
        }
    }
    Table {
        title: "Rejections at 5 % without any difference",
        labels: vec!["design", "plots", "term"],
        figures: vec![
            ("strata", Some(LEVEL)),
            ("program, Kenward–Roger", Some(LEVEL)),
            ("program, Satterthwaite", Some(LEVEL)),
            ("KR, variances free", Some(LEVEL)),
            ("KR, variances held at 0", Some(LEVEL)),
            ("KR, variances at 0 left out", Some(LEVEL)),
            ("trials with a variance at 0", None),
            ("KR held, in these", None),
            ("KR held, in the others", None),
        ],
        rows,
    }
}
