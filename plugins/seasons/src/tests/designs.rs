//! Split plots, Latin squares, plots at random, and factors of many levels.

use caneplot_plugin::Data;
use caneplot_plugin::request::{DesignKind, Quantity, Role};
use caneplot_readings::testing::{Made, factor, numbers, response, sentence, table, text, texts};
use serde_json::json;

use super::trial::{chance, column, findings, options, section, table_of};

fn crop(block: usize, treatment: usize, season: usize) -> f64 {
    6.0 + treatment as f64 + 0.3 * chance(block, treatment, season)
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
    let words = sentence(&section(&findings(&made), "yield").statements[0]);
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
            ("yield", numbers(cells.iter().map(|c| crop(c.0, c.1, c.2)))),
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
