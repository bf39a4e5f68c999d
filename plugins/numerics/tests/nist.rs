//! The one-way sets of NIST's Statistical Reference Datasets (analysis of variance), through the
//! layout engine, from decimal text: certified F at <https://www.itl.nist.gov/div898/strd/>.
#![allow(clippy::unwrap_used, clippy::print_stdout)]

mod support;

use caneplot_numerics::design::{Applied, Kind, Sheet};
use caneplot_numerics::strata::Classifier;
use support::{Csv, digits};

fn f_of(treatment: &[String], values: &[f64]) -> f64 {
    let plots: Vec<String> = (0..values.len()).map(|plot| format!("{plot:06}")).collect();
    let sheet = Sheet {
        kind: Kind::CompletelyRandomised,
        block: None,
        row: None,
        column: None,
        plot: Classifier::from_texts("plot", &plots, &[]),
        season: None,
        vines: false,
        treatments: vec![(
            Classifier::from_texts("treatment", treatment, &[]),
            Applied::Plot,
        )],
        block_by_season: false,
    };
    let layout = sheet.design().unwrap().layout;
    layout.analyse(values).lines[0].f.unwrap()
}

#[test]
fn measured_sets_agree_with_their_certified_f() {
    for (set, certified) in [
        ("SiRstv", 1.18046237440255),
        ("AtmWtAg", 15.946_733_567_793),
    ] {
        let data = Csv::read(&format!("data_{set}.csv"));
        let (_, values) = data.centred("response");
        let reached = digits(f_of(&data.texts("treatment"), &values), certified);
        println!("{set}: {reached:.1} digits of F");
        // The certified values have 15 digits, so that no more than about 14.5 can agree.
        assert!(reached > 14.0, "{set}: {reached}");
    }
}

#[test]
fn the_constructed_sets_keep_their_digits_at_every_offset() {
    // SmLs01 to SmLs09: nine treatments, means .4 .3 .5 .3 .5 … above 1, 10⁶ or 10¹²; in each the mean
    // once, then .1 below and .1 above in turn. F is the number of replicates, exactly. Centred on
    // the offset in decimals, all three offsets are the same numbers.
    for replicates in [21_usize, 201, 2001] {
        let (mut treatment, mut values) = (Vec::new(), Vec::new());
        for level in 1..=9 {
            let mean = match level {
                1 => 4,
                even if even % 2 == 0 => 3,
                _ => 5,
            };
            for place in 0..replicates {
                let tenths = match place {
                    0 => mean,
                    odd if odd % 2 == 1 => mean - 1,
                    _ => mean + 1,
                };
                treatment.push(level.to_string());
                values.push(f64::from(tenths) / 10.0);
            }
        }
        let reached = digits(f_of(&treatment, &values), replicates as f64);
        println!("{replicates} replicates: {reached:.1} digits of F");
        assert!(reached > 14.0, "{replicates} replicates: {reached}");
    }
}
