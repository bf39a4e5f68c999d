//! Which plots lie beside each other.
//!
//! In the row, a plot's neighbour is the next one; across rows, those of the next row with plots that
//! lie opposite at least in part. Where nothing else is said, plots that are half as far again from
//! each other as neighbours usually are (the median) are none: a road or another trial lies between.

/// Where a plot lies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// Vineyard row.
    pub row: f64,
    /// Position of the first vine along the row.
    pub first: f64,
    /// Position of the last vine; `first` where a plot has one position only.
    pub last: f64,
}

impl Place {
    /// The middle of the plot along the row.
    #[must_use]
    pub fn middle(&self) -> f64 {
        (self.first + self.last) / 2.0
    }
}

/// How two neighbours lie to each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Direction {
    /// One after the other in a row.
    Along,
    /// In rows beside each other.
    Across,
}

/// Two neighbours, as places in the list of plots.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Pair {
    /// The plot of the lower position or row.
    pub first: usize,
    /// The other.
    pub second: usize,
    /// How they lie.
    pub direction: Direction,
}

/// Neighbours further apart than this share of the usual distance are none.
const FURTHEST: f64 = 1.5;

/// Opposite plots known by one position each may be apart by this share of the usual step.
const OPPOSITE: f64 = 0.5;

/// The pairs of neighbours; `None` is a plot without a place. Where `spacing` gives the metres between
/// positions and between rows and the most metres between middles, that limit alone decides.
#[must_use]
pub fn neighbours(places: &[Option<Place>], spacing: Option<([f64; 2], f64)>) -> Vec<Pair> {
    let mut order: Vec<(usize, Place)> = places
        .iter()
        .enumerate()
        .filter_map(|(plot, place)| Some((plot, (*place)?)))
        .collect();
    order.sort_by(|(a, one), (b, other)| {
        one.row
            .total_cmp(&other.row)
            .then(one.first.total_cmp(&other.first))
            .then(a.cmp(b))
    });
    let rows: Vec<&[(usize, Place)]> = order.chunk_by(|(_, a), (_, b)| a.row == b.row).collect();
    let next = |row: &[(usize, Place)]| -> Vec<((usize, Place), (usize, Place))> {
        row.windows(2).map(|pair| (pair[0], pair[1])).collect()
    };
    let along: Vec<_> = rows.iter().flat_map(|row| next(row)).collect();
    let step = median(along.iter().map(|((_, a), (_, b))| b.middle() - a.middle()));
    let apart = median(
        rows.windows(2)
            .map(|pair| pair[1][0].1.row - pair[0][0].1.row),
    );
    let near = |a: &Place, b: &Place, direction: Direction| match spacing {
        Some(([vines, between], most)) => {
            let down = (b.middle() - a.middle()) * vines;
            down.hypot((b.row - a.row) * between) <= most
        }
        None => match direction {
            Direction::Along => b.middle() - a.middle() <= FURTHEST * step,
            Direction::Across => b.row - a.row <= FURTHEST * apart,
        },
    };
    let pair = |(first, _): (usize, Place), (second, _): (usize, Place), direction| Pair {
        first,
        second,
        direction,
    };
    let mut pairs: Vec<Pair> = along
        .iter()
        .filter(|(a, b)| near(&a.1, &b.1, Direction::Along))
        .map(|(a, b)| pair(*a, *b, Direction::Along))
        .collect();
    for two in rows.windows(2) {
        for a in two[0] {
            let opposite = two[1]
                .iter()
                .filter(|b| lie_opposite(&a.1, &b.1, step) && near(&a.1, &b.1, Direction::Across));
            pairs.extend(opposite.map(|b| pair(*a, *b, Direction::Across)));
        }
    }
    pairs
}

fn lie_opposite(a: &Place, b: &Place, step: f64) -> bool {
    let overlap = a.last.min(b.last) - a.first.max(b.first);
    if a.first < a.last || b.first < b.last {
        overlap >= 0.0
    } else {
        a.first == b.first || -overlap < OPPOSITE * step
    }
}

/// The middle value; 0 of none.
/// The lower one of two in the middle: one wide gap among two distances is not what is usual.
fn median(values: impl Iterator<Item = f64>) -> f64 {
    let mut values: Vec<f64> = values.collect();
    values.sort_by(f64::total_cmp);
    values
        .get(values.len().saturating_sub(1) / 2)
        .copied()
        .unwrap_or(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn place(row: f64, first: f64, last: f64) -> Option<Place> {
        Some(Place { row, first, last })
    }

    fn found(places: &[Option<Place>]) -> Vec<(usize, usize, Direction)> {
        let pairs = neighbours(places, None);
        pairs
            .iter()
            .map(|pair| (pair.first, pair.second, pair.direction))
            .collect()
    }

    #[test]
    fn a_plot_has_its_next_in_the_row_and_those_opposite() {
        // Two rows of two plots, the second row shifted by half a plot.
        let places = [
            place(1.0, 1.0, 4.0),
            place(1.0, 5.0, 8.0),
            place(2.0, 3.0, 6.0),
            place(2.0, 7.0, 10.0),
        ];
        assert_eq!(
            found(&places),
            [
                (0, 1, Direction::Along),
                (2, 3, Direction::Along),
                (0, 2, Direction::Across),
                (1, 2, Direction::Across),
                (1, 3, Direction::Across),
            ]
        );
    }

    #[test]
    fn a_gap_or_a_plot_without_a_place_parts_neighbours() {
        let places = [
            place(1.0, 1.0, 1.0),
            place(1.0, 2.0, 2.0),
            None,
            place(1.0, 4.0, 4.0),
            place(1.0, 5.0, 5.0),
            place(7.0, 1.0, 1.0),
            place(8.0, 1.0, 1.0),
        ];
        assert_eq!(
            found(&places),
            [
                (0, 1, Direction::Along),
                (3, 4, Direction::Along),
                (5, 6, Direction::Across),
            ]
        );
    }

    #[test]
    fn a_limit_in_metres_alone_decides() {
        let places = [
            place(1.0, 1.0, 4.0),
            place(1.0, 9.0, 12.0),
            place(3.0, 1.0, 4.0),
        ];
        // Middles are 8 positions of 1.5 m = 12 m and 2 rows of 2.4 m = 4.8 m apart.
        let at = |most| neighbours(&places, Some(([1.5, 2.4], most))).len();
        assert_eq!((at(4.7), at(4.9), at(12.1)), (0, 1, 2));
    }

    #[test]
    fn plots_known_by_one_position_lie_opposite_where_positions_are_near() {
        let places = [
            place(1.0, 2.0, 2.0),
            place(1.0, 6.0, 6.0),
            place(2.0, 3.0, 3.0),
            place(2.0, 7.0, 7.0),
        ];
        assert_eq!(
            found(&places)[2..],
            [(0, 2, Direction::Across), (1, 3, Direction::Across)]
        );
    }
}
