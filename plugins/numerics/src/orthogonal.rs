//! Whether the terms of a design are orthogonal, and how many degrees of freedom each has.
//!
//! Tjur (1984, Int. Stat. Rev. 52:33): the spaces of two partitions are orthogonal exactly where,
//! inside every class of their join, the cells of one meet the cells of the other in proportion to
//! their sizes; and a set of them splits the data cleanly where it holds all its joins. Then the
//! degrees of freedom of a term are its cells less those of every term it refines.

use std::collections::BTreeMap;

use crate::cells::Cells;

/// Why a set of terms cannot be analysed by sweeping.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum LayoutError {
    /// Occurs when the finest block term does not tell single values apart, or there is only one.
    #[error("the plots, vines and seasons named do not tell every value apart")]
    UnitsNotSingle,
    /// Occurs when a treatment term has nothing of its own left to estimate.
    #[error("{term} cannot be told apart from {other}: they split the trial in the same way")]
    Aliased {
        /// The term.
        term: String,
        /// The term or grouping it coincides with.
        other: String,
    },
    /// Occurs when two terms meet in unequal numbers.
    #[error("{first} and {second} do not occur together in equal proportions")]
    NotProportional {
        /// One of the two.
        first: String,
        /// The other.
        second: String,
    },
    /// Occurs when two terms share a difference that is a term of neither.
    #[error(
        "{first} and {second} are partly confounded: the trial falls into {parts} parts that share no level of either"
    )]
    Confounded {
        /// One of the two.
        first: String,
        /// The other.
        second: String,
        /// Number of parts.
        parts: usize,
    },
}

/// A term as this check sees it.
#[derive(Debug)]
pub(crate) struct Named<'a> {
    /// Its partition.
    pub cells: &'a Cells,
    /// Its name in a sentence.
    pub words: String,
    /// A treatment term, which must have degrees of freedom of its own.
    pub treatment: bool,
}

/// Degrees of freedom of every term, in the order of the sweep, once they are proved orthogonal.
pub(crate) fn degrees_of_freedom(terms: &[Named<'_>]) -> Result<Vec<usize>, LayoutError> {
    let mut dfs: Vec<usize> = Vec::with_capacity(terms.len());
    for (at, term) in terms.iter().enumerate() {
        let mut known = 0;
        for (earlier, df) in terms.iter().zip(&dfs) {
            if term.cells.refines(earlier.cells) {
                known += df;
            } else {
                proportional(earlier, term, terms)?;
            }
        }
        let df = term.cells.count().checked_sub(known);
        match df {
            Some(df) if df > 0 || !term.treatment => dfs.push(df),
            _ => {
                let other = terms[..at]
                    .iter()
                    .rev()
                    .find(|other| other.cells.same_as(term.cells))
                    .map_or_else(
                        || "the terms before it".to_owned(),
                        |other| other.words.clone(),
                    );
                return Err(LayoutError::Aliased {
                    term: term.words.clone(),
                    other,
                });
            }
        }
    }
    Ok(dfs)
}

/// Proves that two terms, neither of which refines the other as swept, are orthogonal.
fn proportional(
    first: &Named<'_>,
    second: &Named<'_>,
    all: &[Named<'_>],
) -> Result<(), LayoutError> {
    let join = first.cells.join(second.cells);
    let mut together: BTreeMap<(usize, usize), usize> = BTreeMap::new();
    for (&a, &b) in first.cells.of_unit().iter().zip(second.cells.of_unit()) {
        *together.entry((a, b)).or_default() += 1;
    }
    // Cells that never meet but share a class of the join count as meeting 0 times, which is never
    // in proportion; so the number of meetings must be complete as well.
    let mut cells_of_class = vec![(0_usize, 0_usize); join.count()];
    for &unit in first.cells.first() {
        cells_of_class[join.of_unit()[unit]].0 += 1;
    }
    for &unit in second.cells.first() {
        cells_of_class[join.of_unit()[unit]].1 += 1;
    }
    let complete: usize = cells_of_class.iter().map(|(a, b)| a * b).sum();
    let in_proportion = together.iter().all(|(&(a, b), &met)| {
        let class = join.of_unit()[first.cells.first()[a]];
        met * join.sizes()[class] == first.cells.sizes()[a] * second.cells.sizes()[b]
    });
    if together.len() != complete || !in_proportion {
        return Err(LayoutError::NotProportional {
            first: first.words.clone(),
            second: second.words.clone(),
        });
    }
    if all.iter().any(|term| term.cells.same_as(&join)) {
        Ok(())
    } else {
        Err(LayoutError::Confounded {
            first: first.words.clone(),
            second: second.words.clone(),
            parts: join.count(),
        })
    }
}
