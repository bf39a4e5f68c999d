//! Power against references (`reference/README.md`), and by simulation against the exact one.

#![allow(clippy::unwrap_used)]

mod common;

use caneplot_numerics::design::{Applied, Design, Kind, Sheet};
use caneplot_numerics::mixed::grid::Grid;
use caneplot_numerics::mixed::kenward_roger::{self, Order};
use caneplot_numerics::mixed::{self, Problem, RandomTerm, Residual};
use caneplot_numerics::noncentral::{noncentral_f_lower, noncentral_f_upper};
use caneplot_numerics::power::{
    Analysis, Plan, PowerError, Settings, by_noncentral_f, by_simulation, simulated,
};
use caneplot_numerics::strata::Classifier;
use common::{digits, rows, summary};

fn factor(name: &str, levels: usize, units: usize, of: impl Fn(usize) -> usize) -> Classifier {
    Classifier {
        name: name.to_owned(),
        levels: (0..levels).map(|level| level.to_string()).collect(),
        codes: (0..units).map(of).collect(),
    }
}

fn sheet(kind: Kind, blocks: usize, each: usize, treatments: Vec<(Classifier, Applied)>) -> Sheet {
    let units = blocks * each;
    Sheet {
        kind,
        block: Some(factor("block", blocks, units, |u| u / each)),
        row: None,
        column: None,
        plot: factor("plot", each, units, |u| u % each),
        season: None,
        vines: false,
        treatments,
        block_by_season: false,
    }
}

fn randomised_block(blocks: usize, treatments: usize) -> Design {
    let units = blocks * treatments;
    let pruning = factor("pruning", treatments, units, |u| u % treatments);
    sheet(
        Kind::RandomisedBlock,
        blocks,
        treatments,
        vec![(pruning, Applied::Plot)],
    )
    .design()
    .unwrap()
}

fn split_plot(blocks: usize, whole: usize, sub: usize) -> Design {
    let units = blocks * whole * sub;
    let treatments = vec![
        (
            factor("training", whole, units, |u| u / sub % whole),
            Applied::WholePlot,
        ),
        (factor("pruning", sub, units, |u| u % sub), Applied::SubPlot),
    ];
    sheet(Kind::SplitPlot, blocks, whole * sub, treatments)
        .design()
        .unwrap()
}

/// 4 blocks, 3 whole plots, 4 sub plots with moderate effects of everything.
fn expected() -> Vec<f64> {
    (0..48)
        .map(|u| {
            let (training, pruning) = (u / 4 % 3, u % 4);
            0.7 * training as f64 + 0.3 * pruning as f64 + f64::from(training == 2 && pruning > 1)
        })
        .collect()
}

const VARIANCES: [f64; 3] = [0.5, 0.3, 1.0];

#[test]
fn noncentral_f_has_thirteen_digits() {
    let counts = rows("noncentral_F_power.csv")
        .iter()
        .map(|row| {
            let [f, df1, df2, noncentrality] =
                ["F_crit", "df1", "df2", "ncp"].map(|column| row.number(column));
            let upper = noncentral_f_upper(f, df1, df2, noncentrality).unwrap();
            let found = digits(upper, row.number("power"));
            if found < 14.0 {
                println!("{f} {df1} {df2} {noncentrality}: {upper} {found}");
            }
            let lower = noncentral_f_lower(f, df1, df2, noncentrality).unwrap();
            assert!((upper + lower - 1.0).abs() < 1e-14);
            found
        })
        .collect();
    let (least, _, median) = summary("noncentral F", counts);
    assert!(least >= 13.0 && median >= 15.0);
}

#[test]
fn rare_tails_of_noncentral_f_keep_their_digits() {
    // 60-digit sums of the mixture, all terms (reference/noncentral_tails.py).
    for row in rows("noncentral_tails.csv") {
        let [f, df1, df2, noncentrality] =
            ["f", "df1", "df2", "ncp"].map(|column| row.number(column));
        let upper = noncentral_f_upper(f, df1, df2, noncentrality).unwrap();
        let lower = noncentral_f_lower(f, df1, df2, noncentrality).unwrap();
        let found = digits(upper, row.number("upper")).min(digits(lower, row.number("lower")));
        assert!(
            found >= 12.0,
            "{f} {df1} {df2} {noncentrality}: {upper:e} {lower:e} {found}"
        );
    }
}

#[test]
fn randomised_blocks_have_the_reference_power() {
    // Two treatments δ apart and the others in the middle: the least favourable spread.
    let counts = rows("power_rcbd.csv")
        .iter()
        .map(|row| {
            let (treatments, blocks) = (row.number("t") as usize, row.number("blocks") as usize);
            let delta = row.number("delta_over_sigma");
            let design = randomised_block(blocks, treatments);
            let mean = |treatment: usize| match treatment {
                0 => -0.5 * delta,
                1 => 0.5 * delta,
                _ => 0.0,
            };
            let expected: Vec<f64> = (0..blocks * treatments)
                .map(|u| 7.0 + mean(u % treatments))
                .collect();
            let plan = Plan {
                layout: &design.layout,
                expected: &expected,
                variances: &[3.0, 1.0],
            };
            let found = by_noncentral_f(plan, 0.05).unwrap()[0];
            assert!((found.noncentrality - row.number("ncp")).abs() < 1e-10);
            assert_eq!(found.df as f64, row.number("df1"));
            assert_eq!(found.error_df as f64, row.number("df2"));
            digits(found.power, row.number("power_F"))
        })
        .collect();
    let (least, _, median) = summary("power of randomised blocks", counts);
    assert!(least >= 13.0 && median >= 15.0);
}

#[test]
fn a_split_plot_tests_each_term_against_its_own_error() {
    let design = split_plot(4, 3, 4);
    let expected = expected();
    let plan = Plan {
        layout: &design.layout,
        expected: &expected,
        variances: &VARIANCES,
    };
    // ξ = 1 + 4·0.3 + 12·0.5, 1 + 4·0.3, 1.
    let mean_squares = plan.expected_mean_squares();
    for (found, wanted) in mean_squares.iter().zip([8.2, 2.2, 1.0]) {
        assert!((found - wanted).abs() < 1e-14);
    }
    let found = by_noncentral_f(plan, 0.05).unwrap();
    assert_eq!(
        found.iter().map(|t| (t.df, t.error_df)).collect::<Vec<_>>(),
        [(2, 6), (3, 27), (6, 27)]
    );
    // Means of the training systems 0.45, 1.15, 2.35 with 16 values each.
    let whole = 16.0
        * [0.45, 1.15, 2.35]
            .map(|m: f64| (m - 3.95 / 3.0).powi(2))
            .iter()
            .sum::<f64>();
    assert!((found[0].noncentrality - whole / 2.2).abs() < 1e-12);
}

fn settings(draws: u64, threads: usize) -> Settings {
    Settings {
        seed: 11,
        draws,
        threads,
        level: 0.05,
    }
}

#[test]
fn simulated_power_is_the_exact_one_within_its_error_on_any_number_of_threads() {
    let design = split_plot(4, 3, 4);
    let expected = expected();
    let plan = Plan {
        layout: &design.layout,
        expected: &expected,
        variances: &VARIANCES,
    };
    let exact = by_noncentral_f(plan, 0.05).unwrap();
    let found = by_simulation(plan, Analysis::Strata, settings(20_000, 1)).unwrap();
    for (exact, found) in exact.iter().zip(&found) {
        assert!(
            (exact.power - found.power()).abs() < 4.0 * found.standard_error(),
            "{exact:?} {found:?}"
        );
        assert!(found.interval().0 < found.power() && found.power() < found.interval().1);
    }
    for threads in [2, 3] {
        assert_eq!(
            found,
            by_simulation(plan, Analysis::Strata, settings(20_000, threads)).unwrap()
        );
    }
    // Without effects the level is kept.
    let nothing = vec![0.0; 48];
    let plan = Plan {
        expected: &nothing,
        ..plan
    };
    for found in by_simulation(plan, Analysis::Strata, settings(20_000, 2)).unwrap() {
        assert!((found.power() - 0.05).abs() < 4.0 * (0.05_f64 * 0.95 / 20_000.0).sqrt());
    }
}

/// Rejections of a general search for the restricted likelihood with tests by Kenward & Roger.
fn searched(values: &[f64]) -> [f64; 3] {
    let codes = |of: &dyn Fn(usize) -> usize| -> Vec<usize> { (0..values.len()).map(of).collect() };
    let (first, second) = (codes(&|u| u / 4 % 3), codes(&|u| u % 4));
    let grid = Grid::new(&[3, 4], &[&first, &second], 0);
    let term = |name: &str, codes| RandomTerm {
        name: name.to_owned(),
        codes,
    };
    let problem = Problem {
        values: values.to_vec(),
        fixed: grid.fixed(&[&first, &second], &[]),
        random: vec![
            term("block", codes(&|u| u / 12)),
            term("whole plot", codes(&|u| u / 4)),
        ],
        residual: Residual::independent(values.len()),
    };
    let fit = mixed::fit(&problem, mixed::Settings::default()).unwrap();
    let adjusted = kenward_roger::adjusted_covariance(&fit, Order::First);
    [vec![0], vec![1], vec![0, 1]].map(|term| {
        let rows = grid.hypothesis(&term, &[]).unwrap();
        kenward_roger::test(&fit, &adjusted, &rows).unwrap().p
    })
}

#[test]
fn the_closed_form_rejects_exactly_where_the_search_does() {
    let design = split_plot(4, 3, 4);
    let expected: Vec<f64> = expected().iter().map(|value| 0.6 * value).collect();
    // Small variances of blocks and whole plots: many estimates are zero.
    for variances in [VARIANCES, [0.02, 0.05, 1.0], [0.0, 0.0, 1.0]] {
        let plan = Plan {
            layout: &design.layout,
            expected: &expected,
            variances: &variances,
        };
        let closed = by_simulation(plan, Analysis::Restricted, settings(300, 2)).unwrap();
        let search = simulated(plan, settings(300, 2), || {
            |values: &[f64], rejected: &mut [u64]| {
                for (count, p) in rejected.iter_mut().zip(searched(values)) {
                    *count += u64::from(p <= 0.05);
                }
            }
        })
        .unwrap();
        assert_eq!(closed, search, "{variances:?}");
        if variances[1] < 0.1 {
            // The two analyses do differ where whole plots vary little.
            let strata = by_simulation(plan, Analysis::Strata, settings(300, 2)).unwrap();
            assert_ne!(closed, strata);
        }
    }
}

#[test]
fn what_cannot_be_planned_is_said() {
    let design = randomised_block(4, 3);
    let expected = [0.0; 12];
    let plan = |expected, variances| Plan {
        layout: &design.layout,
        expected,
        variances,
    };
    let words = |plan| by_noncentral_f(plan, 0.05).unwrap_err().to_string();
    assert!(words(plan(&expected[..5], &[1.0, 1.0])).contains("5 expected values given for 12"));
    assert!(words(plan(&expected, &[1.0])).contains("1 variances given for 2"));
    assert!(words(plan(&expected, &[1.0, -1.0])).contains("must be 0 or more"));
    assert!(words(plan(&expected, &[1.0, 0.0])).contains("has no variance"));
    assert!(words(plan(&[f64::NAN; 12], &[1.0, 1.0])).contains("unit 0"));
    let single = randomised_block(1, 3);
    let plan = Plan {
        layout: &single.layout,
        expected: &[0.0; 3],
        variances: &[0.0, 1.0],
    };
    assert!(words(plan).contains("no degrees of freedom"));
    let plan = Plan {
        layout: &design.layout,
        expected: &expected,
        variances: &[1.0, 1.0],
    };
    assert!(by_noncentral_f(plan, 1.5).is_err());
    assert_eq!(
        by_simulation(plan, Analysis::Strata, settings(0, 1)),
        Err(PowerError::NoDraws)
    );
}

#[test]
fn strips_have_no_closed_form_of_the_restricted_likelihood() {
    let treatments = vec![
        (factor("training", 2, 12, |u| u / 2 % 2), Applied::RowStrip),
        (factor("pruning", 2, 12, |u| u % 2), Applied::CrossStrip),
    ];
    let design = sheet(Kind::StripPlot, 3, 4, treatments).design().unwrap();
    let plan = Plan {
        layout: &design.layout,
        expected: &[0.0; 12],
        variances: &[1.0; 4],
    };
    assert!(by_simulation(plan, Analysis::Strata, settings(50, 1)).is_ok());
    let refused = by_simulation(plan, Analysis::Restricted, settings(50, 1));
    assert!(matches!(refused, Err(PowerError::NotNested(_))));
}
