//! Covariates that the trial declares.

use serde_json::json;

use super::trial::{Noise, Trial};
use super::{
    missing_blocks, near, never_says, number, numbers, perennial, reference, says, shown, table,
};

/// The set with missing plots and a record from before that goes with the yield.
fn recorded(change: impl Fn(usize, f64) -> String) -> Trial {
    let base = missing_blocks();
    let mut noise = Noise(3);
    let values = base
        .column("yield_kg")
        .iter()
        .enumerate()
        .map(|(row, text)| {
            let crop: f64 = text.parse().unwrap();
            change(row, 0.3 * crop + 0.1 * noise.normal())
        })
        .collect();
    base.covariate("before", "Prunings before", "kg/vine", values)
}

fn plain(row: usize, value: f64) -> String {
    let _ = row;
    format!("{value:.3}")
}

#[test]
fn responses_are_adjusted_for_it_without_asking() {
    let findings = recorded(plain).findings();
    shown("declared covariate", &findings);
    says(
        &findings,
        "Means are adjusted to the mean of prunings before (",
    );
    says(&findings, "off the error variance of a plot");
    says(&findings, "no sign of different slopes on prunings before");
    let slopes = table(&findings, "covariates");
    assert_eq!(slopes.columns[0].cells.len(), 1);
    assert!(numbers(slopes, "Slope")[0].unwrap() > 0.5);
    let off = recorded(plain)
        .option("use_covariates", json!(false))
        .findings();
    never_says(&off, "prunings before");
    // Without it the analysis is that of the reference.
    let want = reference("rcbd_missing_block_random.json");
    let kr = &want["tests"]["treatment"]["kenward_roger"];
    near(
        numbers(table(&off, "tests"), "F")[0],
        number(&kr["F_scaled"]),
    );
}

#[test]
fn one_that_tells_nothing_is_left_out_with_a_sentence() {
    let untouched = missing_blocks().findings();
    let constant = recorded(|_, _| "1.2".to_owned()).findings();
    says(
        &constant,
        "Not adjusted for prunings before: it is the same in every plot",
    );
    let base = missing_blocks();
    let with = |column: &str| -> Vec<String> {
        base.column(column)
            .iter()
            .map(|level| format!("{}", level[1..].parse::<f64>().unwrap() * 0.37))
            .collect()
    };
    let treatments = missing_blocks()
        .covariate("before", "Prunings before", "kg/vine", with("treatment"))
        .findings();
    says(&treatments, "the same in all plots of a treatment");
    let blocks = missing_blocks()
        .covariate("before", "Prunings before", "kg/vine", with("block"))
        .findings();
    says(&blocks, "does not vary inside blocks");
    let twice = recorded(plain);
    let doubled: Vec<String> = twice
        .column("before")
        .iter()
        .map(|text| format!("{}", 2.0 * text.parse::<f64>().unwrap()))
        .collect();
    let twice = twice
        .covariate("again", "The same again", "", doubled)
        .findings();
    says(
        &twice,
        "Not adjusted for the same again: it repeats another covariate",
    );
    for findings in [&constant, &treatments, &blocks] {
        let (got, want) = (table(findings, "tests"), table(&untouched, "tests"));
        near(numbers(got, "F")[0], numbers(want, "F")[0].unwrap());
    }
}

#[test]
fn plots_without_it_are_left_out_unless_they_are_many() {
    let few = recorded(|row, value| match row {
        4 => String::new(),
        _ => format!("{value:.3}"),
    })
    .findings();
    says(
        &few,
        "1 plot is left out because it lacks the covariate prunings before: plot 5 of block B2",
    );
    let many = recorded(|row, value| match row % 3 {
        0 => String::new(),
        _ => format!("{value:.3}"),
    })
    .findings();
    says(
        &many,
        "Not adjusted for prunings before: more than a fifth of the plots lack it",
    );
}

#[test]
fn it_serves_all_seasons_of_a_plot() {
    let base = perennial("perennial.csv");
    let mut noise = Noise(5);
    let mut of_plot = std::collections::BTreeMap::new();
    let values: Vec<String> = base
        .column("plot")
        .iter()
        .map(|plot| {
            of_plot
                .entry(plot.clone())
                .or_insert_with(|| format!("{:.3}", 1.0 + 0.2 * noise.normal()))
                .clone()
        })
        .collect();
    let findings = base
        .covariate("trunk", "Trunk girth", "cm", values)
        .findings();
    shown("covariate over seasons", &findings);
    says(&findings, "adjusted to the mean of trunk girth (");
    assert_eq!(numbers(table(&findings, "covariates"), "df").len(), 1);
}
