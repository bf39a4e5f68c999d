//! Intervals of an odds ratio from counts out of totals, such as buds that burst.
//!
//! The model has blocks at random and, where counts vary more than 1.5 times what the binomial allows
//! (Pearson's statistic over its degrees of freedom, blocks taken as fixed), an effect for each plot. The
//! critical value is that of t with the degrees of freedom of plots inside blocks. Standard errors are
//! taken as they come from the likelihood, or widened, as the program has them: times √(N/n) where a
//! variance between plots was estimated, N being all degrees of freedom of its stratum and n those of its
//! error. Besides the odds ratio of two treatments there are those of three with the first as control
//! together, and the straight line through the log odds of all four.

use caneplot_numerics::counts::{Counts, Family, Fit, Grouping, Integration, containment_df, fit};
use caneplot_numerics::distribution::{normal_quantile, t_critical};
use caneplot_numerics::dunnett::{Dunnett, Sides};
use caneplot_numerics::random::Stream;

use crate::table::{Row, Table};
use crate::tally::{Outcome, Run, Tally, tallies};

/// Counts that vary more than so many times what the binomial allows get an effect for each plot.
const OVERDISPERSED: f64 = 1.5;
/// Treatments; the second has a higher share of buds that burst than the first.
const TREATMENTS: usize = 4;
/// Logarithm of the odds ratio asked for.
const TRUTH: f64 = 0.5;
/// Log odds of the other treatments: 80 % of buds.
const LOG_ODDS: f64 = 1.386;
/// Standard deviation of blocks, in log odds.
const BLOCK_SD: f64 = 0.3;

/// A trial of counts.
#[derive(Debug, Clone, Copy)]
pub struct Buds {
    /// Blocks.
    pub blocks: usize,
    /// Buds left on a plot.
    pub buds: u32,
    /// Standard deviation of plots, in log odds.
    pub plot_sd: f64,
}

/// How often the intervals held the odds ratio.
#[derive(Debug, Clone, Copy)]
pub struct Coverage {
    /// Plots given an effect where counts vary too much, standard errors as they come.
    pub chosen: Tally,
    /// The same, widened: the program's intervals.
    pub chosen_widened: Tally,
    /// The same for three odds ratios with one control, all of them held at once by Dunnett's limits.
    pub control: Tally,
    /// The same for the slope of the log odds over equally spaced treatments.
    pub slope: Tally,
    /// Plots always given an effect, standard errors as they come.
    pub always: Tally,
    /// The same, widened.
    pub always_widened: Tally,
    /// Plots never given one.
    pub never: Tally,
    /// Plots always given one, standard errors as they come, normal quantile.
    pub normal: Tally,
    /// Trials in which the rule gives plots an effect.
    pub overdispersed: Tally,
}

const FIGURES: usize = 9;

/// A comparison of log odds with the quantile its interval is made with.
struct Asked {
    weights: Vec<f64>,
    critical: Option<f64>,
}

impl Asked {
    fn truth(&self) -> f64 {
        TRUTH * self.weights[1]
    }
}

fn columns(rows: usize, of: usize, code: impl Fn(usize) -> usize) -> Vec<Vec<f64>> {
    let column = |level| (0..rows).map(|row| f64::from(code(row) == level)).collect();
    (0..of).map(column).collect()
}

impl Buds {
    fn drawn(&self, stream: &mut Stream) -> Vec<f64> {
        let mut counts = Vec::new();
        for _ in 0..self.blocks {
            let block = LOG_ODDS + BLOCK_SD * stream.normal();
            for treatment in 0..TREATMENTS {
                let shift = if treatment == 1 { TRUTH } else { 0.0 };
                let eta = block + shift + self.plot_sd * stream.normal();
                let p = 1.0 / (1.0 + (-eta).exp());
                let burst = (0..self.buds).filter(|_| stream.uniform() < p).count();
                counts.push(burst as f64);
            }
        }
        counts
    }
}

/// The coverage of 95 % intervals of odds ratios.
#[must_use]
pub fn coverage(run: Run, trial: Buds) -> Coverage {
    let rows = trial.blocks * TREATMENTS;
    let totals = vec![f64::from(trial.buds); rows];
    let block: Vec<usize> = (0..rows).map(|row| row / TREATMENTS).collect();
    let each: Vec<usize> = (0..rows).collect();
    let cells = columns(rows, TREATMENTS, |row| row % TREATMENTS);
    let mut fixed_blocks = columns(rows, trial.blocks, |row| row / TREATMENTS);
    fixed_blocks.extend(cells[1..].iter().cloned());
    let groupings = [Grouping {
        name: "block".to_owned(),
        codes: block.clone(),
    }];
    let df = containment_df(&cells, &groupings)[1] as f64;
    let all = containment_df(&[vec![1.0; rows]], &groupings)[1] as f64;
    let critical = t_critical(0.05, df).ok();
    let normal = normal_quantile(0.975).ok();
    let pair = |other: usize, critical: Option<f64>| {
        let mut weights = vec![0.0; TREATMENTS];
        (weights[0], weights[other]) = (-1.0, 1.0);
        Asked { weights, critical }
    };
    let (one, one_normal) = (pair(1, critical), pair(1, normal));
    // As many plots of each treatment: any two comparisons with the control have the correlation 1/2.
    let dunnett = Dunnett::new(&[0.5_f64.sqrt(); TREATMENTS - 1], df, Sides::Both);
    let joint = dunnett.and_then(|dunnett| dunnett.quantile(0.05)).ok();
    let with_control: Vec<Asked> = (1..TREATMENTS).map(|other| pair(other, joint)).collect();
    let middle = (TREATMENTS - 1) as f64 / 2.0;
    let slope = Asked {
        weights: (0..TREATMENTS).map(|at| at as f64 - middle).collect(),
        critical,
    };

    let holds = |found: Option<&Fit>, asked: &Asked, widened: bool| -> Option<bool> {
        let found = found?;
        let estimated = found.random.get(1).is_some_and(|plots| !plots.at_boundary);
        let widening = if widened && estimated { all / df } else { 1.0 };
        let estimate = found.estimate(&asked.weights).ok()?;
        let reach = asked.critical? * estimate.standard_error * widening.sqrt();
        Some((estimate.value - asked.truth()).abs() <= reach)
    };
    let purpose = format!("odds {} {}", trial.blocks, trial.buds);
    let found = tallies(run, &purpose, FIGURES, |stream| {
        let counts = trial.drawn(stream);
        let of = |fixed: &[Vec<f64>], random: bool, plots: bool| -> Option<Fit> {
            let mut model = Counts::new(Family::Binomial, &counts, &totals, fixed).ok()?;
            if random {
                model = model.random("block", &block).ok()?;
            }
            if plots {
                model = model.random("plot", &each).ok()?;
            }
            fit(&model, Integration::Laplace).ok()
        };
        let spread = of(&fixed_blocks, false, false).and_then(|plain| plain.dispersion());
        let over = spread.map(|spread| spread > OVERDISPERSED);
        let (without, with) = (of(&cells, true, false), of(&cells, true, true));
        let chosen = match over {
            Some(true) => with.as_ref(),
            Some(false) => without.as_ref(),
            None => None,
        };
        [
            holds(chosen, &one, false),
            holds(chosen, &one, true),
            with_control
                .iter()
                .map(|asked| holds(chosen, asked, true))
                .try_fold(true, |all, held| Some(all && held?)),
            holds(chosen, &slope, true),
            holds(with.as_ref(), &one, false),
            holds(with.as_ref(), &one, true),
            holds(without.as_ref(), &one, false),
            holds(with.as_ref(), &one_normal, false),
            over,
        ]
        .map(Outcome::of)
        .to_vec()
    });
    Coverage {
        chosen: found[0],
        chosen_widened: found[1],
        control: found[2],
        slope: found[3],
        always: found[4],
        always_widened: found[5],
        never: found[6],
        normal: found[7],
        overdispersed: found[8],
    }
}

/// The table of several trials.
#[must_use]
pub fn table(run: Run) -> Table {
    let mut rows = Vec::new();
    for blocks in [4, 6] {
        for plot_sd in [0.0, 0.2, 0.4] {
            let c = coverage(
                run,
                Buds {
                    blocks,
                    buds: 200,
                    plot_sd,
                },
            );
            rows.push(Row {
                labels: vec![blocks.to_string(), plot_sd.to_string()],
                tallies: vec![
                    c.chosen,
                    c.chosen_widened,
                    c.control,
                    c.slope,
                    c.always,
                    c.always_widened,
                    c.never,
                    c.normal,
                    c.overdispersed,
                ],
            });
        }
    }
    Table {
        title: "Coverage of 95 % intervals of an odds ratio, 200 buds a plot",
        labels: vec!["blocks", "plot SD, log odds"],
        figures: vec![
            ("effect for plots by the rule, t", Some(0.95)),
            ("the same, widened", Some(0.95)),
            ("three with a control", Some(0.95)),
            ("slope", Some(0.95)),
            ("effect always, t", Some(0.95)),
            ("the same, widened", Some(0.95)),
            ("effect never, t", Some(0.95)),
            ("effect always, normal", Some(0.95)),
            ("trials the rule gives an effect", None),
        ],
        rows,
    }
}
