//! Differences at several sites against arithmetic of 40 digits, and how often the intervals hold.

#![allow(clippy::unwrap_used)]

mod common;

use caneplot_numerics::random::Streams;
use caneplot_numerics::sites::{Measured, Site, moved, summary};
use common::{digits, json, summary as counted};
use serde_json::Value;

fn number(value: &Value) -> f64 {
    match value {
        Value::String(text) => text.parse().unwrap(),
        other => other.as_f64().unwrap(),
    }
}

fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(number).collect()
}

fn sites_of(case: &Value) -> Vec<Site> {
    let values = numbers(&case["values"]).into_iter();
    let sites = values.zip(numbers(&case["errors"]));
    sites
        .map(|(value, standard_error)| Site {
            value,
            standard_error,
        })
        .collect()
}

// reference: sites/sites.json, made by sites/sites.py
#[test]
fn summaries_over_sites_have_the_digits_of_exact_arithmetic() {
    let cases = json("sites/sites.json");
    let mut counts = Vec::new();
    for (name, case) in cases.as_object().unwrap() {
        if name == "moves" {
            continue;
        }
        let found = summary(&sites_of(case), 0.05).unwrap();
        let known_error = found.standard_error / found.scatter.max(1.0).sqrt();
        for (key, value) in [
            ("between", found.between),
            ("mean", found.value),
            ("scatter", found.scatter),
            ("error_as_known", known_error),
            ("error", found.standard_error),
            ("low", found.low),
            ("high", found.high),
            ("p", found.p),
            ("q", found.q),
            ("q_p", found.q_p),
            ("share", found.share),
        ] {
            let right = number(&case[key]);
            let right_digits = digits(value, right);
            assert!(right_digits >= 8.0, "{name} {key}: {value} for {right}");
            counts.push(right_digits);
        }
        match (found.expected, case.get("expected")) {
            (Some((low, high)), Some(right)) => {
                let right = numbers(right);
                counts.push(digits(low, right[0]).min(digits(high, right[1])));
            }
            (None, None) => {}
            other => panic!("{name}: {other:?}"),
        }
    }
    let (least, _, median) = counted("summaries over sites", counts);
    assert!(least >= 8.0 && median >= 12.0, "{least} {median}");
}

// published: Viechtbauer (2010), J. Stat. Softw. 36(3), section 3: restricted maximum likelihood on
// the 13 trials of Colditz et al. (1994)
#[test]
fn the_published_example_is_met_to_the_digits_it_prints() {
    let case = &json("sites/sites.json")["tuberculosis"];
    let found = summary(&sites_of(case), 0.05).unwrap();
    let known_error = found.standard_error / found.scatter.max(1.0).sqrt();
    assert_eq!(format!("{:.4}", found.between), "0.3132");
    assert_eq!(format!("{:.4}", found.value), "-0.7145");
    assert_eq!(format!("{known_error:.4}"), "0.1798");
    assert_eq!(format!("{:.4}", found.q), "152.2330");
}

// reference: sites/sites.json, made by sites/sites.py
#[test]
fn moves_between_trials_have_the_digits_of_exact_arithmetic() {
    for case in json("sites/sites.json")["moves"].as_array().unwrap() {
        let measured = |key: &str| {
            let [value, standard_error, df] = numbers(&case[key]).try_into().unwrap();
            Measured {
                value,
                standard_error,
                df: Some(df),
            }
        };
        let found = moved(&measured("first"), &measured("second"), 0.05).unwrap();
        for (key, value) in [
            ("value", found.value),
            ("error", found.standard_error),
            ("df", found.df.unwrap()),
            ("low", found.low),
            ("high", found.high),
            ("p", found.p),
        ] {
            let right = number(&case[key]);
            assert!(digits(value, right) >= 12.0, "{key}: {value} for {right}");
        }
    }
}

/// Share of simulated sets of trials whose interval holds the true difference: trials of 4 treatments
/// in 5 blocks, so 12 degrees of freedom a standard error, which is drawn and not known.
fn coverage(sites: usize, between: f64, unlike: f64, purpose: &str) -> f64 {
    let draws = 4000;
    let streams = Streams::new(20_261_125, purpose);
    let mut held = 0;
    for draw in 0..draws {
        let mut stream = streams.replicate(draw);
        let sites: Vec<Site> = (0..sites)
            .map(|at| {
                let error = if at % 2 == 0 { 1.0 } else { unlike };
                let own = between.sqrt() * stream.normal();
                let value = own + error * stream.normal();
                let chi: f64 = (0..12).map(|_| stream.normal().powi(2)).sum();
                Site {
                    value,
                    standard_error: error * (chi / 12.0).sqrt(),
                }
            })
            .collect();
        let found = summary(&sites, 0.05).unwrap();
        held += usize::from(found.low <= 0.0 && 0.0 <= found.high);
    }
    held as f64 / draws as f64
}

#[test]
fn intervals_over_few_sites_hold_the_truth_about_as_often_as_they_say() {
    // 4000 draws: a share of 0.95 is known to ± 0.007 (two standard errors).
    for (sites, between, unlike) in [
        (2, 0.0, 1.0),
        (2, 1.0, 3.0),
        (3, 0.0, 3.0),
        (3, 1.0, 1.0),
        (5, 0.0, 1.0),
        (5, 0.5, 3.0),
        (8, 1.0, 3.0),
    ] {
        let held = coverage(sites, between, unlike, &format!("{sites}{between}{unlike}"));
        println!("{sites} sites, between {between}, errors 1 and {unlike}: {held}");
        assert!(held >= 0.925, "{sites} sites, {between}, {unlike}: {held}");
    }
}
