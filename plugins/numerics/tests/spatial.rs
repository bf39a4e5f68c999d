//! The look at the field against references (`reference/README-spatial.md` says how they were made)
//! and against what chance alone does.

#![allow(
    clippy::unwrap_used,
    reason = "helpers of tests read references that must be there"
)]

mod common;

use std::collections::BTreeMap;

use caneplot_numerics::design::{Applied, Kind, Sheet};
use caneplot_numerics::random::Streams;
use caneplot_numerics::spatial::{
    Covariate, Direction, Ground, Likeness, Pair, Place, SpatialError, Surface, neighbours, patches,
};
use caneplot_numerics::strata::Classifier;
use common::{digits, json, rows};
use serde_json::Value;

struct Trial {
    ground: Ground,
    values: Vec<f64>,
    row: Vec<f64>,
    position: Vec<f64>,
    sets: Vec<Vec<Pair>>,
}

fn sheet(kind: Kind, block: &[String], treatments: Vec<(&str, &[String], Applied)>) -> Sheet {
    let plots: Vec<String> = (0..block.len()).map(|plot| plot.to_string()).collect();
    Sheet {
        kind,
        block: Some(Classifier::from_texts("block", block, &[])),
        row: None,
        column: None,
        plot: Classifier::from_texts("plot", &plots, &[]),
        season: None,
        vines: false,
        treatments: treatments
            .into_iter()
            .map(|(name, levels, role)| {
                let mut order = levels.to_vec();
                order.sort();
                order.dedup();
                (Classifier::from_texts(name, levels, &order), role)
            })
            .collect(),
        block_by_season: false,
    }
}

fn sets(row: &[f64], position: &[f64]) -> Vec<Vec<Pair>> {
    let places: Vec<Option<Place>> = row
        .iter()
        .zip(position)
        .map(|(&row, &at)| {
            Some(Place {
                row,
                first: at,
                last: at,
            })
        })
        .collect();
    let both = neighbours(&places, None);
    let only = |direction| -> Vec<Pair> {
        let chosen = both.iter().filter(|pair| pair.direction == direction);
        chosen.copied().collect()
    };
    vec![only(Direction::Along), only(Direction::Across), both]
}

/// The wheat trial; every ninth plot left out where `gaps`.
fn wheat(gaps: bool) -> Trial {
    let rows: Vec<_> = rows("spatial/wheat.csv")
        .into_iter()
        .enumerate()
        .filter(|(at, _)| !gaps || at % 9 != 4)
        .map(|(_, row)| row)
        .collect();
    let text = |column: &str| -> Vec<String> {
        rows.iter().map(|row| row.text(column).to_owned()).collect()
    };
    let number = |column: &str| -> Vec<f64> { rows.iter().map(|r| r.number(column)).collect() };
    let variety = text("variety");
    let sheet = sheet(
        Kind::RandomisedBlock,
        &text("block"),
        vec![("variety", &variety, Applied::Plot)],
    );
    let (row, position) = (number("row"), number("position"));
    Trial {
        ground: Ground::of(&sheet),
        values: number("yield"),
        sets: sets(&row, &position),
        row,
        position,
    }
}

fn agree(found: f64, wanted: &Value, least: f64, what: &str) {
    let wanted = wanted.as_f64().unwrap();
    assert!(
        digits(found, wanted) >= least,
        "{what}: {found} for {wanted}"
    );
}

#[test]
fn neighbours_in_a_field_of_wheat_are_as_alike_as_the_reference_says() {
    for (name, gaps) in [("wheat", false), ("gaps", true)] {
        let wanted = &json("spatial/spatial.json")[name];
        let Trial {
            ground,
            values,
            sets,
            ..
        } = wheat(gaps);
        let (_, df) = ground.residuals(&values);
        assert_eq!(df as f64, wanted["df"].as_f64().unwrap());
        let found = patches(&ground, &values, &sets, 199, &Streams::new(1, "wheat")).unwrap();
        for (found, way) in found.into_iter().zip(["along", "across", "both"]) {
            let (found, wanted) = (found.unwrap(), &wanted[way]);
            assert_eq!(found.pairs as u64, wanted["pairs"].as_u64().unwrap());
            agree(found.moran, &wanted["moran"], 12.0, "I");
            agree(found.expected, &wanted["expected"], 10.0, "mean of I");
            agree(
                found.correlation,
                &wanted["correlation"],
                12.0,
                "correlation",
            );
            // No exchange comes near.
            assert_eq!(found.p, 1.0 / 200.0, "{name} {way}");
        }
    }
}

#[test]
fn slopes_in_a_field_of_wheat_have_the_f_of_least_squares() {
    for (name, gaps) in [("wheat", false), ("gaps", true)] {
        let wanted = &json("spatial/spatial.json")[name];
        let Trial {
            ground,
            values,
            row,
            position,
            ..
        } = wheat(gaps);
        let linear = Surface::new(&ground, &values, &[&row, &position]).unwrap();
        for (at, way) in ["row", "position"].into_iter().enumerate() {
            let (found, wanted) = (linear.slope(at).unwrap(), &wanted["linear"][way]);
            agree(found.value, &wanted["slope"], 9.0, way);
            agree(found.standard_error, &wanted["error"], 9.0, way);
        }
        let test = |surface: &Surface, range, wanted: &Value| {
            let found = surface.test(range).unwrap();
            agree(found.f, &wanted["f"], 9.0, "F");
            agree(found.numerator_df, &wanted["df1"], 9.0, "df");
            agree(found.denominator_df, &wanted["df2"], 9.0, "df of the error");
            agree(found.p, &wanted["p"], 8.0, "P");
        };
        test(&linear, 0..2, &wanted["linear"]["both"]);
        let mean = |values: &[f64]| values.iter().sum::<f64>() / values.len() as f64;
        let square = |values: &[f64]| -> Vec<f64> {
            let middle = mean(values);
            values
                .iter()
                .map(|value| (value - middle).powi(2))
                .collect()
        };
        let squares = [square(&row), square(&position)];
        let curved = Surface::new(
            &ground,
            &values,
            &[&row, &position, &squares[0], &squares[1]],
        )
        .unwrap();
        test(&curved, 2..4, &wanted["curved"]);

        let plain = Surface::new(&ground, &values, &[]).unwrap();
        let [first, second] = [0, 1].map(|level| ground.margin(0, level).unwrap());
        for (surface, way) in [(&plain, "without"), (&linear, "with")] {
            let found = surface.difference(&first, &second).unwrap();
            let wanted = &wanted["difference"][way];
            agree(found.value, &wanted[0], 9.0, way);
            agree(found.standard_error, &wanted[1], 9.0, way);
        }
        if !gaps {
            agree(plain.error_variance(), &wanted["sigma2"], 9.0, "error");
        }
    }
}

/// Randomised blocks of a row each, four treatments on five rows.
fn rows_as_blocks() -> (Ground, Vec<f64>, Vec<f64>) {
    let block: Vec<String> = (0..20).map(|plot| (plot / 4).to_string()).collect();
    let order = [0, 1, 2, 3, 2, 0, 3, 1, 1, 3, 0, 2, 3, 2, 1, 0, 0, 2, 3, 1];
    let treatment: Vec<String> = order.iter().map(|level: &i32| level.to_string()).collect();
    let sheet = sheet(
        Kind::RandomisedBlock,
        &block,
        vec![("treatment", &treatment, Applied::Plot)],
    );
    let row = (0..20).map(|plot| f64::from(plot / 4)).collect();
    let position = (0..20).map(|plot| f64::from(plot % 4)).collect();
    (Ground::of(&sheet), row, position)
}

#[test]
fn what_blocks_take_up_is_not_tested_again() {
    let (ground, row, position) = rows_as_blocks();
    let values: Vec<f64> = (0..20).map(|plot| f64::from(plot * plot % 7)).collect();
    let surface = Surface::new(&ground, &values, &[&row, &position]).unwrap();
    assert_eq!(
        surface.covariates(),
        [Covariate::Aliased, Covariate::Fitted(0)]
    );
    assert!(surface.slope(0).is_none() && surface.slope(1).is_some());
    assert!(surface.test(0..1).is_none());
}

#[test]
fn exchanges_find_patches_as_often_as_chance_makes_them() {
    let (ground, row, position) = rows_as_blocks();
    let sets = sets(&row, &position);
    let draws = Streams::new(5, "patches");
    let trials = 600;
    let mut small = [0_u32; 2];
    for trial in 0..trials {
        let mut stream = draws.replicate(trial);
        let values: Vec<f64> = (0..20).map(|_| stream.normal()).collect();
        let found = patches(&ground, &values, &sets[2..], 199, &Streams::new(trial, "t")).unwrap();
        let p = found[0].unwrap().p;
        small[0] += u32::from(p <= 0.05);
        small[1] += u32::from(p <= 0.2);
    }
    // Four standard errors about 30 and 120 of 600: 4√(600·0.05·0.95) = 21.4, 4√(600·0.2·0.8) = 39.2.
    assert!((9..=51).contains(&small[0]), "{small:?}");
    assert!((81..=159).contains(&small[1]), "{small:?}");
}

#[test]
fn a_slope_along_the_row_of_a_split_plot_trial_is_judged_with_both_errors() {
    // Whole plots of two sub plots in a row of four, so that position is mixed over both errors.
    let mut values = Vec::new();
    let (mut block, mut whole, mut sub) = (Vec::new(), Vec::new(), Vec::new());
    let mut position = Vec::new();
    let mut stream = Streams::new(3, "split").replicate(0);
    for b in 0..6 {
        for w in 0..2 {
            let own = 2.0 * stream.normal();
            for s in 0..2 {
                block.push(b.to_string());
                whole.push(((w + b) % 2).to_string());
                sub.push(((s + w + b / 2) % 2).to_string());
                position.push(f64::from(w * 2 + s));
                values.push(own + 0.3 * stream.normal());
            }
        }
    }
    let sheet = sheet(
        Kind::SplitPlot,
        &block,
        vec![
            ("whole", &whole, Applied::WholePlot),
            ("sub", &sub, Applied::SubPlot),
        ],
    );
    let ground = Ground::of(&sheet);
    assert!(ground.has_larger_units());
    let surface = Surface::new(&ground, &values, &[&position]).unwrap();
    let test = surface.test(0..1).unwrap();
    // Between 0 and all of the 24 − 4 − 5 − 1 that one error would have.
    assert!(
        test.denominator_df > 3.0 && test.denominator_df < 14.0,
        "{test:?}"
    );
    // Sub plots of one whole plot are neighbours; their common error is taken out before the look.
    let row = vec![1.0; 24];
    let across: Vec<f64> = (0..24).map(f64::from).collect();
    let found = patches(
        &ground,
        &values,
        &sets(&row, &across),
        199,
        &Streams::new(1, "s"),
    )
    .unwrap();
    let Likeness { moran, .. } = found[0].unwrap();
    assert!(moran < 0.0, "{moran}");
}

#[test]
fn too_few_or_perfect_values_are_refused() {
    let (ground, row, position) = rows_as_blocks();
    let sets = sets(&row, &position);
    let streams = Streams::new(1, "none");
    let refused = patches(&ground, &[4.0; 20], &sets, 9, &streams).unwrap_err();
    assert_eq!(refused, SpatialError::NoError);
    let block: Vec<String> = ["a", "a", "b", "b"].map(str::to_owned).to_vec();
    let treatment: Vec<String> = ["1", "2", "2", "1"].map(str::to_owned).to_vec();
    let small = sheet(
        Kind::RandomisedBlock,
        &block,
        vec![("t", &treatment, Applied::Plot)],
    );
    let small = Ground::of(&small);
    let refused = patches(&small, &[1.0, 2.0, 3.0, 5.0], &sets, 9, &streams).unwrap_err();
    assert_eq!(refused, SpatialError::TooFew { df: 1 });
    let levels: BTreeMap<usize, Option<Vec<f64>>> = (0..2)
        .map(|level| (level, small.margin(0, level)))
        .collect();
    assert_eq!(levels[&0], Some(vec![1.0, 0.0]));
}
