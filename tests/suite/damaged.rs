//! A trial with lost plots, a dead row, a baseline and several seasons: what is missing is named, the
//! analyses that suit it run, and their figures and tables are there.

use std::fs;
use std::sync::OnceLock;

use caneplot_tests::truth::winter_damage::{DEAD_ROW, REMOVED};
use serde_json::Value as Json;

use crate::support::{Scratch, column, section, table};

mod truth;

const LEVELS: [f64; 5] = [16.0, 24.0, 32.0, 40.0, 48.0];

/// The run every test here reads, and what it found.
fn run() -> &'static (Scratch, Json) {
    static RUN: OnceLock<(Scratch, Json)> = OnceLock::new();
    RUN.get_or_init(|| {
        let scratch = Scratch::demo("winter-damage");
        let findings = scratch.findings();
        (scratch, findings)
    })
}

fn findings() -> &'static Json {
    &run().1
}

fn numbers(table: &Json, name: &str) -> Vec<f64> {
    let values = column(table, name).iter();
    values
        .map(|value| value.as_f64().unwrap_or(f64::NAN))
        .collect()
}

fn texts(table: &Json, name: &str) -> Vec<String> {
    let values = column(table, name).iter();
    values
        .map(|value| value.as_str().unwrap_or_default().to_owned())
        .collect()
}

/// Statements and notes of a section, each with its numbers.
fn said(section: &Json) -> impl Iterator<Item = &Json> {
    ["statements", "notes"]
        .into_iter()
        .flat_map(|key| section[key].as_array().expect("a list"))
}

/// Records of plots in a season that the generator left out.
fn lost() -> usize {
    let seasons = |from: u32| (2026 - from) as usize;
    REMOVED.iter().map(|(_, _, from)| seasons(*from)).sum()
}

#[test]
fn lost_plots_are_counted_and_named_by_the_mixed_model() {
    for response in ["yield", "brix", "pruning_weight", "bud_break"] {
        let section = section(findings(), "mixed", response);
        let missing = said(section)
            .find(|statement| !statement["values"]["missing"].is_null())
            .unwrap_or_else(|| panic!("no number of missing records in {section:#}"));
        assert_eq!(missing["values"]["missing"]["value"], lost() as f64);
        assert_eq!(missing["values"]["all"]["value"], 120.0);
        assert!(
            said(section).any(|one| one["text"]
                .as_str()
                .is_some_and(|text| text.contains("B2/4"))),
            "{section:#}"
        );
    }
}

#[test]
fn the_dead_row_is_named_and_leaves_its_plots_one_vine_less() {
    let (scratch, _) = run();
    let report = fs::read_to_string(scratch.report().join("report.md")).expect("a report");
    assert!(report.contains("5 vines dead"), "the remark on the stand");
    assert!(
        report.contains(&format!("row {}", DEAD_ROW.1)),
        "the damage"
    );
    let plots = fs::read_to_string(scratch.report().join("data/plots.csv")).expect("the data");
    let mut lines = plots
        .lines()
        .map(|line| line.split(',').collect::<Vec<_>>());
    let header = lines.next().expect("a header");
    let at = |name| {
        let found = header.iter().position(|heading| *heading == name);
        found.unwrap_or_else(|| panic!("a column {name}"))
    };
    let (block, season) = (at("block"), at("season"));
    let (crop, of_space) = (at("yield"), at("yield_per_space"));
    let (alive, planted) = (at("vines_alive"), at("vines_planted"));
    let mut struck = 0;
    for line in lines.filter(|line| !line[crop].is_empty()) {
        let dead = line[block] == format!("B{}", DEAD_ROW.0)
            && line[season].parse::<u32>().expect("a year") >= DEAD_ROW.2;
        struck += usize::from(dead);
        assert_eq!(
            (line[alive], line[planted]),
            (if dead { "4" } else { "5" }, "5")
        );
        let [crop, of_space] = [crop, of_space].map(|at| line[at].parse::<f64>().expect("kg"));
        let share = if dead { 0.8 } else { 1.0 };
        assert!((of_space - share * crop).abs() < 1e-9, "{line:?}");
    }
    assert_eq!(struck, 5 * 2, "five plots in two seasons");
}

#[test]
fn the_program_chooses_the_analyses_that_suit_a_damaged_trial() {
    let names: Vec<&str> = findings()["analyses"]
        .as_array()
        .expect("analyses")
        .iter()
        .map(|one| one["name"].as_str().expect("a name"))
        .collect();
    for name in [
        "mixed",
        "response",
        "components",
        "counts",
        "evenness",
        "seasons",
        "ratios",
    ] {
        assert!(names.contains(&name), "{name} in {names:?}");
    }
    assert!(!names.contains(&"anova"), "{names:?}");
}

#[test]
fn buds_are_counted_as_such_in_the_one_winter_they_were_cut() {
    let (scratch, _) = run();
    let means = table(section(findings(), "counts", "bud_survival"), "means");
    assert!(texts(means, "Season").iter().all(|season| season == "2024"));
    let (alive, buds) = (numbers(means, "Alive"), numbers(means, "Buds"));
    let mean = numbers(means, "Mean");
    let (low, high) = (numbers(means, "Low, 95 %"), numbers(means, "High, 95 %"));
    // The same sums from the files.
    let read = |name| scratch.read(name);
    let layout = read("layout.csv");
    let heading = layout.lines().next().expect("a heading");
    let at = heading.split(',').position(|name| name == "nodes");
    let at = at.expect("a column of nodes");
    let nodes: Vec<(String, f64)> = layout
        .lines()
        .skip(1)
        .map(|line| {
            let cells: Vec<&str> = line.split(',').collect();
            (cells[..2].join(","), cells[at].parse().expect("nodes"))
        })
        .collect();
    for (at, level) in LEVELS.iter().enumerate() {
        let (mut cut, mut living) = (0.0, 0.0);
        for line in read("buds.csv").lines().skip(1) {
            let cells: Vec<&str> = line.split(',').collect();
            let plot = cells[1..3].join(",");
            if nodes.contains(&(plot, *level)) {
                cut += cells[3].parse::<f64>().expect("buds");
                living += cells[4].parse::<f64>().expect("buds");
            }
        }
        assert_eq!((alive[at], buds[at]), (living, cut), "{level} nodes");
        assert!(low[at] < mean[at] && mean[at] < high[at]);
        assert!((mean[at] - living / cut).abs() < 0.02, "{level} nodes");
    }
}

#[test]
fn every_figure_and_table_found_is_a_file_of_the_report() {
    let (scratch, findings) = run();
    let mut figures = 0;
    for analysis in findings["analyses"].as_array().expect("analyses") {
        let name = analysis["name"].as_str().expect("a name");
        let sections = analysis["findings"]["sections"].as_array();
        for section in sections.unwrap_or_else(|| panic!("{name} has findings")) {
            let id = section["id"].as_str().expect("an id");
            let ids = |key: &str| {
                let all = section[key].as_array().expect("a list").iter();
                all.map(|one| one["id"].as_str().expect("an id"))
                    .collect::<Vec<_>>()
            };
            for figure in ids("figures") {
                figures += 1;
                for ending in ["svg", "png"] {
                    let file = format!("figures/{name}-{id}-{figure}.{ending}");
                    let size = fs::metadata(scratch.report().join(&file)).map(|file| file.len());
                    assert!(size.is_ok_and(|size| size > 1000), "{file}");
                }
            }
            for table in ids("tables") {
                let file = format!("tables/{name}-{id}-{table}.csv");
                assert!(scratch.report().join(&file).is_file(), "{file}");
            }
        }
    }
    assert!(figures > 20, "{figures}");
}
