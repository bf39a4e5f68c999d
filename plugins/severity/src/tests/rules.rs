//! Levels that are rules of balanced pruning.

use caneplot_plugin::request::{DesignKind, Light, PruningRule, Quantity};
use caneplot_readings::testing::{Made, cell, factor, numbers, response, table, texts};

use super::findings;

/// 1 lb (International Yard and Pound Agreement, 1959).
const POUND_KG: f64 = 0.453_592_37;

fn rule(first: f64) -> PruningRule {
    PruningRule {
        words: format!("{first} + 10 per lb"),
        first,
        further: 10.0,
        unit_kg: POUND_KG,
        light: Light::AsOneUnit,
        least: None,
        most: Some(60.0),
    }
}

/// Pounds of prunings of each of four vines, and the nodes left on them by 20+10 and by 30+10: by hand
/// from N = A + 10 (W - 1), a vine below a pound as one of a pound, none above 60.
const VINES: [(f64, f64, f64); 4] = [
    (1.0, 20.0, 30.0),
    (2.5, 35.0, 45.0),
    (0.5, 20.0, 30.0),
    (5.0, 60.0, 60.0),
];

/// Prunings of 2021 in the unit given, the nodes left for 2022; `slip` is left more on the second vine
/// of the second rule in both blocks.
fn trial(unit: &str, per_pound: f64, slip: f64) -> Made {
    let names = ["20+10", "30+10"];
    let mut keys = vec![Vec::new(); 5];
    let (mut wood, mut left) = (Vec::new(), Vec::new());
    let mut plots = vec![Vec::new(); 4];
    let (mut plot_wood, mut plot_left) = (Vec::new(), Vec::new());
    for block in ["A", "B"] {
        for (at, name) in names.into_iter().enumerate() {
            let plot = format!("{block}{at}");
            for year in ["2021", "2022"] {
                let mut sums = (0.0, 0.0);
                for (vine, (pounds, twenty, thirty)) in VINES.into_iter().enumerate() {
                    let nodes = if at == 0 { twenty } else { thirty }
                        + if at == 1 && vine == 1 { slip } else { 0.0 };
                    let vine = vine.to_string();
                    let key = [block, plot.as_str(), name, year, vine.as_str()];
                    keys.iter_mut()
                        .zip(key)
                        .for_each(|(column, value)| column.push(value.to_owned()));
                    wood.push((year == "2021").then_some(pounds * per_pound));
                    left.push((year == "2022").then_some(nodes));
                    sums = (sums.0 + pounds * per_pound / 4.0, sums.1 + nodes / 4.0);
                }
                let key = [block, plot.as_str(), name, year];
                plots
                    .iter_mut()
                    .zip(key)
                    .for_each(|(column, value)| column.push(value.to_owned()));
                plot_wood.push((year == "2021").then_some(sums.0));
                plot_left.push((year == "2022").then_some(sums.1));
            }
        }
    }
    let heads = ["block", "plot", "severity", "season", "vine"];
    let columns = |own: Vec<Vec<String>>, wood, left| {
        let mut all: Vec<_> = heads.into_iter().zip(own.into_iter().map(texts)).collect();
        all.push(("prunings", caneplot_plugin::Data::Numbers(wood)));
        all.push(("nodes_left", caneplot_plugin::Data::Numbers(left)));
        all
    };
    let mut severity = factor("severity", "Severity", &names, Some("20+10"));
    for (level, first) in severity.levels.iter_mut().zip([20.0, 30.0]) {
        level.rule = Some(rule(first));
    }
    let mut prunings = response("prunings", "Prunings", unit, Quantity::PruningWeight);
    prunings.on_vines = true;
    let mut nodes = response(
        "nodes_left",
        "Nodes left",
        "nodes/vine",
        Quantity::NodesLeft,
    );
    nodes.on_vines = true;
    let mut made = Made::new(
        DesignKind::RandomisedBlock,
        vec![severity],
        table("plots", columns(plots, plot_wood, plot_left)),
    )
    .with(prunings)
    .with(nodes)
    .vines(table("vines", columns(keys, wood, left)));
    made.options = serde_json::json!({ "tolerance": 0.1 });
    made
}

#[test]
fn nodes_left_by_the_rule_in_pounds_or_kilograms_are_found_to_be_so() {
    for (unit, per_pound) in [
        ("lb/vine", 1.0),
        ("kg/vine", POUND_KG),
        ("g/vine", 1000.0 * POUND_KG),
    ] {
        let (found, text) = findings(&trial(unit, per_pound, 0.0));
        assert!(text.contains("Headline: The nodes left followed the rules: on average 33.8 where the rule gives 33.8 at 20+10"), "{text}");
        assert!(text.contains("Of 16 vines, 100 % had"), "{text}");
        let nodes = &found.sections[0].tables[0];
        assert_eq!(nodes.columns[3].unit.as_deref(), Some("kg/vine"));
        // 9 lb over four vines: 1.0206 kg.
        assert_eq!(cell(&nodes.columns[3].cells, 0), "1.02e0");
        assert!(
            !found.sections[0]
                .tables
                .iter()
                .any(|table| table.id == "outside")
        );
        assert!(
            text.contains("4 vines had less than one unit of prunings"),
            "{text}"
        );
        assert!(text.contains("at most 60"), "{text}");
    }
}

#[test]
fn a_vine_away_from_the_arithmetic_is_named_with_its_prunings() {
    let (_, text) = findings(&trial("kg/vine", POUND_KG, 15.0));
    assert!(
        text.contains("2 vines are away from the arithmetic of the rule"),
        "{text}"
    );
    assert!(text.contains("vine 1 of plot A1 of block A in 2022 (1.13e0 kg of prunings: the rule 30+10 gives 45.0, 60.0 were left)"), "{text}");
    assert!(
        text.contains("Treatments are compared by rule, not by nodes left."),
        "{text}"
    );
}

#[test]
fn a_covariate_stands_for_the_winter_before_the_first_season() {
    let mut made = trial("kg/vine", POUND_KG, 0.0);
    // The same nodes left for 2021 too; every plot had 2 lb a vine before the trial.
    for (name, data) in made.plots.columns.iter_mut() {
        if name == "nodes_left" {
            *data = numbers([30.0, 33.75, 40.0, 41.25, 30.0, 33.75, 40.0, 41.25]);
        }
    }
    made.plots
        .columns
        .push(("before".to_owned(), numbers([2.0 * POUND_KG; 8])));
    made.trial.covariates.push(response(
        "before",
        "Prunings before",
        "kg/vine",
        Quantity::PruningWeight,
    ));
    let (found, text) = findings(&made);
    let seasons = found.sections[0]
        .tables
        .iter()
        .find(|table| table.id == "seasons")
        .unwrap();
    let row: Vec<String> = seasons
        .columns
        .iter()
        .map(|column| cell(&column.cells, 0))
        .collect();
    // 20 + 10 (2 - 1) = 30 nodes, left 30.
    assert_eq!(row[..4], ["20+10", "2021", "2", "2"]);
    assert_eq!(row[5..8], ["30.0", "30.0", "0.0"]);
    assert!(
        text.contains("Prunings for 2021 are known for plots and not for single vines"),
        "{text}"
    );
}

#[test]
fn nodes_without_prunings_to_go_by_are_told_or_refused() {
    let mut made = trial("kg/vine", POUND_KG, 0.0);
    made.trial.responses.remove(0);
    let (_, text) = findings(&made);
    assert!(
        text.contains("rules go by prunings, and no pruning weight is recorded"),
        "{text}"
    );
    let mut made = trial("t/ha", POUND_KG, 0.0);
    made.trial.responses[0].unit = "t/ha".to_owned();
    let (_, text) = findings(&made);
    assert!(text.contains("'prunings' is in t/ha"), "{text}");
    let mut made = trial("kg/vine", POUND_KG, 0.0);
    let vines = made.vines.as_mut().unwrap();
    for (name, data) in vines.columns.iter_mut() {
        let caneplot_plugin::Data::Numbers(values) = data else {
            continue;
        };
        if name == "prunings" {
            values[0] = None;
        }
    }
    let (_, text) = findings(&made);
    assert!(text.contains("not recorded: 1 in 2022"), "{text}");
}
