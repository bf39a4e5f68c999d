//! Totals, trends, the first season, solids, and all responses together, on trials with known means.

use caneplot_numerics::discovery::false_discovery;
use caneplot_numerics::separation::holm;
use caneplot_plugin::Data;
use caneplot_plugin::findings::{Mark, Rank, Section};
use caneplot_readings::testing::{sentence, text};
use serde_json::json;

use super::trial::{chance, column, findings, nodes, options, row, section, table_of, with_brix};

const SEASONS: [&str; 4] = ["2019", "2020", "2021", "2022"];

/// More nodes: much more crop in the first season, little more in later ones.
fn crop(block: usize, treatment: usize, season: usize) -> Option<f64> {
    let gain = if season == 0 {
        [0.0, 2.0, 5.0]
    } else {
        [0.0, 1.0, 1.5]
    };
    Some(6.0 + block as f64 * 0.2 + gain[treatment] + 0.1 * chance(block, treatment, season))
}

fn brix(block: usize, treatment: usize, season: usize) -> Option<f64> {
    Some(23.0 - treatment as f64 * 0.5 + 0.3 * chance(block + 1, treatment, season))
}

fn sentences(section: &Section) -> Vec<String> {
    section.statements.iter().map(sentence).collect()
}

fn one(section: &Section, words: &str) -> String {
    let all = sentences(section);
    let found = all.iter().find(|text| text.contains(words));
    found
        .unwrap_or_else(|| panic!("no '{words}' in {all:#?}"))
        .clone()
}

#[test]
fn totals_are_the_sums_of_the_seasons_and_the_headline() {
    let findings = findings(&nodes(&SEASONS, crop));
    println!("{}", text(&findings));
    let yields = section(&findings, "yield");
    let means = table_of(yields, "over-seasons");
    let total = |level: usize| {
        (0..5)
            .flat_map(|block| (0..4).map(move |season| crop(block, level, season).unwrap()))
            .sum::<f64>()
            / 5.0
    };
    let found = column(means, "Total of 4 seasons");
    for (level, found) in found.iter().enumerate() {
        assert!((found - total(level)).abs() < 1e-12);
    }
    let against = table_of(yields, "total-control");
    let at = row(against, "48 nodes/vine less 24 nodes/vine");
    assert!((column(against, "Difference")[at] - (total(2) - total(1))).abs() < 1e-12);
    assert!(column(against, "Lower limit")[at] < total(2) - total(1));
    let headlines: Vec<&_> = yields
        .statements
        .iter()
        .filter(|s| s.rank == Rank::Headline)
        .collect();
    assert_eq!(headlines.len(), 1);
    let words = sentence(headlines[0]);
    assert!(
        words.starts_with("Over 4 seasons together, yield with"),
        "{words}"
    );
}

#[test]
fn a_first_season_that_promises_too_much_is_said_to() {
    let findings = findings(&nodes(&SEASONS, crop));
    let words = one(
        section(&findings, "yield"),
        "In the first season of treatment (2019)",
    );
    assert!(
        words.contains("48 nodes/vine stood") && words.contains("overstates the long run"),
        "{words}"
    );
    // Gains of 3 against later 0.5 over the control of 24 nodes, but for the plots' own chance.
    let first = column(
        table_of(section(&findings, "yield"), "over-seasons"),
        "2019 less later seasons",
    );
    assert!((first[2] - first[1] - 2.5).abs() < 0.2, "{first:?}");
}

#[test]
fn a_first_season_that_understates_or_misleads_is_said_to() {
    let grows = |b: usize, t: usize, s: usize| {
        Some(6.0 + t as f64 * (s as f64 + 0.5) + 0.1 * chance(b, t, s))
    };
    let turns = |b: usize, t: usize, s: usize| {
        let gain = if s == 0 { 2.0 } else { -2.0 };
        Some(9.0 + t as f64 * gain + 0.1 * chance(b, t, s))
    };
    let found = findings(&nodes(&SEASONS, grows));
    one(section(&found, "yield"), "understates the long run");
    one(section(&found, "yield"), "Trends over the seasons differed");
    one(
        section(&findings(&nodes(&SEASONS, turns)), "yield"),
        "points another way",
    );
}

#[test]
fn slopes_keep_gaps_between_seasons() {
    let seasons = ["2018", "2019", "2023"];
    let years = [0.0, 1.0, 5.0];
    let line =
        |b: usize, t: usize, s: usize| Some(8.0 + years[s] * t as f64 + 0.01 * chance(b, t, 0));
    let found = findings(&nodes(&seasons, line));
    let slopes = column(
        table_of(section(&found, "yield"), "over-seasons"),
        "Change a year",
    );
    for (at, slope) in slopes.iter().enumerate() {
        assert!((slope - at as f64).abs() < 1e-12, "{slopes:?}");
    }
    // Only 2018 and 2019 follow one another.
    let index = column(
        table_of(section(&found, "yield"), "over-seasons"),
        "Bienniality",
    );
    assert!((index[1] - 1.0 / 17.0).abs() < 1e-3, "{index:?}");
    let years = column(
        table_of(section(&found, "yield"), "seasons-nodes"),
        "Year of treatment",
    );
    assert_eq!(years, [1.0, 2.0, 6.0]);
}

#[test]
fn seasons_before_the_treatments_are_shown_and_never_added_up() {
    let mut made = nodes(&SEASONS, crop);
    made.options = options(&[("began", json!("2020"))]);
    let found = findings(&made);
    let yields = section(&found, "yield");
    let years = column(table_of(yields, "seasons-nodes"), "Year of treatment");
    assert_eq!(years, [0.0, 1.0, 2.0, 3.0]);
    let total = column(table_of(yields, "over-seasons"), "Total of 3 seasons");
    let wanted: f64 = (0..5)
        .flat_map(|b| (1..4).map(move |s| crop(b, 2, s).unwrap()))
        .sum();
    assert!((total[2] - wanted / 5.0).abs() < 1e-12);
    assert!(
        yields
            .notes
            .iter()
            .any(|note| note.text.contains("not yet in force in 2019"))
    );
}

#[test]
fn treatments_older_than_the_records_say_nothing_about_a_first_season() {
    let mut made = nodes(&SEASONS, crop);
    made.options = options(&[("began", json!("2015"))]);
    let found = findings(&made);
    let words = one(section(&found, "yield"), "first season recorded (2019)");
    assert!(!words.contains("long run"), "{words}");
}

#[test]
fn two_seasons_have_a_difference_and_no_slope() {
    let found = findings(&nodes(&["2019", "2020"], crop));
    let yields = section(&found, "yield");
    let means = table_of(yields, "over-seasons");
    assert!(
        means
            .columns
            .iter()
            .all(|column| column.name != "Change a year")
    );
    assert_eq!(column(means, "2019 less 2020").len(), 3);
    assert!(one(yields, "In the first season").contains("in 2020"));
}

#[test]
fn solids_are_made_plot_by_plot() {
    let found = findings(&with_brix(&SEASONS, crop, brix));
    let solids = section(&found, "solids_yield");
    let total = column(table_of(solids, "over-seasons"), "Total of 4 seasons");
    for (level, total) in total.iter().enumerate() {
        let wanted: f64 = (0..5)
            .flat_map(|b| {
                (0..4).map(move |s| crop(b, level, s).unwrap() * brix(b, level, s).unwrap() / 100.0)
            })
            .sum();
        assert!((total - wanted / 5.0).abs() < 1e-12);
    }
    assert!(
        solids.notes[0].text.contains("yield × Brix / 100"),
        "{}",
        solids.notes[0].text
    );
    // What no sum is made of has none: Brix.
    let brix = table_of(section(&found, "brix"), "over-seasons");
    assert!(
        brix.columns
            .iter()
            .all(|column| !column.name.starts_with("Total") && column.name != "Bienniality")
    );
    assert!(section(&found, "brix").figures.is_empty());
}

#[test]
fn the_family_is_adjusted_by_definition_and_the_primary_response_is_not() {
    let mut made = with_brix(&SEASONS, crop, brix);
    let free = findings(&made);
    let all = table_of(section(&free, "responses-together"), "responses");
    let raw = column(all, "P");
    assert_eq!(raw.len(), 2);
    assert_eq!(
        column(all, "P, false discoveries controlled"),
        false_discovery(&raw).unwrap()
    );
    assert_eq!(column(all, "P, Holm"), holm(&raw).unwrap());
    made.options = options(&[("primary", json!(["brix"]))]);
    let declared = findings(&made);
    let together = section(&declared, "responses-together");
    let table = table_of(together, "responses");
    let order = ["Primary response", "Brix", "Other responses", "Yield"];
    assert_eq!(order.map(|words| row(table, words)), [0, 1, 2, 3]);
    let adjusted = column(table, "P, Holm");
    assert!(adjusted[1].is_nan());
    assert_eq!(adjusted[3], column(table, "P")[3]);
    assert!(one(together, "declared as the primary response").starts_with("Brix was"));
}

#[test]
fn the_figures_of_the_crop_show_all_seasons_and_all_treatments() {
    let found = findings(&nodes(&SEASONS, crop));
    let figures = &section(&found, "yield").figures;
    let ids: Vec<&str> = figures.iter().map(|figure| figure.id.as_str()).collect();
    assert_eq!(ids, ["added-up", "steadiness"]);
    let lines: Vec<&Vec<f64>> = figures[0].panels[0]
        .marks
        .iter()
        .filter_map(|mark| match mark {
            Mark::Line { y, .. } => Some(y),
            _ => None,
        })
        .collect();
    assert_eq!(lines.len(), 3);
    assert!(
        lines
            .iter()
            .all(|y| y.len() == 4 && y.windows(2).all(|pair| pair[1] > pair[0]))
    );
    assert!(
        figures[0].alt.contains("Clear differences by nodes left"),
        "{}",
        figures[0].alt
    );
    assert!(
        figures[1].caption.contains("n = 5 plots"),
        "{}",
        figures[1].caption
    );
}

#[test]
fn centring_changes_nothing() {
    let plain = findings(&with_brix(&SEASONS, crop, brix));
    let shifted = |b: usize, t: usize, s: usize| Some(crop(b, t, s)? - 7.5);
    let mut made = with_brix(&SEASONS, shifted, brix);
    made.trial.responses[0].offset = 7.5;
    made.trial.responses[0].offset_text = "7.5".to_owned();
    let centred = findings(&made);
    for id in ["yield", "solids_yield"] {
        for (a, b) in section(&plain, id)
            .tables
            .iter()
            .zip(&section(&centred, id).tables)
        {
            for name in a.columns.iter().map(|column| column.name.as_str()) {
                if matches!(name, "Season" | "Treatment" | "Treatments" | "Plot value") {
                    continue;
                }
                for (x, y) in column(a, name).iter().zip(column(b, name)) {
                    assert!(
                        (x - y).abs() <= 1e-8 * x.abs().max(1.0),
                        "{id} {name}: {x} {y}"
                    );
                }
            }
        }
    }
}

#[test]
fn the_order_of_the_rows_changes_nothing() {
    let made = with_brix(&SEASONS, crop, brix);
    let mut turned = made.clone();
    for (_, data) in &mut turned.plots.columns {
        match data {
            Data::Numbers(values) => values.reverse(),
            Data::Texts(values) => values.reverse(),
            _ => unreachable!(),
        }
    }
    let (a, b) = (findings(&made), findings(&turned));
    for (a, b) in a.sections.iter().zip(&b.sections) {
        assert_eq!(a.id, b.id);
        let words = |section: &Section| -> Vec<String> {
            section
                .statements
                .iter()
                .chain(&section.notes)
                .map(sentence)
                .collect()
        };
        assert_eq!(words(a), words(b));
    }
}
