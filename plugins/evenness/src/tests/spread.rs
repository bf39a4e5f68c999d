//! What the spread is.

use caneplot_plugin::request::{DesignKind, Role};
use caneplot_plugin::{Data, Findings};
use caneplot_readings::testing::{factor, sentence, text, texts};

use super::trial::{analysed, column, spreads, trial};

fn near(found: f64, expected: f64, within: f64) {
    assert!((found - expected).abs() < within, "{found} {expected}");
}

#[test]
fn known_ratios_of_spreads_are_found_again() {
    let findings = analysed(&spreads(&["2021"], [1.2, 0.6, 1.8], 0.0)).unwrap();
    let section = &findings.sections[0];
    let ratios = column(section, "spread", "Ratio to the control");
    near(ratios[0], 0.5, 1e-12);
    near(ratios[1], 1.5, 1e-12);
    // By hand: squares of the pattern 1.5625 + 0.25 + 0.0625 + 2.25 = 4.125, variance 1.03125 times
    // 1.44 in cane; ψ(2) = 1 − γ, ln 2: ln σ² = ln 1.485 − (1 − γ) + ln 2.
    let log = 1.485_f64.ln() - (1.0 - 0.577_215_664_901_532_9) + 2.0_f64.ln();
    near(
        column(section, "spread", "Spread")[0],
        (log / 2.0).exp(),
        1e-12,
    );
}

#[test]
fn a_shift_of_plots_changes_nothing() {
    let of = [1.0, 0.7, 1.2];
    let plain = spreads(&["2021", "2022"], of, 1.0);
    let mut shifted = plain.clone();
    let vines = shifted.vines.as_mut().unwrap();
    for (name, data) in &mut vines.columns {
        if let ("brix", Data::Numbers(values)) = (name.as_str(), data) {
            for (row, value) in values.iter_mut().enumerate() {
                // Another shift for every plot and season: five vines each.
                *value = value.map(|value| value + (row / 5 % 7) as f64 * 0.5);
            }
        }
    }
    let (a, b) = (analysed(&plain).unwrap(), analysed(&shifted).unwrap());
    // Rows of tests: the variance, the coefficient of variation (which does change), the median.
    let rows = |findings: &Findings, table: &str, name: &str| {
        let mut values = column(&findings.sections[0], table, name);
        if table == "tests" {
            values.remove(1);
        }
        values
    };
    for (table, name) in [
        ("spread", "Spread"),
        ("spread", "Upper limit"),
        ("tests", "F"),
        ("tests", "P"),
    ] {
        for (a, b) in rows(&a, table, name).into_iter().zip(rows(&b, table, name)) {
            near(a, b, 1e-11);
        }
    }
}

#[test]
fn the_sentence_names_the_most_even_treatment() {
    let findings = analysed(&spreads(&["2021", "2022"], [1.0, 0.4, 1.2], 1.0)).unwrap();
    let words: Vec<String> = findings.sections[0]
        .statements
        .iter()
        .map(sentence)
        .collect();
    assert!(
        words[0].starts_with("The vines of a plot were most alike in Brix with spur (spread, the standard deviation between vines, "),
        "{}",
        words[0]
    );
    assert!(
        words[0].contains("°Brix) and least alike with hedge ("),
        "{}",
        words[0]
    );
    assert!(words[1].contains("say the same (P "), "{}", words[1]);
    assert!(
        words[2].starts_with(
            "With spur vines were more alike in Brix than with cane: the spread was 0.39 times"
        ),
        "{}",
        words[2]
    );
    assert!(
        words[3].starts_with("With hedge vines were not clearly more or less alike"),
        "{}",
        words[3]
    );
}

#[test]
fn no_clear_difference_is_never_called_no_effect() {
    let findings = analysed(&spreads(&["2021"], [1.0, 1.0, 1.05], 2.0)).unwrap();
    let words = sentence(&findings.sections[0].statements[0]);
    assert!(
        words.starts_with(
            "No clear difference between treatments in how alike the vines of a plot were in Brix"
        ),
        "{words}"
    );
}

#[test]
fn plots_with_more_vines_count_more() {
    // From three to five vines a plot.
    let made = trial(5, &["2021"], |block, treatment, _, vine| {
        let pattern = [1.0, -1.0, 0.5, 0.25, -0.75];
        (vine < 3 + (block + treatment) % 3)
            .then(|| pattern[vine] * (1.0 + (block * 3 + treatment * 5 % 4) as f64 / 10.0))
    });
    let findings = analysed(&made).unwrap();
    let all = text(&findings);
    assert!(all.contains("Plots hold from 3 to 5 vines with a value; plots count by what their number of vines can tell."), "{all}");
    assert!(
        all.contains("weighted by the inverse of the sampling variance"),
        "{all}"
    );
}

#[test]
fn a_split_plot_tests_each_factor_in_its_stratum() {
    let mut made = spreads(&["2021"], [1.0, 0.6, 1.2], 1.0);
    made.trial.design.kind = DesignKind::SplitPlot;
    // The four blocks become two blocks of two whole plots.
    let mut rows = |name: &str| {
        let table = if name == "plots" {
            &mut made.plots
        } else {
            made.vines.as_mut().unwrap()
        };
        let old: Vec<String> = table
            .texts("block")
            .unwrap()
            .iter()
            .flatten()
            .cloned()
            .collect();
        let block = old
            .iter()
            .map(|b| if b < &"B3".to_owned() { "B1" } else { "B2" });
        let system = old
            .iter()
            .map(|b| if b == "B1" || b == "B3" { "VSP" } else { "T" });
        let plot = old
            .iter()
            .zip(table.texts("plot").unwrap())
            .map(|(block, plot)| format!("{block}-{}", plot.as_ref().unwrap()));
        let columns = [
            ("block", texts(block)),
            ("plot", texts(plot)),
            ("system", texts(system)),
        ];
        for (name, data) in columns {
            table.columns.retain(|(column, _)| column != name);
            table.columns.push((name.to_owned(), data));
        }
    };
    rows("plots");
    rows("vines");
    let mut system = factor("system", "Training system", &["VSP", "T"], Some("VSP"));
    system.role = Role::WholePlot;
    made.trial.factors[0].role = Role::SubPlot;
    made.trial.factors.insert(0, system);
    let findings = analysed(&made).unwrap();
    let section = &findings.sections[0];
    // Two blocks: system on 1 degree of freedom for error, pruning on 4, each by three measures.
    assert_eq!(
        column(section, "tests", "Error df"),
        [1.0, 1.0, 1.0, 4.0, 4.0, 4.0]
    );
    let ids: Vec<&str> = section
        .tables
        .iter()
        .map(|table| table.id.as_str())
        .collect();
    assert_eq!(
        ids,
        [
            "spread-system",
            "spread-pruning",
            "spread-system-pruning",
            "tests",
            "plots"
        ]
    );
}

#[test]
fn a_spread_in_step_with_the_mean_is_said_so() {
    // Crops of 2, 4 and 8 kg with a spread of a tenth of each.
    let mut made = trial(5, &["2021"], |block, treatment, _, vine| {
        let mean = [2.0, 4.0, 8.0][treatment];
        let pattern = super::trial::PATTERN[vine] * super::trial::own(block, treatment, 0).exp();
        Some(mean * (1.0 + 0.1 * pattern))
    });
    made.trial.responses[0].offset = 0.0;
    made.trial.responses[0].offset_text = "0".to_owned();
    let findings = analysed(&made).unwrap();
    let words = sentence(&findings.sections[0].statements[0]);
    assert!(words.contains("most alike in Brix with cane"), "{words}");
    assert!(
        words.contains("Set against the mean the treatments did not differ clearly: coefficients of variation from "),
        "{words}"
    );
    assert!(
        text(&findings).contains("Pruning | Logarithm of the coefficient of variation | 2 | 6 |")
    );
}
