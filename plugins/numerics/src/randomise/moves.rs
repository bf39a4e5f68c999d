//! What a design randomised, and what a shuffle may therefore exchange.

use crate::kinds::{Applied, Kind};

/// The units whose treatments are exchanged to judge a term.
///
/// A unit is moved as a whole: a whole plot with its sub plots, a plot with its seasons.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Moves {
    /// Plots over the whole trial.
    Plots,
    /// Plots inside their blocks.
    PlotsInBlocks,
    /// Rows, columns and treatments of a Latin square.
    Square,
    /// Whole plots inside their blocks.
    WholePlots,
    /// Sub plots inside their whole plots.
    SubPlots,
    /// Sub-sub plots inside their sub plots.
    SubSubPlots,
    /// Strips along the rows inside their blocks.
    RowStrips,
    /// Strips across the rows inside their blocks.
    CrossStrips,
    /// Both sets of strips inside their blocks.
    BothStrips,
}

impl Moves {
    /// What the randomisation of a term's factors exchanged, given what these were applied to.
    #[must_use]
    pub fn of(kind: Kind, roles: &[Applied]) -> Self {
        let has = |role: Applied| roles.contains(&role);
        match kind {
            Kind::CompletelyRandomised => Moves::Plots,
            Kind::RandomisedBlock => Moves::PlotsInBlocks,
            Kind::LatinSquare => Moves::Square,
            Kind::SplitPlot if has(Applied::SubPlot) => Moves::SubPlots,
            Kind::SplitSplitPlot if has(Applied::SubSubPlot) => Moves::SubSubPlots,
            Kind::SplitSplitPlot if has(Applied::SubPlot) => Moves::SubPlots,
            Kind::SplitPlot | Kind::SplitSplitPlot => Moves::WholePlots,
            Kind::StripPlot => match (has(Applied::RowStrip), has(Applied::CrossStrip)) {
                (true, true) => Moves::BothStrips,
                (true, false) => Moves::RowStrips,
                _ => Moves::CrossStrips,
            },
        }
    }

    /// The units in words, as they are exchanged.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Moves::Plots => "plots over the whole trial",
            Moves::PlotsInBlocks => "plots inside their blocks",
            Moves::Square => "rows, columns and treatments of the square",
            Moves::WholePlots => "whole plots inside their blocks, each with its sub plots",
            Moves::SubPlots => "sub plots inside their whole plots",
            Moves::SubSubPlots => "sub-sub plots inside their sub plots",
            Moves::RowStrips => "row strips inside their blocks",
            Moves::CrossStrips => "cross strips inside their blocks",
            Moves::BothStrips => "both sets of strips inside their blocks",
        }
    }

    /// What carries the factors that move; every other factor stays where it is.
    pub(super) fn carriers(self) -> &'static [Applied] {
        match self {
            Moves::Plots | Moves::PlotsInBlocks | Moves::Square => &[Applied::Plot],
            Moves::WholePlots => &[Applied::WholePlot],
            Moves::SubPlots => &[Applied::SubPlot],
            Moves::SubSubPlots => &[Applied::SubSubPlot],
            Moves::RowStrips => &[Applied::RowStrip],
            Moves::CrossStrips => &[Applied::CrossStrip],
            Moves::BothStrips => &[Applied::RowStrip, Applied::CrossStrip],
        }
    }

    /// Factors whose levels, within a block, make the groups inside which units are exchanged; `None`
    /// where units are exchanged over the whole trial.
    pub(super) fn inside(self) -> Option<&'static [Applied]> {
        match self {
            Moves::Plots | Moves::Square => None,
            Moves::SubPlots => Some(&[Applied::WholePlot]),
            Moves::SubSubPlots => Some(&[Applied::WholePlot, Applied::SubPlot]),
            _ => Some(&[]),
        }
    }
}
