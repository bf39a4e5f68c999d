//! The complete design: mean products of the strata, and what a difference takes from each.

use crate::cells::Cells;
use crate::design::Design;
use crate::strata::Layout;
use crate::sum::Sum;

use super::Compared;

/// Share of a contrast below which it is rounding and not part of a stratum.
const NOTHING: f64 = 1e-11;

/// Degrees of freedom and mean products of each stratum.
pub(super) fn errors(layout: &Layout, responses: &[&[f64]]) -> Vec<(usize, Vec<Vec<f64>>)> {
    let swept: Vec<_> = responses
        .iter()
        .map(|values| layout.sweep(values))
        .collect();
    layout
        .strata()
        .iter()
        .enumerate()
        .map(|(at, stratum)| {
            let df = stratum.residual_df;
            let product = |a: usize, b: usize| {
                if df == 0 {
                    return 0.0;
                }
                let effects = swept[a].residuals[at].iter().zip(&swept[b].residuals[at]);
                let total: Sum = effects
                    .zip(stratum.cells.sizes())
                    .map(|((a, b), &size)| size as f64 * a * b)
                    .collect();
                total.total() / df as f64
            };
            let products = (0..swept.len())
                .map(|a| (0..swept.len()).map(|b| product(a, b)).collect())
                .collect();
            (df, products)
        })
        .collect()
}

/// Weights of a difference of two means and its squared length in each stratum.
pub(super) fn difference(
    layout: &Layout,
    compared: &Compared,
    first: usize,
    second: usize,
) -> (Vec<f64>, Vec<f64>) {
    let mut weights = indicator(&compared.cells, first);
    for (weight, other) in weights.iter_mut().zip(indicator(&compared.cells, second)) {
        *weight -= other;
    }
    let shares = layout.split(&weights).strata;
    (weights, shares)
}

/// Weights of a mean and the share each stratum has in its variance, groupings left out.
///
/// Leaving a grouping out means taking the expectation of its stratum, and of the mean itself, as the
/// sum of what the strata inside it add.
pub(super) fn mean(layout: &Layout, compared: &Compared, treatment: usize) -> (Vec<f64>, Vec<f64>) {
    let weights = indicator(&compared.cells, treatment);
    let split = layout.split(&weights);
    let rows = layout.without_groupings_rows();
    let mut shares = vec![0.0; layout.strata().len()];
    for (part, row) in std::iter::once(&split.mean).chain(&split.strata).zip(&rows) {
        for (share, coefficient) in shares.iter_mut().zip(row) {
            *share += part * coefficient;
        }
    }
    let largest = shares.iter().fold(0.0_f64, |most, s| most.max(s.abs()));
    for share in &mut shares {
        if share.abs() <= NOTHING * largest {
            *share = 0.0;
        }
    }
    (weights, shares)
}

/// Sum of squares, degrees of freedom and stratum of a factor.
pub(super) fn treatment(
    design: &Design,
    factor: usize,
    values: &[f64],
) -> Option<(f64, usize, usize)> {
    let layout = &design.layout;
    let term = layout.term_of(&[design.treatments[factor]])?;
    let line = &layout.analyse(values).lines[term];
    Some((line.sum_of_squares, line.df, layout.terms()[term].stratum))
}

fn indicator(cells: &Cells, cell: usize) -> Vec<f64> {
    let share = 1.0 / cells.sizes()[cell] as f64;
    let of = |&own: &usize| if own == cell { share } else { 0.0 };
    cells.of_unit().iter().map(of).collect()
}
