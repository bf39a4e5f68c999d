//! What a design asks of the ground, before any row is looked at.

use caneplot_plugin::request::{DesignKind, Role};

use crate::plan::Plan;

/// What the design asks of the ground.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Shape {
    /// Blocks; 1 where the design has none.
    pub blocks: usize,
    /// Pieces of a block, or of a line of it, that must not be broken: plots or whole plots.
    pub units: usize,
    /// Plots in such a piece.
    pub plots_in_unit: usize,
    /// Lines of `units` each, where the design stands in lines: squares and strips.
    pub lines: Option<usize>,
}

impl Shape {
    /// The shape of a plan.
    #[must_use]
    pub fn of(plan: &Plan) -> Self {
        let blocks = plan.blocks.value as usize;
        let count = |role| plan.count(role);
        let (blocks, units, plots_in_unit, lines) = match plan.kind.value {
            DesignKind::CompletelyRandomised => (1, count(Role::Treatment) * blocks, 1, None),
            DesignKind::RandomisedBlock => (blocks, count(Role::Treatment), 1, None),
            DesignKind::LatinSquare => {
                let order = count(Role::Treatment);
                (1, order, 1, Some(order))
            }
            DesignKind::SplitPlot => (blocks, count(Role::WholePlot), count(Role::SubPlot), None),
            DesignKind::SplitSplitPlot => (
                blocks,
                count(Role::WholePlot),
                count(Role::SubPlot) * count(Role::SubSubPlot),
                None,
            ),
            DesignKind::StripPlot => (
                blocks,
                count(Role::CrossStrip),
                1,
                Some(count(Role::RowStrip)),
            ),
        };
        Self {
            blocks,
            units,
            plots_in_unit,
            lines,
        }
    }

    /// Plots in a block.
    #[must_use]
    pub fn plots_in_block(&self) -> usize {
        self.units * self.plots_in_unit * self.lines.unwrap_or(1)
    }
}
