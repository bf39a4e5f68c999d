//! The power profile against 40-digit references (`reference/README.md` says how they were made).

#![allow(
    clippy::unwrap_used,
    reason = "helpers of tests read references that must be there"
)]

mod common;

use caneplot_numerics::strata::{BlockTerm, Classifier, Layout};
use caneplot_numerics::transform::{Powers, Profile, Ratio, Scale, TransformError, likelihood};
use common::{json, rows};
use serde_json::Value;

fn number(value: &Value) -> f64 {
    value.as_str().unwrap().parse().unwrap()
}

/// The survival times of Box & Cox (1964), and their layout without and with both factors crossed.
fn poisons(crossed: bool) -> (Vec<f64>, Layout) {
    let rows = rows("poisons.csv");
    let times = rows.iter().map(|row| row.number("time")).collect();
    let column = |name: &str| {
        let texts: Vec<&str> = rows.iter().map(|row| row.text(name)).collect();
        Classifier::from_texts(name, &texts, &[])
    };
    let animals: Vec<String> = (0..rows.len()).map(|at| format!("{at:02}")).collect();
    let animal = Classifier::from_texts("animal", &animals, &[]);
    let single = BlockTerm {
        name: "Between animals".to_owned(),
        classifiers: vec![2],
        grouping: false,
    };
    let mut terms = vec![vec![0], vec![1]];
    if crossed {
        terms.push(vec![0, 1]);
    }
    let classifiers = vec![column("poison"), column("treatment"), animal];
    (times, Layout::new(classifiers, &[single], &terms).unwrap())
}

#[test]
fn the_profile_of_box_and_coxs_own_data_is_met() {
    let reference = json("transform.json");
    for (model, crossed) in [
        ("additive, 42", false),
        ("cells, 36", true),
        ("cells, 48", true),
    ] {
        let (times, layout) = poisons(crossed);
        let powers = Powers::new(&times).unwrap();
        let wanted = &reference["models"][model];
        let df = wanted["df"].as_f64().unwrap();
        let squares = |lambda: f64| layout.analyse(&powers.raised(lambda)).errors[0].sum_of_squares;
        for (lambda, want) in wanted["squares"].as_object().unwrap() {
            let got = squares(lambda.parse().unwrap());
            assert!((got / number(want) - 1.0).abs() < 1e-13, "{model} {lambda}");
        }
        let profile = Profile::of(|lambda| likelihood([(squares(lambda), df)]), 0.05).unwrap();
        // A maximum is known to the root of the precision of what is maximised.
        assert!(
            (profile.best - number(&wanted["best"])).abs() < 2e-7,
            "{model}"
        );
        assert!(
            (profile.low.unwrap() - number(&wanted["low"])).abs() < 1e-12,
            "{model}"
        );
        assert!(
            (profile.high.unwrap() - number(&wanted["high"])).abs() < 1e-12,
            "{model}"
        );
        assert_eq!(profile.inside, [Scale::Reciprocal], "{model}");
        assert_eq!(profile.choice(), Some(Scale::Reciprocal));
    }
}

#[test]
fn where_several_scales_fit_the_readable_one_is_chosen() {
    let height = |centre: f64, curvature: f64| {
        Profile::of(
            move |lambda| Some(-curvature * (lambda - centre).powi(2)),
            0.05,
        )
        .unwrap()
    };
    // Half the point is 1.92: with curvature 1 the interval reaches 1.386 to each side.
    assert_eq!(height(0.3, 1.0).choice(), Some(Scale::Measured));
    assert_eq!(height(0.2, 4.0).choice(), Some(Scale::Log));
    assert_eq!(height(0.6, 40.0).choice(), Some(Scale::Root));
    assert_eq!(height(-1.6, 8.0).choice(), None);
    let open = height(2.5, 1.0);
    assert_eq!(open.high, None);
    assert!((open.low.unwrap() - (2.5 - (0.5 * 3.841_458_820_694_126_f64).sqrt())).abs() < 1e-12);
    assert_eq!(height(7.0, 0.01).best, 3.0);
}

#[test]
fn ways_back_are_those_of_the_scale() {
    for scale in caneplot_numerics::transform::SCALES {
        for value in [0.02, 1.0, 37.5] {
            let there = scale.back(scale.of(value)).unwrap();
            assert!((there / value - 1.0).abs() < 1e-14);
        }
        assert!(scale.of(2.0) > scale.of(1.5));
    }
    let back = Scale::Root.interval(0.5, 0.75);
    assert_eq!(
        (back.median, back.low, back.high),
        (Some(0.25), Some(0.0), Some(1.5625))
    );
    let back = Scale::Reciprocal.interval(-0.5, 0.75);
    assert_eq!(
        (back.median, back.low, back.high),
        (Some(2.0), Some(0.8), None)
    );
    let ratio = Ratio::of_difference(2.0_f64.ln(), 0.0);
    assert_eq!(
        [ratio.ratio, ratio.low, ratio.high].map(|r| (r * 1e12).round() / 1e12),
        [2.0; 3]
    );
}

#[test]
fn means_of_back_transformed_normal_values_agree_with_quadrature() {
    let reference = &json("transform.json")["mean_of_values"];
    let (m, v) = (number(&reference["m"]), number(&reference["v"]));
    for (scale, name) in [(Scale::Log, "log"), (Scale::Root, "root")] {
        let got = scale.mean_of_values(m, v).unwrap();
        assert!(
            (got / number(&reference[name]) - 1.0).abs() < 1e-14,
            "{name}"
        );
    }
    assert_eq!(Scale::Reciprocal.mean_of_values(m, v), None);
}

#[test]
fn values_and_errors_without_a_scale_are_named() {
    assert_eq!(
        Powers::new(&[1.0, 0.0, 3.0, -2.0, f64::NAN]),
        Err(TransformError::NotPositive(vec![1, 3, 4]))
    );
    assert_eq!(Powers::new(&[]), Err(TransformError::Empty));
    assert_eq!(likelihood([(0.0, 4.0)]), None);
    assert_eq!(Profile::of(|_| None, 0.05), Err(TransformError::NoError));
    assert!(matches!(
        Profile::of(|_| Some(1.0), 1.5),
        Err(TransformError::Level(_))
    ));
}
