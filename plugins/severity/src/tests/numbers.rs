//! Levels that are numbers of nodes.

use caneplot_plugin::Analysis;
use caneplot_plugin::request::{DesignKind, Quantity};
use caneplot_readings::testing::{Made, cell, factor, numbers, response, table, texts};

use super::findings;

/// Two blocks, two seasons, three vines a plot; `left` gives the nodes left by level, season and vine.
fn trial(left: impl Fn(usize, usize, usize) -> f64) -> Made {
    let levels = ["12", "24", "36"];
    let (mut plots, mut vines) = (vec![Vec::new(); 4], vec![Vec::new(); 5]);
    let (mut means, mut counts) = (Vec::new(), Vec::new());
    for block in ["A", "B"] {
        for (at, level) in levels.into_iter().enumerate() {
            let plot = format!("{block}{at}");
            for (season, year) in ["2021", "2022"].into_iter().enumerate() {
                let key = [block, plot.as_str(), level, year];
                plots
                    .iter_mut()
                    .zip(key)
                    .for_each(|(column, value)| column.push(value.to_owned()));
                let counted: Vec<f64> = (0..3).map(|vine| left(at, season, vine)).collect();
                means.push(counted.iter().sum::<f64>() / 3.0);
                for (vine, nodes) in counted.into_iter().enumerate() {
                    let name = vine.to_string();
                    let key = [block, plot.as_str(), level, year, name.as_str()];
                    vines
                        .iter_mut()
                        .zip(key)
                        .for_each(|(column, value)| column.push(value.to_owned()));
                    counts.push(nodes - 20.0);
                }
            }
        }
    }
    let keys = ["block", "plot", "nodes", "season", "vine"];
    let columns = |own: Vec<Vec<String>>, values: Vec<f64>| {
        let mut all: Vec<_> = keys.into_iter().zip(own.into_iter().map(texts)).collect();
        all.push(("nodes_left", numbers(values)));
        all
    };
    let means = means.into_iter().map(|mean| mean - 20.0).collect();
    let mut left = response(
        "nodes_left",
        "Nodes left",
        "nodes/vine",
        Quantity::NodesLeft,
    );
    (left.on_vines, left.offset) = (true, 20.0);
    let nodes = factor("nodes", "Nodes", &levels, Some("24"));
    let mut made = Made::new(
        DesignKind::RandomisedBlock,
        vec![nodes],
        table("plots", columns(plots, means)),
    )
    .with(left)
    .vines(table("vines", columns(vines, counts)));
    made.options = serde_json::json!({ "tolerance": 0.1 });
    made
}

fn meant(level: usize) -> f64 {
    [12.0, 24.0, 36.0][level]
}

#[test]
fn pruning_done_as_meant_is_said_to_be_so() {
    let (found, text) = findings(&trial(|level, _, vine| meant(level) + vine as f64 - 1.0));
    assert!(text.contains("Headline: Vines were pruned as it was meant: on average 12.0 where 12.0 were meant at 12 nodes/vine"), "{text}");
    assert!(
        text.contains("Of 36 vines over 2 seasons, 100 % had their number"),
        "{text}"
    );
    assert!(
        text.contains("can be read as one over the nodes left"),
        "{text}"
    );
    let nodes = &found.sections[0].tables[0];
    // Means by hand; misses of -1, 0 and 1, four times each: 8/11 is the variance.
    let row: Vec<String> = nodes
        .columns
        .iter()
        .map(|column| cell(&column.cells, 1))
        .collect();
    assert_eq!(
        row,
        ["24", "2", "12", "24.0", "24.0", "0.0", "0.9", "100 %"]
    );
}

#[test]
fn a_treatment_that_was_missed_is_named_and_so_is_what_it_does_to_curves() {
    // The highest level kept 24 + 3 nodes in the first season and 24 + 5 in the second.
    let (found, text) = findings(&trial(|level, season, _| match level {
        2 => 27.0 + 2.0 * season as f64,
        other => meant(other),
    }));
    assert!(text.contains("Headline: Not every treatment was pruned as it was meant: on average 28.0 where 36.0 were meant at 36 nodes/vine. Of 36 vines over 2 seasons, 67 % had"), "{text}");
    assert!(text.contains("Season by season, treatments were missed: 27.0 where 36.0 were meant at 36 nodes/vine in 2021 and 29.0"), "{text}");
    // 28 - 12 = 16 nodes in place of 24: 24 / 16 = 1.5.
    assert!(
        text.contains("16.0 nodes more were left where 24.0 more were meant"),
        "{text}"
    );
    assert!(text.contains("about 1.50 times"), "{text}");
    // 28 - 24 = 4, less than half of 12.
    assert!(
        text.contains("differed by 4.0 on average where 12.0 were meant"),
        "{text}"
    );
    let outside = found.sections[0]
        .tables
        .iter()
        .find(|table| table.id == "outside")
        .unwrap();
    assert_eq!(outside.columns[0].cells.len(), 12);
    assert_eq!(cell(&outside.columns[6].cells, 0), "-9.0");
}

#[test]
fn means_met_by_vines_that_miss_are_told() {
    let (_, text) = findings(&trial(|level, _, vine| {
        meant(level) + 5.0 * (vine as f64 - 1.0)
    }));
    assert!(text.contains("Vines were pruned as it was meant"), "{text}");
    assert!(text.contains("fewer than half of the vines had their number, at 12 nodes/vine, 24 nodes/vine and 36 nodes/vine"), "{text}");
}

#[test]
fn what_cannot_be_set_against_anything_is_refused_with_what_to_do() {
    let mut made = trial(|level, _, _| meant(level));
    made.trial.factors[0].unit = None;
    let refusal = crate::Severity.analyse(&made.call()).unwrap_err();
    assert!(
        refusal.message.contains("no factor says") && refusal.hint.unwrap().contains("nodes/vine")
    );
    let mut made = trial(|level, _, _| meant(level));
    made.trial.responses.clear();
    let refusal = crate::Severity.analyse(&made.call()).unwrap_err();
    assert!(refusal.message.contains("not recorded"));
    let mut made = trial(|level, _, _| meant(level));
    made.trial.responses[0].basis = caneplot_plugin::request::Basis::PlantedSpace;
    made.trial.responses[0].unit = "nodes/m".to_owned();
    let (_, text) = findings(&made);
    assert!(
        text.contains("cannot be said: 'nodes_left' is in nodes/m"),
        "{text}"
    );
}
