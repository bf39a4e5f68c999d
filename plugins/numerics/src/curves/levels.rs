//! Everything a curve over the levels of a numeric factor needs to know about a trial.
//!
//! With the design terms A (blocks, whole plots, other factors) taken out of the values y and of the
//! indicator columns Z of the levels, the sum of squares left by any curve g over the levels is
//! E + ‖z − R g‖², where BR is the orthogonal decomposition of what A leaves of Z, z = B'y, and E is
//! what the level means themselves leave. So every curve is fitted to a handful of numbers, exactly
//! as if all plots were used, whatever the gaps. A common height is fixed by the mean over equally
//! weighted cells of the design terms: ℓ'y, with ℓ in the span of A.
//!
//! Refused: no variation, fewer than two levels, levels that the design terms do not connect, and
//! numbers that are not finite.

use crate::cells::Cells;
use crate::curves::basis::Basis;
use crate::curves::shape::Shape;
use crate::sum::dot;
use crate::variance::{ErrorLine, TermLine};

/// The units of one set: plots of a season, plot means over seasons, whole plots.
#[derive(Debug, Clone, Copy)]
pub struct Units<'a> {
    /// Values, centred.
    pub values: &'a [f64],
    /// The amount of the factor on each unit, in its own unit.
    pub amounts: &'a [f64],
    /// Design terms that are eliminated: blocks, rows and columns, whole plots, other factors.
    pub eliminated: &'a [Cells],
    /// Units that were treated alike; what varies inside these, with the design terms eliminated, is
    /// error.
    pub alike: &'a Cells,
}

/// Why a set of units has no level means to put a curve through.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum LevelsError {
    /// Occurs when the columns differ in length or are empty.
    #[error("every unit needs one value, one amount and one place in the design")]
    Length,
    /// Occurs when a value or an amount is not a finite number.
    #[error("a value or an amount is not a finite number")]
    NotFinite,
    /// Occurs when all values are the same.
    #[error("all values are the same")]
    Constant,
    /// Occurs when fewer than three different amounts are there.
    #[error("there are {0} different amounts; a curve needs three")]
    TooFewLevels(usize),
    /// Occurs when the difference between some levels is a difference between design terms.
    #[error("some amounts never share a block (or other unit of the design) with the rest")]
    Disconnected {
        /// Amounts that share design units with each other but not with the others, where one term
        /// alone keeps them apart; else empty.
        apart: Vec<f64>,
    },
}

/// A mean with the variance it would have if the error variance were 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// The estimate, centred as the values were where it is a height.
    pub value: f64,
    /// Its variance in units of the error variance.
    pub unit_variance: f64,
}

impl Estimate {
    /// The standard error under an error.
    ///
    /// `None` where the error has no degrees of freedom.
    #[must_use]
    pub fn standard_error(&self, error: &ErrorLine) -> Option<f64> {
        error
            .mean_square
            .map(|square| (square * self.unit_variance).sqrt())
    }
}

/// Level means of one set of units, reduced to what curves need.
#[derive(Debug, Clone)]
pub struct Levels {
    /// The different amounts, ascending.
    pub amounts: Vec<f64>,
    /// Units of each.
    pub counts: Vec<usize>,
    /// Means adjusted for the design terms.
    pub means: Vec<Estimate>,
    /// What varies between units treated alike.
    pub error: ErrorLine,
    /// Number of units.
    pub units: usize,
    /// Free parameters apart from those of the curve: constant, blocks, other factors and their
    /// interactions with this one.
    pub other_parameters: usize,
    /// R by columns: one a level, each as long as there are contrasts between levels.
    pub(crate) columns: Vec<Vec<f64>>,
    /// z.
    pub(crate) contrasts: Vec<f64>,
    /// ℓ'y and ‖ℓ‖².
    pub(crate) reference: Estimate,
    /// Z'ℓ: how much each level weighs in ℓ'y.
    pub(crate) weights: Vec<f64>,
}

impl Levels {
    /// The level means of these units.
    ///
    /// # Errors
    /// See [`LevelsError`].
    pub fn new(units: Units<'_>) -> Result<Self, LevelsError> {
        let amounts = checked(units)?;
        let count = units.values.len();
        let of_unit: Vec<usize> = units
            .amounts
            .iter()
            .map(|amount| amounts.partition_point(|level| level < amount))
            .collect();
        let mut counts = vec![0; amounts.len()];
        for &level in &of_unit {
            counts[level] += 1;
        }

        let mut basis = Basis::default();
        let over = eliminate(&mut basis, units.eliminated, count);
        let contrasts_from = basis.rank();
        let mut columns = vec![Vec::new(); amounts.len()];
        // The last level is minus the sum of the others, once the constant is eliminated.
        let last = amounts.len() - 1;
        for (level, column) in columns.iter_mut().enumerate().take(last) {
            let pushed = basis.push(&indicator(&of_unit, level));
            let Some(own) = pushed.own else {
                return Err(disconnected(&amounts, &of_unit, units.eliminated));
            };
            *column = pushed.along[contrasts_from..].to_vec();
            column.push(own);
            column.resize(last, 0.0);
        }
        columns[last] = (0..last)
            .map(|row| {
                -columns[..last]
                    .iter()
                    .map(|column| column[row])
                    .sum::<f64>()
            })
            .collect();
        let contrasts: Vec<f64> = basis
            .from(contrasts_from)
            .iter()
            .map(|direction| dot(direction, units.values))
            .collect();
        for cell in 0..units.alike.count() {
            basis.push(&indicator(units.alike.of_unit(), cell));
        }
        let mut levels = Self {
            counts,
            means: Vec::new(),
            error: error_of(&basis, units.values),
            units: count,
            other_parameters: basis.rank() - last,
            columns,
            contrasts,
            reference: Estimate {
                value: dot(&over, units.values),
                unit_variance: dot(&over, &over),
            },
            weights: (0..amounts.len())
                .map(|level| dot(&over, &indicator(&of_unit, level)))
                .collect(),
            amounts,
        };
        levels.means = levels.adjusted();
        Ok(levels)
    }

    /// Number of levels.
    #[must_use]
    pub fn count(&self) -> usize {
        self.amounts.len()
    }

    /// The lowest and the highest amount.
    #[must_use]
    pub fn range(&self) -> (f64, f64) {
        (self.amounts[0], self.amounts[self.amounts.len() - 1])
    }

    /// Sum of squares of the levels about one common height.
    #[must_use]
    pub fn sum_of_squares(&self) -> f64 {
        dot(&self.contrasts, &self.contrasts)
    }

    /// The test of any difference between the levels.
    #[must_use]
    pub fn any_difference(&self) -> TermLine {
        TermLine::tested(self.sum_of_squares(), self.count() - 1, &self.error)
    }

    /// The tests of a linear change and of a bend added to it, each with one degree of freedom.
    #[must_use]
    pub fn trends(&self) -> [TermLine; 2] {
        let left = |shape: Shape| self.fit(shape).map_or(0.0, |fit| fit.lack_of_fit);
        let (line, bend) = (left(Shape::Line), left(Shape::Quadratic));
        [self.sum_of_squares() - line, line - bend]
            .map(|squares| TermLine::tested(squares.max(0.0), 1, &self.error))
    }

    /// R g for heights g over the levels.
    pub(crate) fn reduced(&self, heights: &[f64]) -> Vec<f64> {
        let mut out = vec![0.0; self.contrasts.len()];
        for (column, height) in self.columns.iter().zip(heights) {
            for (sum, value) in out.iter_mut().zip(column) {
                *sum += value * height;
            }
        }
        out
    }

    /// Level means, by solving R g = z with the last height as zero and moving g to ℓ'y.
    fn adjusted(&self) -> Vec<Estimate> {
        let last = self.count() - 1;
        let mut heights = vec![0.0; self.count()];
        for row in (0..last).rev() {
            let known: f64 = (row + 1..last)
                .map(|at| self.columns[at][row] * heights[at])
                .sum();
            heights[row] = (self.contrasts[row] - known) / self.columns[row][row];
        }
        let middle = dot(&self.weights, &heights);
        (0..self.count())
            .map(|level| {
                // Variance of the contrast of this level with the weighted mean: ‖R⁻ᵀ v‖².
                let mut solved: Vec<f64> = Vec::with_capacity(last);
                for row in 0..last {
                    let own = f64::from(u8::from(row == level)) - self.weights[row];
                    let known: f64 = (0..row).map(|at| self.columns[row][at] * solved[at]).sum();
                    solved.push((own - known) / self.columns[row][row]);
                }
                Estimate {
                    value: self.reference.value + heights[level] - middle,
                    unit_variance: self.reference.unit_variance + dot(&solved, &solved),
                }
            })
            .collect()
    }
}

fn checked(units: Units<'_>) -> Result<Vec<f64>, LevelsError> {
    let count = units.values.len();
    let fits = units.amounts.len() == count
        && units.alike.of_unit().len() == count
        && units
            .eliminated
            .iter()
            .all(|cells| cells.of_unit().len() == count);
    if count == 0 || !fits {
        return Err(LevelsError::Length);
    }
    let finite = |values: &[f64]| values.iter().all(|value| value.is_finite());
    if !finite(units.values) || !finite(units.amounts) {
        return Err(LevelsError::NotFinite);
    }
    let mut amounts = units.amounts.to_vec();
    amounts.sort_by(f64::total_cmp);
    amounts.dedup();
    if amounts.len() < 3 {
        return Err(LevelsError::TooFewLevels(amounts.len()));
    }
    if units.values.iter().all(|value| *value == units.values[0]) {
        return Err(LevelsError::Constant);
    }
    Ok(amounts)
}

/// The first group of amounts that one design term keeps apart from the others.
fn disconnected(amounts: &[f64], of_unit: &[usize], terms: &[Cells]) -> LevelsError {
    let levels = Cells::crossing(of_unit.len(), [of_unit]);
    let apart = terms
        .iter()
        .map(|cells| levels.join(cells))
        .find(|groups| groups.count() > 1)
        .map_or_else(Vec::new, |groups| {
            let lowest = groups.of_unit()[levels.first()[0]];
            let inside = |level: &usize| groups.of_unit()[levels.first()[*level]] == lowest;
            (0..amounts.len())
                .filter(inside)
                .map(|level| amounts[level])
                .collect()
        });
    LevelsError::Disconnected { apart }
}

pub(crate) fn indicator(of_unit: &[usize], cell: usize) -> Vec<f64> {
    of_unit
        .iter()
        .map(|&own| f64::from(u8::from(own == cell)))
        .collect()
}

/// Puts the design terms into the basis and returns ℓ, whose product with y is the mean over the
/// equally weighted cells of every term.
fn eliminate(basis: &mut Basis, terms: &[Cells], count: usize) -> Vec<f64> {
    let whole = Cells::whole(count);
    let mut finest: Vec<&Cells> = Vec::new();
    for (at, cells) in terms.iter().enumerate() {
        let inside = |other: usize| {
            terms[other].refines(cells) && (other < at || !cells.refines(&terms[other]))
        };
        if !(0..terms.len()).any(|other| other != at && inside(other)) {
            finest.push(cells);
        }
    }
    if finest.is_empty() {
        finest.push(&whole);
    }
    let mut coordinates: Vec<f64> = Vec::new();
    let mut estimable = true;
    for cells in finest {
        let share = 1.0 / cells.count() as f64;
        for cell in 0..cells.count() {
            let pushed = basis.push(&indicator(cells.of_unit(), cell));
            let open = share - dot(&pushed.along, &coordinates);
            match pushed.own {
                Some(own) => coordinates.push(open / own),
                None => estimable &= open.abs() < 1e-7,
            }
        }
    }
    if estimable {
        basis.combined(&coordinates, count)
    } else {
        // Terms that are not connected have no mean over their grid; the units have one.
        vec![1.0 / count as f64; count]
    }
}

/// The error: what the basis leaves of the values.
pub(crate) fn error_of(basis: &Basis, values: &[f64]) -> ErrorLine {
    let left = basis.left(values);
    let largest = values
        .iter()
        .fold(0.0_f64, |most, value| most.max(value.abs()));
    // A sum of squares this small is rounding of equal values, not variation.
    let noise = values.len() as f64 * (8.0 * f64::EPSILON * largest).powi(2);
    let sum_of_squares = dot(&left, &left);
    let df = values.len() - basis.rank();
    let sum_of_squares = if df == 0 || sum_of_squares <= noise {
        0.0
    } else {
        sum_of_squares
    };
    ErrorLine {
        df,
        sum_of_squares,
        mean_square: (df > 0).then(|| sum_of_squares / df as f64),
    }
}
