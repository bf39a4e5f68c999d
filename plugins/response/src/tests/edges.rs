//! Trials that have no curve, or hardly: a sentence each, and the other responses go on.

use caneplot_plugin::request::{DesignKind, Response};
use serde_json::json;

use super::render::{sentence, text};
use super::trial::{Chance, Trial, buds, columns, nodes, perennial, split};

fn first(trial: &Trial) -> String {
    let findings = trial.findings();
    let section = &findings.sections[0];
    assert!(section.tables.is_empty(), "{}", text(&findings));
    sentence(&section.statements[0])
}

fn small(rows: &[(&str, &str, &str)]) -> Trial {
    let cells = rows
        .iter()
        .map(|(block, level, crop)| {
            vec![
                (*block).into(),
                (*level).into(),
                (*level).into(),
                (*crop).into(),
            ]
        })
        .collect();
    Trial::new(
        DesignKind::RandomisedBlock,
        vec![nodes(&["10", "20", "30", "40"])],
        columns(&["block", "plot", "nodes", "yield"], cells),
    )
}

#[test]
fn a_constant_response() {
    let mut trial = buds();
    trial.column("yield").fill("3.2".to_owned());
    assert_eq!(
        first(&trial),
        "There is no curve of yield over nodes left: it is the same in every plot (3.20 kg/vine): there is no variation to analyse."
    );
}

#[test]
fn two_levels_with_data() {
    let mut trial = buds();
    trial.empty(|cell| !["10", "20"].contains(&cell("nodes").as_str()));
    assert!(
        first(&trial).contains("with two levels of nodes left there is a difference but no curve")
    );
}

#[test]
fn one_replicate() {
    let trial = small(&[
        ("A", "10", "3"),
        ("A", "20", "4"),
        ("A", "30", "4.5"),
        ("A", "40", "4.4"),
    ]);
    assert!(first(&trial).contains("no degrees of freedom are left for error, since no two plots were treated alike; a second block or replicate is needed"));
}

#[test]
fn levels_that_never_share_a_block() {
    let trial = small(&[
        ("A", "10", "3"),
        ("A", "20", "4"),
        ("B", "30", "4.5"),
        ("B", "40", "4.4"),
        ("C", "10", "3.1"),
        ("C", "20", "4.4"),
        ("D", "30", "4.9"),
        ("D", "40", "4.1"),
    ]);
    assert!(
        first(&trial).contains("the plots with 10 and 20 of nodes left never share a block"),
        "{}",
        first(&trial)
    );
}

#[test]
fn a_level_missing_in_one_block_is_no_obstacle() {
    let mut trial = buds();
    trial.empty(|cell| cell("block") == "B1" && cell("nodes") == "30");
    let findings = trial.findings();
    assert_eq!(findings.sections[0].figures.len(), 1);
    assert!(
        findings.sections[0].figures[0]
            .caption
            .contains("n = 3 to 4 plots a level")
    );
}

#[test]
fn copied_values() {
    let rows = [
        ("A", "10", "3"),
        ("A", "20", "4"),
        ("A", "30", "5"),
        ("B", "10", "3"),
        ("B", "20", "4"),
        ("B", "30", "5"),
    ];
    assert!(first(&small(&rows)).contains("plots treated alike differ by exactly nothing"));
}

#[test]
fn too_few_plots_to_compare_shapes() {
    // Three levels in two blocks: 2 degrees of freedom for error, and no AICc for any curve.
    let rows = [
        ("A", "10", "3"),
        ("A", "20", "4"),
        ("A", "30", "5.5"),
        ("B", "10", "3.3"),
        ("B", "20", "4.1"),
        ("B", "30", "5"),
    ];
    let trial = small(&rows);
    let findings = trial.findings();
    let words = sentence(&findings.sections[0].statements[0]);
    assert!(!words.contains("NaN") && !words.contains("inf"), "{words}");
}

#[test]
fn three_levels_compare_a_line_and_a_quadratic_only() {
    let mut trial = buds();
    trial.empty(|cell| !["10", "50", "90"].contains(&cell("nodes").as_str()));
    let findings = trial.findings();
    let notes: Vec<String> = findings.sections[0].notes.iter().map(sentence).collect();
    assert!(notes.iter().any(|note| {
        note.starts_with("With three levels a smooth bend cannot be told from a sharp one")
    }));
}

#[test]
fn a_response_without_any_value_leaves_the_others_alone() {
    let mut trial = perennial();
    let mut empty: Response = trial.info.responses[0].clone();
    empty.name = "brix".to_owned();
    empty.label = "Soluble solids".to_owned();
    trial.info.responses.insert(0, empty);
    let rows = trial.column("yield").len();
    trial
        .plots
        .push(("brix".to_owned(), vec![String::new(); rows]));
    let findings = trial.findings();
    assert_eq!(
        sentence(&findings.sections[0].statements[0]),
        "Soluble solids is not analysed: there is no value at all."
    );
    assert!(!findings.sections[1].tables.is_empty());
}

#[test]
fn a_level_that_is_not_declared_is_named() {
    let mut trial = buds();
    trial.column("nodes")[3] = "44".to_owned();
    let words = first(&trial);
    assert!(
        words.contains("'44' is not a level of the factor 'nodes'"),
        "{words}"
    );
    assert!(words.contains("The levels declared are 10, 20"), "{words}");
}

#[test]
fn a_block_design_without_blocks() {
    let mut trial = buds();
    trial.plots.retain(|(name, _)| name != "block");
    assert!(first(&trial).contains("a randomised block design needs the column 'block'"));
}

#[test]
fn unknown_options_and_responses_are_refused() {
    let mut trial = buds();
    trial.set("responses", json!(["yeild"]));
    assert_eq!(
        trial.refused().unwrap_err().message,
        "the trial has no response 'yeild'"
    );
    let mut trial = buds();
    trial.set("curve", json!(1));
    assert!(
        trial
            .refused()
            .unwrap_err()
            .message
            .contains("the options are not as this plugin expects")
    );
    let mut trial = buds();
    trial.set("price", json!(0.0));
    trial.set("cost_per_node", json!(0.1));
    trial.set("cost_basis", json!("vine"));
    assert!(
        trial
            .refused()
            .unwrap_err()
            .message
            .contains("'price' is not above 0")
    );
}

#[test]
fn a_trial_without_an_amount() {
    let mut trial = buds();
    for level in &mut trial.info.factors[0].levels {
        level.value = None;
    }
    assert_eq!(
        trial.refused().unwrap_err().message,
        "no factor of the trial is an amount"
    );
}

#[test]
fn the_manifest_keeps_the_rules() {
    let manifest = caneplot_plugin::Manifest::read(include_str!("../manifest.json")).unwrap();
    assert_eq!(manifest.name, "response");
}

#[test]
fn no_offset_changes_a_finding() {
    let plain = buds().findings();
    let mut moved = buds();
    moved.info.responses[0].offset = 2.5;
    let moved = moved.findings();
    assert_eq!(
        sentence(&plain.sections[0].statements[0]),
        sentence(&moved.sections[0].statements[0])
    );
}

/// Gaps anywhere, few values, rounded values, tiny and huge units: always findings that keep the
/// rules (no number that is not finite, every place named), never a panic.
#[test]
fn whatever_is_missing_the_findings_keep_the_rules() {
    let mut chance = Chance(99);
    let (mut curves, mut refusals) = (0, 0);
    for round in 0..150 {
        let mut trial = match round % 3 {
            0 => perennial(),
            1 => split(round % 2 == 0),
            _ => buds(),
        };
        let share = chance.next() + 0.5;
        let scale = 10_f64.powf(12.0 * chance.next());
        let coarse = round % 5 == 0;
        trial.info.responses[0].offset = 0.0;
        for value in trial.column("yield") {
            let number: f64 = value.parse().unwrap();
            let number = if coarse { number.round() } else { number };
            *value = if chance.next() + 0.5 < share * share {
                String::new()
            } else {
                (number * scale).to_string()
            };
        }
        trial.set("price", json!(0.5));
        trial.set("cost_per_node", json!(0.01 * scale));
        trial.set("cost_basis", json!("vine"));
        let findings = trial.findings();
        if findings.sections[0].tables.is_empty() {
            refusals += 1;
        } else {
            curves += 1;
        }
    }
    assert!(
        curves > 60 && refusals > 10,
        "{curves} curves, {refusals} refusals"
    );
}
