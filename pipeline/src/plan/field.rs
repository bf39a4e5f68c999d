//! The vineyard's rows: which vine positions each has, which of them are empty or of no use.

use std::collections::BTreeSet;
use std::ops::Range;

use super::{Plan, place};

/// The rows a trial is laid on.
#[derive(Debug, Clone)]
pub struct Field {
    /// Rows in the order they stand.
    pub rows: Vec<VineRow>,
    /// How blocks lie.
    pub lie: Lie,
    /// Rows a block takes, where the plan says so.
    pub rows_per_block: Option<(usize, Range<usize>)>,
    /// What an empty position inside a plot is.
    pub gaps: Gaps,
    /// The way the site changes, where it is known.
    pub gradient: Option<Gradient>,
    /// What changes that way: "slope falls".
    pub gradient_is: String,
    /// Where the table stands in the plan file.
    pub span: Range<usize>,
    /// Whether the rows were made up because the plan describes none.
    pub made_up: bool,
}

/// A row of vines.
#[derive(Debug, Clone)]
pub struct VineRow {
    /// Its number.
    pub number: u32,
    /// First position.
    pub first: u32,
    /// Last position.
    pub last: u32,
    /// Positions without a vine.
    pub missing: BTreeSet<u32>,
    /// Positions that can be no part of a plot's recorded vines: posts, young or sick vines.
    pub unusable: BTreeSet<u32>,
    /// Whether no plot may stand in it.
    pub guard: bool,
    /// Where it is described.
    pub span: Range<usize>,
}

/// How blocks lie.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lie {
    /// Every block is a run of rows; blocks follow each other across the rows.
    RunsOfRows,
    /// Every block is a part of the same rows; blocks follow each other along the rows.
    PartsOfRows,
}

/// What an empty position inside a plot is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Gaps {
    /// Passed over: the plot takes the next vine.
    Skip,
    /// One of the plot's planted places, recorded as missing.
    Count,
}

/// The way the site changes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Gradient {
    /// From the last row to the first.
    ToFirstRow,
    /// From the first row to the last.
    ToLastRow,
    /// From the last position to the first.
    ToFirstVine,
    /// From the first position to the last.
    ToLastVine,
}

impl Gradient {
    /// Whether it runs across the rows.
    #[must_use]
    pub fn is_across(self) -> bool {
        matches!(self, Gradient::ToFirstRow | Gradient::ToLastRow)
    }
}

impl VineRow {
    /// Positions a plot may take, in order.
    pub fn usable(&self, gaps: Gaps) -> impl Iterator<Item = u32> + '_ {
        (self.first..=self.last).filter(move |position| {
            !self.unusable.contains(position)
                && (gaps == Gaps::Count || !self.missing.contains(position))
        })
    }
}

impl Field {
    /// Rows that plots may stand in, by their place in the list.
    #[must_use]
    pub fn open(&self) -> Vec<usize> {
        (0..self.rows.len())
            .filter(|&at| !self.rows[at].guard)
            .collect()
    }
}

/// Rows for a plan that describes none: a row for each block, or for each line of plots where the
/// design stands in lines; a completely randomised trial gets a row for each replicate.
#[must_use]
pub fn made_up(plan: &Plan) -> Field {
    let shape = place::Shape::of(plan);
    let lines = match shape.lines {
        Some(lines) => lines,
        None if shape.blocks == 1 => plan.blocks.value as usize,
        None => 1,
    };
    let across = (shape
        .units
        .div_ceil(if shape.lines.is_some() { 1 } else { lines }))
        * shape.plots_in_unit
        * place::footprint(plan);
    let rows = (1..=(shape.blocks * lines) as u32)
        .map(|number| VineRow {
            number,
            first: 1,
            last: across as u32,
            missing: BTreeSet::new(),
            unusable: BTreeSet::new(),
            guard: false,
            span: 0..0,
        })
        .collect();
    Field {
        rows,
        lie: Lie::RunsOfRows,
        rows_per_block: None,
        gaps: Gaps::Skip,
        gradient: None,
        gradient_is: String::new(),
        span: 0..0,
        made_up: true,
    }
}
