//! The kinds of design, and what treatments are applied to in each.

/// Kinds of design.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Treatments at random over all plots.
    CompletelyRandomised,
    /// Every treatment equally often in every block.
    RandomisedBlock,
    /// Every treatment equally often in every row and every column.
    LatinSquare,
    /// Whole plots in blocks, sub plots in whole plots.
    SplitPlot,
    /// Two sets of strips crossing in every block.
    StripPlot,
    /// Whole plots, sub plots, sub-sub plots.
    SplitSplitPlot,
}

/// What a factor was applied to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Applied {
    /// Plots, the smallest units of the design.
    Plot,
    /// Whole plots.
    WholePlot,
    /// Sub plots.
    SubPlot,
    /// Sub-sub plots.
    SubSubPlot,
    /// Strips along the rows.
    RowStrip,
    /// Strips across the rows.
    CrossStrip,
}

impl Kind {
    /// The design in words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Kind::CompletelyRandomised => "completely randomised design",
            Kind::RandomisedBlock => "randomised block design",
            Kind::LatinSquare => "Latin square",
            Kind::SplitPlot => "split plot",
            Kind::StripPlot => "strip plot",
            Kind::SplitSplitPlot => "split-split plot",
        }
    }

    /// What factors can be applied to; all of them are needed, except where only plots exist.
    pub(crate) fn roles(self) -> &'static [Applied] {
        match self {
            Kind::CompletelyRandomised | Kind::RandomisedBlock | Kind::LatinSquare => {
                &[Applied::Plot]
            }
            Kind::SplitPlot => &[Applied::WholePlot, Applied::SubPlot],
            Kind::StripPlot => &[Applied::RowStrip, Applied::CrossStrip],
            Kind::SplitSplitPlot => &[Applied::WholePlot, Applied::SubPlot, Applied::SubSubPlot],
        }
    }
}

impl Applied {
    /// The units in words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Applied::Plot => "plots",
            Applied::WholePlot => "whole plots",
            Applied::SubPlot => "sub plots",
            Applied::SubSubPlot => "sub-sub plots",
            Applied::RowStrip => "row strips",
            Applied::CrossStrip => "cross strips",
        }
    }
}
