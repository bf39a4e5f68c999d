//! The second analysis on another scale, Welch's test, and plots that stand apart.

use caneplot_plugin::Findings;
use caneplot_plugin::findings::{Cells, Table};
use caneplot_plugin::request::{DesignKind, Role};
use serde_json::json;

use super::designs::{kiwishade, nodes};
use super::trial::{Columns, Trial, factor, response};
use caneplot_readings::testing::{sentence, text};

/// The survival times of Box & Cox (1964): 3 poisons, 4 treatments, 4 animals each.
fn poisons() -> Trial {
    let plots = Columns::reference("../poisons.csv");
    let count = plots.get("time").len();
    let plots = plots.with("plot", (1..=count).map(|plot| plot.to_string()).collect());
    let mut time = response("time", "Survival time", "10 h", "0.4");
    time.decimals = 3;
    Trial::new(
        DesignKind::CompletelyRandomised,
        vec![
            factor("poison", "Poison", Role::Treatment, &["I", "II", "III"]),
            factor(
                "treatment",
                "Treatment",
                Role::Treatment,
                &["A", "B", "C", "D"],
            ),
        ],
        vec![time],
        plots,
    )
}

/// Three treatments in one factor whose values vary in proportion to their size.
fn proportional(least: &str) -> Trial {
    let values = [
        "1.0", "1.6", "0.7", "1.2", "0.8", "1.9", "4.1", "9.5", "6.2", "3.3", "7.0", "12.4",
        "20.1", "61.0", "33.5", "48.2", "25.9", "90.3",
    ];
    let mut yields: Vec<String> = values.iter().map(|value| (*value).to_owned()).collect();
    yields[2] = least.to_owned();
    let column = |value: &dyn Fn(usize) -> String| (0..18).map(value).collect();
    let plots = Columns::default()
        .with("plot", column(&|row| (row + 1).to_string()))
        .with(
            "pruning",
            column(&|row| ["cane", "spur", "none"][row / 6].to_owned()),
        )
        .with("yield", yields);
    Trial::new(
        DesignKind::CompletelyRandomised,
        vec![factor(
            "pruning",
            "Pruning",
            Role::Treatment,
            &["cane", "spur", "none"],
        )],
        vec![response("yield", "Yield", "kg/vine", "0")],
        plots,
    )
}

fn statements(findings: &Findings) -> String {
    let section = &findings.sections[0];
    let all = section.statements.iter().chain(&section.notes);
    all.map(sentence).collect::<Vec<_>>().join("\n")
}

fn table<'a>(findings: &'a Findings, id: &str) -> &'a Table {
    let mut tables = findings.sections[0].tables.iter();
    tables.find(|table| table.id == id).unwrap()
}

fn numbers(table: &Table, column: &str) -> Vec<f64> {
    let column = table.columns.iter().find(|one| one.name == column).unwrap();
    match &column.cells {
        Cells::Number { values, .. }
        | Cells::Probability { values }
        | Cells::Lettered { values, .. } => values.iter().flatten().copied().collect(),
        _ => panic!("not numbers"),
    }
}

#[test]
fn box_and_coxs_survival_times_are_analysed_as_rates() {
    let findings = poisons().findings();
    let said = statements(&findings);
    assert!(
        said.contains("also analysed on the reciprocal scale"),
        "{said}"
    );
    // The interval at 40 digits: numerics/tests/reference/transform.json, "cells, 36".
    assert!(
        said.contains("powers from -1.37 to -0.27 fit (Box-Cox; likeliest -0.82)"),
        "{said}"
    );
    // numerics/tests/reference/transform.json, "reciprocal_F".
    let found = numbers(table(&findings, "scales"), "F on the reciprocal scale");
    for (got, want) in found
        .iter()
        .zip([72.63474756394805, 28.343065808295606, 1.0904249674065816])
    {
        assert!((got / want - 1.0).abs() < 1e-11, "{found:?}");
    }
    // Means of 1/y by hand: poison I 1.8007, so the median brought back is 0.5553.
    let medians = numbers(table(&findings, "medians-poison"), "Median, brought back");
    assert!((medians[0] - 0.5553).abs() < 1e-3, "{medians:?}");
}

#[test]
fn values_that_vary_in_proportion_are_analysed_as_logarithms() {
    let findings = proportional("0.7").findings();
    let said = statements(&findings);
    for words in [
        "also analysed on the log scale",
        "There the checks find nothing amiss.",
        "times as high with none as with cane",
        "Welch's test gives F =",
        "variance = \"by treatment\"",
    ] {
        assert!(said.contains(words), "{words}\n{said}");
    }
    // By hand: logarithms of cane have mean ln(1.0·1.6·0.7·1.2·0.8·1.9)/6 = 0.11902.
    let medians = numbers(table(&findings, "medians-pruning"), "Median, brought back");
    let product: f64 = 1.0 * 1.6 * 0.7 * 1.2 * 0.8 * 1.9;
    assert!((medians[0] - product.powf(1.0 / 6.0)).abs() < 1e-12);
    let keys: Vec<&str> = findings
        .references
        .iter()
        .map(|one| one.key.as_str())
        .collect();
    for key in ["box-1964", "aitchison-1957", "welch-1951"] {
        assert!(keys.contains(&key), "{keys:?}");
    }
}

#[test]
fn a_plot_without_a_value_above_zero_is_named() {
    let mut trial = proportional("0.0");
    let said = statements(&trial.findings());
    assert!(
        said.contains("values above 0, and plot 3 has 0 or less"),
        "{said}"
    );
    trial.options["scale"] = json!("log");
    let section = &trial.findings().sections[0];
    let last = section
        .statements
        .iter()
        .map(sentence)
        .collect::<Vec<_>>()
        .join("\n");
    assert!(last.contains("plot 3 has 0 or less"), "{last}");
}

#[test]
fn the_option_forbids_or_asks_for_logarithms() {
    let mut trial = proportional("0.7");
    trial.options["scale"] = json!("as measured");
    assert!(!text(&trial.findings()).contains("log scale"));
    let mut trial = nodes(false);
    trial.options["scale"] = json!("log");
    let said = statements(&trial.findings());
    assert!(
        said.contains("As the option asks, yield was also analysed on the log scale"),
        "{said}"
    );
}

#[test]
fn where_no_readable_scale_fits_none_is_offered() {
    let mut trial = proportional("0.7");
    let yields = trial
        .plots
        .0
        .iter_mut()
        .find(|(name, _)| name == "yield")
        .unwrap();
    // Far from zero all powers are nearly straight lines, so only extreme ones mend the spread.
    for value in &mut yields.1 {
        *value = format!("{:.1}", value.parse::<f64>().unwrap() + 400.0);
    }
    let said = statements(&trial.findings());
    assert!(said.contains("none of which people can read"), "{said}");
    assert!(!said.contains("also analysed on"), "{said}");
}

#[test]
fn a_verdict_that_rests_on_one_plot_says_so() {
    let values = [
        "1.00", "1.20", "0.90", "1.10", "1.05", "1.15", "1.30", "1.10", "1.25", "1.40",
    ];
    let column = |value: &dyn Fn(usize) -> String| (0..10).map(value).collect();
    let plots = Columns::default()
        .with("plot", column(&|row| (row + 1).to_string()))
        .with(
            "pruning",
            column(&|row| ["cane", "spur"][row / 5].to_owned()),
        )
        .with("yield", column(&|row| values[row].to_owned()));
    let trial = Trial::new(
        DesignKind::CompletelyRandomised,
        vec![factor(
            "pruning",
            "Pruning",
            Role::Treatment,
            &["cane", "spur"],
        )],
        vec![response("yield", "Yield", "kg/vine", "0")],
        plots,
    );
    let said = statements(&trial.findings());
    // Two-sample F tests of the sets without plot 10 and without plot 3 by scipy.stats.f_oneway:
    // 0.06758 and 0.06947; with all plots 0.03173.
    for words in [
        "The verdict on pruning hangs on plot 10: without it the test would go from P = 0.032 to P = 0.068",
        "The verdict on pruning hangs on plot 3: without it the test would go from P = 0.032 to P = 0.069",
    ] {
        assert!(said.contains(words), "{said}");
    }
    assert!(!said.contains("stands apart"), "{said}");
}

#[test]
fn a_plot_that_stands_apart_is_named_and_kept() {
    let quiet = text(&kiwishade().findings());
    assert!(
        !quiet.contains("stands apart") && !quiet.contains("hangs on plot"),
        "{quiet}"
    );
    let mut trial = nodes(false);
    let plot = trial.plots.get("plot")[0].clone();
    let rows: Vec<usize> = (0..trial.plots.get("plot").len())
        .filter(|&row| {
            trial.plots.get("plot")[row] == plot && trial.plots.get("block")[row] == "B1"
        })
        .collect();
    let yields = trial
        .plots
        .0
        .iter_mut()
        .find(|(name, _)| name == "yield")
        .unwrap();
    for row in rows {
        let value: f64 = yields.1[row].parse().unwrap();
        yields.1[row] = format!("{:.2}", value + 9.0);
    }
    let findings = trial.findings();
    let said = statements(&findings);
    assert!(
        said.contains(&format!("Plot {plot} of block B1 stands apart")),
        "{said}"
    );
    assert!(said.contains("Nothing was left out"), "{said}");
    let influence = table(&findings, "influence");
    assert!(influence.file_only);
    assert!(numbers(influence, "Cook's distance")[0] > 0.5);
}
