//! Tails and quantiles against 20-digit references (`reference/README.md` says how they were made).

#![allow(
    clippy::unwrap_used,
    reason = "helpers of tests read references that must be there"
)]

mod common;

use caneplot_numerics::distribution::*;
use caneplot_numerics::range::*;
use common::{digits, rows, summary};

#[test]
fn tails_keep_their_digits_down_to_ten_to_the_minus_250() {
    for kind in ["F", "t", "chi-square", "normal"] {
        let counts = rows("distribution_tails.csv")
            .iter()
            .filter(|row| row.text("kind") == kind)
            .map(|row| {
                let x = row.number("statistic");
                let got = match kind {
                    "F" => f_upper(x, row.number("df1"), row.number("df2")).unwrap(),
                    "t" => t_two_sided(x, row.number("df2")).unwrap(),
                    "chi-square" => chi_square_upper(x, row.number("df1")).unwrap(),
                    _ => normal_cdf(x),
                };
                let found = digits(got, row.number("tail"));
                if found < 13.0 {
                    println!(
                        "{kind} {x} {} {}: {got} {found}",
                        row.text("df1"),
                        row.text("df2")
                    );
                }
                found
            })
            .collect();
        let (least, _, median) = summary(kind, counts);
        assert!(least >= 13.4 && median >= 15.5, "{kind}");
    }
}

#[test]
fn quantiles_return_what_their_tails_were_asked() {
    for row in rows("F_quantile.csv") {
        let got = f_quantile(row.number("alpha"), row.number("df1"), row.number("df2")).unwrap();
        assert!(digits(got, row.number("F")) >= 14.0);
    }
    for df in [1.0, 3.4, 12.0, 500.0, f64::INFINITY] {
        for p in [1e-12, 0.001, 0.025, 0.3, 0.499, 0.6, 0.975, 0.999_999] {
            let t = t_quantile(p, df).unwrap();
            let back = if p < 0.5 {
                0.5 * t_two_sided(t, df).unwrap()
            } else {
                1.0 - 0.5 * t_two_sided(t, df).unwrap()
            };
            assert!(digits(back, p) >= 13.0, "t {p} {df}: {t} {back}");
        }
    }
    for p in [1e-200, 1e-12, 0.025, 0.4, 0.5] {
        assert!(digits(normal_cdf(normal_quantile(p).unwrap()), p) >= 13.0);
    }
    for upper in [1e-9, 0.05, 0.5, 0.99] {
        let x = chi_square_quantile(upper, 4.0).unwrap();
        assert!(digits(chi_square_upper(x, 4.0).unwrap(), upper) >= 13.0);
    }
}

#[test]
fn a_table_of_the_studentized_range_keeps_fourteen_digits() {
    let counts = rows("studentized_range_sf.csv")
        .iter()
        .map(|row| {
            let (q, k, df) = (row.number("q"), row.number("k") as usize, row.number("df"));
            let got = StudentizedRange::for_many(k, df).unwrap().upper(q).unwrap();
            let found = digits(got, row.number("sf"));
            if found < 14.0 {
                println!("q {q} k {k} df {df}: {got} digits {found}");
            }
            found
        })
        .collect();
    let (least, tenth, median) = summary("studentized range, tail from a table", counts);
    assert!(least >= 13.8 && tenth >= 14.5 && median >= 15.2);
}

#[test]
fn the_studentized_range_has_fifteen_digits_in_the_median() {
    let counts = rows("studentized_range_sf.csv")
        .iter()
        .map(|row| {
            let (q, k, df) = (row.number("q"), row.number("k") as usize, row.number("df"));
            let got = studentized_range_upper(q, k, df).unwrap();
            let found = digits(got, row.number("sf"));
            if found < 13.0 {
                println!("q {q} k {k} df {df}: {got} digits {found}");
            }
            found
        })
        .collect();
    let (least, tenth, median) = summary("studentized range, tail", counts);
    assert!(least >= 14.4 && tenth >= 15.0 && median >= 15.5);
}

#[test]
fn the_quantile_of_the_studentized_range_has_fifteen() {
    let counts = rows("studentized_range_quantile.csv")
        .iter()
        .map(|row| {
            let (alpha, k, df) = (
                row.number("alpha"),
                row.number("k") as usize,
                row.number("df"),
            );
            let got = studentized_range_quantile(alpha, k, df).unwrap();
            let found = digits(got, row.number("q"));
            if found < 13.0 {
                println!("alpha {alpha} k {k} df {df}: {got} digits {found}");
            }
            found
        })
        .collect();
    let (least, tenth, median) = summary("studentized range, quantile", counts);
    assert!(least >= 14.9 && tenth >= 15.2 && median >= 15.5);
}
