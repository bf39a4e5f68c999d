//! Plans of every design.

use caneplot_numerics::distribution::f_quantile;
use caneplot_numerics::noncentral::noncentral_f_upper;
use caneplot_plugin::request::{DesignKind, Role};
use serde_json::json;

use super::{factor, nodes, numbers, refused, said, table, trial, typed, with, words};

/// Power by hand: λ, df, error df at 5 %.
fn power(noncentrality: f64, df: f64, error_df: f64) -> f64 {
    let critical = f_quantile(0.05, df, error_df).unwrap();
    noncentral_f_upper(critical, df, error_df, noncentrality).unwrap()
}

fn near(found: Option<f64>, wanted: f64) {
    let found = found.unwrap();
    assert!((found / wanted - 1.0).abs() < 1e-9, "{found} {wanted}");
}

#[test]
fn randomised_blocks_over_seasons_are_as_by_hand() {
    let findings = said(nodes(3), typed()).unwrap();
    let tests = table(&findings, "tests");
    let powers = numbers(tests, "Power");
    // Variance of a plot's mean over three seasons: 0.25 + 1/4 + (0.16 + 0.04/4)/3.
    let variance = 0.25 + 0.25 + 0.17 / 3.0;
    let noncentrality = 5.0 / (2.0 * variance);
    near(powers[0], power(noncentrality, 3.0, 12.0));
    // A straight line over four even steps: squares 2·(1/2)² + 2·(1/6)² where two apart have 1/2.
    near(
        powers[1],
        power(noncentrality * (5.0 / 9.0) / 0.5, 1.0, 12.0),
    );
    // A difference of 1 that changes by 1 between two seasons: 4·5·(1/4)² over 0.17.
    near(powers[2], power(5.0 / 4.0 / 0.17, 6.0, 32.0));
    // What is detected has the power it is said to have.
    let detected = numbers(tests, "Detectable with power 0.8")[0].unwrap();
    near(
        Some(power(noncentrality * detected * detected, 3.0, 12.0)),
        0.8,
    );
}

#[test]
fn two_small_layouts_tell_the_power_of_any_number_of_blocks() {
    for blocks in [2, 3, 7, 12] {
        let findings = said(nodes(2), with(typed(), json!({ "blocks": blocks }))).unwrap();
        let planned = numbers(table(&findings, "tests"), "Power")[0].unwrap();
        let listed = table(&findings, "blocks");
        let row = numbers(listed, "Blocks")
            .iter()
            .position(|one| *one == Some(f64::from(blocks)))
            .unwrap();
        near(numbers(listed, "4 vines a plot")[row], planned);
    }
}

#[test]
fn a_split_plot_has_its_two_errors() {
    let factors = vec![
        factor("System", Role::WholePlot, &[1.0, 2.0, 3.0]),
        factor("Nodes", Role::SubPlot, &[24.0, 40.0]),
    ];
    let plan = trial(DesignKind::SplitPlot, factors, 1);
    let options = json!({ "blocks": 4, "difference": "1", "between_plots": "0.5",
                          "between_whole_plots": "0.6" });
    let findings = said(plan, options).unwrap();
    let tests = table(&findings, "tests");
    assert_eq!(
        numbers(tests, "Error df")
            .iter()
            .flatten()
            .copied()
            .collect::<Vec<_>>(),
        [6.0, 6.0, 9.0, 9.0]
    );
    let powers = numbers(tests, "Power");
    // Whole plots hold two values: ξ = 0.25 + 2·0.36; 8 values a system, 12 a number of nodes.
    near(powers[0], power(8.0 / 2.0 / 0.97, 2.0, 6.0));
    near(powers[2], power(12.0 / 2.0 / 0.25, 1.0, 9.0));
    // A difference of differences of 1: 4·4·(1/4)² over ξ.
    near(powers[3], power(1.0 / 0.25, 2.0, 9.0));
    assert!(words(&findings).contains("system × nodes"));
}

#[test]
fn every_design_has_an_answer() {
    let two = |first, second| {
        vec![
            factor("System", first, &[1.0, 2.0, 3.0]),
            factor("Nodes", second, &[24.0, 40.0]),
        ]
    };
    let mut three = two(Role::WholePlot, Role::SubPlot);
    three.push(factor("Leaf", Role::SubSubPlot, &[0.0, 1.0]));
    let one = vec![factor("Nodes", Role::Treatment, &[12.0, 24.0, 36.0, 48.0])];
    for (kind, factors, more) in [
        (DesignKind::CompletelyRandomised, one.clone(), json!({})),
        (DesignKind::LatinSquare, one, json!({ "blocks": null })),
        (
            DesignKind::StripPlot,
            two(Role::RowStrip, Role::CrossStrip),
            json!({ "between_row_strips": "0.3", "between_cross_strips": "0.2" }),
        ),
        (
            DesignKind::SplitSplitPlot,
            three,
            json!({ "between_sub_plots": "0.2" }),
        ),
    ] {
        for seasons in [1, 3] {
            let options = with(
                typed(),
                json!({ "loss": 0.1, "draws": 100, "price_plot": 40, "price_vine": 5,
                        "treatments_by_season": "0.2" }),
            );
            let plan = trial(kind, factors.clone(), seasons);
            let findings = said(plan, with(options, more.clone())).unwrap();
            let powers = numbers(table(&findings, "tests"), "Power");
            assert!(
                powers
                    .iter()
                    .flatten()
                    .all(|one| (0.05..=1.0).contains(one)),
                "{kind:?}"
            );
        }
    }
}

#[test]
fn vines_and_plots_are_weighed_by_their_prices() {
    let options = with(
        typed(),
        json!({ "price_plot": 40, "price_vine": 10, "vines_within_seasons": null }),
    );
    let findings = said(nodes(1), options).unwrap();
    let text = words(&findings);
    assert!(text.contains("known best with"), "{text}");
    // √(1·40/(0.41·10)): variances of vines 1, of plots 0.25 + 0.16.
    let best = findings.sections[0]
        .statements
        .iter()
        .find(|one| one.text.contains("known best with"))
        .unwrap();
    near(
        Some(best.values["a"].value),
        (40.0_f64 / (0.41 * 10.0)).sqrt(),
    );
    // The cheapest of the table is the one that is named, and the wanted power is reached by all.
    let prices = table(&findings, "prices");
    let costs = numbers(prices, "Price");
    let least = costs
        .iter()
        .flatten()
        .copied()
        .fold(f64::INFINITY, f64::min);
    let named = findings.sections[0].statements.last().unwrap();
    near(Some(named.values["d"].value), least);
    assert!(
        numbers(prices, "Power")
            .iter()
            .flatten()
            .all(|one| *one >= 0.8)
    );
    for row in 0..costs.len() {
        let at = |column: &str| numbers(prices, column)[row].unwrap();
        assert_eq!(at("Plots"), 4.0 * at("Blocks"));
        assert_eq!(at("Price"), 40.0 * at("Plots") + 10.0 * at("Vines"));
    }
}

#[test]
fn seasons_do_not_lower_what_blocks_or_treatments_by_season_leave() {
    let options = with(
        typed(),
        json!({ "treatments_by_season": "0.3", "draws": 500 }),
    );
    let findings = said(nodes(2), options).unwrap();
    let seasons = table(&findings, "seasons");
    let errors = numbers(seasons, "Standard error of a difference in these seasons");
    // 2/5 of the variance of a plot's mean, of which 0.5 lasts.
    for (at, error) in errors.iter().enumerate() {
        near(*error, (0.4 * (0.5 + 0.17 / (at + 1) as f64)).sqrt());
    }
    let lasting = numbers(seasons, "Standard error of the lasting difference");
    near(
        lasting[1],
        (0.4 * (0.5 + 0.085) + 2.0 * 0.09 / 2.0_f64).sqrt(),
    );
    let drawn = numbers(seasons, "Power for a lasting difference");
    assert!(drawn[0].is_none() && drawn[1].is_some());
    assert!(words(&findings).contains("would remain with any number of blocks"));
}

#[test]
fn few_losses_leave_the_power_nearly_as_it_is() {
    let options = with(typed(), json!({ "loss": 0.000001, "draws": 4000 }));
    let findings = said(nodes(3), options).unwrap();
    let exact = numbers(table(&findings, "tests"), "Power")[0].unwrap();
    let losses = table(&findings, "losses");
    let drawn = numbers(losses, "Power")[0].unwrap();
    let error = numbers(losses, "± Monte Carlo error")[0].unwrap() / 1.96;
    assert!(
        (drawn - exact).abs() < 4.0 * error,
        "{drawn} {exact} {error}"
    );
}

#[test]
fn shares_are_of_the_mean() {
    let options = |difference: &str, plots: &str| json!({ "blocks": 6, "mean": 4.0, "difference": difference, "between_plots": plots });
    let shares = said(nodes(1), options("10 %", "8%")).unwrap();
    let amounts = said(nodes(1), options("0.4", "0.32")).unwrap();
    assert_eq!(
        table(&shares, "tests"),
        table(&amounts, "tests"),
        "8 % of 4 is 0.32"
    );
    // Nobody said how vines vary: only the planned number stands there.
    assert_eq!(table(&shares, "blocks").columns.len(), 2);
}

#[test]
fn plans_without_an_answer_say_why() {
    let some = |more| with(typed(), more);
    assert!(refused(nodes(1), some(json!({ "difference": null }))).contains("not given"));
    assert!(refused(nodes(1), some(json!({ "difference": "0" }))).contains("is 0"));
    assert!(refused(nodes(1), some(json!({ "difference": "some" }))).contains("not an amount"));
    assert!(refused(nodes(1), some(json!({ "between_plots": "-1" }))).contains("not an amount"));
    assert!(refused(nodes(1), some(json!({ "between_plots": "8 %" }))).contains("no mean"));
    assert!(refused(nodes(1), some(json!({ "between_plots": null }))).contains("is not given"));
    assert!(refused(nodes(1), some(json!({ "blocks": null }))).contains("number of blocks"));
    assert!(refused(nodes(1), some(json!({ "blocks": 1 }))).contains("no degrees of freedom"));
    assert!(refused(nodes(1), some(json!({ "price_plot": 3 }))).contains("only one of"));
    let steady = json!({ "within_seasons": null, "vines_within_seasons": null });
    assert!(refused(nodes(2), some(steady.clone())).contains("from season to season"));
    let one = said(nodes(1), some(steady)).unwrap();
    assert!(words(&one).contains("what more seasons would buy is not known"));
    let nothing = json!({ "between_plots": "0", "between_vines": "0", "within_seasons": "0",
                          "vines_within_seasons": "0" });
    assert!(refused(nodes(1), some(nothing)).contains("no variance"));
    let square = trial(
        DesignKind::LatinSquare,
        vec![factor("Nodes", Role::Treatment, &[1.0, 2.0])],
        1,
    );
    assert!(
        refused(square.clone(), some(json!({ "blocks": null }))).contains("no degrees of freedom")
    );
    assert!(refused(square, typed()).contains("Latin square"));
    let single = trial(
        DesignKind::RandomisedBlock,
        vec![factor("Nodes", Role::Treatment, &[1.0])],
        1,
    );
    assert!(refused(single, typed()).contains("nothing to compare"));
}

#[test]
fn the_textbook_formula_is_a_little_too_hopeful() {
    // 2(1.95996 + 0.84162)²(CV/d)² plots a treatment, by the normal distribution (Snedecor & Cochran
    // 1989, 6.14): the error is known there and costs nothing; the F test needs some more.
    for (cv, difference) in [(15.0, 20.0), (12.0, 20.0), (20.0, 20.0)] {
        let hoped = 2.0
            * (1.959_963_985_f64 + 0.841_621_234).powi(2)
            * (cv / difference)
            * (cv / difference);
        let pair = factor("Nodes", Role::Treatment, &[24.0, 40.0]);
        let options = json!({ "blocks": 5, "mean": 4.0, "difference": format!("{difference} %"),
                              "between_plots": format!("{cv} %") });
        let findings = said(trial(DesignKind::RandomisedBlock, vec![pair], 1), options).unwrap();
        let needed = findings.sections[0]
            .statements
            .iter()
            .find(|one| one.text.contains(" needs "))
            .unwrap()
            .values["b"]
            .value;
        assert!(needed > hoped && needed < hoped + 4.0, "{needed} {hoped}");
    }
}
