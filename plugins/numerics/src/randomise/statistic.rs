//! F of the terms of one stratum for any arrangement of the labels.
//!
//! Only treatments are exchanged, so what a stratum holds in all, S, never changes, and the sum of
//! squares of a term is Σ total²/n over its cells less those of its margins in the same stratum. With
//! T a term's sum of squares and O those of the stratum's other terms, F grows with the share
//! T/(S − O), which lies between 0 and 1, is 1 where the error vanishes, and is what is compared: it
//! needs no division by a small error, and two arrangements that tie differ in it by rounding only.

use std::ops::Range;

use crate::cells::Cells;
use crate::design::{Design, Sheet};
use crate::variance::Variance;

use super::scheme::Scheme;

/// Shares closer than this are ties. Rounding moves a share by some 10⁻¹⁴; shares of values recorded
/// with five digits or fewer that differ at all differ by more than this.
pub(super) const TIE: f64 = 1e-11;

/// A stratum in which nothing is left for a term and the error, as a share of the stratum.
const NOTHING: f64 = 1e-12;

/// The terms of one stratum and what is needed for their shares, for several responses at once.
#[derive(Debug, Clone)]
pub(super) struct Stratum {
    /// Items: values with the same unit and the same levels of the factors that stay.
    items: Vec<Item>,
    /// Sums of each item, a row of seasons × responses.
    sums: Vec<f64>,
    /// Seasons × responses.
    width: usize,
    responses: usize,
    /// Number of different combinations of the factors that stay.
    fixed: usize,
    /// Combinations of a label and factors that stay.
    combinations: usize,
    terms: Vec<Term>,
    /// What the stratum holds in all, for each response.
    whole: Vec<f64>,
    /// Terms to be tested, as places in `terms`, with the term of the layout.
    pub tested: Vec<(usize, usize)>,
}

#[derive(Debug, Clone, Copy)]
struct Item {
    unit: usize,
    fixed: usize,
}

/// A term: which combinations make its cells.
#[derive(Debug, Clone)]
struct Term {
    cell_of: Vec<usize>,
    /// One over the number of values in each cell and season.
    weight: Vec<f64>,
    /// Terms of the same stratum that are its margins.
    margins: Vec<usize>,
}

/// Room to work in, so that an arrangement costs no allocation.
#[derive(Debug, Clone, Default)]
pub(super) struct Scratch {
    cells: Vec<f64>,
    squares: Vec<f64>,
    /// Shares of the tested terms, a row of responses for each.
    pub shares: Vec<f64>,
}

impl Stratum {
    /// The terms of `stratum` under a scheme, testing those terms of the layout named.
    pub fn new(
        sheet: &Sheet,
        design: &Design,
        scheme: &Scheme,
        stratum: usize,
        wanted: &[usize],
        variances: &[&Variance],
    ) -> Self {
        let layout = &design.layout;
        let here: Vec<usize> = (0..layout.terms().len())
            .filter(|&at| layout.terms()[at].stratum == stratum)
            .filter(|&at| !factors_of(design, at).is_empty())
            .collect();
        let seasonal = here.iter().any(|&at| {
            let classifiers = &layout.terms()[at].classifiers;
            design
                .season
                .is_some_and(|season| classifiers.contains(&season))
        });
        let season = sheet.season.as_ref().filter(|_| seasonal);
        let seasons = season.map_or(1, |season| season.levels.len());
        let staying: Vec<usize> = (0..sheet.treatments.len())
            .filter(|at| !scheme.factors.contains(at))
            .filter(|at| {
                here.iter()
                    .any(|&term| factors_of(design, term).contains(at))
            })
            .collect();
        let fixed = Cells::crossing(
            layout.units(),
            staying
                .iter()
                .map(|&at| sheet.treatments[at].0.codes.as_slice()),
        );
        let both = Cells::crossing(layout.units(), [scheme.unit_of.as_slice(), fixed.of_unit()]);
        let items: Vec<Item> = both
            .first()
            .iter()
            .map(|&value| Item {
                unit: scheme.unit_of[value],
                fixed: fixed.of_unit()[value],
            })
            .collect();

        let responses = variances.len();
        let width = seasons * responses;
        let mut sums = vec![0.0; items.len() * width];
        let mut whole = vec![0.0; responses];
        for (response, variance) in variances.iter().enumerate() {
            for (value, part) in part_of(design, stratum, &here, variance)
                .into_iter()
                .enumerate()
            {
                let season = season.map_or(0, |season| season.codes[value]);
                sums[both.of_unit()[value] * width + season * responses + response] += part;
                whole[response] += part * part;
            }
        }

        let level = |combination: usize, factor: usize| {
            let (label, stays) = (combination / fixed.count(), combination % fixed.count());
            match scheme.factors.iter().position(|&at| at == factor) {
                Some(at) => scheme.levels[label][at],
                None => sheet.treatments[factor].0.codes[fixed.first()[stays]],
            }
        };
        let combinations = scheme.kinds * fixed.count();
        let terms = here
            .iter()
            .map(|&at| {
                let factors = factors_of(design, at);
                let cell = |level: &dyn Fn(usize) -> usize| {
                    factors.iter().fold(0, |code, &factor| {
                        code * sheet.treatments[factor].0.levels.len() + level(factor)
                    })
                };
                let count: usize = factors
                    .iter()
                    .map(|&factor| sheet.treatments[factor].0.levels.len())
                    .product();
                let mut sizes = vec![0_usize; count];
                for value in 0..layout.units() {
                    sizes[cell(&|factor| sheet.treatments[factor].0.codes[value])] += 1;
                }
                let margin = |other: usize| {
                    other != at
                        && factors_of(design, other)
                            .iter()
                            .all(|f| factors.contains(f))
                };
                Term {
                    cell_of: (0..combinations)
                        .map(|combination| cell(&|factor| level(combination, factor)))
                        .collect(),
                    weight: sizes
                        .iter()
                        .map(|&size| {
                            if size == 0 {
                                0.0
                            } else {
                                seasons as f64 / size as f64
                            }
                        })
                        .collect(),
                    margins: (0..here.len())
                        .filter(|&other| margin(here[other]))
                        .collect(),
                }
            })
            .collect();
        Self {
            items,
            sums,
            width,
            responses,
            fixed: fixed.count(),
            combinations,
            terms,
            whole,
            tested: here
                .iter()
                .enumerate()
                .filter(|(_, term)| wanted.contains(term))
                .map(|(place, &term)| (place, term))
                .collect(),
        }
    }

    /// Additions that one arrangement costs.
    pub fn cost(&self) -> usize {
        (self.items.len() + self.terms.len() * self.combinations) * self.width
    }

    /// Makes room.
    pub fn scratch(&self) -> Scratch {
        let cells = self.terms.iter().map(|term| term.weight.len()).max();
        Scratch {
            cells: vec![0.0; cells.unwrap_or(0) * self.width],
            squares: vec![0.0; self.terms.len() * self.responses],
            shares: vec![0.0; self.tested.len() * self.responses],
        }
    }

    /// The items of the units in a range; items follow one another as their units do.
    pub fn items_of(&self, units: &Range<usize>) -> Range<usize> {
        let before = |unit: usize| self.items.partition_point(|item| item.unit < unit);
        before(units.start)..before(units.end)
    }

    /// Adds some items to the totals; their units, the first of which is `from`, carry these labels.
    #[inline]
    pub fn add(&self, items: Range<usize>, from: usize, labels: &[u16], totals: &mut [f64]) {
        if self.width == 1 {
            for (item, sum) in self.items[items.clone()].iter().zip(&self.sums[items]) {
                let label = usize::from(labels[item.unit - from]);
                totals[label * self.fixed + item.fixed] += sum;
            }
            return;
        }
        let sums = &self.sums[items.start * self.width..items.end * self.width];
        for (item, row) in self.items[items].iter().zip(sums.chunks_exact(self.width)) {
            let label = usize::from(labels[item.unit - from]);
            let start = (label * self.fixed + item.fixed) * self.width;
            for (total, sum) in totals[start..start + self.width].iter_mut().zip(row) {
                *total += sum;
            }
        }
    }

    /// Puts the totals of a whole arrangement in place.
    #[inline]
    pub fn fill(&self, labels: &[u16], totals: &mut [f64]) {
        totals.fill(0.0);
        self.add(0..self.items.len(), 0, labels, totals);
    }

    /// Room for the totals.
    pub fn totals(&self) -> Vec<f64> {
        vec![0.0; self.combinations * self.width]
    }

    /// Shares of the tested terms from the totals.
    #[inline]
    pub fn share(&self, totals: &[f64], scratch: &mut Scratch) {
        let Scratch {
            cells,
            squares,
            shares,
        } = scratch;
        squares.fill(0.0);
        for (at, term) in self.terms.iter().enumerate() {
            let cells = &mut cells[..term.weight.len() * self.width];
            cells.fill(0.0);
            for (row, &cell) in totals.chunks_exact(self.width).zip(&term.cell_of) {
                let start = cell * self.width;
                for (sum, total) in cells[start..start + self.width].iter_mut().zip(row) {
                    *sum += total;
                }
            }
            let own = &mut squares[at * self.responses..(at + 1) * self.responses];
            for (row, weight) in cells.chunks_exact(self.width).zip(&term.weight) {
                for season in row.chunks_exact(self.responses) {
                    for (square, sum) in own.iter_mut().zip(season) {
                        *square += weight * sum * sum;
                    }
                }
            }
            for &margin in &term.margins {
                for response in 0..self.responses {
                    squares[at * self.responses + response] -=
                        squares[margin * self.responses + response];
                }
            }
        }
        for (row, &(term, _)) in self.tested.iter().enumerate() {
            for response in 0..self.responses {
                let of = |term: usize| squares[term * self.responses + response];
                let others: f64 = (0..self.terms.len()).filter(|&at| at != term).map(of).sum();
                let whole = self.whole[response];
                let left = whole - others;
                shares[row * self.responses + response] = if left > NOTHING * whole {
                    of(term) / left
                } else {
                    0.0
                };
            }
        }
    }
}

/// The treatment factors of a term, as places in the sheet.
pub(super) fn factors_of(design: &Design, term: usize) -> Vec<usize> {
    let classifiers = &design.layout.terms()[term].classifiers;
    (0..design.treatments.len())
        .filter(|&at| classifiers.contains(&design.treatments[at]))
        .collect()
}

/// The part of every value that lies in a stratum, without the seasons' own effect.
fn part_of(design: &Design, stratum: usize, here: &[usize], variance: &Variance) -> Vec<f64> {
    let layout = &design.layout;
    let residuals = &layout.strata()[stratum].cells;
    (0..layout.units())
        .map(|value| {
            let effects = here.iter().map(|&term| {
                variance.swept.terms[term][layout.terms()[term].cells.of_unit()[value]]
            });
            variance.swept.residuals[stratum][residuals.of_unit()[value]] + effects.sum::<f64>()
        })
        .collect()
}
