//! Designs to be simulated, with the sizes of their errors in per cent of the mean.
//!
//! Plots of four to six vines differ by 10 to 20 % of the mean, blocks and whole plots by about 10 %
//! (sizes usual in the trade; invented, not those of one trial).

use caneplot_numerics::design::{Applied, Kind, Sheet};
use caneplot_numerics::mixed::grid::Grid;
use caneplot_numerics::mixed::{Problem, RandomTerm, Residual, Structure};
use caneplot_numerics::random::Stream;
use caneplot_numerics::strata::Classifier;

/// A design with its errors.
#[derive(Debug, Clone)]
pub struct Plan {
    /// Kind of design.
    pub kind: Kind,
    /// Number of blocks.
    pub blocks: usize,
    /// Levels of each treatment factor: one, or whole plots and sub plots.
    pub levels: Vec<usize>,
    /// Seasons repeated on the same plots, 1 for none.
    pub seasons: usize,
    /// Standard deviations, in per cent of the mean.
    pub sds: Sds,
    /// Correlation of the errors of one plot in neighbouring seasons, beyond what the plot itself adds.
    pub rho: f64,
}

/// Standard deviations of the errors, in per cent of the mean.
#[derive(Debug, Clone, Copy)]
pub struct Sds {
    /// Blocks.
    pub block: f64,
    /// Whole plots inside blocks.
    pub whole: f64,
    /// Plots, the smallest units of the design.
    pub plot: f64,
    /// Seasons inside plots.
    pub season: f64,
}

impl Plan {
    /// Four randomised blocks of six treatments.
    #[must_use]
    pub fn blocks() -> Self {
        Self {
            kind: Kind::RandomisedBlock,
            blocks: 4,
            levels: vec![6],
            seasons: 1,
            sds: Sds {
                block: 10.0,
                whole: 0.0,
                plot: 15.0,
                season: 0.0,
            },
            rho: 0.0,
        }
    }

    /// Three whole-plot and four sub-plot treatments in four blocks.
    #[must_use]
    pub fn split() -> Self {
        Self {
            kind: Kind::SplitPlot,
            levels: vec![3, 4],
            sds: Sds {
                whole: 8.0,
                plot: 12.0,
                ..Self::blocks().sds
            },
            ..Self::blocks()
        }
    }

    /// Four treatments in four blocks, measured in four seasons.
    #[must_use]
    pub fn seasons() -> Self {
        Self {
            levels: vec![4],
            seasons: 4,
            sds: Sds {
                plot: 8.0,
                season: 12.0,
                ..Self::blocks().sds
            },
            ..Self::blocks()
        }
    }

    /// The same without one of its errors.
    #[must_use]
    pub fn with(mut self, change: impl FnOnce(&mut Sds)) -> Self {
        change(&mut self.sds);
        self
    }

    /// All units of the design, before any is lost.
    #[must_use]
    pub fn units(&self) -> Units {
        let mut units = Units {
            factors: vec![Vec::new(); self.levels.len()],
            ..Units::default()
        };
        let whole_levels = if self.levels.len() > 1 {
            self.levels[0]
        } else {
            1
        };
        let inner = self.levels[self.levels.len() - 1];
        for block in 0..self.blocks {
            for whole in 0..whole_levels {
                for level in 0..inner {
                    for season in 0..self.seasons {
                        units.block.push(block);
                        units.whole.push(block * whole_levels + whole);
                        units
                            .plot
                            .push((block * whole_levels + whole) * inner + level);
                        units.season.push(season);
                        if let [first, second] = units.factors.as_mut_slice() {
                            first.push(whole);
                            second.push(level);
                        } else {
                            units.factors[0].push(level);
                        }
                    }
                }
            }
        }
        units
    }

    /// Values about a mean of 0 without any difference between treatments or seasons.
    pub fn errors(&self, units: &Units, stream: &mut Stream) -> Vec<f64> {
        let mut drawn = |count: usize, sd: f64| -> Vec<f64> {
            (0..count).map(|_| sd * stream.normal()).collect()
        };
        let count = |codes: &[usize]| codes.iter().max().map_or(0, |most| most + 1);
        let blocks = drawn(count(&units.block), self.sds.block);
        let wholes = drawn(count(&units.whole), self.sds.whole);
        let plots = drawn(count(&units.plot), self.sds.plot);
        let fresh = drawn(units.block.len(), self.sds.season);
        let mut last = 0.0;
        (0..units.block.len())
            .map(|unit| {
                // Units of one plot follow each other, season by season.
                last = match units.season[unit] {
                    0 => fresh[unit],
                    _ => self.rho * last + (1.0 - self.rho * self.rho).sqrt() * fresh[unit],
                };
                blocks[units.block[unit]]
                    + wholes[units.whole[unit]]
                    + plots[units.plot[unit]]
                    + last
            })
            .collect()
    }

    /// The sheet of some units.
    #[must_use]
    pub fn sheet(&self, units: &Units) -> Sheet {
        let column = |name: &str, codes: &[usize]| {
            let texts: Vec<String> = codes.iter().map(|code| format!("{code:03}")).collect();
            Classifier::from_texts(name, &texts, &[])
        };
        let roles: &[Applied] = match self.kind {
            Kind::SplitPlot => &[Applied::WholePlot, Applied::SubPlot],
            _ => &[Applied::Plot],
        };
        Sheet {
            kind: self.kind,
            block: Some(column("block", &units.block)),
            row: None,
            column: None,
            plot: column("plot", &units.plot),
            season: (self.seasons > 1).then(|| column("season", &units.season)),
            vines: false,
            treatments: units
                .factors
                .iter()
                .zip(["training", "nodes"])
                .zip(roles)
                .map(|((codes, name), role)| (column(name, codes), *role))
                .collect(),
            block_by_season: false,
        }
    }

    /// The mixed model that this design implies, with the cells of its treatments and seasons.
    #[must_use]
    pub fn problem(&self, units: &Units, values: &[f64], structure: Structure) -> (Problem, Grid) {
        let mut sizes = self.levels.clone();
        let mut codes: Vec<&[usize]> = units.factors.iter().map(Vec::as_slice).collect();
        if self.seasons > 1 {
            sizes.push(self.seasons);
            codes.push(&units.season);
        }
        let grid = Grid::new(&sizes, &codes, 0);
        let term = |name: &str, codes: &[usize]| RandomTerm {
            name: name.to_owned(),
            codes: codes.to_vec(),
        };
        let mut random = vec![term("blocks", &units.block)];
        if self.kind == Kind::SplitPlot {
            random.push(term("whole plots", &units.whole));
        }
        let mut residual = Residual::independent(values.len());
        residual.structure = structure;
        residual.plot.clone_from(&units.plot);
        residual.season.clone_from(&units.season);
        residual.times = (0..self.seasons).map(|season| season as f64).collect();
        let problem = Problem {
            values: values.to_vec(),
            fixed: grid.fixed(&codes, &[]),
            random,
            residual,
        };
        (problem, grid)
    }

    /// The terms to be tested, as places of factors; seasons come behind the treatments.
    #[must_use]
    pub fn terms(&self) -> Vec<(&'static str, Vec<usize>)> {
        match (self.kind, self.seasons) {
            (Kind::SplitPlot, _) => vec![
                ("whole plots", vec![0]),
                ("sub plots", vec![1]),
                ("interaction", vec![0, 1]),
            ],
            (_, 1) => vec![("treatments", vec![0])],
            _ => vec![
                ("treatments", vec![0]),
                ("seasons", vec![1]),
                ("treatments by seasons", vec![0, 1]),
            ],
        }
    }
}

/// Where each unit is, counted from 0.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Units {
    /// Block.
    pub block: Vec<usize>,
    /// Whole plot.
    pub whole: Vec<usize>,
    /// Plot.
    pub plot: Vec<usize>,
    /// Season.
    pub season: Vec<usize>,
    /// Level of each factor.
    pub factors: Vec<Vec<usize>>,
}

impl Units {
    /// Some of the units, with their values.
    #[must_use]
    pub fn kept(&self, values: &[f64], keep: impl Fn(usize) -> bool) -> (Self, Vec<f64>) {
        let rows: Vec<usize> = (0..self.block.len()).filter(|&unit| keep(unit)).collect();
        let some = |codes: &[usize]| -> Vec<usize> { rows.iter().map(|&row| codes[row]).collect() };
        let units = Self {
            block: some(&self.block),
            whole: some(&self.whole),
            plot: some(&self.plot),
            season: some(&self.season),
            factors: self.factors.iter().map(|codes| some(codes)).collect(),
        };
        (units, rows.iter().map(|&row| values[row]).collect())
    }
}
