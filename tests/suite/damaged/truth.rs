//! What the generator built into the data stands in the findings: places and slopes of curves, parts
//! of yield, evenness, and plots that were strong or weak before the trial began.

use std::fs;

use caneplot_tests::truth::winter_damage::{JOIN, RIPEST, brix, share};

use super::{LEVELS, findings, numbers, texts};
use crate::support::{Scratch, section, table};

const PARTS: [&str; 6] = [
    "Survival of vines",
    "Nodes",
    "Shoots per node",
    "Clusters per shoot",
    "Berries per cluster",
    "Berry weight",
];

/// Estimate and interval in a row of the table of a fitted curve.
fn of_curve(response: &str, quantity: &str) -> (f64, f64, f64) {
    let curve = table(section(findings(), "response", response), "curve");
    let row = texts(curve, "Quantity")
        .iter()
        .position(|name| name == quantity)
        .unwrap_or_else(|| panic!("no '{quantity}' in {curve:#}"));
    let at = |name| numbers(curve, name)[row];
    (at("Estimate"), at("95 % from"), at("95 % to"))
}

#[test]
fn the_baseline_is_named_and_takes_a_good_part_of_the_error_away() {
    let section_with = section(findings(), "mixed", "yield");
    let slopes = table(section_with, "covariates");
    let names = texts(slopes, "Covariate");
    assert_eq!(names.len(), 2, "{names:?}");
    assert!(names[0].starts_with("Crop of 2021"), "{names:?}");
    // Both crops follow the same strength of the plot, 4.3 kg a vine then and some 4.5 kg since.
    let slope = numbers(slopes, "Slope")[0];
    assert!((0.3..1.3).contains(&slope), "{slope}");
    assert!(numbers(slopes, "P")[0] < 0.001);
    // Without it the same differences between means are known less well.
    let scratch = Scratch::demo("winter-damage");
    let text = scratch.read("trial.toml");
    let (before, rest) = text.split_once("[covariates.").expect("covariates");
    let (_, after) = rest.split_once("[ratios]").expect("ratios behind them");
    scratch.write(
        "trial.toml",
        &format!("{before}[ratios]{after}\n[analyses]\nmixed = {{ responses = [\"yield\"] }}\n"),
    );
    let plain = scratch.findings();
    let section_without = section(&plain, "mixed", "yield");
    let tables = section_without["tables"].as_array().expect("tables");
    assert!(tables.iter().all(|table| table["id"] != "covariates"));
    let error = |section| numbers(table(section, "differences"), "Mean")[0];
    let (with, without) = (error(section_with), error(section_without));
    assert!(with < 0.8 * without, "{with} with and {without} without");
    let report = fs::read_to_string(scratch.report().join("report.md")).expect("a report");
    assert!(
        !report.contains("Crop of 2021"),
        "nothing is said of covariates"
    );
}

#[test]
fn the_join_of_the_crop_and_the_best_of_ripeness_are_found() {
    let (join, from, to) = of_curve("yield", "Join");
    assert!(from < JOIN && JOIN < to, "{from} to {to} holds {JOIN}");
    assert!(
        (from..to).contains(&join) && to - from < 8.0,
        "{join}, {from} to {to}"
    );
    let (slope, from, to) = of_curve("yield", "Slope below the join");
    let (plateau, _, _) = of_curve("yield", "Plateau");
    // The slope as a share of the level crop is what the generator takes from it for each node.
    let truth = (share(32.0) - share(16.0)) / 16.0 * plateau;
    assert!(
        from < truth && truth < to,
        "{slope}, {from} to {to}, holds {truth}"
    );
    let (best, from, to) = of_curve("brix", "Place of the highest point");
    assert!(
        from < RIPEST && RIPEST < to,
        "{best}, {from} to {to}, holds {RIPEST}"
    );
    // The bend alone, free of what the seasons add.
    let (bend, from, to) = of_curve("brix", "Coefficient of x²");
    let truth = (brix(32.0) - 2.0 * brix(24.0) + brix(16.0)) / (2.0 * 8.0 * 8.0);
    assert!(
        from < truth && truth < to,
        "{bend}, {from} to {to}, holds {truth}"
    );
}

#[test]
fn the_parts_of_yield_add_up_to_it() {
    let parts = table(section(findings(), "components", "yield"), "parts");
    let names = texts(parts, "Part");
    let logs = numbers(parts, "Change in logarithm");
    let changes = numbers(parts, "Change");
    let levels: Vec<f64> = texts(parts, "Nodes left")
        .iter()
        .filter_map(|level| level.parse().ok())
        .collect();
    assert_eq!(levels, [16.0, 32.0, 40.0, 48.0]);
    for (level, (names, (logs, changes))) in levels
        .iter()
        .zip(names.chunks(7).zip(logs.chunks(7).zip(changes.chunks(7))))
    {
        assert_eq!(names[0], "Yield per planted space");
        assert_eq!(names[1..], PARTS);
        let sum: f64 = logs[1..].iter().sum();
        assert!(
            (sum - logs[0]).abs() < 1e-12,
            "{level}: {sum} and {}",
            logs[0]
        );
        for (log, change) in logs.iter().zip(changes) {
            assert!((log.exp() - 1.0 - change).abs() < 1e-12);
        }
        // Two nodes more in four of ten vines, one less in three of ten: 0.5 on the average.
        let nodes = ((level + 0.5) / 24.5_f64).ln();
        assert!(
            (logs[2] - nodes).abs() < 0.015,
            "{level}: {} and {nodes}",
            logs[2]
        );
        assert!(
            logs[1].abs() < 1e-9,
            "the dead row crosses every treatment once"
        );
    }
    let seasons = table(section(findings(), "components", "yield"), "seasons");
    let whole = numbers(seasons, "Yield per planted space");
    assert_eq!(whole.len(), 4 * 4);
    for (row, whole) in whole.iter().enumerate() {
        let product: f64 = PARTS
            .iter()
            .map(|part| 1.0 + numbers(seasons, part)[row])
            .product();
        assert!((product - 1.0 - whole).abs() < 1e-12, "row {row}");
    }
}

#[test]
fn vines_ripen_less_evenly_where_more_nodes_are_left() {
    let section = section(findings(), "evenness", "brix");
    let spread = numbers(table(section, "spread"), "Spread");
    assert_eq!(spread.len(), LEVELS.len());
    assert!(spread[4] > 1.5 * spread[0], "{spread:?}");
    let p = numbers(table(section, "tests"), "P");
    assert!(p.iter().all(|p| *p < 0.05), "{p:?}");
}
