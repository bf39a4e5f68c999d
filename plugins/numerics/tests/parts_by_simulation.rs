//! Parts of a product with known changes, simulated: whether estimates hit them and standard errors
//! and covariances say how far they miss.
//!
//! Monte-Carlo bounds: with R simulations the mean of an estimate has standard error √(v/R), and an
//! observed variance or covariance about √(2 v²/R); five of those are allowed.
#![allow(clippy::unwrap_used)]

mod simulated;

use caneplot_numerics::components::{factors, whole};
use caneplot_numerics::contrasts::{Estimate, Plots};
use caneplot_numerics::design::{Applied, Kind, Sheet};
use caneplot_numerics::strata::Classifier;
use simulated::Normal;

const RUNS: usize = 2000;

/// What the simulated estimates of one difference were.
#[derive(Default)]
struct Seen {
    values: Vec<Vec<f64>>,
    products: Vec<Vec<Vec<f64>>>,
    covered: Vec<usize>,
}

impl Seen {
    fn put(&mut self, estimate: &Estimate, truth: &[f64]) {
        self.covered.resize(truth.len(), 0);
        for (part, truth) in truth.iter().enumerate() {
            let half = estimate.half_width(part, 0.95).unwrap();
            self.covered[part] += usize::from((estimate.values[part] - truth).abs() <= half);
        }
        let (value, variance) = whole(estimate);
        assert!((value - estimate.values.iter().sum::<f64>()).abs() < 1e-12);
        assert!(variance >= 0.0);
        self.values.push(estimate.values.clone());
        self.products.push(estimate.products.clone());
    }

    fn mean(&self, of: impl Fn(usize) -> f64) -> f64 {
        (0..self.values.len()).map(of).sum::<f64>() / self.values.len() as f64
    }

    fn agrees(&self, truth: &[f64]) {
        let runs = self.values.len() as f64;
        let means: Vec<f64> = (0..truth.len())
            .map(|a| self.mean(|r| self.values[r][a]))
            .collect();
        let observed = |a: usize, b: usize| {
            self.mean(|r| (self.values[r][a] - means[a]) * (self.values[r][b] - means[b]))
        };
        for a in 0..truth.len() {
            let bound = 5.0 * (observed(a, a) / runs).sqrt();
            assert!(
                (means[a] - truth[a]).abs() < bound,
                "{a}: {} {}",
                means[a],
                truth[a]
            );
            for b in 0..truth.len() {
                let claimed = self.mean(|r| self.products[r][a][b]);
                let bound = 5.0 * (2.0 * observed(a, a) * observed(b, b) / runs).sqrt();
                assert!(
                    (claimed - observed(a, b)).abs() < bound,
                    "{a} {b}: claimed {claimed}, observed {}",
                    observed(a, b)
                );
            }
            // 95 % of 2000 intervals, five standard errors of 0.49 % to each side.
            let covered = self.covered[a] as f64 / runs;
            assert!((covered - 0.95).abs() < 0.0245, "{a}: covered {covered}");
        }
    }
}

/// Logarithms of shoots per node, clusters per shoot and weight per cluster for treatment effects and
/// an error that the factors share with opposite signs, as vines do that make up for one another.
fn parts_of(effects: &[f64; 3], unit: &[f64; 3]) -> Vec<f64> {
    let logs = [
        effects[0] + unit[0],
        effects[1] - 0.6 * unit[0] + unit[1],
        effects[2] - 0.3 * unit[1] + unit[2],
    ];
    let mut amount = 1.0;
    let amounts: Vec<f64> = logs
        .iter()
        .map(|log| {
            amount *= log.exp();
            amount
        })
        .collect();
    factors(&amounts).unwrap()
}

fn draws(normal: &mut Normal, sizes: [f64; 3]) -> [f64; 3] {
    sizes.map(|size| size * normal.draw())
}

fn sum(a: &[f64; 3], b: &[f64; 3]) -> [f64; 3] {
    [a[0] + b[0], a[1] + b[1], a[2] + b[2]]
}

fn classifier(name: &str, values: Vec<String>) -> Classifier {
    Classifier::from_texts(name, &values, &[])
}

#[test]
fn standard_errors_in_blocks_say_how_far_parts_miss() {
    let effects = [[0.0, 0.0, 0.0], [-0.1, -0.2, 0.05], [0.08, 0.0, -0.1]];
    let truth = [-0.1, -0.2, 0.05];
    let plots: Vec<(usize, usize)> = (0..5).flat_map(|b| (0..3).map(move |t| (b, t))).collect();
    let column = |of: &dyn Fn(&(usize, usize)) -> usize| {
        plots
            .iter()
            .map(|plot| of(plot).to_string())
            .collect::<Vec<_>>()
    };
    let sheet = Sheet {
        kind: Kind::RandomisedBlock,
        block: Some(classifier("block", column(&|plot| plot.0))),
        row: None,
        column: None,
        plot: classifier("plot", column(&|plot| plot.1)),
        season: None,
        vines: false,
        treatments: vec![(
            classifier("treatment", column(&|plot| plot.1)),
            Applied::Plot,
        )],
        block_by_season: false,
    };
    // With a plot lost, too.
    for lost in [None, Some(4)] {
        let kept: Vec<usize> = (0..15).filter(|&plot| Some(plot) != lost).collect();
        let design = Plots::new(&sheet.of_plots(&kept), None).unwrap();
        let compared = design.compared(&[0]).unwrap();
        let mut seen = Seen::default();
        for run in 0..RUNS {
            let mut normal = Normal::stream(run as u64);
            let blocks: Vec<[f64; 3]> = (0..5).map(|_| draws(&mut normal, [0.2; 3])).collect();
            let mut columns = vec![Vec::new(); 3];
            for (at, (block, treatment)) in plots.iter().enumerate() {
                let unit = draws(&mut normal, [0.08, 0.12, 0.06]);
                if Some(at) == lost {
                    continue;
                }
                let own = sum(&effects[*treatment], &blocks[*block]);
                for (column, part) in columns.iter_mut().zip(parts_of(&own, &unit)) {
                    column.push(part);
                }
            }
            let columns: Vec<&[f64]> = columns.iter().map(Vec::as_slice).collect();
            let errors = design.errors(&columns).unwrap();
            seen.put(
                &design.difference(&errors, &compared, 1, 0).unwrap(),
                &truth,
            );
        }
        seen.agrees(&truth);
    }
}

#[test]
fn whole_plots_are_judged_by_whole_plots() {
    let effects = [[0.0, 0.0, 0.0], [-0.1, -0.2, 0.05]];
    let truth = [-0.1, -0.2, 0.05];
    let plots: Vec<(usize, usize, usize)> = (0..6)
        .flat_map(|b| (0..2).flat_map(move |w| (0..3).map(move |s| (b, w, s))))
        .collect();
    let column = |of: &dyn Fn(&(usize, usize, usize)) -> String| plots.iter().map(of).collect();
    let sheet = Sheet {
        kind: Kind::SplitPlot,
        block: Some(classifier("block", column(&|plot| plot.0.to_string()))),
        row: None,
        column: None,
        plot: classifier("plot", column(&|plot| format!("{}{}", plot.1, plot.2))),
        season: None,
        vines: false,
        treatments: vec![
            (
                classifier("whole", column(&|plot| plot.1.to_string())),
                Applied::WholePlot,
            ),
            (
                classifier("sub", column(&|plot| plot.2.to_string())),
                Applied::SubPlot,
            ),
        ],
        block_by_season: false,
    };
    let design = Plots::new(&sheet, None).unwrap();
    let compared = design.compared(&[0]).unwrap();
    let mut seen = Seen::default();
    for run in 0..RUNS {
        let mut normal = Normal::stream((1 << 32) + run as u64);
        let mut columns = vec![Vec::new(); 3];
        let mut whole = [0.0; 3];
        for (_, treatment, sub) in &plots {
            if *sub == 0 {
                whole = draws(&mut normal, [0.10, 0.05, 0.08]);
            }
            let unit = draws(&mut normal, [0.04, 0.06, 0.03]);
            let own = effects[*treatment];
            for (column, part) in columns.iter_mut().zip(parts_of(&own, &sum(&whole, &unit))) {
                column.push(part);
            }
        }
        let columns: Vec<&[f64]> = columns.iter().map(Vec::as_slice).collect();
        let errors = design.errors(&columns).unwrap();
        seen.put(
            &design.difference(&errors, &compared, 1, 0).unwrap(),
            &truth,
        );
    }
    seen.agrees(&truth);
}
