//! Dunnett's distribution, comparisons of means and letters against references
//! (`reference/README.md` says how they were made).

#![allow(
    clippy::unwrap_used,
    reason = "helpers of tests read references that must be there"
)]

mod common;

use caneplot_numerics::dunnett::{Dunnett, Sides};
use caneplot_numerics::range::StudentizedRange;
use caneplot_numerics::separation::*;
use common::{digits, json, rows, summary};
use serde_json::Value;

fn sides(tail: &str) -> Sides {
    match tail {
        "two" => Sides::Both,
        "one" => Sides::Above,
        other => panic!("unknown tail {other}"),
    }
}

#[test]
fn the_tail_of_dunnetts_distribution_keeps_its_digits() {
    let counts = rows("dunnett_sf.csv")
        .iter()
        .map(|row| {
            let (df, tail) = (row.number("df"), sides(row.text("tail")));
            let dunnett = if row.text("m").is_empty() {
                let list = row.text("n").trim_matches(['[', ']']);
                let n: Vec<usize> = list.split(", ").map(|n| n.parse().unwrap()).collect();
                Dunnett::for_replicates(row.number("n0") as usize, &n, df, tail)
            } else {
                Dunnett::new(&vec![0.5_f64.sqrt(); row.number("m") as usize], df, tail)
            }
            .unwrap();
            let found = digits(dunnett.upper(row.number("c")).unwrap(), row.number("sf"));
            if found < 14.0 {
                println!(
                    "c {} m {} df {df} {tail:?}: digits {found}",
                    row.text("c"),
                    row.text("m")
                );
            }
            found
        })
        .collect();
    let (least, tenth, median) = summary("Dunnett, tail", counts);
    assert!(least >= 14.7 && tenth >= 15.0 && median >= 15.3);
}

#[test]
fn the_quantile_of_dunnetts_distribution_keeps_its_digits() {
    let counts = rows("dunnett_quantile.csv")
        .iter()
        .map(|row| {
            let factors = vec![0.5_f64.sqrt(); row.number("m") as usize];
            let tail = sides(row.text("tail"));
            let dunnett = Dunnett::new(&factors, row.number("df"), tail).unwrap();
            digits(
                dunnett.quantile(row.number("alpha")).unwrap(),
                row.number("c"),
            )
        })
        .collect();
    let (least, tenth, median) = summary("Dunnett, quantile", counts);
    assert!(least >= 15.2 && tenth >= 15.4 && median >= 15.6);
}

fn number(value: &Value) -> f64 {
    value.as_str().unwrap().parse().unwrap()
}

#[test]
fn p_values_of_pairs_agree_to_fourteen_digits() {
    let mut counts = Vec::new();
    for (name, set) in json("comparisons_exact.json").as_object().unwrap() {
        let df = set["df"].as_f64().unwrap();
        let k = set["means"].as_object().unwrap().len();
        let range = StudentizedRange::new(k, df).unwrap();
        let pairs = set["pairs"].as_array().unwrap();
        let mut alone = Vec::new();
        for pair in pairs {
            let difference = Difference {
                value: number(&pair["diff"]),
                standard_error: number(&pair["sed"]),
                df,
            };
            alone.push(difference.alone().unwrap());
            counts.push(digits(*alone.last().unwrap(), number(&pair["p_lsd"])));
            let tukey = difference.among_all_pairs(&range).unwrap();
            counts.push(digits(tukey, number(&pair["p_tukey"])));
        }
        for (pair, adjusted) in pairs.iter().zip(holm(&alone).unwrap()) {
            counts.push(digits(adjusted, number(&pair["p_holm"])));
        }
        let control = set
            .as_object()
            .unwrap()
            .iter()
            .find(|(key, _)| key.starts_with("dunnett_vs_"));
        if let Some((_, comparisons)) = control {
            let factors = vec![0.5_f64.sqrt(); k - 1];
            let both = Dunnett::new(&factors, df, Sides::Both).unwrap();
            let above = Dunnett::new(&factors, df, Sides::Above).unwrap();
            for (_, c) in comparisons.as_object().unwrap() {
                let difference = Difference {
                    value: number(&c["t"]),
                    standard_error: 1.0,
                    df,
                };
                let two = difference.against_control(&both).unwrap();
                counts.push(digits(two, number(&c["p_two_sided"])));
                let one = difference.against_control(&above).unwrap();
                counts.push(digits(one, number(&c["p_greater"])));
            }
        }
        println!("{name} done");
    }
    let (least, _, median) = summary("comparisons", counts);
    assert!(least >= 14.2 && median >= 15.2);
}

#[test]
fn letters_of_data_sets_follow_from_their_p_values() {
    for (name, set) in json("comparisons_exact.json").as_object().unwrap() {
        let means = set["means"].as_object().unwrap();
        let names: Vec<&String> = means.keys().collect();
        let values: Vec<f64> = means.values().map(number).collect();
        for rule in ["p_lsd", "p_tukey", "p_holm"] {
            let different = |i: usize, j: usize| {
                set["pairs"].as_array().unwrap().iter().any(|pair| {
                    let ends = [pair["a"].as_str().unwrap(), pair["b"].as_str().unwrap()];
                    ends.contains(&names[i].as_str())
                        && ends.contains(&names[j].as_str())
                        && number(&pair[rule]) < 0.05
                })
            };
            let found = letters(&values, different).unwrap();
            for (treatment, got) in names.iter().zip(found) {
                assert_eq!(
                    got,
                    set["letters"][rule][treatment.as_str()],
                    "{name} {rule}"
                );
            }
        }
    }
}

#[test]
fn two_means_share_a_letter_exactly_where_they_do_not_differ() {
    for case in json("letters_cases.json").as_array().unwrap() {
        let list = |v: &Value| -> Vec<String> {
            let items = v.as_array().unwrap();
            items
                .iter()
                .map(|s| s.as_str().unwrap().to_owned())
                .collect()
        };
        let names = list(&case["names_high_to_low"]);
        let pairs: Vec<Vec<String>> = case["significant_pairs"]
            .as_array()
            .unwrap()
            .iter()
            .map(list)
            .collect();
        let different = |i: usize, j: usize| {
            let pair = |a: usize, b: usize| vec![names[a].clone(), names[b].clone()];
            pairs.contains(&pair(i, j)) || pairs.contains(&pair(j, i))
        };
        let means: Vec<f64> = (0..names.len()).map(|i| -(i as f64)).collect();
        let found = letters(&means, different).unwrap();
        for i in 0..names.len() {
            assert_eq!(found[i], case["letters"][&names[i]]);
            for j in 0..i {
                let share = found[i].chars().any(|c| found[j].contains(c));
                assert_eq!(share, !different(i, j), "{} {}", names[i], names[j]);
            }
        }
    }
}

proptest::proptest! {
    /// Any pattern of differences: sharing a letter means not different, no column is part of
    /// another, and the order in which the means come changes nothing.
    #[test]
    fn letters_show_any_pattern_of_differences(
        n in 2_usize..9,
        bits in proptest::collection::vec(proptest::bool::ANY, 36),
        turn in 0_usize..9,
    ) {
        let cell = |i: usize, j: usize| bits[i.max(j) * (i.max(j) - 1) / 2 + i.min(j)];
        let means: Vec<f64> = (0..n).map(|i| 10.0 - i as f64).collect();
        let found = letters(&means, cell).unwrap();
        for i in 0..n {
            for j in 0..i {
                let share = found[i].chars().any(|c| found[j].contains(c));
                proptest::prop_assert_eq!(share, !cell(i, j));
            }
        }
        let turned: Vec<f64> = (0..n).map(|i| means[(i + turn) % n]).collect();
        let again = letters(&turned, |i, j| cell((i + turn) % n, (j + turn) % n)).unwrap();
        for i in 0..n {
            proptest::prop_assert_eq!(&again[i], &found[(i + turn) % n]);
        }
    }
}
