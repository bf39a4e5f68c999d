//! What a plot's value rests on beside its place.

use nalgebra::DMatrix;

use crate::cells::Cells;
use crate::design::{Applied, Kind, Sheet};
use crate::mixed::RandomTerm;

/// What is left of a column below this share of its length is rounding.
const NOTHING: f64 = 1e-7;

/// Treatments, blocks and larger units of the plots of a sheet, one value a plot.
#[derive(Debug, Clone)]
pub struct Ground {
    /// Combination of treatments of each plot.
    pub(super) combinations: Cells,
    /// Level of each factor in each combination.
    levels: Vec<Vec<usize>>,
    factors: Vec<usize>,
    /// Blocks, or rows and columns of a square.
    blocks: Vec<Cells>,
    /// Whole plots, sub plots, strips.
    pub(super) larger: Vec<RandomTerm>,
    /// Plots whose residuals may be exchanged.
    pub(super) exchanged: Cells,
}

impl Ground {
    /// From the design columns of plots that have one value each.
    #[must_use]
    pub fn of(sheet: &Sheet) -> Self {
        let plots = sheet.plot.codes.len();
        let cells = |codes: &[&[usize]]| Cells::crossing(plots, codes.iter().copied());
        let block = sheet.block.as_ref().map(|block| block.codes.as_slice());
        let blocks: Vec<Cells> = match sheet.kind {
            Kind::CompletelyRandomised => Vec::new(),
            Kind::LatinSquare => [&sheet.row, &sheet.column]
                .into_iter()
                .flatten()
                .map(|line| cells(&[&line.codes]))
                .collect(),
            _ => block.iter().map(|block| cells(&[block])).collect(),
        };
        let larger: Vec<(&str, Cells)> = groups(sheet.kind)
            .iter()
            .map(|(name, roles)| {
                let carried = sheet.treatments.iter();
                let carried = carried.filter(|(_, role)| roles.contains(role));
                let codes: Vec<&[usize]> = block
                    .into_iter()
                    .chain(carried.map(|(factor, _)| factor.codes.as_slice()))
                    .collect();
                (*name, cells(&codes))
            })
            .collect();
        let exchanged = match (sheet.kind, larger.last(), blocks.as_slice()) {
            (Kind::SplitPlot | Kind::SplitSplitPlot, Some((_, finest)), _) => finest.clone(),
            (Kind::LatinSquare, ..) => Cells::whole(plots),
            (_, _, [block]) => block.clone(),
            _ => Cells::whole(plots),
        };
        let combinations = sheet.combinations();
        let level = |unit: &usize| -> Vec<usize> {
            let treatments = sheet.treatments.iter();
            treatments.map(|(factor, _)| factor.codes[*unit]).collect()
        };
        Self {
            levels: combinations.first().iter().map(level).collect(),
            factors: sheet
                .treatments
                .iter()
                .map(|(factor, _)| factor.levels.len())
                .collect(),
            combinations,
            blocks,
            larger: larger
                .into_iter()
                .map(|(name, cells)| RandomTerm {
                    name: name.to_owned(),
                    codes: cells.of_unit().to_vec(),
                })
                .collect(),
            exchanged,
        }
    }

    /// Number of plots.
    #[must_use]
    pub fn plots(&self) -> usize {
        self.combinations.of_unit().len()
    }

    /// Number of combinations of treatments.
    #[must_use]
    pub fn treatments(&self) -> usize {
        self.combinations.count()
    }

    /// Whether residuals can be exchanged inside blocks, or inside the smallest of the larger units;
    /// else they are over the whole trial.
    #[must_use]
    pub fn exchanged_in_groups(&self) -> bool {
        self.exchanged.count() > 1
    }

    /// Whether the design has whole plots, sub plots or strips.
    #[must_use]
    pub fn has_larger_units(&self) -> bool {
        !self.larger.is_empty()
    }

    /// The weights of the combinations in the mean of a factor's level, each combination counting
    /// once; `None` where some combination of that level with the other factors has no plot.
    #[must_use]
    pub fn margin(&self, factor: usize, level: usize) -> Option<Vec<f64>> {
        let wanted: usize = self
            .factors
            .iter()
            .enumerate()
            .filter(|(at, _)| *at != factor)
            .map(|(_, levels)| levels)
            .product();
        let holds: Vec<bool> = self.levels.iter().map(|l| l[factor] == level).collect();
        let count = holds.iter().filter(|holds| **holds).count();
        (count == wanted && count > 0).then(|| {
            let share = 1.0 / count as f64;
            holds.iter().map(|h| f64::from(*h) * share).collect()
        })
    }

    /// The columns of treatments and blocks that do not depend on those before them; the treatments
    /// come first, a column each.
    pub(super) fn columns(&self) -> Vec<Vec<f64>> {
        let mut basis = Basis::default();
        let mut kept = Vec::new();
        for cells in std::iter::once(&self.combinations).chain(&self.blocks) {
            for level in 0..cells.count() {
                let column = indicator(cells.of_unit(), level);
                if basis.take(&column) {
                    kept.push(column);
                }
            }
        }
        kept
    }

    /// An orthonormal basis of treatments, blocks and larger units.
    pub(super) fn basis(&self) -> Basis {
        let mut basis = Basis::default();
        for column in self.columns() {
            basis.take(&column);
        }
        for term in &self.larger {
            let levels = term.codes.iter().max().map_or(0, |most| most + 1);
            for level in 0..levels {
                basis.take(&indicator(&term.codes, level));
            }
        }
        basis
    }

    /// Values less what treatments, blocks and larger units explain, by least squares, and the degrees
    /// of freedom that are left.
    #[must_use]
    pub fn residuals(&self, values: &[f64]) -> (Vec<f64>, usize) {
        let basis = self.basis();
        (basis.left_of(values), values.len() - basis.len())
    }
}

/// The larger units of a design, finest last, and what they carry.
fn groups(kind: Kind) -> &'static [(&'static str, &'static [Applied])] {
    match kind {
        Kind::SplitPlot => &[("whole plots", &[Applied::WholePlot])],
        Kind::StripPlot => &[
            ("row strips", &[Applied::RowStrip]),
            ("cross strips", &[Applied::CrossStrip]),
        ],
        Kind::SplitSplitPlot => &[
            ("whole plots", &[Applied::WholePlot]),
            ("sub plots", &[Applied::WholePlot, Applied::SubPlot]),
        ],
        _ => &[],
    }
}

fn indicator(codes: &[usize], level: usize) -> Vec<f64> {
    codes.iter().map(|code| f64::from(*code == level)).collect()
}

/// Orthonormal columns.
#[derive(Debug, Clone, Default)]
pub(super) struct Basis {
    columns: Vec<Vec<f64>>,
}

impl Basis {
    pub(super) fn len(&self) -> usize {
        self.columns.len()
    }

    /// Adds a column unless it depends on those there; tells whether it was added.
    pub(super) fn take(&mut self, column: &[f64]) -> bool {
        let left = self.left_of(column);
        let remains = length(&left);
        if remains <= NOTHING * length(column) || remains == 0.0 {
            return false;
        }
        self.columns
            .push(left.iter().map(|e| e / remains).collect());
        true
    }

    /// What is left of a column beside the basis.
    pub(super) fn left_of(&self, column: &[f64]) -> Vec<f64> {
        let mut left = column.to_vec();
        // The second pass takes out what rounding left of the first.
        for _ in 0..2 {
            self.sweep(&mut left);
        }
        left
    }

    /// One pass of taking the basis out.
    pub(super) fn sweep(&self, left: &mut [f64]) {
        for direction in &self.columns {
            let along: f64 = direction.iter().zip(&*left).map(|(a, b)| a * b).sum();
            for (entry, part) in left.iter_mut().zip(direction) {
                *entry -= along * part;
            }
        }
    }

    /// The entry of the projection on the basis for two plots.
    pub(super) fn shared(&self, a: usize, b: usize) -> f64 {
        self.columns
            .iter()
            .map(|column| column[a] * column[b])
            .sum()
    }
}

fn length(column: &[f64]) -> f64 {
    column.iter().map(|entry| entry * entry).sum::<f64>().sqrt()
}

/// A matrix of some columns.
pub(super) fn matrix(columns: &[Vec<f64>]) -> DMatrix<f64> {
    let rows = columns.first().map_or(0, Vec::len);
    DMatrix::from_fn(rows, columns.len(), |row, column| columns[column][row])
}
