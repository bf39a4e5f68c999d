//! Two factors over seasons, and the options of separation.

use caneplot_plugin::findings::{Cells, Section};
use caneplot_plugin::request::{DesignKind, Role};
use serde_json::json;

use super::trial::{Columns, Trial, factor, response};
use caneplot_readings::testing::{sentence, text};

/// Training by pruning in four blocks over three seasons, invented. Minimal pruning crops heavily in
/// the first season only.
pub(super) fn training() -> Trial {
    let mut columns = ["block", "plot", "season", "training", "pruning", "yield"]
        .map(|name| (name.to_owned(), Vec::new()))
        .to_vec();
    let mut state = 11_u64;
    let mut chance = || {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        ((state >> 33) as f64 / f64::from(1_u32 << 31)) - 0.5
    };
    for block in 1..=4 {
        for (t, training) in ["single curtain", "divided"].iter().enumerate() {
            for (p, pruning) in ["cane", "spur", "minimal"].iter().enumerate() {
                let plot = chance() * 0.6;
                for season in 0..3_usize {
                    let burst = if p == 2 && season == 0 { 3.0 } else { 0.0 };
                    let crop = 4.0 + 1.5 * t as f64 + 0.3 * p as f64 + burst + plot + chance();
                    for (name, values) in &mut columns {
                        values.push(match name.as_str() {
                            "block" => format!("{block}"),
                            "plot" => format!("{training}/{pruning}"),
                            "season" => format!("{}", 2019 + season),
                            "training" => (*training).to_owned(),
                            "pruning" => (*pruning).to_owned(),
                            _ => format!("{crop:.2}"),
                        });
                    }
                }
            }
        }
    }
    let mut pruning = factor(
        "pruning",
        "Pruning",
        Role::Treatment,
        &["cane", "spur", "minimal"],
    );
    pruning.control = Some("cane".to_owned());
    Trial::new(
        DesignKind::RandomisedBlock,
        vec![
            factor(
                "training",
                "Training",
                Role::Treatment,
                &["single curtain", "divided"],
            ),
            pruning,
        ],
        vec![response("yield", "Yield", "kg/vine", "5")],
        Columns(columns),
    )
}

fn with(separation: &str) -> Section {
    let mut trial = training();
    trial.options["separation"] = json!(separation);
    trial.findings().sections.remove(0)
}

fn lettered(section: &Section, table: &str) -> usize {
    let table = section
        .tables
        .iter()
        .find(|found| found.id == table)
        .unwrap();
    table
        .columns
        .iter()
        .filter(|column| matches!(column.cells, Cells::Lettered { .. }))
        .count()
}

fn has(section: &Section, table: &str) -> bool {
    section.tables.iter().any(|found| found.id == table)
}

#[test]
fn a_factor_that_acts_in_one_season_is_compared_season_by_season() {
    let findings = training().findings();
    println!("{}", text(&findings));
    let section = &findings.sections[0];
    let headline = sentence(&section.statements[0]);
    assert!(
        headline.starts_with("The effect of pruning on yield changed with the season"),
        "{headline}"
    );
    // Letters in every season's column, none over all seasons.
    assert_eq!(lettered(section, "means-pruning"), 3);
    // Training acts the same every year: its letters stand over all seasons.
    assert_eq!(lettered(section, "means-training"), 1);
    assert!(section.figures[0].id == "seasons" && section.figures.len() == 3);
    let notes: Vec<String> = section.notes.iter().map(sentence).collect();
    assert!(
        notes
            .iter()
            .any(|note| note.contains("Blocks × seasons is part of that error")),
        "{notes:?}"
    );
}

#[test]
fn every_way_of_separation_shows_what_it_says() {
    for (separation, letters, control, pairs) in [
        ("tukey", 1, true, true),
        ("lsd", 1, true, true),
        ("holm", 1, true, true),
        ("dunnett", 0, true, false),
        ("none", 0, false, false),
    ] {
        let section = with(separation);
        assert_eq!(
            lettered(&section, "means-training"),
            letters,
            "{separation}"
        );
        assert_eq!(has(&section, "control-pruning"), control, "{separation}");
        assert_eq!(has(&section, "pairs-pruning"), pairs, "{separation}");
    }
}

#[test]
fn the_methods_cite_only_what_was_used_and_list_what_they_cite() {
    let mut trial = training();
    trial.options["separation"] = json!("holm");
    let findings = trial.findings();
    let keys: Vec<&str> = findings
        .references
        .iter()
        .map(|reference| reference.key.as_str())
        .collect();
    assert!(keys.contains(&"holm-1979") && keys.contains(&"satterthwaite-1946"));
    assert!(!keys.contains(&"tukey-1953") && !keys.contains(&"chew-1976"));
}

#[test]
fn percentages_of_counts_carry_their_caution() {
    let mut trial = training();
    trial.responses[0].counts = Some(("broken".to_owned(), "left".to_owned()));
    let notes: Vec<String> = trial.findings().sections[0]
        .notes
        .iter()
        .map(sentence)
        .collect();
    assert!(
        notes
            .iter()
            .any(|note| note.contains("a model for counts is the better tool")),
        "{notes:?}"
    );
}
