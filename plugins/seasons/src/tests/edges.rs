//! What cannot be answered is a sentence.

use caneplot_plugin::request::{Basis, DesignKind, Quantity, Role};
use caneplot_plugin::{Data, Manifest};
use caneplot_readings::testing::{Made, factor, numbers, response, sentence, table, text, texts};
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
        yields.notes.iter().any(|note| note.text.contains("copied")),
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
        note.text
            .contains("plot 12 of block B0: two seasons in a row bore nothing"),
        "{}",
        note.text
    );
}

/// Four blocks of two systems, each split for three numbers of nodes, three seasons.
fn split(gap: bool) -> Made {
    let mut names: [Vec<String>; 5] = Default::default();
    let mut crop = Vec::new();
    for block in 0..4 {
        for system in 0..2 {
            for level in 0..3 {
                for season in 0..3 {
                    let cells = [
                        format!("B{block}"),
                        format!("{system}{level}"),
                        format!("{}", 2020 + season),
                        ["cane", "spur"][system].to_owned(),
                        ["12", "24", "48"][level].to_owned(),
                    ];
                    for (column, cell) in names.iter_mut().zip(cells) {
                        column.push(cell);
                    }
                    let lost = gap && block == 1 && system == 1 && level == 0 && season == 2;
                    let value = 7.0
                        + level as f64 * [0.5, 2.0][system]
                        + 0.4 * chance(block, system + 4, 0)
                        + 0.3 * chance(block, system * 3 + level, season);
                    crop.push((!lost).then_some(value));
                }
            }
        }
    }
    let [block, plot, season, system, level] = names;
    let plots = table(
        "plots",
        vec![
            ("block", texts(block)),
            ("plot", texts(plot)),
            ("season", texts(season)),
            ("system", texts(system)),
            ("nodes", texts(level)),
            ("yield", Data::Numbers(crop)),
        ],
    );
    let mut whole = factor("system", "Training system", &["cane", "spur"], None);
    whole.role = Role::WholePlot;
    let mut sub = factor("nodes", "Nodes left", &["12", "24", "48"], Some("24"));
    sub.role = Role::SubPlot;
    let mut made = Made::new(DesignKind::SplitPlot, vec![whole, sub], plots).with(response(
        "yield",
        "Yield",
        "kg/vine",
        Quantity::Yield,
    ));
    made.options = options(&[("margin", json!("yield 10 %"))]);
    made
}

#[test]
fn a_split_plot_tests_each_factor_against_its_own_error() {
    let found = findings(&split(false));
    println!("{}", text(&found));
    let yields = section(&found, "yield");
    let tests = table_of(yields, "over-seasons-tests");
    let df = column(tests, "Error df");
    // Totals: systems against 3, nodes and the crossing against 12.
    assert!(df[0].is_nan());
    assert_eq!(df[1..4], [3.0, 12.0, 12.0]);
    let means = table_of(yields, "over-seasons");
    // The crossing is clear, so its combinations follow the factors.
    assert_eq!(means.columns[0].cells.len(), 3 + 4 + 7);
    assert_eq!(means.groups, [0, 3, 7]);
    assert!(
        yields
            .tables
            .iter()
            .any(|table| table.id == "tests-together")
    );
}

#[test]
fn an_incomplete_split_plot_names_what_is_missing_and_shows_complete_seasons() {
    let made = split(true);
    let words = first(&made, "yield");
    assert!(
        words.contains("plot 10 of block B1 has no value in 2022"),
        "{words}"
    );
    let found = findings(&made);
    let yields = section(&found, "yield");
    let p = column(table_of(yields, "seasons-nodes"), "P");
    assert!(
        p[0].is_finite() && p[1].is_finite() && p[2].is_nan(),
        "{p:?}"
    );
    assert!(
        yields
            .notes
            .iter()
            .any(|note| note.text.starts_with("2022 is not tested: plot 10"))
    );
    assert!(yields.figures.is_empty());
}

#[test]
fn many_levels_go_down_the_page() {
    let levels: Vec<String> = (1..=8).map(|level| format!("clone {level}")).collect();
    let names: Vec<&str> = levels.iter().map(String::as_str).collect();
    let cells: Vec<(usize, usize, usize)> = (0..4)
        .flat_map(|b| (0..8).flat_map(move |t| (0..2).map(move |s| (b, t, s))))
        .collect();
    let plots = table(
        "plots",
        vec![
            ("block", texts(cells.iter().map(|c| c.0))),
            ("plot", texts(cells.iter().map(|c| c.1))),
            ("season", texts(cells.iter().map(|c| 2020 + c.2))),
            ("clone", texts(cells.iter().map(|c| &levels[c.1]))),
            (
                "yield",
                numbers(cells.iter().map(|c| crop(c.0, c.1, c.2).unwrap())),
            ),
        ],
    );
    let clone = factor("clone", "Clone", &names, None);
    let mut made = Made::new(DesignKind::RandomisedBlock, vec![clone], plots).with(response(
        "yield",
        "Yield",
        "kg/vine",
        Quantity::Yield,
    ));
    made.options = options(&[]);
    let found = findings(&made);
    let yields = section(&found, "yield");
    assert_eq!(table_of(yields, "seasons-clone").columns[0].cells.len(), 8);
    assert_eq!(column(table_of(yields, "tests-clone"), "Clone: P").len(), 2);
    // Eight lines in one panel cannot be told apart.
    assert!(
        yields
            .figures
            .iter()
            .all(|figure| figure.id == "steadiness")
    );
}

#[test]
fn every_design_is_taken_over_its_seasons() {
    let cells: Vec<(usize, usize, usize)> = (0..4)
        .flat_map(|row| {
            (0..4).flat_map(move |column| (0..3).map(move |season| (row, column, season)))
        })
        .collect();
    let level =
        |&(row, column, _): &(usize, usize, usize)| ["a", "b", "c", "d"][(row + column) % 4];
    let value = |&(row, column, season): &(usize, usize, usize)| {
        6.0 + ((row + column) % 4) as f64 + 0.3 * chance(row, column, season)
    };
    let columns = |latin: bool| {
        let mut columns = vec![
            (
                "plot",
                texts(cells.iter().map(|c| format!("{}{}", c.0, c.1))),
            ),
            ("season", texts(cells.iter().map(|c| 2020 + c.2))),
            ("form", texts(cells.iter().map(level))),
            ("yield", numbers(cells.iter().map(value))),
        ];
        if latin {
            columns.push(("row", texts(cells.iter().map(|c| c.0))));
            columns.push(("column", texts(cells.iter().map(|c| c.1))));
        }
        table("plots", columns)
    };
    let form = factor("form", "Form", &["a", "b", "c", "d"], Some("a"));
    for (kind, latin, error) in [
        (DesignKind::LatinSquare, true, 6.0),
        (DesignKind::CompletelyRandomised, false, 12.0),
    ] {
        let mut made = Made::new(kind, vec![form.clone()], columns(latin)).with(response(
            "yield",
            "Yield",
            "kg/vine",
            Quantity::Yield,
        ));
        made.options = options(&[]);
        let found = findings(&made);
        let yields = section(&found, "yield");
        let tests = table_of(yields, "over-seasons-tests");
        assert_eq!(column(tests, "Error df")[0], error, "{kind:?}");
        let note = yields
            .notes
            .iter()
            .find(|note| note.text.contains("changed with the season"));
        assert!(note.is_some(), "{kind:?}");
    }
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
