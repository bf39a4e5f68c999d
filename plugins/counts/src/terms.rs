//! Main effects and interactions as comparisons of cells.

use crate::frame::Frame;

/// A main effect or interaction: the dimensions it is made of.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Term {
    /// Places among the dimensions of the frame.
    pub of: Vec<usize>,
}

impl Term {
    /// In words: "Training system × Nodes left".
    #[must_use]
    pub fn words(&self, frame: &Frame) -> String {
        let parts: Vec<&str> = self
            .of
            .iter()
            .map(|at| frame.dimensions[*at].label.as_str())
            .collect();
        parts.join(" × ")
    }

    /// Whether the season is part of it.
    #[must_use]
    pub fn has_season(&self, frame: &Frame) -> bool {
        self.of
            .iter()
            .any(|at| frame.dimensions[*at].factor.is_none())
    }
}

/// Every crossing of the dimensions: treatments first, margins before interactions, then those with
/// the season.
#[must_use]
pub fn terms(frame: &Frame) -> Vec<Term> {
    let mut terms: Vec<Term> = (1_usize..1 << frame.dimensions.len())
        .map(|mask| Term {
            of: (0..frame.dimensions.len())
                .filter(|bit| mask & (1 << bit) != 0)
                .collect(),
        })
        .collect();
    terms.sort_by_key(|term| (term.has_season(frame), term.of.len(), term.of.clone()));
    terms
}

/// Sum-to-zero coding: level against the last.
fn code(level: usize, size: usize, contrast: usize) -> f64 {
    if level == contrast {
        1.0
    } else if level + 1 == size {
        -1.0
    } else {
        0.0
    }
}

/// The contrasts of a term as one choice of contrast a dimension.
fn choices(frame: &Frame, term: &Term) -> Vec<Vec<usize>> {
    let mut all: Vec<Vec<usize>> = vec![Vec::new()];
    for at in &term.of {
        let size = frame.dimensions[*at].size();
        all = all
            .into_iter()
            .flat_map(|choice| (0..size - 1).map(move |c| [choice.as_slice(), &[c]].concat()))
            .collect();
    }
    all
}

fn product(frame: &Frame, term: &Term, choice: &[usize], cell: &[usize]) -> f64 {
    term.of
        .iter()
        .zip(choice)
        .map(|(at, contrast)| code(cell[*at], frame.dimensions[*at].size(), *contrast))
        .product()
}

/// Columns of the fixed part for some terms, an intercept before them: with all terms they span the
/// same space as the cells, and leaving one out tests it beside all others.
#[must_use]
pub fn columns(frame: &Frame, terms: &[&Term]) -> Vec<Vec<f64>> {
    let mut columns = vec![vec![1.0; frame.cell_of.len()]];
    for term in terms {
        for choice in choices(frame, term) {
            columns.push(
                frame
                    .cell_of
                    .iter()
                    .map(|cell| product(frame, term, &choice, &frame.cells[*cell]))
                    .collect(),
            );
        }
    }
    columns
}

/// Comparisons of cells that a term is made of, the other dimensions averaged equally: as many
/// independent ones as the term has degrees of freedom.
#[must_use]
pub fn contrasts(frame: &Frame, term: &Term) -> Vec<Vec<f64>> {
    let weight = |choice: &[usize], cell: &[usize]| {
        let of = term.of.iter().zip(choice);
        let own: f64 = of
            .map(|(at, contrast)| code(cell[*at], frame.dimensions[*at].size(), *contrast))
            .product();
        let others = (0..frame.dimensions.len()).filter(|at| !term.of.contains(at));
        own / others
            .map(|at| frame.dimensions[at].size() as f64)
            .product::<f64>()
    };
    choices(frame, term)
        .iter()
        .map(|choice| {
            frame
                .cells
                .iter()
                .map(|cell| weight(choice, cell))
                .collect()
        })
        .collect()
}

/// Weights over the cells for the mean of some levels, the other dimensions averaged equally.
/// `None` in `levels` averages that dimension.
#[must_use]
pub fn mean_weights(frame: &Frame, levels: &[Option<usize>]) -> Vec<f64> {
    let matches = |cell: &[usize]| {
        cell.iter()
            .zip(levels)
            .all(|(level, wanted)| wanted.is_none_or(|wanted| wanted == *level))
    };
    let found = frame.cells.iter().filter(|cell| matches(cell)).count();
    frame
        .cells
        .iter()
        .map(|cell| {
            if matches(cell) {
                1.0 / found as f64
            } else {
                0.0
            }
        })
        .collect()
}

/// Weights over the cells for a comparison of the levels of one dimension.
#[must_use]
pub fn level_weights(frame: &Frame, dimension: usize, weights: &[f64]) -> Vec<f64> {
    let mut total = vec![0.0; frame.cells.len()];
    for (level, weight) in weights.iter().enumerate() {
        let mut levels = vec![None; frame.dimensions.len()];
        levels[dimension] = Some(level);
        for (total, mean) in total.iter_mut().zip(mean_weights(frame, &levels)) {
            *total += weight * mean;
        }
    }
    total
}

/// The place among the groupings (or their number, for single counts) of the units a term was
/// applied to: the coarsest in which its dimensions do not change.
#[must_use]
pub fn stratum(frame: &Frame, term: &Term) -> usize {
    let fixed_in = |grouping: &caneplot_numerics::counts::Grouping| {
        term.of.iter().all(|at| {
            let codes: Vec<f64> = frame.dimensions[*at]
                .codes
                .iter()
                .map(|code| *code as f64)
                .collect();
            grouping.holds_constant(&codes)
        })
    };
    frame
        .groupings
        .iter()
        .position(fixed_in)
        .unwrap_or(frame.groupings.len())
}
