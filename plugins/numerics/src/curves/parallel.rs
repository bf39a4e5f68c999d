//! Whether the response to an amount is the same in several groups: seasons, or levels of another
//! factor.
//!
//! After the design terms, the groups and the levels of the amount, the columns group × linear are
//! put in, then group × quadratic, then group × level: each step's sum of squares is what it adds,
//! tested against what all treatment combinations leave. In a complete set these are the linear,
//! quadratic and remaining parts of the interaction in its stratum, whatever shape the curve has.
//!
//! Refused: nothing varies, or there are no groups with levels in common; parts without degrees of
//! freedom are left out.

use crate::cells::Cells;
use crate::curves::basis::Basis;
use crate::curves::levels::{error_of, indicator};
use crate::sum::dot;
use crate::variance::{ErrorLine, TermLine};

/// The units in which the interaction is tested.
#[derive(Debug, Clone, Copy)]
pub struct Grouped<'a> {
    /// Values, centred.
    pub values: &'a [f64],
    /// The amount on each unit.
    pub amounts: &'a [f64],
    /// The group of each unit.
    pub groups: &'a Cells,
    /// Design terms: for seasons the plots; other factors, seasons × other factors.
    pub eliminated: &'a [Cells],
    /// Units treated alike (in one season).
    pub alike: &'a Cells,
}

/// The interaction of amount and group, in parts.
#[derive(Debug, Clone, PartialEq)]
pub struct Parallelism {
    /// Different steepness.
    pub linear: Option<TermLine>,
    /// Different bend.
    pub quadratic: Option<TermLine>,
    /// What is left.
    pub rest: Option<TermLine>,
    /// All of it.
    pub whole: Option<TermLine>,
    /// The error they are tested against.
    pub error: ErrorLine,
}

/// Tests whether the curves of the groups run parallel.
///
/// # Panics
/// Where the columns differ in length.
#[must_use]
pub fn parallelism(set: Grouped<'_>) -> Parallelism {
    let units = set.values.len();
    assert!(
        set.amounts.len() == units && set.groups.of_unit().len() == units,
        "one amount and one group a unit"
    );
    let mut basis = Basis::default();
    let push_cells = |basis: &mut Basis, cells: &Cells| {
        for cell in 0..cells.count() {
            basis.push(&indicator(cells.of_unit(), cell));
        }
    };
    // Finest first: their indicator columns are orthogonal as they stand.
    let mut terms: Vec<&Cells> = set.eliminated.iter().collect();
    terms.sort_by_key(|cells| std::cmp::Reverse(cells.count()));
    for cells in terms {
        push_cells(&mut basis, cells);
    }
    push_cells(&mut basis, set.groups);
    let level_of = level_codes(set.amounts);
    push_cells(&mut basis, &Cells::crossing(units, [level_of.as_slice()]));

    let (low, high) = set
        .amounts
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), &x| {
            (low.min(x), high.max(x))
        });
    let place = |x: f64| (x - 0.5 * (low + high)) / (0.5 * (high - low)).max(f64::MIN_POSITIVE);
    let power = |basis: &mut Basis, degree: i32| {
        for group in 0..set.groups.count() {
            let column: Vec<f64> = indicator(set.groups.of_unit(), group)
                .iter()
                .zip(set.amounts)
                .map(|(inside, &x)| inside * place(x).powi(degree))
                .collect();
            basis.push(&column);
        }
    };
    let start = basis.rank();
    power(&mut basis, 1);
    let after_linear = basis.rank();
    power(&mut basis, 2);
    let after_quadratic = basis.rank();
    let crossed = Cells::crossing(units, [set.groups.of_unit(), level_of.as_slice()]);
    push_cells(&mut basis, &crossed);
    let after_all = basis.rank();
    push_cells(&mut basis, set.alike);

    let error = error_of(&basis, set.values);
    let part = |from: usize, to: usize| {
        let squares: f64 = basis.from(from)[..to - from]
            .iter()
            .map(|direction| dot(direction, set.values).powi(2))
            .sum();
        (to > from).then(|| TermLine::tested(squares, to - from, &error))
    };
    Parallelism {
        linear: part(start, after_linear),
        quadratic: part(after_linear, after_quadratic),
        rest: part(after_quadratic, after_all),
        whole: part(start, after_all),
        error,
    }
}

/// The place of each amount among the different ones.
fn level_codes(amounts: &[f64]) -> Vec<usize> {
    let mut different = amounts.to_vec();
    different.sort_by(f64::total_cmp);
    different.dedup();
    amounts
        .iter()
        .map(|amount| different.partition_point(|level| level < amount))
        .collect()
}
