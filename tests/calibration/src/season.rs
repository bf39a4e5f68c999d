//! What choosing the covariance over seasons by the corrected Akaike criterion costs, beside the
//! analysis of variance, which takes every two seasons of a plot as equally correlated.

use caneplot_numerics::design::Design;
use caneplot_numerics::mixed::grid::Grid;
use caneplot_numerics::mixed::kenward_roger::{self, Estimate, Order};
use caneplot_numerics::mixed::{Fit, Settings, Structure, fit, freed};

use crate::means::holds_zero;
use crate::null::LEVEL;
use crate::plan::Plan;
use crate::table::{Row, Table};
use crate::tally::{Outcome, Run, Tally, tallies};

/// The structures compared, as the program compares them for four seasons on 16 plots.
const STRUCTURES: [Structure; 5] = [
    Structure::Symmetric,
    Structure::Autoregressive,
    Structure::UnequalSymmetric,
    Structure::UnequalAutoregressive,
    Structure::Unstructured,
];

/// What is asked of each analysis.
const QUESTIONS: usize = 4;

/// The analyses.
const WAYS: [&str; 4] = [
    "strata",
    "equal correlation",
    "autoregression",
    "chosen of five",
];

/// Answers of one analysis.
#[derive(Debug, Clone, Copy)]
pub struct Answers {
    /// Coverage of the 95 % interval of a difference between treatments over all seasons.
    pub over_seasons: Tally,
    /// The same in the last season.
    pub last_season: Tally,
    /// Rejections of treatments by seasons at 5 %.
    pub interaction: Tally,
    /// How often the criterion chose this structure; nothing for the strata and the choice itself.
    pub chosen: Tally,
}

fn answers(found: Option<&Fit>, grid: &Grid, plan: &Plan) -> [Option<bool>; 3] {
    let Some(found) = found else {
        return [None; 3];
    };
    let adjusted = kenward_roger::adjusted_covariance(found, Order::First);
    let difference = |given: &[(usize, usize)]| {
        let mean = |level| {
            let mut all = vec![(0, level)];
            all.extend(given);
            grid.mean(&all)
        };
        let (first, second) = (mean(0)?, mean(1)?);
        let row: Vec<f64> = first.iter().zip(second).map(|(a, b)| a - b).collect();
        holds_zero(&kenward_roger::estimate(found, &adjusted, &row).ok()?)
    };
    let interaction = grid
        .hypothesis(&[0, 1], &[])
        .and_then(|rows| kenward_roger::test(found, &adjusted, &rows).ok())
        .map(|test| test.p <= LEVEL);
    [
        difference(&[]),
        difference(&[(1, plan.seasons - 1)]),
        interaction,
    ]
}

/// The same from the strata.
fn strata(design: &Design, values: &[f64], plan: &Plan) -> [Option<bool>; 3] {
    let layout = &design.layout;
    let variance = layout.analyse(values);
    let (treatment, season) = (design.treatments[0], design.season);
    let difference = |of: &[usize], first: &[usize], second: &[usize]| {
        let plan = layout.mean_plan(of);
        let table = layout.mean_table(&plan, values, &variance);
        let place = |levels: &[usize]| plan.levels.iter().position(|own| own == levels);
        let (first, second) = (place(first)?, place(second)?);
        let pair = (first.min(second), first.max(second));
        let kind = plan
            .kinds
            .iter()
            .position(|kind| kind.pairs.contains(&pair))?;
        let precision = table.of_difference[kind]?;
        holds_zero(&Estimate {
            value: table.means[first] - table.means[second],
            standard_error: precision.standard_error(),
            df: precision.df,
        })
    };
    let last = plan.seasons - 1;
    let last = season.and_then(|season| difference(&[treatment, season], &[0, last], &[1, last]));
    let interaction = season
        .and_then(|season| layout.term_of(&[treatment, season]))
        .and_then(|term| Some(variance.lines[term].p? <= LEVEL));
    [difference(&[treatment], &[0], &[1]), last, interaction]
}

/// The answers of each of the four ways.
#[must_use]
pub fn answered(run: Run, plan: &Plan) -> Vec<Answers> {
    let units = plan.units();
    let design = plan.sheet(&units).design().ok();
    let found = tallies(run, "seasons", WAYS.len() * QUESTIONS, |stream| {
        let values = plan.errors(&units, stream);
        let mut fits: Vec<(usize, Fit, f64)> = Vec::new();
        let mut grid_of = None;
        for (at, structure) in STRUCTURES.into_iter().enumerate() {
            let (problem, grid) = plan.problem(&units, &values, structure);
            grid_of = Some(grid);
            if let Ok(found) = fit(&problem, Settings::default()) {
                // As in the program: chosen with variances at 0 or above, then free where that can be.
                let rank = found.criteria().aicc.unwrap_or(f64::INFINITY);
                let free = freed(&problem, &found, Settings::default());
                fits.push((at, free.unwrap_or(found), rank));
            }
        }
        let Some(grid) = grid_of else {
            return vec![Outcome::NoAnswer; WAYS.len() * QUESTIONS];
        };
        let best = fits
            .iter()
            .reduce(|least, other| if other.2 < least.2 { other } else { least });
        let of = |structure: usize| fits.iter().find(|(at, _, _)| *at == structure);
        let by_strata = match &design {
            Some(design) => strata(design, &values, plan),
            None => [None; 3],
        };
        let mut all: Vec<Outcome> = by_strata.map(Outcome::of).to_vec();
        all.push(Outcome::Apart);
        for (way, found) in [of(0), of(1), best].into_iter().enumerate() {
            let answers = answers(found.map(|(_, fit, _)| fit), &grid, plan);
            all.extend(answers.map(Outcome::of));
            all.push(Outcome::of(best.map(|(at, _, _)| *at == way)).among(way < 2));
        }
        all
    });
    found
        .chunks(QUESTIONS)
        .map(|of| Answers {
            over_seasons: of[0],
            last_season: of[1],
            interaction: of[2],
            chosen: of[3],
        })
        .collect()
}

/// The table of several truths.
#[must_use]
pub fn tables(run: Run) -> Vec<Table> {
    let equal = Plan::seasons();
    let decaying = Plan {
        rho: 0.6,
        ..Plan::seasons().with(|sds| (sds.plot, sds.season) = (0.0, 14.4))
    };
    let mut held = Vec::new();
    let mut rejected = Vec::new();
    for (words, plan) in [
        ("equal correlation, 0.31", equal),
        ("autoregression, 0.6", decaying),
    ] {
        for (way, answers) in WAYS.into_iter().zip(answered(run, &plan)) {
            let labels = || [words, way].map(str::to_owned).to_vec();
            held.push(Row {
                labels: labels(),
                tallies: vec![answers.over_seasons, answers.last_season],
            });
            rejected.push(Row {
                labels: labels(),
                tallies: vec![answers.interaction, answers.chosen],
            });
        }
    }
    vec![
        Table {
            title: "Coverage of 95 % intervals with the covariance over seasons given or chosen",
            labels: vec!["truth", "analysed with"],
            figures: vec![
                ("difference over four seasons", Some(0.95)),
                ("difference in the last season", Some(0.95)),
            ],
            rows: held,
        },
        Table {
            title: "Rejections at 5 % with the covariance over seasons given or chosen",
            labels: vec!["truth", "analysed with"],
            figures: vec![
                ("treatments by seasons", Some(LEVEL)),
                ("how often chosen", None),
            ],
            rows: rejected,
        },
    ]
}
