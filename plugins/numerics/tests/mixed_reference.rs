//! Mixed models against 220-bit reference fits: see `reference/README-mixed.md`.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::print_stdout,
    reason = "a test may stop and print"
)]

#[path = "mixed/case.rs"]
mod case;
#[path = "common/mod.rs"]
mod common;

use caneplot_numerics::mixed::kenward_roger::{self, Order};
use caneplot_numerics::mixed::{Settings, Structure, fit, freed, satterthwaite};
use case::{Case, Grid};
use common::{digits, summary};
use serde_json::Value as Json;

fn number(of: &Json) -> f64 {
    of.as_str().unwrap().parse().unwrap()
}

/// Checks a case and returns the right digits of estimates, degrees of freedom and probabilities.
fn check(name: &str, case: &Case, settings: Settings) -> [Vec<f64>; 3] {
    let want = common::json(&format!("mixed/{name}.json"));
    let fit = fit(&case.problem(), settings).unwrap_or_else(|error| panic!("{name}: {error}"));
    let [mut estimates, mut dfs, mut ps] = [vec![], vec![], vec![]];
    for (got, (_, value)) in fit
        .theta
        .iter()
        .zip(want["variance_parameters"].as_object().unwrap())
    {
        estimates.push(digits(*got, number(value)));
    }
    estimates.push(digits(-0.5 * fit.deviance, number(&want["reml_loglik"])));
    let beta = want["beta"].as_object().unwrap();
    let se = want["se_beta"].as_object().unwrap();
    assert_eq!(beta.len(), fit.beta.len(), "{name}");
    for (at, (beta, se)) in beta.values().zip(se.values()).enumerate() {
        // A coefficient may be nearly zero: its error is judged against its standard error.
        let error = (fit.beta[at] - number(beta)).abs() / number(se);
        estimates.push((-error.max(1e-16).log10()).min(16.0));
        estimates.push(digits(fit.covariance[(at, at)].sqrt(), number(se)));
    }
    let first = kenward_roger::adjusted_covariance(&fit, Order::First);
    let second = kenward_roger::adjusted_covariance(&fit, Order::Second);
    if let Some(tests) = want["tests"].as_object() {
        for (term, want) in tests {
            let rows = case.grid.marginal(term);
            let got = kenward_roger::test(&fit, &second, &rows).unwrap();
            let mut compare = |got: kenward_roger::FTest, want: &Json, f: &str| {
                estimates.push(digits(got.f, number(&want[f])));
                dfs.push(digits(got.denominator_df, number(&want["ddf"])));
                let off = (got.p - number(&want["p"])).abs();
                ps.push((-off.max(1e-16).log10()).min(16.0));
            };
            compare(got, &want["kenward_roger"], "F_scaled");
            if let Some(want) = want.get("kenward_roger_firstorder_no_R_term") {
                compare(
                    kenward_roger::test(&fit, &first, &rows).unwrap(),
                    want,
                    "F_scaled",
                );
            }
            compare(
                satterthwaite::test(&fit, &rows).unwrap(),
                &want["satterthwaite"],
                "F",
            );
        }
    }
    let mut compare = |row: Vec<f64>, want: &Json| {
        let plain = satterthwaite::estimate(&fit, &row).unwrap();
        let adjusted = kenward_roger::estimate(&fit, &second, &row).unwrap();
        estimates.push(digits(plain.value, number(&want["estimate"])));
        estimates.push(digits(plain.standard_error, number(&want["se"])));
        estimates.push(digits(adjusted.standard_error, number(&want["se_kr"])));
        dfs.push(digits(plain.df, number(&want["df_satt"])));
        dfs.push(digits(adjusted.df, number(&want["df_kr"])));
        if let Some(want_se) = want.get("se_kr_firstorder") {
            let got = kenward_roger::estimate(&fit, &first, &row).unwrap();
            estimates.push(digits(got.standard_error, number(want_se)));
            dfs.push(digits(got.df, number(&want["df_kr_firstorder"])));
        }
    };
    for mean in want["emmeans"].as_array().unwrap() {
        compare(case.grid.mean(&mean["at"]), mean);
    }
    for pair in want["differences"].as_array().unwrap() {
        let (a, b) = (case.grid.mean(&pair["a"]), case.grid.mean(&pair["b"]));
        compare(a.iter().zip(&b).map(|(a, b)| a - b).collect(), pair);
    }
    [estimates, dfs, ps]
}

fn passes(name: &str, case: &Case) {
    passes_with(name, case, Settings::default());
}

fn passes_with(name: &str, case: &Case, settings: Settings) {
    let [estimates, dfs, ps] = check(name, case, settings);
    assert!(summary(&format!("{name}, estimates"), estimates).0 > 8.0);
    if !dfs.is_empty() {
        assert!(summary(&format!("{name}, degrees of freedom"), dfs).0 > 7.0);
    }
    if !ps.is_empty() {
        assert!(summary(&format!("{name}, probabilities"), ps).0 > 9.0);
    }
}

#[test]
fn vines_in_plots_in_blocks() {
    let case = Case::read("kiwishade.csv", "yield")
        .fixed(&[("shade", &["none", "Aug2Dec", "Dec2Feb", "Feb2May"])])
        .random(&["block"])
        .random(&["block", "shade"]);
    passes("kiwishade", &case);
}

#[test]
fn split_plot() {
    let case = Case::read("oats.csv", "yield")
        .fixed(&[("Variety", &[]), ("nitro", &[])])
        .renamed(&["V", "N"])
        .random(&["Block"])
        .random(&["Block", "Variety"]);
    passes("oats", &case);
}

#[test]
fn sites_with_missing_plots() {
    let case = Case::read("antigua.csv", "harvwt")
        .fixed(&[("trt", &[])])
        .random(&["site"])
        .random(&["site", "block"])
        .random(&["site", "trt"]);
    passes("antigua", &case);
}

#[test]
fn randomised_block_with_missing_plots() {
    let case = Case::read("rcbd_missing.csv", "yield_kg")
        .fixed(&[("treatment", &[])])
        .random(&["block"]);
    passes("rcbd_missing_block_random", &case);
}

#[test]
fn split_split_plot() {
    passes("splitsplit", &split_split("splitsplit.csv"));
}

fn split_split(file: &str) -> Case {
    Case::read(file, "yield")
        .fixed(&[("irrigation", &[]), ("buds", &[]), ("thinning", &[])])
        .renamed(&["A", "B", "C"])
        .random(&["block"])
        .random(&["block", "irrigation"])
        .random(&["block", "irrigation", "buds"])
}

#[test]
fn strip_plots() {
    let case = Case::read("stripplot.csv", "yield")
        .fixed(&[("prune", &[]), ("soil", &[])])
        .renamed(&["A", "B"])
        .random(&["block"])
        .random(&["block", "prune"])
        .random(&["block", "soil"]);
    passes("stripplot_sim", &case);
    // Its factor B has 4 denominator degrees of freedom on 4 contrasts: a removable singularity.
    let case = Case::read("assay.csv", "logDens")
        .fixed(&[("sample", &[]), ("dilut", &[])])
        .renamed(&["A", "B"])
        .random(&["Block"])
        .random(&["Block", "sample"])
        .random(&["Block", "dilut"]);
    passes("stripplot_assay", &case);
}

#[test]
fn a_whole_plot_variance_at_zero() {
    let want = common::json("mixed/splitsplit_boundary_kept.json");
    let case = split_split("splitsplit_boundary.csv");
    let compare = |settings: Settings, theta: &Json, tests: &Json| {
        let fit = fit(&case.problem(), settings).unwrap();
        let adjusted = kenward_roger::adjusted_covariance(&fit, Order::First);
        let mut right = vec![];
        for (got, value) in fit.theta.iter().zip(theta.as_object().unwrap().values()) {
            right.push(digits(*got, number(value)));
        }
        for (term, want) in tests.as_object().unwrap() {
            let got = kenward_roger::test(&fit, &adjusted, &case.grid.marginal(term)).unwrap();
            right.push(digits(got.f, number(&want["F_scaled"])));
            right.push(digits(got.denominator_df, number(&want["ddf"])));
        }
        assert!(summary("at zero", right).0 > 8.0);
        fit
    };
    let kept = compare(
        Settings::default(),
        &want["variance_parameters"],
        &want["kr_component_kept"],
    );
    assert_eq!(kept.certificate.at_zero, vec![1]);
    let slope = number(&want["score_at_boundary"]["wholeplot"]);
    assert!(digits(kept.certificate.score[1], slope) > 8.0);
    let left_out = Settings {
        keep_zero: false,
        ..Settings::default()
    };
    compare(
        left_out,
        &want["variance_parameters"],
        &want["kr_component_dropped"],
    );
    let negative = Settings {
        negative: true,
        ..Settings::default()
    };
    let free = &want["unconstrained"];
    let direct = compare(negative, &free["variance_parameters"], &free["kr"]);
    // The same from the fit held at zero, as the analysis of a trial does it.
    let freed = freed(&case.problem(), &kept, Settings::default()).unwrap();
    assert_eq!(freed.below_zero(), vec![1]);
    for (got, want) in freed.theta.iter().zip(&direct.theta) {
        assert!((got - want).abs() < 1e-9 * want.abs());
    }
}

#[test]
fn error_variances_of_their_own_for_varieties() {
    let case = Case::read("oats.csv", "yield")
        .fixed(&[("Variety", &[]), ("nitro", &[])])
        .renamed(&["V", "N"])
        .random(&["Block"])
        .random(&["Block", "Variety"])
        .groups("Variety");
    passes("oats_by_treatment", &case);
}

#[test]
fn error_variances_of_their_own_for_prunings_over_seasons() {
    let case = perennial("perennial.csv", Structure::Autoregressive).groups("treatment");
    passes("perennial_ar1_by_treatment", &case);
    // Its block variance is below zero.
    let case = perennial("perennial_missing.csv", Structure::Symmetric).groups("treatment");
    let negative = Settings {
        negative: true,
        ..Settings::default()
    };
    passes_with("perennial_missing_cs_by_treatment", &case, negative);
}

fn perennial(file: &str, structure: Structure) -> Case {
    Case::read(file, "yield_kg")
        .fixed(&[("treatment", &[]), ("year", &[])])
        .random(&["block"])
        .seasons("plot", "year", structure)
}

#[test]
fn seasons_on_plots_in_random_blocks() {
    use Structure::*;
    let (full, missing) = ("perennial.csv", "perennial_missing.csv");
    passes("perennial_cs", &perennial(full, Symmetric));
    passes("perennial_ar1", &perennial(full, Autoregressive));
    passes("perennial_cshet", &perennial(full, UnequalSymmetric));
    passes("perennial_ar1het", &perennial(full, UnequalAutoregressive));
    passes("perennial_missing_cs", &perennial(missing, Symmetric));
    passes("perennial_missing_ar1", &perennial(missing, Autoregressive));
}

#[test]
fn seasons_on_plots_in_fixed_blocks() {
    use Structure::*;
    for (tag, file) in [("", "perennial.csv"), ("_missing", "perennial_missing.csv")] {
        for (form, structure) in [
            ("cs", Symmetric),
            ("ar1", Autoregressive),
            ("cshet", UnequalSymmetric),
            ("ar1het", UnequalAutoregressive),
            ("un", Unstructured),
        ] {
            let case = Case::read(file, "yield_kg")
                .fixed(&[("block", &[]), ("treatment", &[]), ("year", &[])])
                .terms(&["block", "treatment", "year", "treatment:year"])
                .seasons("plot", "year", structure);
            passes(&format!("perennial{tag}_gls_{form}"), &case);
        }
    }
}

#[test]
fn grids_name_every_cell_once() {
    let grid = Grid::new(&[("a", &["1", "2"]), ("b", &["x", "y", "z"])]);
    assert_eq!(grid.marginal("a:b").nrows(), 2);
    assert_eq!(grid.marginal("b").ncols(), 6);
}

#[test]
#[ignore = "measures time; run in release"]
fn time_of_a_split_plot() {
    let case = Case::read("oats.csv", "yield")
        .fixed(&[("Variety", &[]), ("nitro", &[])])
        .renamed(&["V", "N"])
        .random(&["Block"])
        .random(&["Block", "Variety"]);
    let rows: Vec<_> = ["V", "N", "V:N"]
        .map(|term| case.grid.marginal(term))
        .into();
    measured("oats, fit and three tests", 200, || {
        let fit = fit(&case.problem(), Settings::default()).unwrap();
        let adjusted = kenward_roger::adjusted_covariance(&fit, Order::First);
        for rows in &rows {
            kenward_roger::test(&fit, &adjusted, rows).unwrap();
        }
    });
    for structure in Structure::ALL {
        let case = perennial("perennial.csv", structure);
        measured(&format!("perennial, {structure:?}"), 20, || {
            fit(&case.problem(), Settings::default()).unwrap();
        });
    }
}

fn measured(what: &str, times: usize, work: impl Fn()) {
    let mut took: Vec<f64> = (0..times)
        .map(|_| {
            let start = std::time::Instant::now();
            work();
            start.elapsed().as_secs_f64() * 1e3
        })
        .collect();
    took.sort_by(f64::total_cmp);
    println!(
        "{what}: median {:.3} ms, fastest {:.3} ms",
        took[times / 2],
        took[0]
    );
}
