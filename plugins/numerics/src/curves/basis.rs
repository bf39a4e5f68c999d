//! An orthonormal basis grown column by column, with what depends on earlier columns left out.
//!
//! Gram-Schmidt, a column made orthogonal again where much of it cancelled (Giraud, Langou & Rozložník 2005, *Comput. Math.
//! Appl.* 50:1069): that is as good as Householder reflections, and the columns that a design repeats
//! (a block is the sum of its whole plots) drop out on the way.

use crate::sum::Sum;

/// Share of its length below which a column counts as a sum of earlier ones.
const DEPENDENT: f64 = 1e-7;

/// Orthonormal vectors over the units.
#[derive(Debug, Clone, Default)]
pub(crate) struct Basis {
    vectors: Vec<Vec<f64>>,
}

/// A column in terms of the basis.
#[derive(Debug, Clone)]
pub(crate) struct Pushed {
    /// Its coordinates along the vectors that were there before.
    pub along: Vec<f64>,
    /// Its coordinate along the vector it added; `None` where it added none.
    pub own: Option<f64>,
}

impl Basis {
    /// Number of vectors.
    pub fn rank(&self) -> usize {
        self.vectors.len()
    }

    /// The vectors from a place on.
    pub fn from(&self, first: usize) -> &[Vec<f64>] {
        &self.vectors[first..]
    }

    /// Adds the direction of a column, where it has one of its own.
    pub fn push(&mut self, column: &[f64]) -> Pushed {
        let length = product(column, column).sqrt();
        let mut left = column.to_vec();
        let mut along = vec![0.0; self.vectors.len()];
        let mut rest = length;
        // Once is enough where the column keeps most of its length: little has cancelled.
        for _ in 0..2 {
            let before = rest;
            for (total, part) in along.iter_mut().zip(self.take_out(&mut left)) {
                *total += part;
            }
            rest = product(&left, &left).sqrt();
            if rest > 0.7 * before {
                break;
            }
        }
        if rest <= DEPENDENT * length {
            return Pushed { along, own: None };
        }
        for value in &mut left {
            *value /= rest;
        }
        self.vectors.push(left);
        Pushed {
            along,
            own: Some(rest),
        }
    }

    /// Takes the part along the basis out of a vector and returns its coordinates.
    fn take_out(&self, vector: &mut [f64]) -> Vec<f64> {
        self.vectors
            .iter()
            .map(|direction| {
                let part = product(direction, vector);
                if part != 0.0 {
                    for (value, step) in vector.iter_mut().zip(direction) {
                        *value -= part * step;
                    }
                }
                part
            })
            .collect()
    }

    /// What the basis leaves of a vector.
    pub fn left(&self, vector: &[f64]) -> Vec<f64> {
        let mut left = vector.to_vec();
        for _ in 0..2 {
            self.take_out(&mut left);
        }
        left
    }

    /// The vector with these coordinates.
    pub fn combined(&self, coordinates: &[f64], units: usize) -> Vec<f64> {
        let mut sums = vec![Sum::default(); units];
        for (coordinate, direction) in coordinates.iter().zip(&self.vectors) {
            for (sum, value) in sums.iter_mut().zip(direction) {
                sum.add_product(*coordinate, *value);
            }
        }
        sums.iter().map(Sum::total).collect()
    }
}

/// A plain sum of products, four at a time: the second pass of Gram-Schmidt removes its rounding.
fn product(a: &[f64], b: &[f64]) -> f64 {
    let mut sums = [0.0; 4];
    let (mut a, mut b) = (a.chunks_exact(4), b.chunks_exact(4));
    for (x, y) in a.by_ref().zip(b.by_ref()) {
        for lane in 0..4 {
            sums[lane] += x[lane] * y[lane];
        }
    }
    let rest: f64 = a
        .remainder()
        .iter()
        .zip(b.remainder())
        .map(|(x, y)| x * y)
        .sum();
    sums[0] + sums[1] + sums[2] + sums[3] + rest
}
