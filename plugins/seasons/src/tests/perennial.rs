//! A whole analysis against exact reference numbers and against sums worked out here.

use caneplot_plugin::findings::Cells;
use caneplot_readings::testing::text;
use serde_json::Value;

use super::trial::{column, findings, perennial, row, section, table_of};

fn close(a: f64, b: f64) {
    assert!((a - b).abs() <= 1e-10 * b.abs().max(1.0), "{a} is not {b}");
}

/// Lines of the exact analysis of variance, made in rational arithmetic from the decimal text.
fn exact(term: &str) -> (f64, f64) {
    let text = include_str!("../../../numerics/tests/reference/exact_anova.json");
    let all: Value = serde_json::from_str(text).unwrap();
    let found = all["perennial_split_in_time"]
        .as_array()
        .unwrap()
        .iter()
        .find(|line| line["term"] == term);
    let number = |key: &str| match &found.unwrap()[key] {
        Value::String(text) => text.parse().unwrap(),
        other => other.as_f64().unwrap(),
    };
    (number("F"), number("p"))
}

#[test]
fn treatments_over_all_seasons_have_the_exact_f_of_the_split_in_time() {
    let findings = findings(&perennial());
    println!("{}", text(&findings));
    let tests = table_of(section(&findings, "yield"), "over-seasons-tests");
    let (f, p) = exact("treatment");
    // A total is a mean times the number of seasons, so both have the same F.
    let at = row(tests, "Total of 6 seasons");
    close(column(tests, "F")[at], f);
    close(column(tests, "P")[at], p);
    assert_eq!(column(tests, "Error df")[at], 12.0);
}

#[test]
fn the_change_of_the_effect_with_the_season_has_the_exact_p() {
    let findings = findings(&perennial());
    let notes = &section(&findings, "yield").notes;
    let note = notes
        .iter()
        .find(|note| note.text.contains("changed with the season"))
        .unwrap();
    close(note.values["p"].value, exact("treatment:year").1);
}

/// F of treatments in complete blocks by the sums of squares of the textbook: values by block and
/// treatment.
fn textbook(values: &[Vec<f64>]) -> f64 {
    let (blocks, treatments) = (values.len() as f64, values[0].len() as f64);
    let grand: f64 = values.iter().flatten().sum::<f64>() / (blocks * treatments);
    let of_block: f64 = values
        .iter()
        .map(|row| treatments * (row.iter().sum::<f64>() / treatments - grand).powi(2))
        .sum();
    let of_treatment: f64 = (0..values[0].len())
        .map(|at| {
            let mean = values.iter().map(|row| row[at]).sum::<f64>() / blocks;
            blocks * (mean - grand).powi(2)
        })
        .sum();
    let total: f64 = values
        .iter()
        .flatten()
        .map(|value| (value - grand).powi(2))
        .sum();
    let error = total - of_block - of_treatment;
    (of_treatment / (treatments - 1.0)) / (error / ((blocks - 1.0) * (treatments - 1.0)))
}

/// The seasons of each plot: block, treatment, season.
fn plots() -> Vec<Vec<Vec<f64>>> {
    let made = perennial();
    let crop = made.plots.numbers("yield").unwrap();
    let block = made.plots.texts("block").unwrap();
    let pruning = made.plots.texts("pruning").unwrap();
    let levels: Vec<&String> = made.trial.factors[0]
        .levels
        .iter()
        .map(|level| &level.name)
        .collect();
    let mut found = vec![vec![Vec::new(); levels.len()]; 5];
    for row in 0..made.plots.rows {
        let at = block[row].as_deref().unwrap()[1..]
            .parse::<usize>()
            .unwrap()
            - 1;
        let level = levels
            .iter()
            .position(|level| Some(*level) == pruning[row].as_ref())
            .unwrap();
        found[at][level].push(crop[row].unwrap());
    }
    found
}

fn summed_up(of: impl Fn(&[f64]) -> f64) -> f64 {
    let values: Vec<Vec<f64>> = plots()
        .iter()
        .map(|block| block.iter().map(|seasons| of(seasons)).collect())
        .collect();
    textbook(&values)
}

#[test]
fn every_number_of_a_plot_has_the_f_of_the_textbook() {
    let findings = findings(&perennial());
    let tests = table_of(section(&findings, "yield"), "over-seasons-tests");
    let f = |value: &str| column(tests, "F")[row(tests, value)];
    // Six years one apart: deviations −2.5 to 2.5 with squares of 17.5.
    close(
        f("Change a year"),
        summed_up(|y| {
            y.iter()
                .enumerate()
                .map(|(t, y)| (t as f64 - 2.5) * y)
                .sum::<f64>()
                / 17.5
        }),
    );
    close(
        f("2016 less later seasons"),
        summed_up(|y| y[0] - y[1..].iter().sum::<f64>() / 5.0),
    );
    let deviation = |y: &[f64]| {
        let mean = y.iter().sum::<f64>() / 6.0;
        (y.iter().map(|y| (y - mean).powi(2)).sum::<f64>() / 5.0).sqrt()
    };
    close(f("SD between seasons"), summed_up(deviation));
    close(
        f("CV between seasons"),
        summed_up(|y| deviation(y) / (y.iter().sum::<f64>() / 6.0)),
    );
    close(
        f("Bienniality"),
        summed_up(|y| {
            y.windows(2)
                .map(|y| (y[1] - y[0]).abs() / (y[1] + y[0]))
                .sum::<f64>()
                / 5.0
        }),
    );
}

#[test]
fn a_single_season_has_its_own_f_and_means() {
    let findings = findings(&perennial());
    let seasons = table_of(section(&findings, "yield"), "seasons-pruning");
    assert_eq!(
        column(seasons, "Year of treatment"),
        [1.0, 2.0, 3.0, 4.0, 5.0, 6.0]
    );
    for season in 0..6 {
        let values: Vec<Vec<f64>> = plots()
            .iter()
            .map(|block| block.iter().map(|seasons| seasons[season]).collect())
            .collect();
        close(column(seasons, "F")[season], textbook(&values));
        let first = values.iter().map(|row| row[0]).sum::<f64>() / 5.0;
        close(column(seasons, "P1_minimal")[season], first);
    }
    assert!(seasons.notes[0].contains("not replications"));
}

#[test]
fn a_missing_plot_leaves_an_adjusted_analysis_that_names_it() {
    let mut made = perennial();
    let at = made
        .plots
        .columns
        .iter()
        .position(|(name, _)| name == "yield")
        .unwrap();
    let caneplot_plugin::Data::Numbers(values) = &mut made.plots.columns[at].1 else {
        unreachable!()
    };
    values[2] = None;
    let findings = findings(&made);
    let yields = section(&findings, "yield");
    let notes: Vec<&str> = yields.notes.iter().map(|note| note.text.as_str()).collect();
    let named = |words: &str| notes.iter().any(|note| note.contains(words));
    assert!(
        named("plot B1_P1_minimal has no value in 2018"),
        "{notes:?}"
    );
    assert!(named("2018 is tested on 19 plots"), "{notes:?}");
    assert!(named("rest on the 19 plots with every season"), "{notes:?}");
    let tests = table_of(yields, "over-seasons-tests");
    assert_eq!(column(tests, "Error df")[0], 11.0);
    let Cells::Number { values, .. } = &table_of(yields, "over-seasons").columns[1].cells else {
        panic!()
    };
    assert!(values.iter().all(Option::is_some));
}
