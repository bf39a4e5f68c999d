//! Parallelism of curves against the parts of interactions in their strata.

use caneplot_numerics::cells::Cells;
use caneplot_numerics::curves::parallel::{Grouped, parallelism};
use caneplot_numerics::design::{Applied, Kind, Sheet};
use caneplot_numerics::polynomial::contrasts;
use caneplot_numerics::strata::Classifier;

use crate::common::{digits, rows};

/// Oats: nitrogen in sub plots, varieties in whole plots, read from exact decimal text.
#[test]
fn the_parts_of_an_interaction_are_those_of_the_strata() {
    let table = rows("data/nlme_Oats.csv");
    let texts =
        |name: &str| -> Vec<String> { table.iter().map(|row| row.text(name).to_owned()).collect() };
    let values: Vec<f64> = table
        .iter()
        .map(|row| row.number("yield") - 100.0)
        .collect();
    let amounts: Vec<f64> = table.iter().map(|row| row.number("nitro")).collect();
    let block = Classifier::from_texts("block", &texts("Block"), &[]);
    let variety = Classifier::from_texts("variety", &texts("Variety"), &[]);
    let nitro = Classifier::from_texts("nitro", &texts("nitro"), &[]);
    let units = values.len();
    let plot: Vec<String> = (0..units).map(|at| at.to_string()).collect();
    let sheet = Sheet {
        kind: Kind::SplitPlot,
        block: Some(block.clone()),
        row: None,
        column: None,
        plot: Classifier::from_texts("plot", &plot, &[]),
        season: None,
        vines: false,
        treatments: vec![
            (variety.clone(), Applied::WholePlot),
            (nitro.clone(), Applied::SubPlot),
        ],
        block_by_season: false,
    };
    let design = sheet.design().unwrap();
    let variance = design.layout.analyse(&values);
    let term = design.layout.term_of(&design.treatments).unwrap();
    let levels = [0.0, 0.2, 0.4, 0.6];
    let polynomials = contrasts(&levels, &[1.0; 4], 2).unwrap();

    let whole_plots = Cells::crossing(units, [block.codes.as_slice(), variety.codes.as_slice()]);
    let alike = Cells::crossing(units, [variety.codes.as_slice(), nitro.codes.as_slice()]);
    let found = parallelism(Grouped {
        values: &values,
        amounts: &amounts,
        groups: &Cells::crossing(units, [variety.codes.as_slice()]),
        eliminated: &[whole_plots],
        alike: &alike,
    });
    let parts = [found.linear.unwrap(), found.quadratic.unwrap()];
    for (part, polynomial) in parts.iter().zip(&polynomials) {
        let want = design
            .layout
            .part(&variance, term, design.treatments[1], &polynomial.values)
            .unwrap();
        assert_eq!(part.df, want.df);
        assert!(digits(part.sum_of_squares, want.sum_of_squares) > 11.0);
        assert!(digits(part.p.unwrap(), want.p.unwrap()) > 11.0);
    }
    let whole = found.whole.unwrap();
    // Yates 1935: interaction 321.75 with 6 degrees of freedom, sub-plot error 45.
    assert_eq!((whole.df, found.error.df), (6, 45));
    assert!(digits(whole.sum_of_squares, 321.75) > 12.0);
    assert!(digits(whole.p.unwrap(), variance.lines[term].p.unwrap()) > 11.0);
}

#[test]
fn curves_that_differ_only_in_height_are_parallel_to_the_last_digit() {
    let mut values = Vec::new();
    let mut amounts = Vec::new();
    let (mut groups, mut blocks) = (Vec::new(), Vec::new());
    for block in 0..3_usize {
        for group in 0..2_usize {
            for (at, x) in [10.0, 20.0, 35.0, 60.0_f64].into_iter().enumerate() {
                values.push(x.sqrt() + 2.0 * group as f64 + ((block + at) % 3) as f64 * 0.1);
                amounts.push(x);
                groups.push(group);
                blocks.push(block);
            }
        }
    }
    let units = values.len();
    let level: Vec<usize> = (0..units).map(|at| at % 4).collect();
    let found = parallelism(Grouped {
        values: &values,
        amounts: &amounts,
        groups: &Cells::crossing(units, [groups.as_slice()]),
        eliminated: &[Cells::crossing(units, [blocks.as_slice()])],
        alike: &Cells::crossing(units, [groups.as_slice(), level.as_slice()]),
    });
    assert!(found.whole.unwrap().sum_of_squares < 1e-24);
    assert_eq!(found.whole.unwrap().df, 3);
}
