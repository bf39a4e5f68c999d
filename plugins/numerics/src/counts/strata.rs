//! Degrees of freedom for the error of a comparison, by containment.
//!
//! Units of a design lie inside one another: counts in plots, plots in whole plots, whole plots in
//! blocks. A treatment applied to the units of one grouping is judged against the units of that
//! grouping: their degrees of freedom are what these units add to the rank of the design beyond the
//! treatments and the coarser groupings. In a balanced design they are those of the textbook's
//! error lines; with gaps they are what is left of them.

use super::linear::basis;

/// A grouping of the counts, coarse or fine.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Grouping {
    /// In words: "block", "whole plot", "plot".
    pub name: String,
    /// Unit of each count, from 0.
    pub codes: Vec<usize>,
}

impl Grouping {
    fn indicators(&self) -> Vec<Vec<f64>> {
        let units = self.codes.iter().max().map_or(0, |most| most + 1);
        (0..units)
            .map(|unit| {
                self.codes
                    .iter()
                    .map(|code| f64::from(*code == unit))
                    .collect()
            })
            .collect()
    }

    /// Whether a column has one value in each unit.
    #[must_use]
    pub fn holds_constant(&self, column: &[f64]) -> bool {
        let units = self.codes.iter().max().map_or(0, |most| most + 1);
        let mut seen: Vec<Option<f64>> = vec![None; units];
        self.codes
            .iter()
            .zip(column)
            .all(|(code, value)| match seen[*code] {
                None => {
                    seen[*code] = Some(*value);
                    true
                }
                Some(before) => before == *value,
            })
    }
}

/// What each grouping, from the coarsest to the finest, adds to the rank of the fixed columns and
/// the groupings before it; last, what is left for single counts. 0 means nothing to judge by.
#[must_use]
pub fn containment_df(fixed: &[Vec<f64>], groupings: &[Grouping]) -> Vec<usize> {
    let rows = fixed.first().map_or(0, Vec::len);
    let mut columns: Vec<Vec<f64>> = fixed.to_vec();
    let mut ends = vec![columns.len()];
    for grouping in groupings {
        columns.extend(grouping.indicators());
        ends.push(columns.len());
    }
    let dependent = basis(columns.iter().map(Vec::as_slice)).1;
    let added = |from: usize, to: usize| {
        to - from
            - dependent
                .iter()
                .filter(|at| (from..to).contains(at))
                .count()
    };
    let mut df: Vec<usize> = ends
        .windows(2)
        .map(|pair| added(pair[0], pair[1]))
        .collect();
    df.push(rows.saturating_sub(added(0, columns.len())));
    df
}

#[cfg(test)]
mod tests {
    use super::*;

    fn grouping(codes: Vec<usize>) -> Grouping {
        Grouping {
            name: String::new(),
            codes,
        }
    }

    /// 4 blocks × 3 treatments: 3 for blocks, 6 for plots.
    #[test]
    fn a_randomised_block_has_the_textbook_lines() {
        let treatments: Vec<Vec<f64>> = (0..3)
            .map(|t| (0..12).map(|row| f64::from(row % 3 == t)).collect())
            .collect();
        let blocks = grouping((0..12).map(|row| row / 3).collect());
        assert_eq!(
            containment_df(&treatments, std::slice::from_ref(&blocks)),
            [3, 6]
        );
        assert!(!blocks.holds_constant(&treatments[0]));
    }

    /// 6 blocks × 3 whole plots × 4 sub plots: 10 for whole plots, 45 for sub plots (Yates 1935).
    #[test]
    fn a_split_plot_has_two_error_lines() {
        let cells: Vec<Vec<f64>> = (0..12)
            .map(|cell| (0..72).map(|row| f64::from(row % 12 == cell)).collect())
            .collect();
        let blocks = grouping((0..72).map(|row| row / 12).collect());
        let whole = grouping((0..72).map(|row| row / 4).collect());
        assert_eq!(containment_df(&cells, &[blocks, whole]), [5, 10, 45]);
    }

    #[test]
    fn one_replicate_leaves_nothing() {
        let treatments: Vec<Vec<f64>> = (0..3)
            .map(|t| (0..3).map(|row| f64::from(row == t)).collect())
            .collect();
        assert_eq!(containment_df(&treatments, &[]), [0]);
    }
}
