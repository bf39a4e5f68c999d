//! Resampled ratios against every resample visited in turn.
#![allow(missing_docs, clippy::unwrap_used)]

mod support;

use caneplot_numerics::bootstrap::Resamples;
use caneplot_numerics::random::Streams;
use support::{digits, json, number};

#[test]
fn the_3125_resamples_of_five_blocks_have_the_reference_distribution() {
    let text = std::fs::read_to_string(support::reference("ratio.csv")).unwrap();
    let reference = json("ratio_resampled.json");
    for (treatment, wanted) in reference["ratio_of_means"].as_object().unwrap() {
        let blocks: Vec<(f64, f64)> = text
            .lines()
            .filter(|line| line.split(',').nth(1) == Some(treatment))
            .map(|line| {
                let cells: Vec<&str> = line.split(',').collect();
                (cells[2].parse().unwrap(), cells[3].parse().unwrap())
            })
            .collect();
        let found = Resamples::new(5, &Streams::new(1, "ratio"), 0, |counts| {
            let total = |of: fn(&(f64, f64)) -> f64| -> f64 {
                blocks
                    .iter()
                    .zip(counts)
                    .map(|(b, &c)| of(b) * f64::from(c))
                    .sum()
            };
            total(|b| b.0) / total(|b| b.1)
        })
        .unwrap();
        let wanted = &wanted["exact_bootstrap_3125"];
        assert_eq!(found.number(), 3125);
        let agree = |found: f64, key: &str| {
            let wanted = number(&wanted[key]);
            assert!(
                digits(found, wanted) > 13.0,
                "{treatment} {key}: {found} for {wanted}"
            );
        };
        agree(found.mean(), "mean");
        agree(found.standard_deviation(), "sd_pop");
        agree(found.quantile(0.025), "q025_type7");
        agree(found.quantile(0.975), "q975_type7");
        agree(found.quantile(0.5), "q50");
        // The corrected interval holds the estimate and stays within the resamples.
        let (low, high) = found.interval(0.95).unwrap();
        assert!(low < found.estimate && found.estimate < high);
        assert!(found.quantile(0.0) <= low && high <= found.quantile(1.0));
    }
}
