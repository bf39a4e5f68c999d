//! Row and position as covariates.

use serde_json::json;

use super::trial::{Noise, Trial};
use super::{near, never_says, numbers, says, shown, table};
use caneplot_plugin::Analysis;
use caneplot_plugin::request::{DesignKind, Role};

/// Six blocks of four plots, two in each of two rows, with a slope along the row and in one row of
/// each block against the other.
fn sloped() -> Trial {
    let mut noise = Noise(9);
    let order = [
        0, 1, 2, 3, 2, 0, 3, 1, 1, 3, 0, 2, 3, 2, 1, 0, 0, 2, 3, 1, 1, 0, 2, 3,
    ];
    let column = |of: &mut dyn FnMut(usize) -> String| (0..24).map(of).collect::<Vec<String>>();
    let row = |plot: usize| 2 * (plot / 4) + plot % 4 / 2 + 1;
    let position = |plot: usize| 5 * (plot % 2) + plot / 4;
    let columns = vec![
        (
            "block".to_owned(),
            column(&mut |plot| format!("B{}", plot / 4)),
        ),
        (
            "plot".to_owned(),
            column(&mut |plot| (plot + 1).to_string()),
        ),
        (
            "treatment".to_owned(),
            column(&mut |plot| format!("T{}", order[plot])),
        ),
        (
            "field_row".to_owned(),
            column(&mut |plot| row(plot).to_string()),
        ),
        (
            "field_position".to_owned(),
            column(&mut |plot| position(plot).to_string()),
        ),
        (
            "yield_kg".to_owned(),
            column(&mut |plot| {
                let value = 4.0 + 0.4 * position(plot) as f64 + 0.3 * noise.normal();
                format!("{value:.3}")
            }),
        ),
    ];
    let mut trial = Trial::made(DesignKind::RandomisedBlock, columns)
        .factor("treatment", "Treatment", Role::Treatment, &[])
        .response("yield_kg", "Yield", "kg/vine", "4");
    trial.field = true;
    trial
}

#[test]
fn a_slope_of_the_field_is_taken_out_where_it_is_asked_for() {
    let plain = sloped().findings();
    never_says(&plain, "position in the row");
    let findings = sloped().option("field_trend", json!("linear")).findings();
    shown("field trend", &findings);
    let slopes = table(&findings, "covariates");
    // The slope was made 0.4.
    let slope = numbers(slopes, "Slope")[1].unwrap();
    assert!((slope - 0.4).abs() < 0.1, "{slope}");
    says(&findings, "off the error variance of a plot");
    let methods = findings.methods.join(" ");
    assert!(methods.contains("adjusted for where plots lie in the vineyard"));
}

#[test]
fn squares_take_out_a_bend_as_well() {
    let findings = sloped()
        .option("field_trend", json!("quadratic"))
        .findings();
    let slopes = table(&findings, "covariates");
    assert_eq!(slopes.columns[0].cells.len(), 4);
    says(&findings, "square of position in the row");
    // Straight lines and squares about the mean: shifting all positions changes nothing.
    let shifted: Vec<String> = sloped()
        .column("field_position")
        .iter()
        .map(|at| (at.parse::<f64>().unwrap() + 100.0).to_string())
        .collect();
    let other = sloped()
        .with("field_position", shifted)
        .option("field_trend", json!("quadratic"))
        .findings();
    let f = numbers(table(&findings, "tests"), "F")[0];
    near(f, numbers(table(&other, "tests"), "F")[0].unwrap());
}

#[test]
fn a_row_that_is_a_block_is_left_to_the_blocks() {
    let rows = (0..24).map(|plot| (plot / 4).to_string()).collect();
    let findings = sloped()
        .with("field_row", rows)
        .option("field_trend", json!("linear"))
        .findings();
    says(
        &findings,
        "Not adjusted for vineyard row: it does not vary inside blocks",
    );
    assert_eq!(table(&findings, "covariates").columns[0].cells.len(), 1);
}

#[test]
fn a_trend_without_places_is_refused() {
    let mut trial = sloped().option("field_trend", json!("linear"));
    trial.field = false;
    let refusal = crate::Mixed.analyse(&trial.call()).unwrap_err();
    assert!(
        refusal.message.contains("does not say where they lie"),
        "{refusal}"
    );
}
