//! Intervals of the optimum of a quadratic and of the join of a plateau.

use caneplot_numerics::cells::Cells;
use caneplot_numerics::curves::plateau::places;
use caneplot_numerics::curves::{Levels, Shape, Units};
use caneplot_numerics::distribution::t_critical;
use caneplot_numerics::fieller::FiellerSet;
use caneplot_numerics::random::Stream;

use crate::table::{Row, Table};
use crate::tally::{Outcome, Run, Tally, tallies};

/// Amounts tried, in nodes a vine.
const AMOUNTS: [f64; 5] = [12.0, 24.0, 36.0, 48.0, 60.0];
/// Blocks.
const BLOCKS: usize = 4;
/// Standard deviation of blocks, in per cent of the highest mean.
const BLOCK_SD: f64 = 10.0;

/// A response with the place asked for.
#[derive(Debug, Clone, Copy)]
pub struct Response {
    /// Its shape, which is also the one fitted.
    pub shape: Shape,
    /// The optimum or the join, in nodes.
    pub place: f64,
    /// How far the lowest amount is below the height there, in per cent of the latter.
    pub rise: f64,
    /// Standard deviation of plots, in per cent.
    pub plot_sd: f64,
    /// Plots lost, anywhere.
    pub lost: u32,
}

impl Response {
    fn height(&self, amount: f64) -> f64 {
        let share = (amount - self.place) / (self.place - AMOUNTS[0]);
        match self.shape {
            Shape::LinePlateau => self.rise * share.min(0.0),
            Shape::QuadraticPlateau => -self.rise * share.min(0.0).powi(2),
            _ => -self.rise * share.powi(2),
        }
    }

    fn levels(&self, stream: &mut Stream) -> Option<Levels> {
        let count = BLOCKS * AMOUNTS.len();
        let mut order: Vec<usize> = (0..count).collect();
        stream.shuffle(&mut order);
        let lost = &order[..self.lost as usize];
        let heights: Vec<f64> = (0..BLOCKS).map(|_| BLOCK_SD * stream.normal()).collect();
        let (mut values, mut amounts, mut block, mut level) = (vec![], vec![], vec![], vec![]);
        for unit in 0..count {
            let error = self.plot_sd * stream.normal();
            if lost.contains(&unit) {
                continue;
            }
            let (own, at) = (unit / AMOUNTS.len(), unit % AMOUNTS.len());
            values.push(self.height(AMOUNTS[at]) + heights[own] + error);
            amounts.push(AMOUNTS[at]);
            block.push(own);
            level.push(at);
        }
        Levels::new(Units {
            values: &values,
            amounts: &amounts,
            eliminated: &[Cells::crossing(values.len(), [block.as_slice()])],
            alike: &Cells::crossing(values.len(), [level.as_slice()]),
        })
        .ok()
    }
}

/// How often the set of places held the true one.
#[derive(Debug, Clone, Copy)]
pub struct Coverage {
    /// Fieller's set of the optimum, or the profile set of the join.
    pub set: Tally,
    /// The set having two ends inside the range tried.
    pub bounded: Tally,
    /// The set of those trials.
    pub shown: Tally,
    /// The linearised interval.
    pub linearised: Tally,
}

/// A set of places: whether it holds the truth, whether it has two ends, and the linearised interval.
struct Found {
    holds: bool,
    bounded: bool,
    linearised: Option<(f64, f64)>,
}

fn found(levels: &Levels, response: &Response) -> Option<Found> {
    let truth = response.place;
    let (lowest, highest) = levels.range();
    let fit = levels.fit(response.shape);
    if response.shape == Shape::Quadratic {
        let turn = levels.turn(&fit.ok()?, 0.0, &levels.error, 0.05)?;
        let (holds, bounded) = match turn.set {
            FiellerSet::Bounded { low, high } => (
                (low..=high).contains(&truth),
                low >= lowest && high <= highest,
            ),
            FiellerSet::Outside { low, high } => (!(low < truth && truth < high), false),
            FiellerSet::All => (true, false),
        };
        return Some(Found {
            holds,
            bounded: bounded && turn.highest,
            linearised: Some(turn.linearised),
        });
    }
    let t = t_critical(0.05, levels.error.df as f64).ok()?;
    let set = places(levels, response.shape, t * t * levels.error.mean_square?).ok()?;
    let linearised = fit.ok().and_then(|fit| {
        let error = levels
            .second_parameter(&fit)
            .standard_error(&levels.error)?;
        let at = fit.curve.second;
        Some((at - t * error, at + t * error))
    });
    Some(Found {
        holds: set
            .pieces
            .iter()
            .any(|(low, high)| (*low..=*high).contains(&truth)),
        bounded: set.bounded().is_some(),
        linearised,
    })
}

/// The coverage of 95 % sets of places.
#[must_use]
pub fn coverage(run: Run, response: Response) -> Coverage {
    let purpose = format!("curve {:?}", response.shape);
    let found = tallies(run, &purpose, 4, |stream| {
        let found = response
            .levels(stream)
            .and_then(|levels| found(&levels, &response));
        let bounded = found.as_ref().map(|found| found.bounded);
        let holds = Outcome::of(found.as_ref().map(|found| found.holds));
        let linearised = found.and_then(|found| found.linearised);
        vec![
            holds,
            Outcome::of(bounded),
            holds.among(bounded == Some(true)),
            Outcome::of(linearised.map(|(low, high)| (low..=high).contains(&response.place))),
        ]
    });
    Coverage {
        set: found[0],
        bounded: found[1],
        shown: found[2],
        linearised: found[3],
    }
}

/// The responses tried, in words.
#[must_use]
pub fn responses() -> Vec<(&'static str, Response)> {
    let quadratic = Response {
        shape: Shape::Quadratic,
        place: 40.0,
        rise: 40.0,
        plot_sd: 10.0,
        lost: 0,
    };
    let line = Response {
        shape: Shape::LinePlateau,
        place: 31.0,
        ..quadratic
    };
    let bend = Response {
        shape: Shape::QuadraticPlateau,
        place: 41.0,
        ..quadratic
    };
    let noisy = |response: Response| Response {
        plot_sd: 15.0,
        rise: 20.0,
        ..response
    };
    let lost = |response: Response| Response {
        lost: 2,
        ..response
    };
    vec![
        ("optimum, clear", quadratic),
        ("optimum, two plots lost", lost(quadratic)),
        ("optimum, faint", noisy(quadratic)),
        ("line to a plateau, clear", line),
        ("line to a plateau, two plots lost", lost(line)),
        ("line to a plateau, faint", noisy(line)),
        ("quadratic to a plateau, clear", bend),
        ("quadratic to a plateau, two plots lost", lost(bend)),
        ("quadratic to a plateau, faint", noisy(bend)),
    ]
}

/// The table of all responses.
#[must_use]
pub fn table(run: Run) -> Table {
    let rows = responses().into_iter().map(|(words, response)| {
        let c = coverage(run, response);
        Row {
            labels: vec![words.to_owned()],
            tallies: vec![c.set, c.bounded, c.shown, c.linearised],
        }
    });
    Table {
        title: "Coverage of 95 % sets of the optimum and the join",
        labels: vec!["response"],
        figures: vec![
            ("Fieller or profile set", Some(0.95)),
            ("set with both ends", None),
            ("coverage of these", None),
            ("linearised interval", Some(0.95)),
        ],
        rows: rows.collect(),
    }
}
