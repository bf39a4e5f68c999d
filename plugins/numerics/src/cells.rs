//! Partitions of the units of a trial: which plots share a block, a treatment, a season.
//!
//! Every term of a design, of treatments or of blocks, is such a partition. Two of them have a
//! coarsest common refinement (their crossing) and a finest common coarsening (their join); Tjur
//! (1984, Int. Stat. Rev. 52:33) shows that an orthogonal design is nothing but a set of partitions
//! that meet in proportion inside their joins.

use std::collections::BTreeMap;

use crate::sum::Sum;

/// A partition of the units 0, 1, 2 … into numbered cells, none of them empty.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cells {
    of_unit: Vec<usize>,
    sizes: Vec<usize>,
    first: Vec<usize>,
}

impl Cells {
    /// All units in one cell.
    #[must_use]
    pub fn whole(units: usize) -> Self {
        Self::from_codes(vec![0; units])
    }

    /// The crossing of several classifications; with none of them, all units are one cell.
    ///
    /// Cells are numbered in the order of the codes, the first classification varying slowest.
    #[must_use]
    pub fn crossing<'a>(units: usize, codes: impl IntoIterator<Item = &'a [usize]>) -> Self {
        let mut keys: Vec<Vec<usize>> = vec![Vec::new(); units];
        for column in codes {
            for (key, code) in keys.iter_mut().zip(column) {
                key.push(*code);
            }
        }
        let mut numbers: BTreeMap<&[usize], usize> = BTreeMap::new();
        for key in &keys {
            numbers.insert(key, 0);
        }
        for (number, value) in numbers.values_mut().enumerate() {
            *value = number;
        }
        Self::from_codes(keys.iter().map(|key| numbers[key.as_slice()]).collect())
    }

    /// Cells from codes that already run from 0 without a gap.
    fn from_codes(of_unit: Vec<usize>) -> Self {
        let count = of_unit.iter().max().map_or(0, |code| code + 1);
        let mut sizes = vec![0; count];
        let mut first = vec![usize::MAX; count];
        for (unit, &cell) in of_unit.iter().enumerate() {
            sizes[cell] += 1;
            first[cell] = first[cell].min(unit);
        }
        Self {
            of_unit,
            sizes,
            first,
        }
    }

    /// Number of cells.
    #[must_use]
    pub fn count(&self) -> usize {
        self.sizes.len()
    }

    /// Number of units in each cell.
    #[must_use]
    pub fn sizes(&self) -> &[usize] {
        &self.sizes
    }

    /// The cell of each unit.
    #[must_use]
    pub fn of_unit(&self) -> &[usize] {
        &self.of_unit
    }

    /// The first unit of each cell, through which a cell finds its levels.
    #[must_use]
    pub fn first(&self) -> &[usize] {
        &self.first
    }

    /// Whether each of these cells lies inside one cell of the other partition.
    #[must_use]
    pub fn refines(&self, coarser: &Self) -> bool {
        self.of_unit
            .iter()
            .zip(&coarser.of_unit)
            .all(|(&own, &other)| coarser.of_unit[self.first[own]] == other)
    }

    /// Whether the two partitions are the same, whatever the numbers of their cells.
    #[must_use]
    pub fn same_as(&self, other: &Self) -> bool {
        self.count() == other.count() && self.refines(other)
    }

    /// The finest partition coarser than both: cells that share a unit fall together.
    #[must_use]
    pub fn join(&self, other: &Self) -> Self {
        let mut parent: Vec<usize> = (0..self.count() + other.count()).collect();
        for (&own, &theirs) in self.of_unit.iter().zip(&other.of_unit) {
            let (a, b) = (
                root(&mut parent, own),
                root(&mut parent, self.count() + theirs),
            );
            parent[a.max(b)] = a.min(b);
        }
        let roots: Vec<usize> = self
            .of_unit
            .iter()
            .map(|&own| root(&mut parent, own))
            .collect();
        Self::crossing(self.of_unit.len(), [roots.as_slice()])
    }

    /// Mean of the values in each cell.
    #[must_use]
    pub fn means(&self, values: &[f64]) -> Vec<f64> {
        let mut sums = vec![Sum::default(); self.count()];
        for (&cell, &value) in self.of_unit.iter().zip(values) {
            sums[cell].add(value);
        }
        sums.iter()
            .zip(&self.sizes)
            .map(|(sum, &size)| sum.total() / size as f64)
            .collect()
    }

    /// Sum over units of the squares of a value held by each cell.
    #[must_use]
    pub fn sum_of_squares(&self, of_cell: &[f64]) -> f64 {
        let mut sum = Sum::default();
        for (value, &size) in of_cell.iter().zip(&self.sizes) {
            sum.add(size as f64 * value * value);
        }
        sum.total()
    }
}

fn root(parent: &mut [usize], mut at: usize) -> usize {
    while parent[at] != at {
        parent[at] = parent[parent[at]];
        at = parent[at];
    }
    at
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_crossing_is_numbered_in_the_order_of_the_levels() {
        let cells = Cells::crossing(4, [[1, 0, 1, 0].as_slice(), [0, 2, 2, 0].as_slice()]);
        assert_eq!(cells.of_unit(), [2, 1, 3, 0]);
        assert_eq!(cells.first(), [3, 1, 0, 2]);
    }

    #[test]
    fn joining_blocks_and_treatments_of_two_halves_gives_the_halves() {
        let blocks = Cells::crossing(4, [[0, 0, 1, 1].as_slice()]);
        let crossing = Cells::crossing(4, [[0, 1, 2, 3].as_slice()]);
        let over = Cells::crossing(4, [[0, 1, 0, 1].as_slice()]);
        assert!(crossing.refines(&blocks) && !blocks.refines(&over));
        assert!(blocks.join(&crossing).same_as(&blocks));
        assert_eq!(blocks.join(&over).count(), 1);
    }
}
