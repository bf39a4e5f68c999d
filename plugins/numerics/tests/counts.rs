//! Fits of counts against reference numbers; `reference/README-counts.md` says where they are from.
#![allow(clippy::unwrap_used, reason = "a test without its data must fail")]

mod common;

use caneplot_numerics::counts::{
    CountError, Counts, Family, Fit, Integration, fit, likelihood_ratio,
};
use common::{Row, json, rows};
use serde_json::Value as Json;

fn data(name: &str) -> Vec<Row> {
    rows(&format!("counts/{name}.csv"))
}

fn numbers(rows: &[Row], column: &str) -> Vec<f64> {
    rows.iter().map(|row| row.number(column)).collect()
}

/// Units numbered in the order in which they first stand.
fn codes(rows: &[Row], column: &str) -> (Vec<usize>, Vec<String>) {
    let mut names: Vec<String> = Vec::new();
    let codes = rows
        .iter()
        .map(|row| {
            let name = row.text(column);
            names
                .iter()
                .position(|known| known == name)
                .unwrap_or_else(|| {
                    names.push(name.to_owned());
                    names.len() - 1
                })
        })
        .collect();
    (codes, names)
}

/// An intercept and one indicator for each level but the first.
fn against_first(rows: &[Row], column: &str, levels: &[&str]) -> Vec<Vec<f64>> {
    let mut columns = vec![vec![1.0; rows.len()]];
    for level in &levels[1..] {
        columns.push(
            rows.iter()
                .map(|row| f64::from(row.text(column) == *level))
                .collect(),
        );
    }
    columns
}

fn text_number(value: &Json) -> f64 {
    value
        .as_f64()
        .unwrap_or_else(|| value.as_str().unwrap().parse().unwrap())
}

/// Within `tolerance` of the reference, relative to it (to 1 where it is small).
fn near(what: &str, got: f64, want: f64, tolerance: f64) {
    let gap = (got - want).abs() / want.abs().max(1e-2);
    assert!(
        gap < tolerance,
        "{what}: {got} where {want} is right, off by {gap:.1e}"
    );
}

/// Everything in a 420-bit reference file, to 1e-9.
fn same_as_reference(name: &str, fit: &Fit, units: &[Vec<String>]) {
    let tolerance = 1e-9;
    let want = json(&format!("counts/{name}.json"));
    near(
        &format!("{name} log-likelihood"),
        fit.log_likelihood,
        text_number(&want["logLik"]),
        tolerance,
    );
    for (random, units) in fit.random.iter().zip(units) {
        let sd = text_number(&want["sd"][&random.name]);
        near(
            &format!("{name} sd of {}", random.name),
            random.sd,
            sd,
            tolerance,
        );
        near(
            "variance",
            random.sd.powi(2),
            text_number(&want["variance"][&random.name]),
            tolerance,
        );
        assert!(!random.at_boundary);
        for (unit, effect) in units.iter().zip(&random.effects) {
            let want = text_number(&want["conditional_modes"][&random.name][unit]);
            near(
                &format!("{name} effect of {unit}"),
                *effect,
                want,
                tolerance,
            );
        }
    }
    let coefficients = want["beta"].as_object().unwrap();
    assert_eq!(coefficients.len(), fit.coefficients.len());
    for (at, (term, want)) in coefficients.iter().enumerate() {
        near(
            &format!("{name} {term}"),
            fit.coefficients[at],
            text_number(&want["est"]),
            tolerance,
        );
        let error = text_number(&want["se_hessian"]);
        near(
            &format!("{name} error of {term}"),
            fit.standard_error(at),
            error,
            tolerance,
        );
        let error = text_number(&want["se_rx"]);
        near(
            &format!("{name} plain error of {term}"),
            fit.conditional_error(at),
            error,
            tolerance,
        );
    }
    let certificate = &fit.certificate;
    assert!(certificate.largest_slope < 1e-8 && certificate.smallest_curvature > 0.0);
}

/// Coefficients, errors and the variance of a general-purpose library's fit.
fn same_coefficients(what: &str, fit: &Fit, want: &Json, tolerance: f64, errors: f64) {
    let list = want["coefficients"].as_array().unwrap();
    assert_eq!(list.len(), fit.coefficients.len());
    for (at, want) in list.iter().enumerate() {
        let term = want["term"].as_str().unwrap();
        near(
            &format!("{what} {term}"),
            fit.coefficients[at],
            text_number(&want["est"]),
            tolerance,
        );
        let error = text_number(&want["se"]);
        near(
            &format!("{what} error of {term}"),
            fit.standard_error(at),
            error,
            errors,
        );
    }
}

fn cbpp() -> (Counts, Vec<String>) {
    let rows = data("cbpp");
    let fixed = against_first(&rows, "period", &["1", "2", "3", "4"]);
    let (herds, names) = codes(&rows, "herd");
    let model = Counts::new(
        Family::Binomial,
        &numbers(&rows, "incidence"),
        &numbers(&rows, "size"),
        &fixed,
    );
    (model.unwrap().random("herd", &herds).unwrap(), names)
}

fn epil() -> (Counts, Vec<String>) {
    let rows = data("epil");
    let treated: Vec<f64> = rows
        .iter()
        .map(|row| f64::from(row.text("trt") == "progabide"))
        .collect();
    let base = numbers(&rows, "lbase");
    let both = base.iter().zip(&treated).map(|(x, t)| x * t).collect();
    let one = vec![1.0; rows.len()];
    let fixed = [
        one,
        base,
        treated,
        numbers(&rows, "lage"),
        numbers(&rows, "V4"),
        both,
    ];
    let (subjects, names) = codes(&rows, "subject");
    let model = Counts::new(Family::Poisson, &numbers(&rows, "y"), &[], &fixed).unwrap();
    (model.random("subject", &subjects).unwrap(), names)
}

fn budsurvival(levels: &[&str]) -> (Vec<Row>, Counts) {
    let rows = data("budsurvival");
    let fixed = against_first(&rows, "treatment", levels);
    let (counts, totals) = (numbers(&rows, "survived"), numbers(&rows, "n"));
    let model = Counts::new(Family::Binomial, &counts, &totals, &fixed).unwrap();
    (rows, model)
}

fn clusters(levels: &[&str]) -> (Counts, [Vec<String>; 2]) {
    let rows = data("clusters");
    let fixed = against_first(&rows, "treatment", levels);
    let ((blocks, block_names), (plots, plot_names)) =
        (codes(&rows, "block"), codes(&rows, "plot"));
    let model = Counts::new(Family::Poisson, &numbers(&rows, "clusters"), &[], &fixed).unwrap();
    let model = model
        .random("block", &blocks)
        .unwrap()
        .random("plot", &plots)
        .unwrap();
    (model, [block_names, plot_names])
}

const TREATMENTS: [&str; 4] = ["T1", "T2", "T3", "T4"];

#[test]
fn a_binomial_fit_with_one_random_term_is_the_reference() {
    let (model, herds) = cbpp();
    same_as_reference(
        "cbpp_laplace",
        &fit(&model, Integration::Laplace).unwrap(),
        &[herds],
    );
}

#[test]
fn a_poisson_fit_with_covariates_is_the_reference() {
    let (model, subjects) = epil();
    same_as_reference(
        "epil_laplace",
        &fit(&model, Integration::Laplace).unwrap(),
        &[subjects],
    );
}

#[test]
fn bud_survival_with_blocks_and_with_plots_is_the_reference() {
    let (rows, model) = budsurvival(&TREATMENTS);
    let ((blocks, block_names), (plots, plot_names)) =
        (codes(&rows, "block"), codes(&rows, "plot"));
    let model = model.random("block", &blocks).unwrap();
    let found = fit(&model, Integration::Laplace).unwrap();
    same_as_reference(
        "budsurvival_block",
        &found,
        std::slice::from_ref(&block_names),
    );
    let found = fit(&model.random("plot", &plots).unwrap(), Integration::Laplace).unwrap();
    same_as_reference("budsurvival_block_plot", &found, &[block_names, plot_names]);
}

#[test]
fn clusters_with_vines_in_plots_in_blocks_are_the_reference() {
    let (model, units) = clusters(&TREATMENTS);
    same_as_reference(
        "clusters_block_plot",
        &fit(&model, Integration::Laplace).unwrap(),
        &units,
    );
}

#[test]
fn a_treatment_test_by_likelihood_ratio_is_the_reference() {
    let want = &json("counts/general.json")["clusters"];
    let full = fit(&clusters(&TREATMENTS).0, Integration::Laplace).unwrap();
    let none = fit(&clusters(&TREATMENTS[..1]).0, Integration::Laplace).unwrap();
    let ratio = likelihood_ratio(&full, &none).unwrap();
    near("ratio", ratio.statistic, text_number(&want["ratio"]), 1e-8);
    near(
        "P",
        ratio.probability,
        text_number(&want["ratio_probability"]),
        1e-8,
    );
    for (at, want) in want["means"].as_array().unwrap().iter().enumerate() {
        let weights: Vec<f64> = (0..4).map(|c| f64::from(c == 0 || c == at)).collect();
        let mean = full.estimate(&weights).unwrap();
        near("mean", mean.value, text_number(&want["link"]), 1e-6);
        near(
            "error of the mean",
            mean.standard_error,
            text_number(&want["se"]),
            3e-6,
        );
    }
}

/// The reference comes from one numerical optimiser and is right to 5–7 digits.
#[test]
fn a_random_effect_for_each_count_is_the_reference() {
    let (model, _) = cbpp();
    let each: Vec<usize> = (0..model.rows()).collect();
    let found = fit(&model.random("count", &each).unwrap(), Integration::Laplace).unwrap();
    let want = &json("counts/general.json")["cbpp"]["herd_and_count"];
    near(
        "log-likelihood",
        found.log_likelihood,
        text_number(&want["log_likelihood"]),
        1e-9,
    );
    near(
        "herds",
        found.random[0].sd.powi(2),
        text_number(&want["variance"]["herd"]),
        1e-4,
    );
    near(
        "counts",
        found.random[1].sd.powi(2),
        text_number(&want["variance"]["obs"]),
        1e-5,
    );
    same_coefficients("cbpp", &found, want, 2e-6, 2e-5);
}

#[test]
fn quadrature_is_the_reference() {
    for (name, model) in [("cbpp", cbpp().0), ("epil", epil().0)] {
        let found = fit(&model, Integration::Quadrature(25)).unwrap();
        let want = &json("counts/general.json")[name]["quadrature25"];
        near(
            name,
            found.random[0].sd.powi(2),
            text_number(&want["variance"]),
            1e-6,
        );
        same_coefficients(name, &found, want, 2e-6, 5e-6);
        let more = fit(&model, Integration::Quadrature(41)).unwrap();
        near(
            "more points",
            more.log_likelihood,
            found.log_likelihood,
            1e-10,
        );
    }
}

#[test]
fn models_without_random_terms_are_the_reference() {
    let general = json("counts/general.json");
    let (rows, model) = budsurvival(&TREATMENTS);
    drop(model);
    let (_, blocks) = codes(&rows, "block");
    let names: Vec<&str> = blocks.iter().map(String::as_str).collect();
    let block_columns = against_first(&rows, "block", &names);
    let treatment_columns = against_first(&rows, "treatment", &TREATMENTS);
    let both: Vec<Vec<f64>> = block_columns
        .iter()
        .chain(&treatment_columns[1..])
        .cloned()
        .collect();
    let (counts, totals) = (numbers(&rows, "survived"), numbers(&rows, "n"));
    let of = |fixed: &[Vec<f64>]| {
        fit(
            &Counts::new(Family::Binomial, &counts, &totals, fixed).unwrap(),
            Integration::Laplace,
        )
    };
    let (full, without) = (of(&both).unwrap(), of(&block_columns).unwrap());
    let want = &general["budsurvival"]["fixed_blocks"];
    same_coefficients("fixed blocks", &full, want, 1e-12, 1e-12);
    near(
        "log-likelihood",
        full.log_likelihood,
        text_number(&want["log_likelihood"]),
        1e-12,
    );
    near(
        "Pearson",
        full.pearson.unwrap(),
        text_number(&want["pearson"]),
        1e-11,
    );
    near(
        "dispersion",
        full.dispersion().unwrap(),
        1.95957689059687,
        1e-11,
    );
    let ratio = likelihood_ratio(&full, &without).unwrap();
    near(
        "ratio",
        ratio.statistic,
        text_number(&want["treatment_ratio"]),
        1e-11,
    );
    near(
        "P",
        ratio.probability,
        text_number(&want["treatment_probability"]),
        1e-10,
    );

    let rows = data("insectsprays");
    let fixed = against_first(&rows, "spray", &["A", "B", "C", "D", "E", "F"]);
    let model = Counts::new(Family::Poisson, &numbers(&rows, "count"), &[], &fixed).unwrap();
    let found = fit(&model, Integration::Laplace).unwrap();
    let want = &general["insectsprays"]["poisson"];
    same_coefficients("sprays", &found, want, 1e-12, 1e-12);
    near(
        "Pearson",
        found.pearson.unwrap(),
        text_number(&want["pearson"]),
        1e-11,
    );
    near(
        "log-likelihood",
        found.log_likelihood,
        text_number(&want["log_likelihood"]),
        1e-12,
    );
}

/// The reference holds θ while it takes the errors of the coefficients, with expected weights.
#[test]
fn negative_binomial_fits_are_the_reference() {
    let general = json("counts/general.json");
    let rows = data("quine");
    let mut fixed = vec![vec![1.0; rows.len()]];
    for (column, levels) in [
        ("Eth", &["N"][..]),
        ("Sex", &["M"]),
        ("Age", &["F1", "F2", "F3"]),
        ("Lrn", &["SL"]),
    ] {
        for level in levels {
            fixed.push(
                rows.iter()
                    .map(|row| f64::from(row.text(column) == *level))
                    .collect(),
            );
        }
    }
    let quine = Counts::new(
        Family::NegativeBinomial,
        &numbers(&rows, "Days"),
        &[],
        &fixed,
    )
    .unwrap();
    let rows = data("insectsprays");
    let fixed = against_first(&rows, "spray", &["A", "B", "C", "D", "E", "F"]);
    let sprays = Counts::new(
        Family::NegativeBinomial,
        &numbers(&rows, "count"),
        &[],
        &fixed,
    )
    .unwrap();
    for (name, model) in [("quine", quine), ("insectsprays", sprays)] {
        let want = &general[name]["negative_binomial"];
        let found = fit(&model, Integration::Laplace).unwrap();
        let (theta, error) = found.shape.unwrap();
        // The reference's own search for θ stops at about 7 digits.
        near(name, theta, text_number(&want["theta"]), 2e-7);
        // … and its error is taken one step earlier.
        near(name, error, text_number(&want["theta_error"]), 1e-5);
        near(
            name,
            found.log_likelihood,
            text_number(&want["log_likelihood"]),
            1e-11,
        );
        for (at, want) in want["coefficients"].as_array().unwrap().iter().enumerate() {
            near(
                name,
                found.coefficients[at],
                text_number(&want["est"]),
                1e-6,
            );
            near(
                name,
                found.conditional_error(at),
                text_number(&want["se"]),
                1e-6,
            );
        }
    }
}

#[test]
fn poisson_counts_have_no_negative_binomial_shape() {
    let fixed = [vec![1.0; 8]];
    let counts = [4.0, 5.0, 5.0, 4.0, 6.0, 5.0, 4.0, 5.0];
    let model = Counts::new(Family::NegativeBinomial, &counts, &[], &fixed).unwrap();
    assert_eq!(
        fit(&model, Integration::Laplace),
        Err(CountError::NoExtraVariance)
    );
}

/// A fit against the 50-digit reference of `counts/own.py`; `order` says where each parameter of the
/// reference stands: `shape`, `sd` or a coefficient.
fn same_as_own(name: &str, found: &Fit, tolerance: f64) {
    let want = &json("counts/own.json")[name];
    let parameters = want["parameters"].as_array().unwrap();
    near(
        name,
        found.log_likelihood,
        text_number(&want["log_likelihood"]),
        tolerance,
    );
    let mut coefficient = 0;
    for parameter in parameters {
        let (value, error) = (
            text_number(&parameter["value"]),
            text_number(&parameter["error"]),
        );
        let what = format!("{name} {}", parameter["name"]);
        match parameter["name"].as_str().unwrap() {
            "shape" => near(&what, found.shape.unwrap().0.ln(), value, tolerance),
            "sd" => {
                near(&what, found.random[0].sd, value, tolerance);
                near(&what, found.random[0].sd_error.unwrap(), error, tolerance);
            }
            _ => {
                near(&what, found.coefficients[coefficient], value, tolerance);
                near(&what, found.standard_error(coefficient), error, tolerance);
                coefficient += 1;
            }
        }
    }
    assert_eq!(coefficient, found.coefficients.len());
}

#[test]
fn quadrature_is_the_exact_integral() {
    same_as_own(
        "cbpp_exact",
        &fit(&cbpp().0, Integration::Quadrature(41)).unwrap(),
        1e-9,
    );
}

#[test]
fn a_negative_binomial_with_random_blocks_is_the_reference() {
    let rows = data("clusters");
    let fixed = against_first(&rows, "treatment", &TREATMENTS);
    let counts = numbers(&rows, "clusters");
    let model = Counts::new(Family::NegativeBinomial, &counts, &[], &fixed).unwrap();
    let model = model.random("block", &codes(&rows, "block").0).unwrap();
    same_as_own(
        "clusters_negative_binomial",
        &fit(&model, Integration::Laplace).unwrap(),
        1e-9,
    );
}

/// Every bud of treatment T1 alive.
fn separated() -> (Vec<Row>, Counts, Vec<f64>, Vec<f64>) {
    let rows = data("budsurvival");
    let totals = numbers(&rows, "n");
    let full = |row: &Row| {
        if row.text("treatment") == "T1" {
            "n"
        } else {
            "survived"
        }
    };
    let counts: Vec<f64> = rows.iter().map(|row| row.number(full(row))).collect();
    let fixed = against_first(&rows, "treatment", &TREATMENTS);
    let model = Counts::new(Family::Binomial, &counts, &totals, &fixed).unwrap();
    (rows, model, counts, totals)
}

#[test]
fn a_treatment_without_a_failure_is_seen_to_run_away() {
    let (rows, model, ..) = separated();
    assert_eq!(
        fit(&model, Integration::Laplace),
        Err(CountError::Separated)
    );
    let blocks = codes(&rows, "block").0;
    let model = model.random("block", &blocks).unwrap();
    assert_eq!(
        fit(&model, Integration::Laplace),
        Err(CountError::Separated)
    );
    assert_eq!(
        fit(&model, Integration::Quadrature(25)),
        Err(CountError::Separated)
    );
}

#[test]
fn penalised_fits_are_the_reference() {
    let (rows, model, counts, totals) = separated();
    let (blocks, names) = codes(&rows, "block");
    let random = model.random("block", &blocks).unwrap().penalised().unwrap();
    let found = fit(&random, Integration::Laplace).unwrap();
    same_as_own("separated_penalised_random_blocks", &found, 1e-9);
    let names: Vec<&str> = names.iter().map(String::as_str).collect();
    let mut fixed = against_first(&rows, "treatment", &TREATMENTS);
    fixed.extend_from_slice(&against_first(&rows, "block", &names)[1..]);
    let model = Counts::new(Family::Binomial, &counts, &totals, &fixed).unwrap();
    let found = fit(&model.penalised().unwrap(), Integration::Laplace).unwrap();
    same_as_own("separated_penalised_fixed_blocks", &found, 1e-9);

    let (_, model) = budsurvival(&TREATMENTS);
    let model = model.random("block", &blocks).unwrap().penalised().unwrap();
    let found = fit(&model, Integration::Laplace).unwrap();
    same_as_own("penalised_random_blocks", &found, 1e-9);
}

#[test]
fn a_treatment_without_a_cluster_is_penalised_as_in_the_reference() {
    let rows = data("clusters");
    let zero = |row: &Row| {
        if row.text("treatment") == "T1" {
            0.0
        } else {
            row.number("clusters")
        }
    };
    let counts: Vec<f64> = rows.iter().map(zero).collect();
    let fixed = against_first(&rows, "treatment", &TREATMENTS);
    let model = Counts::new(Family::Poisson, &counts, &[], &fixed).unwrap();
    let model = model.random("block", &codes(&rows, "block").0).unwrap();
    assert_eq!(
        fit(&model, Integration::Laplace),
        Err(CountError::Separated)
    );
    let found = fit(&model.penalised().unwrap(), Integration::Laplace).unwrap();
    same_as_own("no_clusters_penalised", &found, 1e-9);
}

/// With one treatment factor and nothing else, Firth's penalty is half a success and half a failure
/// more in each treatment: the log odds have a closed form.
#[test]
fn a_penalised_single_factor_has_its_closed_form() {
    let (counts, totals) = ([0.0, 0.0, 7.0, 4.0], [12.0, 15.0, 10.0, 20.0]);
    let first = vec![1.0, 1.0, 0.0, 0.0];
    let fixed = [first.clone(), first.iter().map(|x| 1.0 - x).collect()];
    let model = Counts::new(Family::Binomial, &counts, &totals, &fixed).unwrap();
    let found = fit(&model.penalised().unwrap(), Integration::Laplace).unwrap();
    near("none", found.coefficients[0], (0.5_f64 / 27.5).ln(), 1e-14);
    near("some", found.coefficients[1], (11.5_f64 / 19.5).ln(), 1e-13);
}

/// Blocks that are exact copies of one another have no variance between them.
#[test]
fn a_variance_at_its_boundary_is_zero_and_said_to_be() {
    let (counts, totals) = ([3.0, 6.0, 8.0].repeat(4), vec![12.0; 12]);
    let blocks: Vec<usize> = (0..12).map(|row| row / 3).collect();
    let fixed: Vec<Vec<f64>> = (0..3)
        .map(|t| (0..12).map(|row| f64::from(row % 3 == t)).collect())
        .collect();
    let plain = Counts::new(Family::Binomial, &counts, &totals, &fixed).unwrap();
    let mixed = plain.clone().random("block", &blocks).unwrap();
    let plain = fit(&plain, Integration::Laplace).unwrap();
    for integration in [Integration::Laplace, Integration::Quadrature(25)] {
        let found = fit(&mixed, integration).unwrap();
        assert!(found.random[0].at_boundary && found.random[0].sd == 0.0);
        assert_eq!(found.random[0].sd_error, None);
        assert!(found.certificate.at_boundary[0] < 0.0);
        assert_eq!(found.parameters, 3);
        near(
            "log-likelihood",
            found.log_likelihood,
            plain.log_likelihood,
            1e-12,
        );
        near(
            "estimate",
            found.coefficients[1],
            plain.coefficients[1],
            1e-12,
        );
        near(
            "error",
            found.standard_error(1),
            plain.standard_error(1),
            1e-12,
        );
    }
}

/// log(nodes) as offset: rates per node, whatever the number of nodes.
#[test]
fn an_offset_makes_rates() {
    let (counts, nodes) = ([30.0, 55.0, 20.0, 90.0], [20.0_f64, 50.0, 10.0, 60.0]);
    let first = vec![1.0, 1.0, 0.0, 0.0];
    let fixed = [first.clone(), first.iter().map(|x| 1.0 - x).collect()];
    let model = Counts::new(Family::Poisson, &counts, &[], &fixed).unwrap();
    let model = model.offset(&nodes.map(f64::ln)).unwrap();
    let found = fit(&model, Integration::Laplace).unwrap();
    near("rate", found.coefficients[0].exp(), 85.0 / 70.0, 1e-13);
    near("rate", found.coefficients[1].exp(), 110.0 / 70.0, 1e-13);
}
