//! Means and differences of several responses against published and exact numbers.
#![allow(clippy::unwrap_used)]

mod support;

use caneplot_numerics::contrasts::{ContrastError, Plots};
use caneplot_numerics::design::{Applied, Kind, Sheet};
use caneplot_numerics::strata::Classifier;
use support::{Csv, json, number};

fn near(found: f64, expected: f64, within: f64) {
    assert!(
        (found - expected).abs() <= within * expected.abs().max(1.0),
        "{found} against {expected}"
    );
}

fn sheet(
    kind: Kind,
    block: Classifier,
    plot: Classifier,
    factors: Vec<(Classifier, Applied)>,
) -> Sheet {
    Sheet {
        kind,
        block: Some(block),
        row: None,
        column: None,
        plot,
        season: None,
        vines: false,
        treatments: factors,
        block_by_season: false,
    }
}

fn oats() -> (Sheet, Vec<f64>) {
    let data = Csv::read("nlme_Oats.csv");
    let sheet = sheet(
        Kind::SplitPlot,
        data.classifier("Block"),
        data.joined(&["Variety", "nitro"]),
        vec![
            (data.classifier("Variety"), Applied::WholePlot),
            (data.classifier("nitro"), Applied::SubPlot),
        ],
    );
    (sheet, data.centred("yield").1)
}

/// Gomez & Gomez 1984, Statistical Procedures for Agricultural Research, Table 2.5, recalled from
/// memory: rice at six seeding rates in four blocks, less 5000.
fn rice() -> (Sheet, Vec<f64>) {
    let yields = [
        ("25", [113.0, 398.0, 307.0, -322.0]),
        ("50", [346.0, 952.0, -281.0, -736.0]),
        ("75", [272.0, 713.0, 483.0, -251.0]),
        ("100", [164.0, -169.0, -14.0, -590.0]),
        ("125", [-196.0, -152.0, -568.0, -252.0]),
        ("150", [254.0, -458.0, -81.0, -902.0]),
    ];
    let (mut rates, mut blocks, mut values) = (Vec::new(), Vec::new(), Vec::new());
    for (rate, row) in yields {
        for (block, value) in row.into_iter().enumerate() {
            rates.push(rate);
            blocks.push(block.to_string());
            values.push(value);
        }
    }
    let order: Vec<String> = yields.iter().map(|(rate, _)| (*rate).to_owned()).collect();
    let sheet = sheet(
        Kind::RandomisedBlock,
        Classifier::from_texts("block", &blocks, &[]),
        Classifier::from_texts("plot", &rates, &[]),
        vec![(
            Classifier::from_texts("rate", &rates, &order),
            Applied::Plot,
        )],
    );
    (sheet, values)
}

/// The plot with 100 kg in the second block.
const LOST: usize = 13;

fn rice_with_a_plot_lost() -> (Sheet, Vec<f64>) {
    let (sheet, values) = rice();
    let kept: Vec<usize> = (0..24).filter(|&plot| plot != LOST).collect();
    let left = kept.iter().map(|&plot| values[plot]).collect();
    (sheet.of_plots(&kept), left)
}

#[test]
fn a_split_plot_has_the_errors_of_each_kind_of_difference() {
    let (sheet, values) = oats();
    let plots = Plots::new(&sheet, None).unwrap();
    let errors = plots.errors(&[&values]).unwrap();
    let wanted = &json("differences.json")["oats"];
    let se = |factors: &[usize], first: usize, second: usize| {
        let compared = plots.compared(factors).unwrap();
        let found = plots.difference(&errors, &compared, first, second).unwrap();
        (found.standard_error(0), found.df[0])
    };
    let varieties = se(&[0], 0, 1);
    near(varieties.0, number(&wanted["two_varieties"]), 1e-12);
    assert_eq!(varieties.1, 10.0);
    let nitrogen = se(&[1], 0, 3);
    near(nitrogen.0, number(&wanted["two_nitro"]), 1e-12);
    assert_eq!(nitrogen.1, 45.0);
    let apart = se(&[0, 1], 0, 4);
    near(
        apart.0,
        number(&wanted["two_varieties_same_or_diff_nitro"]),
        1e-12,
    );
    near(
        apart.1,
        number(&wanted["two_varieties_same_or_diff_nitro_df_satt"]),
        1e-10,
    );
}

#[test]
fn variances_of_parts_add_up_to_that_of_the_whole() {
    let (sheet, values) = oats();
    let second: Vec<f64> = values.iter().map(|v| (v * 1.7).sin() * 9.0).collect();
    let third: Vec<f64> = values.iter().zip(&second).map(|(a, b)| a - b).collect();
    let (single, _) = rice_with_a_plot_lost();
    let some = |values: &[f64]| values[..23].to_vec();
    for (sheet, parts) in [
        (sheet, [second.clone(), third.clone(), values.clone()]),
        (single, [some(&second), some(&third), some(&values)]),
    ] {
        let plots = Plots::new(&sheet, None).unwrap();
        let errors = plots.errors(&[&parts[0], &parts[1], &parts[2]]).unwrap();
        let every: Vec<usize> = (0..sheet.treatments.len()).collect();
        let compared = plots.compared(&every).unwrap();
        for other in 1..compared.levels.len() {
            let found = plots.difference(&errors, &compared, other, 0).unwrap();
            let [a, b, whole] = [0, 1, 2].map(|at| found.values[at]);
            near(a + b, whole, 1e-13);
            let sum = found.products[0][0] + found.products[1][1] + 2.0 * found.products[0][1];
            near(sum, found.products[2][2], 1e-12);
        }
    }
}

#[test]
fn a_lost_plot_gives_the_means_that_yates_formula_gives() {
    // Yates 1933: x = (rB + tT − G)/((r−1)(t−1)) with r = 4, t = 6, B = 26453, T = 14560, G = 114199:
    // 78973/15. With x put in, treatment means and the error sum of squares are those of least
    // squares; 14 degrees of freedom are left.
    let (full, mut values) = rice();
    values[LOST] = 78973.0 / 15.0 - 5000.0;
    let complete = Plots::new(&full, None).unwrap();
    let filled = complete.errors(&[&values]).unwrap();
    let (sheet, left) = rice_with_a_plot_lost();
    let plots = Plots::new(&sheet, None).unwrap();
    assert!(!plots.complete());
    let errors = plots.errors(&[&left]).unwrap();
    assert_eq!(errors.df(), [14]);
    let compared = plots.compared(&[0]).unwrap();
    for treatment in 0..6 {
        let one = plots.mean(&errors, &compared, treatment).unwrap();
        let other = complete.mean(&filled, &complete.compared(&[0]).unwrap(), treatment);
        near(one.values[0], other.unwrap().values[0], 1e-12);
    }
    // Variance of a difference between two treatments that lost nothing: 2s²/r; with the one that lost
    // a plot: s²(2/r + t/(r(r−1)(t−1))) (Cochran & Cox 1957, Experimental Designs, section 4.25).
    let square = plots.difference(&errors, &compared, 0, 1).unwrap().products[0][0] * 2.0;
    let lost = plots.difference(&errors, &compared, 0, 3).unwrap().products[0][0];
    near(lost, square * (2.0 / 4.0 + 6.0 / (4.0 * 3.0 * 5.0)), 1e-12);
    let found = plots.test(&errors, &compared, 0).unwrap();
    assert_eq!((found.df, found.error_df), (5, 14.0));
    // The error sum of squares of the filled table, on one degree of freedom less.
    let line = full.design().unwrap().layout.analyse(&values);
    near(square * 14.0, line.errors[1].sum_of_squares, 1e-12);
}

#[test]
fn equal_weights_and_strata_are_the_same_analysis() {
    let (sheet, values) = rice();
    let strata = Plots::new(&sheet, None).unwrap();
    // One weight a rounding larger than the tolerance of being equal takes the other way.
    let mut weights = vec![2.0; 24];
    weights[5] = 2.0 * (1.0 + 4e-12);
    let fitted = Plots::new(&sheet, Some(&weights)).unwrap();
    assert!(strata.complete() && fitted.weighted());
    assert!(Plots::new(&sheet, Some(&[2.0; 24])).unwrap().complete());
    let (a, b) = (
        strata.errors(&[&values]).unwrap(),
        fitted.errors(&[&values]).unwrap(),
    );
    let compared = strata.compared(&[0]).unwrap();
    for treatment in 0..6 {
        let one = strata.mean(&a, &compared, treatment).unwrap();
        let other = fitted.mean(&b, &compared, treatment).unwrap();
        near(one.values[0], other.values[0], 1e-9);
        near(one.products[0][0], other.products[0][0], 1e-9);
    }
    let (one, other) = (
        strata.test(&a, &compared, 0).unwrap(),
        fitted.test(&b, &compared, 0).unwrap(),
    );
    // F = 2.168 as printed in the book, recalled.
    assert_eq!((one.f * 1e3).round(), 2168.0);
    near(one.f, other.f, 1e-9);
    near(one.p, other.p, 1e-9);
}

#[test]
fn weights_give_the_weighted_mean() {
    // By hand: values 1 and 4 with weights 1 and 2 in one treatment, 2 and 6 with weights 3 and 1 in
    // the other: means 3 and 3, residual squares 1·4 + 2·1 + 3·1 + 1·9 = 18 on 2 degrees of freedom;
    // variance of the difference 9·(1/3 + 1/4).
    let treatment = ["a", "a", "b", "b"];
    let sheet = Sheet {
        block: None,
        ..sheet(
            Kind::CompletelyRandomised,
            Classifier::from_texts("none", &treatment, &[]),
            Classifier::from_texts("plot", &["1", "2", "3", "4"], &[]),
            vec![(
                Classifier::from_texts("treatment", &treatment, &[]),
                Applied::Plot,
            )],
        )
    };
    let plots = Plots::new(&sheet, Some(&[1.0, 2.0, 3.0, 1.0])).unwrap();
    let errors = plots.errors(&[&[1.0, 4.0, 2.0, 6.0]]).unwrap();
    let compared = plots.compared(&[0]).unwrap();
    let found = plots.difference(&errors, &compared, 1, 0).unwrap();
    near(found.values[0], 0.0, 1e-14);
    near(found.products[0][0], 9.0 * (1.0 / 3.0 + 1.0 / 4.0), 1e-13);
    near(
        plots.mean(&errors, &compared, 1).unwrap().values[0],
        3.0,
        1e-14,
    );
}

#[test]
fn what_cannot_be_compared_is_refused() {
    let (full, values) = oats();
    let kept: Vec<usize> = (1..72).collect();
    let incomplete = Plots::new(&full.of_plots(&kept), None);
    assert!(matches!(
        incomplete,
        Err(ContrastError::Incomplete { ref why, .. }) if why.contains("has no value for")
    ));
    let (full, values_of_rice) = rice();
    let one_block: Vec<usize> = (0..24).filter(|plot| plot % 4 == 0).collect();
    let single = Plots::new(&full.of_plots(&one_block), None).unwrap();
    let some: Vec<f64> = one_block.iter().map(|&plot| values_of_rice[plot]).collect();
    let refused = single.errors(&[&some]).and_then(|errors| {
        let compared = single.compared(&[0])?;
        single.difference(&errors, &compared, 0, 1)
    });
    assert_eq!(refused, Err(ContrastError::NoError));
    // Rates 25, 50, 75 in the first two blocks only, the others in the last two.
    let apart: Vec<usize> = (0..24)
        .filter(|plot| (plot / 4 < 3) == (plot % 4 < 2))
        .collect();
    let plots = Plots::new(&full.of_plots(&apart), None).unwrap();
    let some: Vec<f64> = apart.iter().map(|&plot| values[plot]).collect();
    let errors = plots.errors(&[&some]).unwrap();
    let compared = plots.compared(&[0]).unwrap();
    assert!(plots.difference(&errors, &compared, 0, 1).is_ok());
    assert_eq!(
        plots.difference(&errors, &compared, 0, 3),
        Err(ContrastError::NotConnected)
    );
}

#[test]
fn rounding_of_equal_plots_is_no_error() {
    let (sheet, _) = rice();
    // Thirds that were reached by different sums differ in their last digit.
    let values: Vec<f64> = (0..24)
        .map(|plot| {
            f64::from(plot / 4) / 3.0 + 0.1 * f64::from(plot % 4) - 0.1 * f64::from(plot % 4)
        })
        .collect();
    let plots = Plots::new(&sheet, None).unwrap();
    let errors = plots.errors(&[&values]).unwrap();
    let compared = plots.compared(&[0]).unwrap();
    assert!(plots.test(&errors, &compared, 0).is_none());
    let found = plots.difference(&errors, &compared, 3, 0).unwrap();
    near(found.values[0], 1.0, 1e-14);
    assert_eq!(found.products[0][0], 0.0);
}

#[test]
fn a_latin_square_is_the_same_by_strata_and_by_least_squares() {
    let data = Csv::read("datasets_OrchardSprays.csv");
    let (_, values) = data.centred("decrease");
    let square = Sheet {
        block: None,
        row: Some(data.classifier("rowpos")),
        column: Some(data.classifier("colpos")),
        ..sheet(
            Kind::LatinSquare,
            data.classifier("rowpos"),
            data.joined(&["rowpos", "colpos"]),
            vec![(data.classifier("treatment"), Applied::Plot)],
        )
    };
    let strata = Plots::new(&square, None).unwrap();
    let mut weights = vec![1.0; 64];
    weights[9] += 4e-12;
    let fitted = Plots::new(&square, Some(&weights)).unwrap();
    assert!(strata.complete() && !fitted.complete());
    let compared = strata.compared(&[0]).unwrap();
    let (a, b) = (
        strata.errors(&[&values]).unwrap(),
        fitted.errors(&[&values]).unwrap(),
    );
    assert_eq!(b.df(), [42]);
    for treatment in 1..8 {
        let one = strata.difference(&a, &compared, treatment, 0).unwrap();
        let other = fitted.difference(&b, &compared, treatment, 0).unwrap();
        near(one.values[0], other.values[0], 1e-9);
        near(one.products[0][0], other.products[0][0], 1e-9);
        assert_eq!(one.df, other.df);
    }
    let (one, other) = (strata.mean(&a, &compared, 3), fitted.mean(&b, &compared, 3));
    near(
        one.unwrap().products[0][0],
        other.unwrap().products[0][0],
        1e-9,
    );
    // F and P from rational arithmetic on the same data.
    let lines = &json("exact_anova.json")["orchardsprays"];
    let lines = lines.as_array().unwrap();
    let exact = lines
        .iter()
        .find(|line| line["term"] == "treatment")
        .unwrap();
    let found = strata.test(&a, &compared, 0).unwrap();
    near(found.f, number(&exact["F"]), 1e-13);
    near(found.p / number(&exact["p"]), 1.0, 1e-10);
    near(fitted.test(&b, &compared, 0).unwrap().f, found.f, 1e-9);
}
