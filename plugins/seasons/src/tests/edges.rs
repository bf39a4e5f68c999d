//! What cannot be answered is a sentence.

use caneplot_plugin::request::{Basis, Quantity};
use caneplot_plugin::{Data, Manifest};
use caneplot_readings::testing::{Made, response, sentence, text};
use serde_json::json;

use super::trial::{
    chance, column, findings, nodes, options, refused, section, table_of, with_brix,
};
use crate::Seasons;

fn crop(block: usize, treatment: usize, season: usize) -> Option<f64> {
    Some(6.0 + treatment as f64 + 0.3 * chance(block, treatment, season))
}

fn first(made: &Made, id: &str) -> String {
    sentence(&section(&findings(made), id).statements[0])
}

#[test]
fn the_manifest_is_sound() {
    let manifest = Manifest::read(<Seasons as caneplot_plugin::Analysis>::MANIFEST).unwrap();
    assert_eq!(manifest.name, "seasons");
    let defaults: serde_json::Map<String, serde_json::Value> = manifest
        .options
        .iter()
        .map(|option| (option.name.clone(), option.default.clone()))
        .collect();
    assert_eq!(serde_json::Value::Object(defaults), options(&[]));
}

#[test]
fn one_season_is_refused_with_what_to_do() {
    let refusal = refused(&nodes(&["2020"], crop)).unwrap_err();
    assert!(refusal.message.contains("one season (2020)"), "{refusal}");
    assert!(refusal.hint.unwrap().contains("[analyses]"));
    let mut made = nodes(&["2020", "2021"], crop);
    made.options = options(&[("began", json!("2021"))]);
    let refusal = refused(&made).unwrap_err();
    assert!(
        refusal
            .message
            .contains("in force in one season only (2021)"),
        "{refusal}"
    );
}

#[test]
fn options_that_contradict_the_trial_are_refused() {
    let mut made = with_brix(&["2020", "2021"], crop, crop);
    for (changed, why) in [
        (
            ("primary", json!(["yield", "brix"])),
            "2 responses are declared as primary",
        ),
        (("primary", json!(["crop"])), "no response 'crop'"),
        (("began", json!("2030")), "after the last season"),
        (("margin", json!("crop 5 %")), "'crop' is not a response"),
    ] {
        made.options = options(&[changed]);
        let refusal = refused(&made).unwrap_err();
        assert!(refusal.message.contains(why), "{refusal}");
    }
    made.options = options(&[
        ("primary", json!(["brix"])),
        ("responses", json!(["yield"])),
    ]);
    assert!(refused(&made).is_err());
}

#[test]
fn a_response_of_one_season_is_shown_and_takes_part_in_the_family() {
    let brix = |b: usize, t: usize, s: usize| if s == 1 { crop(b, t, s) } else { None };
    let made = with_brix(&["2020", "2021", "2022"], crop, brix);
    let words = first(&made, "brix");
    assert!(
        words.contains("one season with the treatments in force (2021)"),
        "{words}"
    );
    let found = findings(&made);
    let tests = table_of(section(&found, "responses-together"), "responses");
    assert_eq!(column(tests, "P").len(), 2);
}

#[test]
fn a_response_without_a_value_does_not_stop_the_others() {
    let mut made = nodes(&["2020", "2021"], crop);
    let rows = made.plots.rows;
    made.plots
        .columns
        .push(("acid".to_owned(), Data::Numbers(vec![None; rows])));
    let made = made.with(response(
        "acid",
        "Acidity",
        "g/L",
        Quantity::TitratableAcidity,
    ));
    let words = first(&made, "acid");
    assert!(words.contains("has no value at all"), "{words}");
    assert!(!section(&findings(&made), "yield").tables.is_empty());
}

#[test]
fn copied_values_have_means_and_no_test() {
    let made = nodes(&["2020", "2021", "2022"], |_, t, s| {
        Some(5.0 + t as f64 + s as f64 * 0.5)
    });
    let found = findings(&made);
    let words = text(&found);
    assert!(!words.contains("NaN") && !words.contains("inf"), "{words}");
    let yields = section(&found, "yield");
    assert!(
        yields
            .tables
            .iter()
            .all(|table| table.id != "over-seasons-tests")
    );
    assert!(
        yields
            .statements
            .iter()
            .any(|said| said.text.contains("copied")),
        "{words}"
    );
}

#[test]
fn one_block_has_no_error_and_says_so() {
    let mut made = nodes(&["2020", "2021"], crop);
    let keep: Vec<usize> = (0..made.plots.rows)
        .filter(|&row| made.plots.texts("block").unwrap()[row].as_deref() == Some("B0"))
        .collect();
    for (_, data) in &mut made.plots.columns {
        match data {
            Data::Numbers(values) => *values = keep.iter().map(|&row| values[row]).collect(),
            Data::Texts(values) => *values = keep.iter().map(|&row| values[row].clone()).collect(),
            _ => unreachable!(),
        }
    }
    made.plots.rows = keep.len();
    let words = first(&made, "yield");
    assert!(words.contains("degrees of freedom"), "{words}");
}

#[test]
fn two_empty_seasons_in_a_row_have_no_bienniality_but_everything_else() {
    let crop = |b: usize, t: usize, s: usize| {
        if b == 0 && t == 0 && s < 2 {
            Some(0.0)
        } else {
            crop(b, t, s)
        }
    };
    let found = findings(&nodes(&["2020", "2021", "2022"], crop));
    let yields = section(&found, "yield");
    let means = table_of(yields, "over-seasons");
    assert!(
        means
            .columns
            .iter()
            .all(|column| column.name != "Bienniality")
    );
    let note = yields
        .notes
        .iter()
        .find(|note| note.text.contains("Bienniality"))
        .unwrap();
    assert!(
        note.text.contains(
            "not worked out for plot 12 of block B0, where two seasons in a row bore nothing"
        ),
        "{}",
        note.text
    );
}

#[test]
fn amounts_per_planted_space_are_taken_for_the_crop_or_where_asked_for() {
    let mut made = with_brix(&["2020", "2021"], crop, crop);
    for (of, label, quantity) in [
        ("yield", "Yield", Quantity::Yield),
        ("clusters", "Clusters", Quantity::ClusterCount),
    ] {
        let name = format!("{of}_per_space");
        let values = made.plots.numbers("yield").unwrap().to_vec();
        made.plots
            .columns
            .push((name.clone(), Data::Numbers(values)));
        let label = format!("{label}, per planted space");
        let mut spaces = response(&name, &label, "kg/vine", quantity);
        spaces.basis = Basis::PlantedSpace;
        spaces.derived = Some("made".to_owned());
        made = made.with(spaces);
    }
    let ids = |made: &Made| -> Vec<String> {
        findings(made)
            .sections
            .iter()
            .map(|section| section.id.clone())
            .collect()
    };
    let all = ids(&made);
    assert!(all.contains(&"yield_per_space".to_owned()), "{all:?}");
    assert!(!all.contains(&"clusters_per_space".to_owned()), "{all:?}");
    // The crop per planted space is the crop again, and no test of its own in the family.
    let found = findings(&made);
    let family = section(&found, "responses-together");
    assert_eq!(column(table_of(family, "responses"), "P").len(), 2);
    assert!(
        family
            .notes
            .iter()
            .any(|note| note.text.contains("yield (per planted space)"))
    );
    made.options = options(&[("primary", json!(["clusters_per_space"]))]);
    assert!(ids(&made).contains(&"clusters_per_space".to_owned()));
}

#[test]
fn a_constant_response_and_a_season_without_values_are_named() {
    let words = first(&nodes(&["2020", "2021"], |_, _, _| Some(3.0)), "yield");
    assert!(
        words.contains("is the same in every plot and season (3"),
        "{words}"
    );
    let gap = |b: usize, t: usize, s: usize| if s == 1 { None } else { crop(b, t, s) };
    let all = text(&findings(&nodes(&["2020", "2021", "2022"], gap)));
    assert!(all.contains("Yield has no value in 2021"), "{all}");
}
