//! Error strata and the variances of means against exact analyses of variance
//! (`reference/README.md` says how they were made).

#![allow(
    clippy::unwrap_used,
    reason = "helpers of tests read references that must be there"
)]

mod common;

use caneplot_numerics::error_products::ErrorProducts;
use common::{Row, digits, rows};

/// Codes of the combinations of some columns.
fn codes(rows: &[Row], columns: &[&str]) -> Vec<usize> {
    let name = |row: &Row| {
        columns
            .iter()
            .map(|c| row.text(c))
            .collect::<Vec<_>>()
            .join("|")
    };
    let mut names: Vec<String> = rows.iter().map(name).collect();
    let all = names.clone();
    names.sort();
    names.dedup();
    all.iter()
        .map(|n| names.binary_search(n).unwrap())
        .collect()
}

fn column(rows: &[Row], name: &str) -> Vec<f64> {
    rows.iter().map(|row| row.number(name)).collect()
}

fn plots_where(rows: &[Row], column: &str, level: &str) -> Vec<usize> {
    (0..rows.len())
        .filter(|i| rows[*i].text(column) == level)
        .collect()
}

#[test]
fn a_split_plot_has_its_two_errors_and_the_variances_they_give() {
    let data = rows("oats.csv");
    let y = column(&data, "yield");
    let fixed = [
        codes(&data, &["Block"]),
        codes(&data, &["Variety", "nitro"]),
    ];
    let errors = ErrorProducts::new(&[&y], &fixed, &[codes(&data, &["Block", "Variety"])]).unwrap();
    // Exact from the decimal text: 601.33055555555555556 on 10, 177.08333333333333333 on 45 df.
    let (a, b) = (601.330_555_555_555_6, 177.083_333_333_333_34);
    assert_eq!([errors.df(0), errors.df(1)], [10.0, 45.0]);
    assert!(digits(errors.mean_products(0)[0][0], a) >= 13.0);
    assert!(digits(errors.mean_products(1)[0][0], b) >= 13.0);

    // A variety over four nitrogen levels and six blocks: E_a/24 on its own 10 df.
    let variety = errors
        .of_mean(&plots_where(&data, "Variety", "Victory"))
        .unwrap();
    assert!(digits(variety.products[0][0], a / 24.0) >= 13.0);
    assert!(digits(variety.df[0], 10.0) >= 12.0);
    // A nitrogen level over three varieties, and one combination.
    let nitrogen = plots_where(&data, "nitro", "0.2");
    let found = errors.of_mean(&nitrogen).unwrap();
    assert!(digits(found.products[0][0], (a + 3.0 * b) / (4.0 * 18.0)) >= 13.0);
    let cell: Vec<usize> = nitrogen
        .into_iter()
        .filter(|i| data[*i].text("Variety") == "Victory")
        .collect();
    let found = errors.of_mean(&cell).unwrap();
    assert!(digits(found.products[0][0], (a + 3.0 * b) / 24.0) >= 13.0);
    let df = (a + 3.0 * b).powi(2) / (a * a / 10.0 + 9.0 * b * b / 45.0);
    assert!(digits(found.df[0], df) >= 12.0);
}

#[test]
fn a_strip_plot_has_three_errors() {
    let data = rows("strip.csv");
    let y = column(&data, "yield");
    let fixed = [codes(&data, &["block"]), codes(&data, &["prune", "soil"])];
    let random = [
        codes(&data, &["block", "prune"]),
        codes(&data, &["block", "soil"]),
    ];
    let errors = ErrorProducts::new(&[&y], &fixed, &random).unwrap();
    // Error mean squares in rational arithmetic from the decimal text.
    let [ea, eb, ec] = [
        0.618_796_686_111_111,
        0.801_158_454_166_666_7,
        0.074_139_748_611_111_11,
    ];
    let wanted = [(ea, 12.0), (eb, 8.0), (ec, 24.0)];
    for (stratum, (want, df)) in wanted.into_iter().enumerate() {
        assert_eq!(errors.df(stratum), df);
        assert!(digits(errors.mean_products(stratum)[0][0], want) >= 12.0);
    }
    let count = |name: &str| {
        let mut levels: Vec<&str> = data.iter().map(|r| r.text(name)).collect();
        levels.sort_unstable();
        levels.dedup();
        levels.len() as f64
    };
    let (blocks, rows_of, columns_of) = (count("block"), count("prune"), count("soil"));
    let found = errors.of_mean(&plots_where(&data, "prune", "A1")).unwrap();
    // A row strip averages its crossings: the column strips keep their share.
    let want = (ea + (eb - ec) / rows_of) / (blocks * columns_of);
    assert!(digits(found.products[0][0], want) >= 12.5);
}

#[test]
fn a_split_split_plot_has_three_errors() {
    let data = rows("split_split.csv");
    let y = column(&data, "yield");
    let fixed = [
        codes(&data, &["block"]),
        codes(&data, &["irrigation", "buds", "thinning"]),
    ];
    let random = [
        codes(&data, &["block", "irrigation"]),
        codes(&data, &["block", "irrigation", "buds"]),
    ];
    let errors = ErrorProducts::new(&[&y], &fixed, &random).unwrap();
    // Error mean squares in rational arithmetic from the decimal text.
    let [ea, eb, ec] = [
        1.413_358_583_333_333_3,
        0.381_980_381_944_444_44,
        0.107_959_652_777_777_78,
    ];
    let wanted = [(ea, 3.0), (eb, 12.0), (ec, 18.0)];
    for (stratum, (want, df)) in wanted.into_iter().enumerate() {
        assert_eq!(errors.df(stratum), df);
        assert!(digits(errors.mean_products(stratum)[0][0], want) >= 12.0);
    }
    // An irrigation over all that lies in its whole plots: E_a over its number of plots.
    let irrigated = plots_where(&data, "irrigation", "I1");
    let found = errors.of_mean(&irrigated).unwrap();
    assert!(digits(found.products[0][0], ea / irrigated.len() as f64) >= 12.0);
    assert!(digits(found.df[0], 3.0) >= 11.0);
}

#[test]
fn a_missing_plot_does_not_make_the_variance_smaller() {
    let data: Vec<Row> = rows("oats.csv").into_iter().skip(1).collect();
    let y = column(&data, "yield");
    let fixed = [
        codes(&data, &["Block"]),
        codes(&data, &["Variety", "nitro"]),
    ];
    let errors = ErrorProducts::new(&[&y], &fixed, &[codes(&data, &["Block", "Variety"])]).unwrap();
    assert_eq!([errors.df(0), errors.df(1)], [10.0, 44.0]);
    let five: Vec<usize> = plots_where(&data, "nitro", "0.0")
        .into_iter()
        .filter(|i| data[*i].text("Variety") == "Victory")
        .collect();
    let six: Vec<usize> = plots_where(&data, "nitro", "0.2")
        .into_iter()
        .filter(|i| data[*i].text("Variety") == "Victory")
        .collect();
    assert_eq!((five.len(), six.len()), (5, 6));
    let (less, more) = (
        errors.of_mean(&five).unwrap(),
        errors.of_mean(&six).unwrap(),
    );
    assert!(digits(less.products[0][0] * 5.0, more.products[0][0] * 6.0) >= 12.0);
}
