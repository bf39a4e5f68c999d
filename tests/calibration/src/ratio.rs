//! Intervals of a ratio of two responses of the same plots, such as yield to pruning weight.
//!
//! Two truths are asked about. The ratio *in these blocks* is that of the two means with the blocks as
//! they are, which is what Fieller's and the log interval are about: their error is that of plots inside
//! blocks. The ratio *everywhere* is that of the two means over all blocks there could be, which is what
//! resampled blocks are about.

use caneplot_numerics::bootstrap::Resamples;
use caneplot_numerics::design::{Applied, Kind, Sheet};
use caneplot_numerics::distribution::t_critical;
use caneplot_numerics::error_products::ErrorProducts;
use caneplot_numerics::fieller::{Covariance, FiellerSet, fieller};
use caneplot_numerics::random::{Stream, Streams};
use caneplot_numerics::strata::Classifier;

use crate::table::{Row, Table};
use crate::tally::{Outcome, Run, Tally, tallies};

/// Means of the two responses, in kg a vine.
const MEANS: [f64; 2] = [4.0, 0.5];
/// Correlation of the two responses, between blocks and between plots inside them.
const CORRELATION: f64 = 0.5;
/// Treatments; the interval is of the first.
const TREATMENTS: usize = 5;
/// Resamples drawn where they are not counted.
const DRAWS: u64 = 2000;

/// A trial of two responses; variation in per cent of the means.
#[derive(Debug, Clone, Copy)]
pub struct Pair {
    /// Number of blocks.
    pub blocks: usize,
    /// Between blocks, both responses.
    pub block_cv: f64,
    /// Between plots, above the line and below it.
    pub plot_cv: [f64; 2],
}

/// How often each interval held its truth.
#[derive(Debug, Clone, Copy)]
pub struct Coverage {
    /// Fieller's set, the ratio in these blocks.
    pub fieller: Tally,
    /// Fieller's set, the ratio everywhere.
    pub fieller_everywhere: Tally,
    /// Fieller's set being an interval.
    pub bounded: Tally,
    /// The interval on the log scale, the ratio in these blocks.
    pub log: Tally,
    /// Plots' log ratios compared with another treatment by the analysis of variance.
    pub times: Tally,
    /// Resampled blocks, the ratio everywhere.
    pub resampled: Tally,
}

const FIGURES: usize = 6;

struct Drawn {
    above: Vec<f64>,
    below: Vec<f64>,
    /// Means of the two block effects.
    height: [f64; 2],
}

impl Pair {
    fn drawn(&self, stream: &mut Stream) -> Drawn {
        let mut pair = |cv: [f64; 2]| {
            let (first, own) = (stream.normal(), stream.normal());
            let second = CORRELATION * first + (1.0 - CORRELATION * CORRELATION).sqrt() * own;
            [
                MEANS[0] * cv[0] / 100.0 * first,
                MEANS[1] * cv[1] / 100.0 * second,
            ]
        };
        let mut drawn = Drawn {
            above: Vec::new(),
            below: Vec::new(),
            height: [0.0; 2],
        };
        for _ in 0..self.blocks {
            let block = pair([self.block_cv; 2]);
            for (height, effect) in drawn.height.iter_mut().zip(block) {
                *height += effect / self.blocks as f64;
            }
            for _ in 0..TREATMENTS {
                let plot = pair(self.plot_cv);
                drawn.above.push(MEANS[0] + block[0] + plot[0]);
                drawn.below.push(MEANS[1] + block[1] + plot[1]);
            }
        }
        drawn
    }

    fn codes(&self) -> [Vec<usize>; 2] {
        let plots = 0..self.blocks * TREATMENTS;
        [
            plots.clone().map(|plot| plot / TREATMENTS).collect(),
            plots.map(|plot| plot % TREATMENTS).collect(),
        ]
    }

    fn sheet(&self) -> Sheet {
        let [block, treatment] = self.codes().map(|codes| {
            codes
                .iter()
                .map(|code| format!("{code:03}"))
                .collect::<Vec<_>>()
        });
        Sheet {
            kind: Kind::RandomisedBlock,
            block: Some(Classifier::from_texts("block", &block, &[])),
            row: None,
            column: None,
            plot: Classifier::from_texts("plot", &treatment, &[]),
            season: None,
            vines: false,
            treatments: vec![(
                Classifier::from_texts("treatment", &treatment, &[]),
                Applied::Plot,
            )],
            block_by_season: false,
        }
    }
}

fn holds(set: FiellerSet, truth: f64) -> bool {
    match set {
        FiellerSet::Bounded { low, high } => (low..=high).contains(&truth),
        FiellerSet::Outside { low, high } => !(low < truth && truth < high),
        FiellerSet::All => true,
    }
}

/// The coverage of 95 % intervals in such trials.
#[must_use]
pub fn coverage(run: Run, pair: Pair) -> Coverage {
    let fixed = pair.codes();
    let members: Vec<usize> = (0..pair.blocks).map(|block| block * TREATMENTS).collect();
    let design = pair.sheet().design().ok();
    let streams = Streams::new(run.seed, "resampled blocks");
    let found = tallies(run, &format!("ratio {}", pair.blocks), FIGURES, |stream| {
        let drawn = pair.drawn(stream);
        let everywhere = MEANS[0] / MEANS[1];
        let here = (MEANS[0] + drawn.height[0]) / (MEANS[1] + drawn.height[1]);
        let mean = |values: &[f64]| {
            members.iter().map(|&at| values[at]).sum::<f64>() / members.len() as f64
        };
        let (above, below) = (mean(&drawn.above), mean(&drawn.below));
        let precision = ErrorProducts::new(&[&drawn.above, &drawn.below], &fixed, &[])
            .ok()
            .and_then(|errors| errors.of_mean(&members))
            .and_then(|of| {
                let t = t_critical(0.05, of.df[0].min(of.df[1])).ok()?;
                Some((of.products, t))
            });
        let set = precision.as_ref().and_then(|(products, t)| {
            let covariance = Covariance {
                numerator: products[0][0],
                denominator: products[1][1],
                between: products[0][1],
            };
            Some(fieller(above, below, covariance, *t).ok()?.set)
        });
        // First order on the log scale: the variance of ln a − ln b.
        let log = precision.as_ref().and_then(|(products, t)| {
            let relative = products[0][0] / above.powi(2) + products[1][1] / below.powi(2)
                - 2.0 * products[0][1] / (above * below);
            let far = (above / below / here).abs().ln().abs();
            (above > 0.0 && below > 0.0).then(|| far <= t * relative.max(0.0).sqrt())
        });
        let times = design.as_ref().and_then(|design| {
            let pairs = drawn.above.iter().zip(&drawn.below);
            let positive = pairs
                .clone()
                .all(|(above, below)| *above > 0.0 && *below > 0.0);
            let logs: Vec<f64> = pairs.map(|(above, below)| (above / below).ln()).collect();
            let layout = &design.layout;
            let plan = layout.mean_plan(&design.treatments);
            let table = layout.mean_table(&plan, &logs, &layout.analyse(&logs));
            let precision = table.of_difference[0].filter(|_| positive)?;
            let t = t_critical(0.05, precision.df).ok()?;
            Some((table.means[1] - table.means[0]).abs() <= t * precision.standard_error())
        });
        let resampled = Resamples::new(pair.blocks, &streams, DRAWS, |counts| {
            let total = |values: &[f64]| -> f64 {
                let taken = members.iter().zip(counts);
                taken
                    .map(|(&at, &count)| f64::from(count) * values[at])
                    .sum()
            };
            total(&drawn.above) / total(&drawn.below)
        });
        let interval = resampled
            .and_then(|resamples| resamples.interval(0.95))
            .ok();
        vec![
            Outcome::of(set.map(|set| holds(set, here))),
            Outcome::of(set.map(|set| holds(set, everywhere))),
            Outcome::of(set.map(|set| matches!(set, FiellerSet::Bounded { .. }))),
            Outcome::of(log),
            Outcome::of(times),
            Outcome::of(interval.map(|(low, high)| (low..=high).contains(&everywhere))),
        ]
    });
    Coverage {
        fieller: found[0],
        fieller_everywhere: found[1],
        bounded: found[2],
        log: found[3],
        times: found[4],
        resampled: found[5],
    }
}

/// The table of several numbers of blocks and sizes of error.
#[must_use]
pub fn table(run: Run) -> Table {
    let usual = Pair {
        blocks: 4,
        block_cv: 10.0,
        plot_cv: [15.0, 20.0],
    };
    let mut pairs: Vec<(String, Pair)> = [4, 6, 8, 12, 16, 24]
        .map(|blocks| (format!("{blocks} blocks"), Pair { blocks, ..usual }))
        .to_vec();
    pairs.extend([
        (
            "4 blocks, blocks alike".to_owned(),
            Pair {
                block_cv: 0.0,
                ..usual
            },
        ),
        (
            "4 blocks, prunings CV 60 %".to_owned(),
            Pair {
                plot_cv: [15.0, 60.0],
                ..usual
            },
        ),
    ]);
    let row = |(words, pair): (String, Pair)| {
        let c = coverage(run, pair);
        Row {
            labels: vec![words],
            tallies: vec![
                c.fieller,
                c.bounded,
                c.log,
                c.times,
                c.fieller_everywhere,
                c.resampled,
            ],
        }
    };
    Table {
        title: "Coverage of 95 % intervals of a ratio",
        labels: vec!["trial"],
        figures: vec![
            ("Fieller, in these blocks", Some(0.95)),
            ("Fieller's set an interval", None),
            ("log scale, in these blocks", Some(0.95)),
            ("times another treatment, plots' logs", Some(0.95)),
            ("Fieller, everywhere", Some(0.95)),
            ("resampled blocks, everywhere", Some(0.95)),
        ],
        rows: pairs.into_iter().map(row).collect(),
    }
}
