//! What reports made by hand have in common, and what they have not.

use std::path::PathBuf;

use caneplot_plugin::Findings;
use caneplot_plugin::estimates::{Estimates, Kind, Treatment};
use caneplot_plugin::findings::{FINDINGS_SCHEMA, Format, Section};
use caneplot_plugin::request::{Factor, Level, TrialInfo};
use serde_json::{Value as Json, json};

use super::matched::{Matched, matched};
use crate::earlier::{EarlierAnalysis, EarlierReport};
use crate::write::manifest::{FileRecord, MANIFEST_SCHEMA, RunRecord};

/// A factor of numbers.
fn factor(name: &str, levels: &[&str], unit: &str, control: Option<&str>) -> Factor {
    Factor {
        name: name.to_owned(),
        label: name.to_owned(),
        levels: levels
            .iter()
            .map(|level| Level {
                name: (*level).to_owned(),
                label: (*level).to_owned(),
                value: level.parse().ok(),
                ..Level::default()
            })
            .collect(),
        unit: Some(unit.to_owned()),
        control: control.map(str::to_owned),
        ..Factor::default()
    }
}

fn estimates(name: &str, unit: &str, factor: &Factor) -> Estimates {
    Estimates {
        name: name.to_owned(),
        label: name.to_owned(),
        unit: unit.to_owned(),
        kind: Kind::Mean,
        factors: vec![factor.name.clone()],
        season: None,
        level: 0.95,
        format: Format::Decimals(2),
        treatments: factor
            .levels
            .iter()
            .map(|level| Treatment {
                levels: vec![level.name.clone()],
                plots: 5,
                value: level.value.unwrap_or(1.0),
                standard_error: Some(0.5),
                low: None,
                high: None,
            })
            .collect(),
        covariance: Vec::new(),
        df: Some(12.0),
        differences: Vec::new(),
        test: None,
        seasons_test: None,
        interaction_test: None,
        ranges: Vec::new(),
    }
}

fn report(factor: Factor, found: &[(&str, &str)]) -> EarlierReport {
    let estimates: Vec<Estimates> = found
        .iter()
        .map(|(name, unit)| estimates(name, unit, &factor))
        .collect();
    EarlierReport {
        folder: PathBuf::from("report"),
        trial: TrialInfo {
            factors: vec![factor],
            ..TrialInfo::default()
        },
        about: Vec::new(),
        analyses: vec![EarlierAnalysis {
            name: "anova".to_owned(),
            version: "0.1.0".to_owned(),
            options: json!({}),
            voice: Some(1),
            findings: Some(Findings {
                schema: FINDINGS_SCHEMA,
                sections: vec![Section {
                    id: "all".to_owned(),
                    estimates,
                    ..Section::default()
                }],
                methods: Vec::new(),
                references: Vec::new(),
            }),
            refused: None,
        }],
        manifest: RunRecord {
            schema: MANIFEST_SCHEMA,
            program: String::new(),
            version: String::new(),
            written: String::new(),
            trial: "trial".to_owned(),
            seed: 1,
            complete: true,
            inputs: Vec::new(),
            plugins: Vec::new(),
            left_out: Vec::new(),
            outputs: Vec::new(),
        },
        input: FileRecord {
            path: String::new(),
            sha256: String::new(),
            bytes: 0,
        },
    }
}

fn of(one: &EarlierReport, two: &EarlierReport) -> Matched {
    matched(&[("A", one), ("B", two)])
}

const NODES: &[&str] = &["12", "24", "36"];

#[test]
fn treatments_in_common_are_found_by_their_values_in_any_order() {
    let one = report(
        factor("nodes", NODES, "nodes/vine", Some("24")),
        &[("yield", "kg/vine")],
    );
    let two = report(
        factor("nodes", &["48", "24.0", "12"], "nodes/vine", Some("12")),
        &[("yield", "kg/vine")],
    );
    let found = of(&one, &two);
    let question = &found.questions[0];
    assert_eq!(
        question["treatments"],
        json!(["12 nodes/vine", "24 nodes/vine"])
    );
    assert_eq!(question["control"], json!(1));
    let places: Vec<&Json> = (0..2)
        .map(|at| &question["trials"][at]["source"]["report"]["at"])
        .collect();
    assert_eq!(places, [&json!([0, 1]), &json!([2, 1])]);
    assert_eq!(
        found.unlike,
        [
            "The level '36' of 'nodes' stands in A only.",
            "The level '48' of 'nodes' stands in B only."
        ]
    );
}

#[test]
fn units_convert_or_are_named() {
    let nodes = || factor("nodes", NODES, "nodes/vine", None);
    let one = report(nodes(), &[("yield", "kg/vine"), ("brix", "Brix")]);
    let two = report(nodes(), &[("yield", "lb/vine"), ("brix", "pH")]);
    let found = of(&one, &two);
    assert_eq!(found.questions.len(), 1);
    let second = &found.questions[0]["trials"][1]["source"]["report"]["estimates"];
    let value = second["treatments"][1]["value"].as_f64().unwrap();
    // exact: 1 lb = 0.453 592 37 kg
    assert!((value - 24.0 * 0.453_592_37).abs() < 1e-12);
    assert_eq!(second["unit"], "kg/vine");
    assert!(
        found.unlike[0].contains("'Brix' in A and in 'pH' in B"),
        "{:?}",
        found.unlike
    );
}

#[test]
fn what_one_trial_lacks_is_named() {
    let one = report(
        factor("nodes", NODES, "nodes/vine", None),
        &[("yield", "kg/vine"), ("brix", "Brix")],
    );
    let two = report(
        factor("nodes", NODES, "nodes/vine", None),
        &[("yield", "kg/vine")],
    );
    let found = of(&one, &two);
    assert_eq!(
        found.unlike,
        ["brix has results over all seasons in A only."]
    );
    let other = report(
        factor("system", &["VSP", "T"], "", None),
        &[("yield", "kg/vine")],
    );
    let found = of(&one, &other);
    assert!(found.questions.is_empty());
    assert!(found.unlike[0].contains("factor 'nodes' stands in A only"));
    let meters = report(
        factor("nodes", NODES, "nodes/m", None),
        &[("yield", "kg/vine")],
    );
    assert!(of(&one, &meters).unlike[0].contains("'nodes/vine' in A and in 'nodes/m' in B"));
}
