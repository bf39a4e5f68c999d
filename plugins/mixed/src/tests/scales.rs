//! Error variances by treatment and other scales.

use caneplot_plugin::request::{DesignKind, Role};
use serde_json::json;

use super::trial::{Noise, Trial};
use super::{
    missing_blocks, near, never_says, number, numbers, oats, perennial, reference, says, shown,
    table,
};

#[test]
fn treatments_with_error_variances_of_their_own() {
    let findings = perennial("perennial.csv")
        .option("variance", json!("by treatment"))
        .option("structure", json!("autoregressive"))
        .option("block_seasons", json!("pool"))
        .findings();
    shown("by treatment", &findings);
    let want = reference("perennial_ar1_by_treatment.json");
    let parts = want["variance_parameters"].as_object().unwrap();
    let ratios = numbers(
        table(&findings, "spreads"),
        "Variance over that of the first",
    );
    for (got, (name, want)) in ratios[1..].iter().zip(parts.iter().skip(3)) {
        assert!(name.starts_with("ratio"));
        near(*got, number(want));
    }
    let tests = table(&findings, "tests");
    for (at, term) in ["treatment", "year", "treatment:year"].iter().enumerate() {
        let want = &want["tests"][*term]["kenward_roger_firstorder_no_R_term"];
        near(numbers(tests, "F")[at], number(&want["F_scaled"]));
    }
    says(&findings, "has an error variance of its own");
    let split = oats().option("variance", json!("by treatment")).findings();
    says(
        &split,
        "Each combination of variety and nitrogen has an error variance",
    );
}

#[test]
fn variances_that_cannot_be_found_give_way_to_one_with_a_sentence() {
    // Plots of T1 reproduce their blocks exactly: its variance has no estimate above zero
    // (see reference/README-mixed.md).
    let findings = missing_blocks()
        .option("variance", json!("by treatment"))
        .findings();
    shown("no variance by treatment", &findings);
    says(&findings, "one variance for all is used");
    let equal = missing_blocks().findings();
    near(
        numbers(table(&findings, "tests"), "F")[0],
        numbers(table(&equal, "tests"), "F")[0].unwrap(),
    );
}

/// Six blocks of five treatments whose crop varies by a share of itself.
fn multiplied(shift: f64) -> Trial {
    let mut noise = Noise(8);
    let names = ["block", "treatment", "plot", "crop", "logged"];
    let mut columns: Vec<(String, Vec<String>)> = names
        .iter()
        .map(|name| ((*name).to_owned(), Vec::new()))
        .collect();
    for block in 0..8 {
        let of_block = 0.2 * noise.normal();
        for treatment in 0..5 {
            let log = 0.5 * f64::from(treatment) + of_block + 0.4 * noise.normal() + shift;
            let crop = format!("{:.4}", log.exp());
            let logged = format!("{}", crop.parse::<f64>().unwrap().ln());
            let row = [
                format!("B{block}"),
                ["none", "light", "middle", "hard", "bare"][treatment as usize].to_owned(),
                treatment.to_string(),
                crop,
                logged,
            ];
            for (column, cell) in columns.iter_mut().zip(row) {
                column.1.push(cell);
            }
        }
    }
    Trial::made(DesignKind::RandomisedBlock, columns)
        .factor("treatment", "Pruning", Role::Treatment, &[])
        .response("crop", "Crop", "kg/vine", "0")
}

#[test]
fn logarithms_give_ratios_of_medians() {
    let logged = multiplied(0.0).option("scale", json!("log")).findings();
    shown("log", &logged);
    let mut by_hand = multiplied(0.0);
    by_hand.responses.clear();
    let by_hand = by_hand.response("logged", "Log crop", "", "0").findings();
    let (got, want) = (table(&logged, "tests"), table(&by_hand, "tests"));
    near(numbers(got, "F")[0], numbers(want, "F")[0].unwrap());
    let medians = numbers(table(&logged, "means-treatment"), "Adjusted median");
    let means = numbers(table(&by_hand, "means-treatment"), "Adjusted mean");
    for (median, mean) in medians.iter().zip(&means) {
        near(*median, mean.unwrap().exp());
    }
    let (ratios, differences) = (
        numbers(table(&logged, "pairs-treatment"), "Ratio"),
        numbers(table(&by_hand, "pairs-treatment"), "Difference"),
    );
    for (ratio, difference) in ratios.iter().zip(&differences) {
        near(*ratio, difference.unwrap().exp());
    }
    says(&logged, "times as much");
    says(&logged, "brought back as medians");
    says(&logged, "above the median");
}

#[test]
fn the_scale_is_chosen_by_its_likelihood() {
    let chosen = multiplied(0.0).option("scale", json!("choose")).findings();
    shown("chosen", &chosen);
    says(&chosen, "The power of the response that fits best");
    says(&chosen, "only logarithms lie inside it");
    let even = missing_blocks().option("scale", json!("choose")).findings();
    says(&even, "the values as measured are used");
    never_says(&even, "median");
}

#[test]
fn values_without_a_logarithm_are_refused_and_named() {
    let trial = || {
        let trial = multiplied(0.0);
        let mut values = trial.column("crop").clone();
        values[7] = "0".to_owned();
        trial.with("crop", values)
    };
    let refused = trial().option("scale", json!("log")).findings();
    says(
        &refused,
        "1 value of 'Crop' is not above 0 (plot 2 of block B1)",
    );
    let kept = trial().option("scale", json!("choose")).findings();
    says(&kept, "The scale could not be chosen");
    assert!(numbers(table(&kept, "tests"), "F")[0].is_some());
}
