//! Parts of a treatment term along a contrast: the linear part of a numeric factor, or the part of
//! an interaction that is linear in it.
//!
//! With coefficients c over the levels of one classifier, and e the effects of the term, the part is
//! Σ over the other levels j of (Σᵢ cᵢ eᵢⱼ)² / Σᵢ (cᵢ²/nᵢⱼ). For contrasts orthogonal over the levels
//! (weighted by their replication where it is unequal) the parts of all degrees add up to the term.

use std::collections::BTreeMap;

use crate::strata::Layout;
use crate::sum::Sum;
use crate::variance::{TermLine, Variance};

impl Layout {
    /// The part of a term along contrast coefficients over the levels of one of its classifiers,
    /// tested in the stratum of the term.
    ///
    /// `None` where the term is not made of the classifier or the coefficients do not fit its levels.
    #[must_use]
    pub fn part(
        &self,
        variance: &Variance,
        term: usize,
        classifier: usize,
        coefficients: &[f64],
    ) -> Option<TermLine> {
        let line = self.terms().get(term)?;
        let levels = &self.classifiers()[classifier];
        if !line.classifiers.contains(&classifier) || coefficients.len() != levels.levels.len() {
            return None;
        }
        let others: Vec<usize> = line
            .classifiers
            .iter()
            .copied()
            .filter(|&at| at != classifier)
            .collect();
        let mut groups: BTreeMap<Vec<usize>, (Sum, Sum)> = BTreeMap::new();
        for (cell, &unit) in line.cells.first().iter().enumerate() {
            let key = others
                .iter()
                .map(|&at| self.classifiers()[at].codes[unit])
                .collect();
            let coefficient = coefficients[levels.codes[unit]];
            let (along, scale) = groups.entry(key).or_default();
            along.add_product(coefficient, variance.swept.terms[term][cell]);
            scale.add(coefficient * coefficient / line.cells.sizes()[cell] as f64);
        }
        let mut sum_of_squares = Sum::default();
        for (along, scale) in groups.values() {
            if scale.total() <= 0.0 {
                return None;
            }
            sum_of_squares.add(along.total().powi(2) / scale.total());
        }
        let df = others
            .iter()
            .map(|&at| self.classifiers()[at].levels.len() - 1)
            .product();
        Some(TermLine::tested(
            sum_of_squares.total(),
            df,
            &variance.errors[line.stratum],
        ))
    }
}
