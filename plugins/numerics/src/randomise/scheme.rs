//! The units a design exchanges, with the treatments they carry, and how to draw an arrangement.
//!
//! Values stay where they are; an arrangement is a new label for every unit, a label being a
//! combination of the levels of the factors that move. Labels are exchanged inside groups (plots in
//! blocks, sub plots in whole plots) or, where lines were randomised, row by row and column by column.

use std::ops::Range;

use crate::cells::Cells;
use crate::design::{Design, Sheet};
use crate::kinds::{Applied, Kind};
use crate::random::Stream;

use super::moves::Moves;

/// The label of each unit.
pub(super) type Labels = Vec<u16>;

/// Units, their labels as the trial had them, and the groups inside which labels are exchanged.
#[derive(Debug, Clone)]
pub(super) struct Scheme {
    /// Number of each value's unit; units of one group follow one another.
    pub unit_of: Vec<usize>,
    /// The label of each unit in the trial.
    pub labels: Labels,
    /// Number of different labels.
    pub kinds: usize,
    /// The factors that move, as places in the sheet.
    pub factors: Vec<usize>,
    /// Level of each moving factor in each label.
    pub levels: Vec<Vec<usize>>,
    /// How labels are exchanged.
    pub exchange: Exchange,
}

/// How labels are exchanged.
#[derive(Debug, Clone)]
pub(super) enum Exchange {
    /// Freely inside each of these groups.
    Groups(Vec<Range<usize>>),
    /// By whole rows and columns of each of these grids, then, where several factors move, by giving
    /// every label another's name.
    Lines { grids: Vec<Grid>, names: bool },
}

/// A grid of units stored row by row.
#[derive(Debug, Clone, Copy)]
pub(super) struct Grid {
    pub start: usize,
    pub rows: usize,
    pub columns: usize,
}

impl Scheme {
    /// The scheme of a kind of moves; `None` where rows and columns do not make up a full grid.
    pub fn new(sheet: &Sheet, design: &Design, moves: Moves) -> Option<Self> {
        let values = sheet.plot.codes.len();
        let block = match sheet.kind {
            Kind::CompletelyRandomised | Kind::LatinSquare => None,
            _ => sheet.block.as_ref(),
        };
        let crossing = |carried: &[Applied]| {
            let factors = sheet
                .treatments
                .iter()
                .filter(|(_, applied)| carried.contains(applied))
                .map(|(factor, _)| factor.codes.as_slice());
            let blocks = block.map(|block| block.codes.as_slice());
            Cells::crossing(values, blocks.into_iter().chain(factors))
        };
        let plots = &design.layout.strata()[design.plots].cells;
        let groups = match moves.inside() {
            Some(carried) => crossing(carried),
            None => Cells::whole(values),
        };
        let lines = match moves {
            Moves::Square => Some((
                Cells::crossing(values, [sheet.row.as_ref()?.codes.as_slice()]),
                Cells::crossing(values, [sheet.column.as_ref()?.codes.as_slice()]),
            )),
            Moves::BothStrips => Some((
                crossing(&[Applied::RowStrip]),
                crossing(&[Applied::CrossStrip]),
            )),
            _ => None,
        };
        let moved = match moves {
            Moves::WholePlots | Moves::RowStrips | Moves::CrossStrips => {
                let mut carried = moves.inside().unwrap_or(&[]).to_vec();
                carried.extend(moves.carriers());
                crossing(&carried)
            }
            Moves::SubPlots if sheet.kind == Kind::SplitSplitPlot => {
                crossing(&[Applied::WholePlot, Applied::SubPlot])
            }
            _ => plots.clone(),
        };

        let mut order: Vec<usize> = (0..moved.count()).collect();
        let key = |unit: usize| {
            let value = moved.first()[unit];
            let line = lines
                .as_ref()
                .map(|(rows, columns)| (rows.of_unit()[value], columns.of_unit()[value]));
            (groups.of_unit()[value], line, unit)
        };
        order.sort_by_key(|&unit| key(unit));
        let mut place = vec![0; moved.count()];
        for (at, &unit) in order.iter().enumerate() {
            place[unit] = at;
        }
        let first: Vec<usize> = order.iter().map(|&unit| moved.first()[unit]).collect();
        let ranges: Vec<Range<usize>> = (0..groups.count())
            .scan(0, |start, group| {
                let size = first[*start..]
                    .iter()
                    .take_while(|&&value| groups.of_unit()[value] == group)
                    .count();
                let range = *start..*start + size;
                *start += size;
                Some(range)
            })
            .collect();

        let factors: Vec<usize> = (0..sheet.treatments.len())
            .filter(|&at| moves.carriers().contains(&sheet.treatments[at].1))
            .collect();
        let carried = Cells::crossing(
            values,
            factors
                .iter()
                .map(|&at| sheet.treatments[at].0.codes.as_slice()),
        );
        let labels = first
            .iter()
            .map(|&value| u16::try_from(carried.of_unit()[value]).ok())
            .collect::<Option<Labels>>()?;
        let levels = carried
            .first()
            .iter()
            .map(|&value| {
                factors
                    .iter()
                    .map(|&at| sheet.treatments[at].0.codes[value])
                    .collect()
            })
            .collect();
        let exchange = match &lines {
            None => Exchange::Groups(ranges),
            Some((rows, columns)) => Exchange::Lines {
                grids: grids(&ranges, &first, rows, columns)?,
                names: moves == Moves::Square && factors.len() > 1 && alike(&labels),
            },
        };
        Some(Self {
            unit_of: moved.of_unit().iter().map(|&unit| place[unit]).collect(),
            labels,
            kinds: carried.count(),
            factors,
            levels,
            exchange,
        })
    }

    /// Draws an arrangement; every one that the design could have had is equally likely.
    pub fn draw(&self, stream: &mut Stream, drawn: &mut Labels) {
        drawn.clone_from(&self.labels);
        match &self.exchange {
            Exchange::Groups(groups) => {
                for group in groups {
                    stream.shuffle(&mut drawn[group.clone()]);
                }
            }
            Exchange::Lines { grids, names } => {
                for grid in grids {
                    let mut rows: Vec<usize> = (0..grid.rows).collect();
                    let mut columns: Vec<usize> = (0..grid.columns).collect();
                    stream.shuffle(&mut rows);
                    stream.shuffle(&mut columns);
                    self.exchange_lines(*grid, &rows, &columns, drawn);
                }
                if *names {
                    let mut renamed: Labels = (0..self.kinds as u16).collect();
                    stream.shuffle(&mut renamed);
                    rename(drawn, &renamed);
                }
            }
        }
    }

    /// Puts rows and columns of a grid in another order.
    pub fn exchange_lines(
        &self,
        grid: Grid,
        rows: &[usize],
        columns: &[usize],
        drawn: &mut Labels,
    ) {
        let mut at = grid.start;
        for &row in rows {
            for &column in columns {
                drawn[at] = self.labels[grid.start + row * grid.columns + column];
                at += 1;
            }
        }
    }
}

/// Gives every label another's name.
pub(super) fn rename(labels: &mut Labels, names: &[u16]) {
    for label in labels {
        *label = names[usize::from(*label)];
    }
}

/// The grid of each group; `None` where one has gaps or two units in one place.
fn grids(
    groups: &[Range<usize>],
    first: &[usize],
    rows: &Cells,
    columns: &Cells,
) -> Option<Vec<Grid>> {
    groups
        .iter()
        .map(|group| {
            let units = &first[group.clone()];
            let line = |cells: &Cells| -> Vec<usize> {
                units.iter().map(|&value| cells.of_unit()[value]).collect()
            };
            let (down, across) = (line(rows), line(columns));
            let columns = down.iter().take_while(|&&row| row == down[0]).count();
            let rows = units.len() / columns;
            let full = units.len() == rows * columns
                && down
                    .chunks(columns)
                    .all(|row| row.iter().all(|r| *r == row[0]))
                && across.chunks(columns).all(|row| row == &across[..columns])
                && across[..columns].windows(2).all(|pair| pair[0] < pair[1]);
            full.then_some(Grid {
                start: group.start,
                rows,
                columns,
            })
        })
        .collect()
}

/// Whether all labels occur equally often.
fn alike(labels: &[u16]) -> bool {
    let most = labels.iter().copied().max().map_or(0, usize::from);
    let mut counts = vec![0_usize; most + 1];
    for &label in labels {
        counts[usize::from(label)] += 1;
    }
    counts.iter().all(|&count| count == counts[0])
}
