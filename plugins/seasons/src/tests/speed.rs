//! A researcher waits for nothing.

use std::time::Instant;

use caneplot_plugin::Data;
use caneplot_plugin::request::Quantity;
use caneplot_readings::testing::response;
use serde_json::json;

use super::trial::{chance, findings, options, perennial};

#[test]
fn ten_responses_take_a_moment() {
    let mut made = perennial();
    let crop = made.plots.numbers("yield").unwrap().to_vec();
    for number in 1..10 {
        let name = format!("other_{number}");
        let values = crop
            .iter()
            .enumerate()
            .map(|(row, value)| value.map(|value| value + chance(row, number, row / 7)));
        made.plots
            .columns
            .push((name.clone(), Data::Numbers(values.collect())));
        let quantity = [Quantity::ClusterCount, Quantity::Other][number % 2];
        made = made.with(response(&name, &name, "kg/vine", quantity));
    }
    made.options = options(&[("margin", json!("yield 10 %"))]);
    let began = Instant::now();
    let found = findings(&made);
    let took = began.elapsed();
    println!("{took:?} for {} sections", found.sections.len());
    // Far above what is measured (see the printed time), so that a busy machine does not fail it.
    assert!(took.as_secs_f64() < 5.0);
}
