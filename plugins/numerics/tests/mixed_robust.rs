//! Mixed models on simulated trials: every fit ends with a certificate, wherever its variances lie.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::print_stdout,
    reason = "a test may stop and print"
)]

use caneplot_numerics::mixed::kenward_roger::{self, Order};
use caneplot_numerics::mixed::{
    Fit, MixedError, Problem, RandomTerm, Residual, Settings, Structure, fit, satterthwaite,
};
use nalgebra::DMatrix;

/// A small generator of its own, so that the trials are the same everywhere.
struct Noise(u64);

impl Noise {
    fn uniform(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Sum of twelve uniforms less six: near enough to normal.
    fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.uniform()).sum::<f64>() - 6.0
    }
}

/// A trial of `blocks` blocks, 4 treatments and `seasons` seasons with `lost` of its values missing.
struct Plan {
    blocks: usize,
    seasons: usize,
    lost: f64,
    block_sd: f64,
    plot_sd: f64,
    rho: f64,
    growing: bool,
}

fn problem(plan: &Plan, structure: Structure, noise: &mut Noise) -> Problem {
    let (mut values, mut cells, mut block, mut plot, mut season) =
        (vec![], vec![], vec![], vec![], vec![]);
    for b in 0..plan.blocks {
        let of_block = plan.block_sd * noise.normal();
        for t in 0..4 {
            let of_plot = plan.plot_sd * noise.normal();
            let mut error = noise.normal();
            for s in 0..plan.seasons {
                if s > 0 {
                    error = plan.rho * error + (1.0 - plan.rho.powi(2)).sqrt() * noise.normal();
                }
                let scale = if plan.growing {
                    1.0 + 0.5 * s as f64
                } else {
                    1.0
                };
                if noise.uniform() < plan.lost {
                    continue;
                }
                values.push(1e3 * (of_block + of_plot + scale * error));
                cells.push(t * plan.seasons + s);
                block.push(b);
                plot.push(b * 4 + t);
                season.push(s);
            }
        }
    }
    let width = 4 * plan.seasons;
    Problem {
        fixed: DMatrix::from_fn(values.len(), width, |i, j| f64::from(cells[i] == j)),
        values,
        random: vec![RandomTerm {
            name: "blocks".to_owned(),
            codes: block,
        }],
        residual: Residual {
            structure,
            plot,
            season,
            times: (0..plan.seasons).map(|s| (s + s / 2) as f64).collect(),
            group: Vec::new(),
        },
    }
}

fn plans() -> Vec<Plan> {
    let mut all = Vec::new();
    for (blocks, seasons, lost) in [(4, 3, 0.0), (5, 4, 0.1), (6, 5, 0.2), (8, 3, 0.05)] {
        for (block_sd, plot_sd) in [(0.0, 0.0), (0.0, 1.0), (2.0, 0.0), (0.5, 0.5)] {
            for (rho, growing) in [(0.0, false), (0.8, false), (0.4, true)] {
                all.push(Plan {
                    blocks,
                    seasons,
                    lost,
                    block_sd,
                    plot_sd,
                    rho,
                    growing,
                });
            }
        }
    }
    all
}

fn sound(found: &Fit, structure: Structure) {
    assert!(found.certificate.distance < 1e-6, "{structure:?}");
    for &at in &found.certificate.at_zero {
        assert!(found.theta[at] == 0.0 && found.certificate.score[at] <= 0.0);
    }
    let adjusted = kenward_roger::adjusted_covariance(found, Order::First);
    let width = found.beta.len();
    let row: Vec<f64> = (0..width)
        .map(|at| f64::from(at == 0) - f64::from(at == width / 4))
        .collect();
    let kr = kenward_roger::estimate(found, &adjusted, &row).unwrap();
    let plain = satterthwaite::estimate(found, &row).unwrap();
    assert!(
        kr.standard_error.is_finite() && kr.df > 0.0,
        "{structure:?} {kr:?}"
    );
    assert!(
        plain.standard_error.is_finite() && plain.df > 0.0,
        "{structure:?} {plain:?}"
    );
}

#[test]
fn fits_end_with_a_certificate() {
    let mut noise = Noise(11);
    let (mut fits, mut without) = (0, vec![]);
    for plan in plans() {
        for structure in Structure::ALL {
            if structure == Structure::Unstructured && plan.blocks < 6 {
                continue;
            }
            let problem = problem(&plan, structure, &mut noise);
            match fit(&problem, Settings::default()) {
                Ok(found) => sound(&found, structure),
                // A cell that lost all its values is not what is tried here.
                Err(MixedError::Aliased { .. }) => continue,
                Err(error) => without.push(format!("{structure:?}: {error}")),
            }
            fits += 1;
        }
    }
    println!(
        "{} of {fits} fits without a certificate: {without:#?}",
        without.len()
    );
    assert!(without.len() * 100 <= fits);
}

#[test]
fn the_scale_of_the_values_does_not_matter() {
    let mut noise = Noise(5);
    let plan = Plan {
        blocks: 5,
        seasons: 4,
        lost: 0.1,
        block_sd: 0.5,
        plot_sd: 0.5,
        rho: 0.5,
        growing: true,
    };
    let small = problem(&plan, Structure::UnequalAutoregressive, &mut noise);
    let mut large = small.clone();
    large.values.iter_mut().for_each(|value| *value *= 1e9);
    let [a, b] = [&small, &large].map(|problem| fit(problem, Settings::default()).unwrap());
    for (at, (a, b)) in a.theta.iter().zip(&b.theta).enumerate() {
        let scale = if at + 1 == large.random.len() + 5 {
            1.0
        } else {
            1e18
        };
        assert!((a * scale - b).abs() <= 1e-7 * b.abs(), "{at}: {a} {b}");
    }
}

#[test]
fn what_cannot_be_fitted_says_why() {
    let mut noise = Noise(7);
    let plan = &plans()[3];
    let good = problem(plan, Structure::Symmetric, &mut noise);
    let wrong = |change: &dyn Fn(&mut Problem)| {
        let mut problem = good.clone();
        change(&mut problem);
        fit(&problem, Settings::default()).unwrap_err().to_string()
    };
    assert!(wrong(&|p| p.values.fill(2.0)).contains("leave no error"));
    assert!(wrong(&|p| p.values[0] = f64::NAN).contains("not a number"));
    assert!(wrong(&|p| p.residual.season[1] = p.residual.season[0]).contains("two values"));
    assert!(wrong(&|p| p.random[0].codes.truncate(3)).contains("has 3 entries"));
    // A term with one level a plot cannot be told from the plots.
    assert!(
        wrong(&|p| p.random[0].codes = p.residual.plot.clone()).contains("cannot tell plots apart")
    );
    let double = |p: &mut Problem| {
        p.fixed = DMatrix::from_fn(p.values.len(), 2, |_, _| 1.0);
    };
    assert!(wrong(&double).contains("combination of those before it"));
}

#[test]
#[ignore = "measures time; run in release"]
fn time_grows_with_plots() {
    for (blocks, seasons) in [(5, 4), (50, 4), (500, 4), (50, 12)] {
        let plan = Plan {
            blocks,
            seasons,
            lost: 0.05,
            block_sd: 0.5,
            plot_sd: 0.5,
            rho: 0.5,
            growing: false,
        };
        for structure in [Structure::Symmetric, Structure::Autoregressive] {
            let problem = problem(&plan, structure, &mut Noise(3));
            let start = std::time::Instant::now();
            let found = fit(&problem, Settings::default()).unwrap();
            println!(
                "{} values, {structure:?}: {:.1} ms, {} steps",
                problem.values.len(),
                start.elapsed().as_secs_f64() * 1e3,
                found.certificate.steps
            );
        }
    }
}
