//! What was taken out of the values before the look, in the words of the design.

use caneplot_plugin::request::{DesignKind, TrialInfo};

/// The parts of the field that the layout allows for: "blocks", "rows and columns of the square";
/// `None` where it has none.
pub(crate) fn parts(trial: &TrialInfo) -> Option<&'static str> {
    match trial.design.kind {
        DesignKind::CompletelyRandomised => None,
        DesignKind::LatinSquare => Some("rows and columns of the square"),
        DesignKind::RandomisedBlock
        | DesignKind::SplitPlot
        | DesignKind::StripPlot
        | DesignKind::SplitSplitPlot => Some("blocks"),
    }
}

/// What is taken out of the values: "treatments and blocks".
pub(crate) fn taken_out(trial: &TrialInfo) -> &'static str {
    match trial.design.kind {
        DesignKind::CompletelyRandomised => "treatments",
        DesignKind::LatinSquare => "treatments, rows and columns of the square",
        DesignKind::RandomisedBlock => "treatments and blocks",
        DesignKind::SplitPlot => "treatments, blocks and whole plots",
        DesignKind::StripPlot => "treatments, blocks and strips",
        DesignKind::SplitSplitPlot => "treatments, blocks, whole plots and sub plots",
    }
}
