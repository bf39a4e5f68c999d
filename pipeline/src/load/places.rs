//! Where each plot lies: its vineyard row and its positions along it, one value a plot.

use super::{Loaded, Seen};
use crate::decimal::{Decimal, nearest_f64};

/// The place of a plot in the field.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spot {
    /// Vineyard row.
    pub row: Decimal,
    /// Position of the first vine, or of the plot where only one is declared.
    pub first: Decimal,
    /// Position of the last vine; the first again where only one is declared.
    pub last: Decimal,
    /// The record that holds the row.
    pub seen: Seen,
}

impl Spot {
    /// Row, first position, last position and the middle, as numbers.
    #[must_use]
    pub fn numbers(&self) -> [f64; 4] {
        let [row, first, last] = [self.row, self.first, self.last].map(nearest_f64);
        [row, first, last, (first + last) / 2.0]
    }
}

/// A number with the record it stands in.
pub type Told = (Decimal, Seen);

/// The first number of each plot in one of the columns of places.
#[must_use]
pub fn told(loaded: &Loaded, column: usize) -> Vec<Option<Told>> {
    let mut told = vec![None; loaded.index.plots.len()];
    for (plot, value, seen) in records(loaded, column) {
        let held: &mut Option<Told> = &mut told[plot];
        *held = held.or(Some((value, seen)));
    }
    told
}

/// Every number of a column of places, with its plot and its record.
pub fn records(loaded: &Loaded, column: usize) -> impl Iterator<Item = (usize, Decimal, Seen)> {
    loaded.field[column].iter().flat_map(move |part| {
        let file = &loaded.files[part.file];
        let values = part.values.iter().enumerate();
        values.filter_map(move |(row, value)| {
            let seen = Seen {
                file: part.file,
                row,
            };
            Some((file.plots[row]? as usize, (*value)?, seen))
        })
    })
}

/// The place of each plot; `None` for a plot that lacks its row or a position.
#[must_use]
pub fn of_plots(loaded: &Loaded) -> Vec<Option<Spot>> {
    let [rows, firsts, lasts] = [0, 1, 2].map(|column| told(loaded, column));
    let only_one = loaded.field[2].is_empty();
    rows.into_iter()
        .zip(firsts)
        .zip(lasts)
        .map(|((row, first), last)| {
            let ((row, seen), (first, _)) = (row?, first?);
            let last = match last {
                Some((last, _)) => last,
                None if only_one => first,
                None => return None,
            };
            Some(Spot {
                row,
                first,
                last,
                seen,
            })
        })
        .collect()
}
