//! The averages of a table of means, taken apart by strata all at once.
//!
//! With a_i the weights of mean i over the units and A_s the averaging over the cells of stratum s,
//! ⟨A_s a_i, A_s a_j⟩ = Σ over cells k of n_ik n_jk / (n_i n_j n_k). Taking off the parts of coarser
//! strata leaves the products inside s alone, from which the split of every difference follows
//! without going back to the units.

use crate::cells::Cells;
use crate::means::Split;
use crate::strata::Layout;

/// Products of the averages of a table inside the mean and inside each stratum.
#[derive(Debug, Clone)]
pub(crate) struct Averages {
    count: usize,
    /// The mean first, then the strata; each a square over the cells of the table.
    products: Vec<Vec<f64>>,
}

impl Averages {
    /// Of the cells of a table of means.
    pub fn new(layout: &Layout, table: &Cells) -> Self {
        let whole = Cells::whole(layout.units());
        let strata: Vec<&Cells> = std::iter::once(&whole)
            .chain(layout.strata().iter().map(|stratum| &stratum.cells))
            .collect();
        let mut products: Vec<Vec<f64>> = Vec::with_capacity(strata.len());
        for (at, cells) in strata.iter().enumerate() {
            let mut own = averaged(table, cells);
            for (coarser, known) in strata[..at].iter().zip(&products) {
                if cells.refines(coarser) {
                    for (value, part) in own.iter_mut().zip(known) {
                        *value -= part;
                    }
                }
            }
            products.push(own);
        }
        Self {
            count: table.count(),
            products,
        }
    }

    /// The split of one mean.
    pub fn single(&self, cell: usize) -> Split {
        let at = cell * self.count + cell;
        self.split(|square| square[at])
    }

    /// The split of the difference of two means.
    pub fn difference(&self, first: usize, second: usize) -> Split {
        let at = |a: usize, b: usize| a * self.count + b;
        self.split(|square| {
            square[at(first, first)] + square[at(second, second)] - 2.0 * square[at(first, second)]
        })
    }

    fn split(&self, length: impl Fn(&[f64]) -> f64) -> Split {
        let mut parts = self.products.iter().map(|square| length(square));
        Split::settled(parts.next().unwrap_or(0.0), parts.collect())
    }
}

/// ⟨A a_i, A a_j⟩ for all pairs of cells of the table.
fn averaged(table: &Cells, cells: &Cells) -> Vec<f64> {
    let both = Cells::crossing(table.of_unit().len(), [cells.of_unit(), table.of_unit()]);
    // For every cell the cells of the table it meets, with the share of each mean that lies there.
    let mut meets: Vec<Vec<(usize, f64)>> = vec![Vec::new(); cells.count()];
    for (&unit, &size) in both.first().iter().zip(both.sizes()) {
        let own = table.of_unit()[unit];
        meets[cells.of_unit()[unit]].push((own, size as f64 / table.sizes()[own] as f64));
    }
    let count = table.count();
    let mut products = vec![0.0; count * count];
    for (met, &size) in meets.iter().zip(cells.sizes()) {
        for &(a, share_a) in met {
            for &(b, share_b) in met {
                products[a * count + b] += share_a * share_b / size as f64;
            }
        }
    }
    products
}
