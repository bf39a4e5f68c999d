//! Checks of residuals, polynomial contrasts and Fieller's set against references
//! (`reference/README.md` says how they were made).

#![allow(
    clippy::unwrap_used,
    reason = "helpers of tests read references that must be there"
)]

mod common;

use caneplot_numerics::diagnose::{brown_forsythe, shapiro_wilk};
use caneplot_numerics::distribution::t_critical;
use caneplot_numerics::fieller::{Covariance, FiellerSet, fieller};
use caneplot_numerics::polynomial::contrasts;
use caneplot_numerics::sphericity::sphericity;
use caneplot_numerics::sum::{mean, products_about_means, squares_about_mean};
use caneplot_numerics::welch::welch;
use common::{digits, json, summary};
use serde_json::Value;

fn list(value: &Value) -> Vec<f64> {
    let items = value.as_array().unwrap();
    items.iter().map(|v| v.as_f64().unwrap()).collect()
}

/// A number that may be written as text.
fn number(value: &Value) -> f64 {
    value
        .as_f64()
        .unwrap_or_else(|| value.as_str().unwrap().parse().unwrap())
}

#[test]
fn shapiro_and_wilks_test_agrees_on_seventeen_samples() {
    let reference = json("assumptions.json");
    let (mut w, mut p) = (Vec::new(), Vec::new());
    for (name, sample) in reference["shapiro"].as_object().unwrap() {
        let found = shapiro_wilk(&list(&sample["x"])).unwrap();
        w.push(digits(found.w, number(&sample["W"])));
        p.push(digits(found.p, number(&sample["p"])));
        println!("{name}: W {} P {}", found.w, found.p);
    }
    assert_eq!(w.len(), 17);
    assert!(summary("Shapiro-Wilk W", w).0 >= 14.5);
    assert!(summary("Shapiro-Wilk P", p).0 >= 12.4);
}

#[test]
fn brown_and_forsythes_test_agrees_on_four_data_sets() {
    for (name, set) in json("assumptions.json")["brown_forsythe"]
        .as_object()
        .unwrap()
    {
        let groups: Vec<Vec<f64>> = set["groups"].as_array().unwrap().iter().map(list).collect();
        let slices: Vec<&[f64]> = groups.iter().map(Vec::as_slice).collect();
        let found = brown_forsythe(&slices).unwrap();
        assert_eq!(found.df_between, number(&set["df1"]));
        assert_eq!(found.df_within, number(&set["df2"]));
        assert!(digits(found.f, number(&set["F"])) >= 13.5, "{name}");
        assert!(digits(found.p, number(&set["p"])) >= 13.0, "{name}");
    }
}

#[test]
fn welchs_test_agrees_on_four_data_sets() {
    for (name, set) in json("welch.json").as_object().unwrap() {
        let groups = &json("assumptions.json")["brown_forsythe"][name]["groups"];
        let groups: Vec<Vec<f64>> = groups.as_array().unwrap().iter().map(list).collect();
        let slices: Vec<&[f64]> = groups.iter().map(Vec::as_slice).collect();
        let found = welch(&slices).unwrap();
        assert!(digits(found.f, number(&set["F"])) >= 13.0, "{name}");
        assert!(
            digits(found.df_within, number(&set["df"])) >= 13.0,
            "{name}"
        );
        assert!(digits(found.p, number(&set["p"])) >= 12.0, "{name}");
    }
}

#[test]
fn polynomial_contrasts_agree_at_five_spacings() {
    for (name, set) in json("orthogonal_polynomials.json").as_object().unwrap() {
        let levels = list(&set["levels"]);
        let reference: Vec<Vec<f64>> = set["coef"].as_array().unwrap().iter().map(list).collect();
        let found = contrasts(&levels, &vec![1.0; levels.len()], levels.len() - 1).unwrap();
        assert_eq!(found.len(), reference.len());
        for (contrast, wanted) in found.iter().zip(&reference) {
            for (got, want) in contrast.values.iter().zip(wanted) {
                assert!(
                    (got - want).abs() < 3e-14,
                    "{name} degree {}",
                    contrast.degree
                );
            }
        }
    }
}

#[test]
fn fiellers_set_has_its_three_shapes() {
    for case in json("ratio.json")["wide_cases"].as_array().unwrap() {
        let variance = Covariance {
            numerator: number(&case["vaa"]),
            denominator: number(&case["vbb"]),
            between: number(&case["vab"]),
        };
        let found = fieller(
            number(&case["a"]),
            number(&case["b"]),
            variance,
            number(&case["t"]),
        );
        let found = found.unwrap();
        assert!(digits(found.g, number(&case["g"])) >= 15.0);
        match (case["type"].as_str().unwrap(), found.set) {
            ("bounded", FiellerSet::Bounded { low, high }) => {
                assert!(digits(low, number(&case["lo"])) >= 14.5);
                assert!(digits(high, number(&case["hi"])) >= 14.5);
            }
            ("complement_of_interval", FiellerSet::Outside { low, high }) => {
                assert!(digits(low, number(&case["excluded"][0])) >= 14.5);
                assert!(digits(high, number(&case["excluded"][1])) >= 14.5);
            }
            ("whole_line", FiellerSet::All) => {}
            (wanted, got) => panic!("{wanted} but {got:?}"),
        }
    }
}

#[test]
fn intervals_of_yield_over_prunings_agree_in_thirteen_digits() {
    let reference = json("ratio.json");
    let errors = [&reference["Eyy"], &reference["Eww"], &reference["Eyw"]].map(number);
    let t = t_critical(0.05, 12.0).unwrap();
    assert!(digits(t, number(&reference["t975"])) >= 15.0);
    for (name, treatment) in reference["ratio_of_means"].as_object().unwrap() {
        let variance = Covariance {
            numerator: errors[0] / 5.0,
            denominator: errors[1] / 5.0,
            between: errors[2] / 5.0,
        };
        let (a, b) = (number(&treatment["mean_y"]), number(&treatment["mean_w"]));
        let found = fieller(a, b, variance, t).unwrap();
        let wanted = &treatment["fieller_pooled_error"];
        let FiellerSet::Bounded { low, high } = found.set else {
            panic!("{name} is not bounded");
        };
        assert!(digits(found.ratio, number(&treatment["ratio"])) >= 15.0);
        assert!(digits(low, number(&wanted["lo"])) >= 13.0, "{name}");
        assert!(digits(high, number(&wanted["hi"])) >= 13.0, "{name}");
    }
}

proptest::proptest! {
    #[test]
    fn shift_and_order_leave_squares_alone(
        values in proptest::collection::vec(-1000_i32..1000, 2..40),
        shift in -1_000_000_i32..1_000_000,
        turn in 0_usize..40,
    ) {
        let plain: Vec<f64> = values.iter().map(|v| f64::from(*v)).collect();
        let mut moved: Vec<f64> = plain.iter().map(|v| v + f64::from(shift)).collect();
        moved.rotate_left(turn % values.len());
        let (a, b) = (squares_about_mean(&plain), squares_about_mean(&moved));
        proptest::prop_assert!((a - b).abs() <= 1e-12 * a.max(1.0), "{} {}", a, b);
        proptest::prop_assert!(mean(&moved).unwrap() - mean(&plain).unwrap() - f64::from(shift) < 1e-9);
        proptest::prop_assert_eq!(products_about_means(&plain, &plain), a);
    }

    #[test]
    fn w_does_not_depend_on_unit_origin_or_order(
        values in proptest::collection::vec(0_i32..500, 4..60),
        scale in 1_i32..9,
        shift in -5000_i32..5000,
    ) {
        let plain: Vec<f64> = values.iter().map(|v| f64::from(*v)).collect();
        let moved: Vec<f64> = plain.iter().rev().map(|v| f64::from(scale) * v + f64::from(shift)).collect();
        match (shapiro_wilk(&plain), shapiro_wilk(&moved)) {
            (Ok(a), Ok(b)) => {
                proptest::prop_assert!((a.w - b.w).abs() < 1e-12);
                proptest::prop_assert!((0.0..=1.0).contains(&a.p));
            }
            (a, b) => proptest::prop_assert!(a.is_err() && b.is_err()),
        }
    }

    #[test]
    fn a_ratio_changes_with_its_units_only(
        a in 1.0_f64..50.0, b in 0.1_f64..5.0, va in 0.01_f64..2.0, vb in 0.0001_f64..0.4,
        r in -0.95_f64..0.95, power in -8_i32..8,
    ) {
        // A change of unit by a power of two changes no digit.
        let unit = 2.0_f64.powi(power);
        let variance = |u: f64| Covariance {
            numerator: u * u * va,
            denominator: vb,
            between: u * r * (va * vb).sqrt(),
        };
        let plain = fieller(a, b, variance(1.0), 2.1).unwrap();
        let scaled = fieller(unit * a, b, variance(unit), 2.1).unwrap();
        match (plain.set, scaled.set) {
            (FiellerSet::Bounded { low, high }, FiellerSet::Bounded { low: l, high: h }) => {
                proptest::prop_assert!(low <= plain.ratio && plain.ratio <= high);
                proptest::prop_assert!((l - unit * low).abs() <= 1e-12 * l.abs());
                proptest::prop_assert!((h - unit * high).abs() <= 1e-12 * h.abs());
            }
            (FiellerSet::Outside { low, high }, FiellerSet::Outside { .. }) => {
                proptest::prop_assert!(plain.ratio <= low || plain.ratio >= high);
            }
            (one, other) => proptest::prop_assert_eq!(one, other),
        }
    }
}

/// Residuals of the plots by seasons of the perennial set after treatments and, where asked, blocks:
/// deviations from means that a balanced set has in closed form.
fn perennial_residuals(blocks: bool) -> Vec<Vec<f64>> {
    /// Block, treatment and the values of a plot over the seasons.
    type Plot = (String, String, Vec<f64>);
    let text = include_str!("reference/mixed/perennial.csv");
    let mut rows: Vec<Plot> = Vec::new();
    for line in text.lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        let (block, treatment) = (cells[0].to_owned(), cells[1].to_owned());
        let value: f64 = cells[4].parse().unwrap();
        match rows
            .iter_mut()
            .find(|row| row.0 == block && row.1 == treatment)
        {
            Some(row) => row.2.push(value),
            None => rows.push((block, treatment, vec![value])),
        }
    }
    let mean_of = |season: usize, wanted: &dyn Fn(&Plot) -> bool| {
        let values: Vec<f64> = rows
            .iter()
            .filter(|r| wanted(r))
            .map(|r| r.2[season])
            .collect();
        mean(&values).unwrap()
    };
    rows.iter()
        .map(|row| {
            let left = |season: usize| {
                let own = row.2[season] - mean_of(season, &|other| other.1 == row.1);
                match blocks {
                    true => {
                        own - mean_of(season, &|other| other.0 == row.0)
                            + mean_of(season, &|_| true)
                    }
                    false => own,
                }
            };
            (0..row.2.len()).map(left).collect()
        })
        .collect()
}

#[test]
fn seasons_of_the_perennial_set_are_far_from_equally_correlated() {
    let reference = json("sphericity.json");
    for (name, blocks) in [
        ("blocks by seasons apart", true),
        ("blocks by seasons pooled", false),
    ] {
        let wanted = &reference[name];
        let df = wanted["df"].as_u64().unwrap() as usize;
        let found = sphericity(&perennial_residuals(blocks), df).unwrap();
        let mauchly = found.mauchly.unwrap();
        for (what, got) in [
            ("greenhouse_geisser", found.greenhouse_geisser),
            ("huynh_feldt", found.huynh_feldt),
            ("W", mauchly.w),
            ("P", mauchly.p),
        ] {
            let right = digits(got, number(&wanted[what]));
            assert!(right > 10.0, "{name}, {what}: {got}, {right} digits");
        }
    }
}

#[test]
fn two_seasons_or_equal_residuals_leave_nothing_to_suppose() {
    assert_eq!(sphericity(&[vec![1.0, 2.0], vec![2.0, 1.0]], 1), None);
    assert_eq!(sphericity(&vec![vec![0.0; 4]; 6], 3), None);
    let few = sphericity(&[vec![1.0, -1.0, 0.5, 2.0], vec![-1.0, 1.0, -0.5, -2.0]], 1);
    assert_eq!(few.unwrap().mauchly, None, "fewer df than contrasts");
}
