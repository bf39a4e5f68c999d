//! What choosing the covariance over seasons by the corrected Akaike criterion costs.

use caneplot_numerics::mixed::grid::Grid;
use caneplot_numerics::mixed::kenward_roger::{self, Order};
use caneplot_numerics::mixed::{Fit, Settings, Structure, fit};

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

/// What is asked of each fit.
const QUESTIONS: usize = 4;

/// Answers with one way to find the covariance.
#[derive(Debug, Clone, Copy)]
pub struct Answers {
    /// Coverage of the 95 % interval of a difference between treatments over all seasons.
    pub over_seasons: Tally,
    /// The same in the last season.
    pub last_season: Tally,
    /// Rejections of treatments by seasons at 5 %.
    pub interaction: Tally,
    /// How often this structure was chosen.
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

/// Answers with equal correlation, with an autoregression, and with what is chosen.
#[must_use]
pub fn answered(run: Run, plan: &Plan) -> [Answers; 3] {
    let units = plan.units();
    let found = tallies(run, "seasons", 3 * QUESTIONS, |stream| {
        let values = plan.errors(&units, stream);
        let mut fits: Vec<(usize, Fit, f64)> = Vec::new();
        let mut grid_of = None;
        for (at, structure) in STRUCTURES.into_iter().enumerate() {
            let (problem, grid) = plan.problem(&units, &values, structure);
            grid_of = Some(grid);
            if let Ok(found) = fit(&problem, Settings::default()) {
                let rank = found.criteria().aicc.unwrap_or(f64::INFINITY);
                fits.push((at, found, rank));
            }
        }
        let Some(grid) = grid_of else {
            return vec![Outcome::NoAnswer; 3 * QUESTIONS];
        };
        let best = fits
            .iter()
            .reduce(|least, other| if other.2 < least.2 { other } else { least });
        let of = |structure: usize| fits.iter().find(|(at, _, _)| *at == structure);
        [of(0), of(1), best]
            .into_iter()
            .enumerate()
            .flat_map(|(way, found)| {
                let chosen = best.map(|(at, _, _)| way == 2 || *at == way);
                let [a, b, c] = answers(found.map(|(_, fit, _)| fit), &grid, plan);
                [a, b, c, chosen].map(Outcome::of)
            })
            .collect()
    });
    [0, 1, 2].map(|way| {
        let of = &found[way * QUESTIONS..];
        Answers {
            over_seasons: of[0],
            last_season: of[1],
            interaction: of[2],
            chosen: of[3],
        }
    })
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
        let ways = ["equal correlation", "autoregression", "chosen of five"];
        for (way, answers) in ways.into_iter().zip(answered(run, &plan)) {
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
            labels: vec!["truth", "fitted"],
            figures: vec![
                ("difference over four seasons", Some(0.95)),
                ("difference in the last season", Some(0.95)),
            ],
            rows: held,
        },
        Table {
            title: "Rejections at 5 % with the covariance over seasons given or chosen",
            labels: vec!["truth", "fitted"],
            figures: vec![
                ("treatments by seasons", Some(LEVEL)),
                ("how often chosen", None),
            ],
            rows: rejected,
        },
    ]
}
