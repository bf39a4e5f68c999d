//! A Latin square drawn at random.
//!
//! Up to order 6 the draw is exactly uniform over all squares: one of the reduced squares (first row
//! and first column in order; there are 1, 1, 4, 56 and 9408 of orders 2 to 6), then a random order
//! of all columns and of the rows below the first, which reach every square once (Fisher & Yates
//! 1934, *Proc. Camb. Phil. Soc.* 30:492). From order 7 on there are too many reduced squares
//! (16 942 080) to list: there the square is where a long walk of Jacobson & Matthews (1996, *J.
//! Combin. Designs* 4:405) ends, whose moves reach every square and favour none in the long run,
//! followed by random orders of rows, columns and treatments.

use super::chance::Chance;

/// Largest order whose reduced squares are listed.
const LISTED: usize = 6;

/// Steps of the walk, in multiples of the cube of the order.
const STEPS: usize = 20;

/// A square: `square[row][column]` is the treatment.
pub type Square = Vec<Vec<usize>>;

/// A random Latin square of an order.
pub fn drawn(order: usize, chance: &mut Chance) -> Square {
    if order <= LISTED {
        let reduced = reduced(order);
        let square = &reduced[chance.below(reduced.len())];
        let columns = chance.order(order);
        let mut rows: Vec<usize> = (1..order).collect();
        chance.shuffle(&mut rows);
        rows.insert(0, 0);
        return rearranged(square, &rows, &columns);
    }
    let walked = walked(order, STEPS * order * order * order, chance);
    let (rows, columns) = (chance.order(order), chance.order(order));
    let names = chance.order(order);
    rearranged(&walked, &rows, &columns)
        .into_iter()
        .map(|row| row.into_iter().map(|treatment| names[treatment]).collect())
        .collect()
}

fn rearranged(square: &Square, rows: &[usize], columns: &[usize]) -> Square {
    rows.iter()
        .map(|&row| columns.iter().map(|&column| square[row][column]).collect())
        .collect()
}

/// All reduced squares of an order.
#[must_use]
pub fn reduced(order: usize) -> Vec<Square> {
    let mut square: Square = vec![vec![usize::MAX; order]; order];
    for (at, row) in square.iter_mut().enumerate() {
        row[0] = at;
    }
    if let Some(first) = square.first_mut() {
        *first = (0..order).collect();
    }
    let mut found = Vec::new();
    fill(&mut square, order + 1, &mut found);
    found
}

/// Fills the cells from a running number on, row by row, in every way.
fn fill(square: &mut Square, cell: usize, found: &mut Vec<Square>) {
    let order = square.len();
    let (row, column) = (cell / order.max(1), cell % order.max(1));
    if row >= order {
        found.push(square.clone());
        return;
    }
    if column == 0 {
        fill(square, cell + 1, found);
        return;
    }
    for treatment in 0..order {
        let used = square[row][..column].contains(&treatment)
            || square[..row].iter().any(|above| above[column] == treatment);
        if !used {
            square[row][column] = treatment;
            fill(square, cell + 1, found);
            square[row][column] = usize::MAX;
        }
    }
}

/// The walk from the cyclic square: the square as the set of cells (row, column, treatment), which a
/// move may leave with one cell of −1 and the next moves repair. Steps are counted at true squares
/// only: among those the walk visits, all are alike in the long run.
pub(super) fn walked(order: usize, steps: usize, chance: &mut Chance) -> Square {
    let mut cube = Cube::cyclic(order);
    let (mut improper, mut left) = (None, steps);
    while left > 0 {
        improper = cube.moved(improper, chance);
        if improper.is_none() {
            left -= 1;
        }
    }
    cube.square()
}

struct Cube {
    order: usize,
    cells: Vec<i8>,
}

impl Cube {
    fn cyclic(order: usize) -> Self {
        let mut cube = Self {
            order,
            cells: vec![0; order * order * order],
        };
        for row in 0..order {
            for column in 0..order {
                *cube.at([row, column, (row + column) % order]) = 1;
            }
        }
        cube
    }

    fn index(&self, [row, column, treatment]: [usize; 3]) -> usize {
        (row * self.order + column) * self.order + treatment
    }

    fn at(&mut self, cell: [usize; 3]) -> &mut i8 {
        let index = self.index(cell);
        &mut self.cells[index]
    }

    /// Where the ones stand on the line through a cell along an axis.
    fn ones(&self, cell: [usize; 3], axis: usize) -> impl Iterator<Item = usize> + '_ {
        (0..self.order).filter(move |&along| {
            let mut other = cell;
            other[axis] = along;
            self.cells[self.index(other)] == 1
        })
    }

    /// One ±1 move from a proper square or from one with a cell of −1; the cell of −1 that it leaves.
    fn moved(&mut self, improper: Option<[usize; 3]>, chance: &mut Chance) -> Option<[usize; 3]> {
        let cell = improper.unwrap_or_else(|| {
            loop {
                let cell = [0; 3].map(|_: usize| chance.below(self.order));
                if self.cells[self.index(cell)] == 0 {
                    break cell;
                }
            }
        });
        let other: [usize; 3] = std::array::from_fn(|axis| {
            // A proper line has one 1; the lines of the cell of −1 have two.
            let many = self.ones(cell, axis).count();
            let chosen = chance.below(many);
            self.ones(cell, axis).nth(chosen).unwrap_or(0)
        });
        for corner in 0..8_usize {
            let at: [usize; 3] = std::array::from_fn(|axis| {
                if corner >> axis & 1 == 1 {
                    other[axis]
                } else {
                    cell[axis]
                }
            });
            *self.at(at) += if corner.count_ones() % 2 == 0 { 1 } else { -1 };
        }
        (self.cells[self.index(other)] < 0).then_some(other)
    }

    fn square(&self) -> Square {
        (0..self.order)
            .map(|row| {
                (0..self.order)
                    .map(|column| self.ones([row, column, 0], 2).next().unwrap_or(0))
                    .collect()
            })
            .collect()
    }
}
