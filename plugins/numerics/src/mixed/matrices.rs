//! A problem taken apart into blocks of values that are independent given a few wide random terms.
//!
//! V = D + Z Γ Z'. D is block diagonal: values in different blocks share no level of a *narrow*
//! random term and no plot. The *wide* terms, those with few levels that would tie too many values
//! together (blocks over many plots, seasons), stay in Z and are absorbed beside the fixed effects
//! (Woodbury 1950). So the work grows with the number of plots, not with its square. Blocks with the
//! same pattern of levels share one covariance matrix.

use std::collections::BTreeMap;
use std::ops::Range;

use nalgebra::DMatrix;

use super::MixedError;
use super::problem::{Problem, levels_of};
use super::season::{Parameter, Structure};

/// Values with a common pattern of narrow levels, plots and seasons.
pub(crate) struct Pattern {
    pub(crate) size: usize,
    /// Narrow random terms: parameter and the matrix of shared levels.
    pub(crate) narrow: Vec<(usize, DMatrix<f64>)>,
    pub(crate) plot: Vec<usize>,
    pub(crate) season: Vec<usize>,
    /// Group of error variance of each value.
    pub(crate) group: Vec<usize>,
}

/// One independent block.
pub(crate) struct Block {
    pub(crate) pattern: usize,
    /// Its values.
    pub(crate) units: Vec<usize>,
    /// Columns of [Z X y] that are not all zero here.
    pub(crate) columns: Vec<usize>,
    /// Those columns.
    pub(crate) part: DMatrix<f64>,
}

/// A problem ready for fitting.
pub(crate) struct Prepared {
    pub(crate) values: usize,
    pub(crate) effects: usize,
    pub(crate) parameters: Vec<Parameter>,
    /// Number of random terms; the parameters of the error follow them.
    pub(crate) random: usize,
    /// Columns of Z of each wide parameter.
    pub(crate) wide: Vec<Option<Range<usize>>>,
    /// Number of columns of Z.
    pub(crate) wide_columns: usize,
    pub(crate) patterns: Vec<Pattern>,
    pub(crate) blocks: Vec<Block>,
    pub(crate) structure: Structure,
    pub(crate) times: Vec<f64>,
    /// Number of groups of error variance.
    pub(crate) groups: usize,
}

impl Prepared {
    /// Columns of [Z X], the part that is absorbed.
    pub(crate) fn absorbed(&self) -> usize {
        self.wide_columns + self.effects
    }

    /// Columns of [Z X y].
    pub(crate) fn width(&self) -> usize {
        self.absorbed() + 1
    }
}

impl Problem {
    /// Takes the problem apart; `dense` keeps every term narrow.
    pub(crate) fn prepare(&self, dense: bool) -> Result<Prepared, MixedError> {
        self.check()?;
        let values = self.values.len();
        let wide_terms = if dense { Vec::new() } else { self.wide_terms() };
        let mut wide = Vec::new();
        let mut wide_columns = 0;
        for (at, term) in self.random.iter().enumerate() {
            wide.push(wide_terms.contains(&at).then(|| {
                let levels = levels_of(&term.codes);
                wide_columns += levels;
                wide_columns - levels..wide_columns
            }));
        }
        let seasons = self.residual.times.len();
        let parameters: Vec<Parameter> = (0..self.random.len())
            .map(Parameter::Random)
            .chain(self.residual.structure.parameters(seasons))
            .chain((1..self.residual.groups()).map(Parameter::Spread))
            .collect();
        wide.resize(parameters.len(), None);

        let mut known: BTreeMap<Vec<usize>, usize> = BTreeMap::new();
        let (mut patterns, mut blocks) = (Vec::new(), Vec::new());
        for mut units in groups(&self.components(&wide_terms)) {
            units.sort_by_key(|&unit| self.key(unit));
            let (key, pattern) = self.pattern(&units, &wide_terms);
            let at = *known.entry(key).or_insert_with(|| {
                patterns.push(pattern);
                patterns.len() - 1
            });
            let (columns, part) = self.part(&units, &wide, wide_columns);
            blocks.push(Block {
                pattern: at,
                units,
                columns,
                part,
            });
        }
        Ok(Prepared {
            values,
            effects: self.fixed.ncols(),
            parameters,
            random: self.random.len(),
            wide,
            wide_columns,
            patterns,
            blocks,
            structure: self.residual.structure,
            times: self.residual.times.clone(),
            groups: self.residual.groups(),
        })
    }

    /// Terms to absorb: of those with the fewest levels, as many as make the work least.
    fn wide_terms(&self) -> Vec<usize> {
        let mut order: Vec<usize> = (0..self.random.len()).collect();
        order.sort_by_key(|&at| levels_of(&self.random[at].codes));
        let mut best = (self.work(&[]), 0);
        for count in 1..=order.len() {
            let work = self.work(&order[..count]);
            if work < best.0 {
                best = (work, count);
            }
        }
        order.truncate(best.1);
        order
    }

    /// Multiplications of one step when these terms are wide, roughly: for each parameter dense blocks
    /// with the columns they meet, and the square of what is absorbed.
    fn work(&self, wide: &[usize]) -> f64 {
        let effects = self.fixed.ncols();
        let absorbed: usize = wide
            .iter()
            .map(|&at| levels_of(&self.random[at].codes))
            .sum::<usize>()
            + effects;
        let blocks: f64 = groups(&self.components(wide))
            .iter()
            .map(|units| {
                let size = units.len() as f64;
                let columns = (units.len().min(effects) + wide.len() + 1) as f64;
                size * (size * size + size * columns + columns * columns)
            })
            .sum();
        blocks + (absorbed as f64).powi(3)
    }

    /// Block of each value when these terms are wide.
    fn components(&self, wide: &[usize]) -> Vec<usize> {
        let mut root: Vec<usize> = (0..self.values.len()).collect();
        fn find(root: &mut [usize], mut unit: usize) -> usize {
            while root[unit] != unit {
                root[unit] = root[root[unit]];
                unit = root[unit];
            }
            unit
        }
        let narrow = (0..self.random.len()).filter(|at| !wide.contains(at));
        let mut ties: Vec<&[usize]> = narrow.map(|at| self.random[at].codes.as_slice()).collect();
        if self.residual.structure.correlated() {
            ties.push(&self.residual.plot);
        }
        for codes in ties {
            let mut first: BTreeMap<usize, usize> = BTreeMap::new();
            for (unit, code) in codes.iter().enumerate() {
                let other = *first.entry(*code).or_insert(unit);
                let (a, b) = (find(&mut root, unit), find(&mut root, other));
                root[a.max(b)] = a.min(b);
            }
        }
        (0..root.len()).map(|unit| find(&mut root, unit)).collect()
    }

    /// Order of values inside a block: the same for blocks laid out alike.
    fn key(&self, unit: usize) -> Vec<usize> {
        let random = self.random.iter().map(|term| term.codes[unit]);
        random
            .chain([self.residual.plot[unit], self.residual.season[unit]])
            .collect()
    }

    fn pattern(&self, units: &[usize], wide: &[usize]) -> (Vec<usize>, Pattern) {
        let mut key = vec![units.len()];
        let mut narrow = Vec::new();
        for (at, term) in self.random.iter().enumerate() {
            if wide.contains(&at) {
                continue;
            }
            let local = renumbered(units.iter().map(|&unit| term.codes[unit]));
            narrow.push((
                at,
                DMatrix::from_fn(units.len(), units.len(), |i, j| {
                    f64::from(local[i] == local[j])
                }),
            ));
            key.extend(local);
        }
        let plot = renumbered(units.iter().map(|&unit| self.residual.plot[unit]));
        let season: Vec<usize> = units
            .iter()
            .map(|&unit| self.residual.season[unit])
            .collect();
        let group: Vec<usize> = units
            .iter()
            .map(|&unit| self.residual.group.get(unit).copied().unwrap_or(0))
            .collect();
        key.extend(&plot);
        key.extend(&season);
        key.extend(&group);
        let pattern = Pattern {
            size: units.len(),
            narrow,
            plot,
            season,
            group,
        };
        (key, pattern)
    }

    fn part(
        &self,
        units: &[usize],
        wide: &[Option<Range<usize>>],
        wide_columns: usize,
    ) -> (Vec<usize>, DMatrix<f64>) {
        let width = wide_columns + self.fixed.ncols() + 1;
        let mut all = DMatrix::zeros(units.len(), width);
        for (row, &unit) in units.iter().enumerate() {
            for (term, range) in self.random.iter().zip(wide) {
                if let Some(range) = range {
                    all[(row, range.start + term.codes[unit])] = 1.0;
                }
            }
            for column in 0..self.fixed.ncols() {
                all[(row, wide_columns + column)] = self.fixed[(unit, column)];
            }
            all[(row, width - 1)] = self.values[unit];
        }
        let columns: Vec<usize> = (0..width)
            .filter(|&column| all.column(column).iter().any(|entry| *entry != 0.0))
            .collect();
        let part = all.select_columns(&columns);
        (columns, part)
    }
}

/// Members of each group in the order they are met.
fn groups(of_unit: &[usize]) -> Vec<Vec<usize>> {
    let mut members: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (unit, group) in of_unit.iter().enumerate() {
        members.entry(*group).or_default().push(unit);
    }
    members.into_values().collect()
}

/// Codes counted from 0 in the order they are met.
fn renumbered(codes: impl Iterator<Item = usize>) -> Vec<usize> {
    let mut known: BTreeMap<usize, usize> = BTreeMap::new();
    codes
        .map(|code| {
            let next = known.len();
            *known.entry(code).or_insert(next)
        })
        .collect()
}
