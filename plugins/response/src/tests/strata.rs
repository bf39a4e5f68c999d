//! The error of every design is that of its stratum, as exact arithmetic has it.

use std::path::Path;

use caneplot_plugin::request::{DesignKind, Role};
use serde_json::Value;

use super::trial::{Columns, Trial, factor};
use crate::options::Options;
use crate::rows::Rows;
use crate::study::Study;

fn folder() -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../numerics/tests/reference")
}

/// A reference data set with its columns renamed; levels such as "A3" become "3".
fn data(name: &str, names: &[(&str, &str)], amounts: &[&str]) -> Columns {
    let text = std::fs::read_to_string(folder().join("data").join(name)).unwrap();
    let lines: Vec<Vec<&str>> = text.lines().map(|line| line.split(',').collect()).collect();
    names
        .iter()
        .map(|(own, ours)| {
            let at = lines[0]
                .iter()
                .position(|cell| cell.trim_matches('"') == *own)
                .unwrap();
            let values = lines[1..]
                .iter()
                .map(|line| line[at].trim_matches('"'))
                .map(|cell| match amounts.contains(ours) {
                    true => number(cell),
                    false => cell.to_owned(),
                });
            ((*ours).to_owned(), values.collect())
        })
        .collect()
}

/// The amount a level's name stands for: its number, or the place of its letter.
fn number(name: &str) -> String {
    let digits: String = name
        .chars()
        .skip_while(|c| !c.is_ascii_digit())
        .take_while(|c| c.is_ascii_digit() || *c == '.')
        .collect();
    if digits.is_empty() {
        let letter = u32::from(name.chars().next().unwrap()) - u32::from('A') + 1;
        return letter.to_string();
    }
    digits
}

fn with_plots(mut columns: Columns, parts: &[&str]) -> Columns {
    let column = |name: &str| &columns.iter().find(|(own, _)| own == name).unwrap().1;
    let plots = (0..columns[0].1.len())
        .map(|row| {
            let cells: Vec<&str> = parts
                .iter()
                .map(|part| column(part)[row].as_str())
                .collect();
            cells.join("-")
        })
        .collect();
    columns.push(("plot".to_owned(), plots));
    columns
}

fn levels_of<'a>(columns: &'a Columns, name: &str) -> Vec<&'a str> {
    let column = columns.iter().find(|(own, _)| own == name);
    let mut levels: Vec<&str> = column.unwrap().1.iter().map(String::as_str).collect();
    levels.sort_unstable();
    levels.dedup();
    levels
}

fn exact(set: &str, stratum: &str, term: &str) -> (usize, f64) {
    let text = std::fs::read_to_string(folder().join("exact_anova.json")).unwrap();
    let all: Value = serde_json::from_str(&text).unwrap();
    let line = all[set]
        .as_array()
        .unwrap()
        .iter()
        .find(|line| line["stratum"] == stratum && line["term"] == term)
        .unwrap();
    let squares = line["SS"].as_str().unwrap().parse().unwrap();
    (line["df"].as_u64().unwrap() as usize, squares)
}

fn same(what: &str, got: f64, want: f64) {
    let apart = ((got - want) / want).abs();
    assert!(apart < 1e-11, "{what}: {got} instead of {want}");
}

/// Checks error and levels of a factor; `rows_a_unit` rows make one unit of its stratum.
fn check(trial: &Trial, at: usize, rows_a_unit: f64, set: &str, stratum: &str, term: &str) {
    let call = trial.call();
    let options = Options::of(&call).unwrap();
    let response = &trial.info.responses[0];
    let rows = Rows::of(&call, response).unwrap();
    let study = Study::new(&trial.info, &options, response, &rows, at);
    let levels = &study
        .overall
        .as_ref()
        .map_err(String::as_str)
        .unwrap()
        .levels;
    let (df, squares) = exact(set, stratum, "Residuals");
    assert_eq!(levels.error.df, df, "{set}, {stratum}");
    same("error", rows_a_unit * levels.error.sum_of_squares, squares);
    let (_, squares) = exact(set, stratum, term);
    same(term, rows_a_unit * levels.sum_of_squares(), squares);
}

#[test]
fn nitrogen_in_sub_plots() {
    let names = [
        ("Block", "block"),
        ("Variety", "variety"),
        ("nitro", "nitro"),
        ("yield", "yield"),
    ];
    let columns = with_plots(data("nlme_Oats.csv", &names, &[]), &["variety", "nitro"]);
    let factors = vec![
        factor(
            "variety",
            "Variety",
            Role::WholePlot,
            &levels_of(&columns, "variety"),
        ),
        factor(
            "nitro",
            "Nitrogen",
            Role::SubPlot,
            &levels_of(&columns, "nitro"),
        ),
    ];
    let mut trial = Trial::new(DesignKind::SplitPlot, factors, columns);
    trial.info.responses[0].offset = 100.0;
    check(&trial, 1, 1.0, "oats", "Within", "N");
}

#[test]
fn strips_of_both_directions() {
    let names = [
        ("block", "block"),
        ("prune", "a"),
        ("soil", "b"),
        ("yield", "yield"),
    ];
    let columns = with_plots(data("sim_stripplot.csv", &names, &["a", "b"]), &["a", "b"]);
    let factors = vec![
        factor("a", "A", Role::RowStrip, &levels_of(&columns, "a")),
        factor("b", "B", Role::CrossStrip, &levels_of(&columns, "b")),
    ];
    let trial = Trial::new(DesignKind::StripPlot, factors, columns);
    check(&trial, 0, 3.0, "stripplot_sim", "R:A", "A");
    check(&trial, 1, 4.0, "stripplot_sim", "R:B", "B");
}

#[test]
fn buds_in_sub_plots_that_are_split_again() {
    let names = [
        ("block", "block"),
        ("irrigation", "irrigation"),
        ("buds", "buds"),
        ("thinning", "thinning"),
        ("yield", "yield"),
    ];
    let columns = with_plots(
        data("sim_splitsplit2.csv", &names, &[]),
        &["irrigation", "buds", "thinning"],
    );
    let factors = vec![
        factor(
            "irrigation",
            "Irrigation",
            Role::WholePlot,
            &levels_of(&columns, "irrigation"),
        ),
        factor("buds", "Buds", Role::SubPlot, &levels_of(&columns, "buds")),
        factor(
            "thinning",
            "Thinning",
            Role::SubSubPlot,
            &levels_of(&columns, "thinning"),
        ),
    ];
    let trial = Trial::new(DesignKind::SplitSplitPlot, factors, columns);
    check(
        &trial,
        1,
        2.0,
        "splitsplit",
        "block:irrigation:buds",
        "buds",
    );
}

#[test]
fn a_latin_square() {
    let names = [
        ("rowpos", "row"),
        ("colpos", "column"),
        ("treatment", "dose"),
        ("decrease", "yield"),
    ];
    let columns = with_plots(
        data("datasets_OrchardSprays.csv", &names, &["dose"]),
        &["row", "column"],
    );
    let factors = vec![factor(
        "dose",
        "Dose",
        Role::Treatment,
        &levels_of(&columns, "dose"),
    )];
    let trial = Trial::new(DesignKind::LatinSquare, factors, columns);
    check(&trial, 0, 1.0, "orchardsprays", "all", "treatment");
}

#[test]
fn means_over_seasons_and_parallelism_within_plots() {
    let names = [
        ("block", "block"),
        ("treatment", "nodes"),
        ("plot", "plot"),
        ("year", "season"),
        ("yield_kg", "yield"),
    ];
    // "P1_minimal" is the first of four treatments: 1.
    let columns = data("sim_perennial_ar1.csv", &names, &["nodes"]);
    let factors = vec![factor(
        "nodes",
        "Nodes",
        Role::Treatment,
        &levels_of(&columns, "nodes"),
    )];
    let trial = Trial::new(DesignKind::RandomisedBlock, factors, columns);
    check(
        &trial,
        0,
        6.0,
        "perennial_split_in_time",
        "block:treatment",
        "treatment",
    );
    let call = trial.call();
    let options = Options::of(&call).unwrap();
    let response = &trial.info.responses[0];
    let rows = Rows::of(&call, response).unwrap();
    let study = Study::new(&trial.info, &options, response, &rows, 0);
    let test = &study.season_group().unwrap().test;
    let (df, squares) = exact("perennial_split_in_time", "Within", "Residuals");
    assert_eq!(test.error.df, df);
    same("error", test.error.sum_of_squares, squares);
    let (df, squares) = exact("perennial_split_in_time", "Within", "treatment:year");
    let whole = test.whole.unwrap();
    assert_eq!(whole.df, df);
    same("interaction", whole.sum_of_squares, squares);
}
