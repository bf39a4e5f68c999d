//! The fixed part as means of cells, and hypotheses about them.
//!
//! Every cell of the treatments (and seasons) that has a value is a column, covariates follow them,
//! centred. An adjusted mean is then a plain average of cells at the mean of the covariates, each
//! level of the factors averaged over having the same weight (Searle, Speed & Milliken 1980, *Am.
//! Stat.* 34:216), and the marginal hypothesis of a term is that the contrasts of its adjusted means
//! that belong to no smaller term are zero. The rows given are orthonormal in those means. A mean or
//! hypothesis that touches a cell without values does not exist.

use nalgebra::DMatrix;

/// Cells of crossed factors.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Grid {
    sizes: Vec<usize>,
    columns: Vec<Option<usize>>,
    width: usize,
    filled: usize,
}

impl Grid {
    /// A grid of factors with these numbers of levels, from the levels of each value, factor by
    /// factor, and the number of covariates.
    #[must_use]
    pub fn new(sizes: &[usize], codes: &[&[usize]], covariates: usize) -> Self {
        let mut grid = Self {
            sizes: sizes.to_vec(),
            columns: vec![None; sizes.iter().product()],
            width: 0,
            filled: 0,
        };
        let units = codes.first().map_or(0, |codes| codes.len());
        for unit in 0..units {
            let cell = grid.cell_of(codes, unit);
            grid.columns[cell] = Some(0);
        }
        for column in grid.columns.iter_mut().flatten() {
            *column = grid.filled;
            grid.filled += 1;
        }
        grid.width = grid.filled + covariates;
        grid
    }

    fn cell_of(&self, codes: &[&[usize]], unit: usize) -> usize {
        self.sizes
            .iter()
            .zip(codes)
            .fold(0, |cell, (size, codes)| cell * size + codes[unit])
    }

    /// Number of columns of the fixed part.
    #[must_use]
    pub fn width(&self) -> usize {
        self.width
    }

    /// Number of cells with values: covariates have the columns from here on.
    #[must_use]
    pub fn filled(&self) -> usize {
        self.filled
    }

    /// The fixed part: cells, then the covariates, each given over the values.
    #[must_use]
    pub fn fixed(&self, codes: &[&[usize]], covariates: &[Vec<f64>]) -> DMatrix<f64> {
        let units = codes.first().map_or(0, |codes| codes.len());
        let mut fixed = DMatrix::zeros(units, self.filled + covariates.len());
        for unit in 0..units {
            if let Some(column) = self.columns[self.cell_of(codes, unit)] {
                fixed[(unit, column)] = 1.0;
            }
            for (at, values) in covariates.iter().enumerate() {
                fixed[(unit, self.filled + at)] = values[unit];
            }
        }
        fixed
    }

    fn levels_of(&self, mut cell: usize) -> Vec<usize> {
        let mut levels = vec![0; self.sizes.len()];
        for (level, size) in levels.iter_mut().zip(&self.sizes).rev() {
            *level = cell % size;
            cell /= size;
        }
        levels
    }

    /// Levels of the cells without values.
    #[must_use]
    pub fn empty(&self) -> Vec<Vec<usize>> {
        (0..self.columns.len())
            .filter(|&cell| self.columns[cell].is_none())
            .map(|cell| self.levels_of(cell))
            .collect()
    }

    /// Combinations of the levels of some factors, the last one running fastest.
    #[must_use]
    pub fn combinations(&self, factors: &[usize]) -> Vec<Vec<usize>> {
        factors.iter().fold(vec![vec![]], |all, &factor| {
            all.into_iter()
                .flat_map(|start: Vec<usize>| {
                    (0..self.sizes[factor]).map(move |level| {
                        let mut next = start.clone();
                        next.push(level);
                        next
                    })
                })
                .collect()
        })
    }

    /// Weights of the adjusted mean at given levels (factor, level); `None` where it touches an empty
    /// cell.
    #[must_use]
    pub fn mean(&self, given: &[(usize, usize)]) -> Option<Vec<f64>> {
        let mut row = vec![0.0; self.width];
        let mut count = 0.0;
        for cell in 0..self.columns.len() {
            let levels = self.levels_of(cell);
            if given.iter().all(|&(factor, level)| levels[factor] == level) {
                row[self.columns[cell]?] = 1.0;
                count += 1.0;
            }
        }
        row.iter_mut().for_each(|weight| *weight /= count);
        Some(row)
    }

    /// The marginal hypothesis of a term at given levels of other factors, one row a contrast.
    #[must_use]
    pub fn hypothesis(&self, term: &[usize], given: &[(usize, usize)]) -> Option<DMatrix<f64>> {
        let weights = term
            .iter()
            .map(|&factor| helmert(self.sizes[factor]))
            .fold(DMatrix::from_element(1, 1, 1.0), |all, own| {
                all.kronecker(&own)
            });
        Some(weights * self.means(term, given)?)
    }

    /// The hypothesis that all adjusted means over some factors are equal.
    #[must_use]
    pub fn joint(&self, factors: &[usize]) -> Option<DMatrix<f64>> {
        let means = self.means(factors, &[])?;
        Some(helmert(means.nrows()) * means)
    }

    fn means(&self, factors: &[usize], given: &[(usize, usize)]) -> Option<DMatrix<f64>> {
        let combinations = self.combinations(factors);
        let mut rows = DMatrix::zeros(combinations.len(), self.width);
        for (at, levels) in combinations.iter().enumerate() {
            let own = factors.iter().copied().zip(levels.iter().copied());
            let all: Vec<(usize, usize)> = own.chain(given.iter().copied()).collect();
            for (column, weight) in self.mean(&all)?.into_iter().enumerate() {
                rows[(at, column)] = weight;
            }
        }
        Some(rows)
    }
}

/// Orthonormal contrasts of `size` means: each against the average of those before it
/// (Helmert 1876, *Astron. Nachr.* 88:113).
fn helmert(size: usize) -> DMatrix<f64> {
    DMatrix::from_fn(size.saturating_sub(1), size, |row, column| {
        let before = (row + 1) as f64;
        let length = (before * (before + 1.0)).sqrt();
        match column.cmp(&(row + 1)) {
            std::cmp::Ordering::Less => -1.0 / length,
            std::cmp::Ordering::Equal => before / length,
            std::cmp::Ordering::Greater => 0.0,
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn contrasts_are_orthonormal_and_empty_cells_are_named() {
        let h = helmert(5);
        assert!((&h * h.transpose() - DMatrix::identity(4, 4)).amax() < 1e-15);
        let (a, b) = ([0, 0, 1, 1, 1], [0, 1, 0, 1, 2]);
        let grid = Grid::new(&[2, 3], &[&a, &b], 1);
        assert_eq!(grid.empty(), vec![vec![0, 2]]);
        assert_eq!(grid.width(), 6);
        assert!(grid.hypothesis(&[0], &[]).is_none());
        assert!(grid.hypothesis(&[0], &[(1, 1)]).is_some());
        assert_eq!(
            grid.mean(&[(0, 1)]).unwrap()[2..],
            [1.0 / 3.0, 1.0 / 3.0, 1.0 / 3.0, 0.0]
        );
    }
}
