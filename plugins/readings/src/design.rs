//! The words of a trial's design as the numerics has them.

use caneplot_numerics::design::{Applied, Kind};
use caneplot_plugin::request::{DesignKind, Role};

/// The kind of design.
#[must_use]
pub fn kind(kind: DesignKind) -> Kind {
    match kind {
        DesignKind::CompletelyRandomised => Kind::CompletelyRandomised,
        DesignKind::RandomisedBlock => Kind::RandomisedBlock,
        DesignKind::LatinSquare => Kind::LatinSquare,
        DesignKind::SplitPlot => Kind::SplitPlot,
        DesignKind::StripPlot => Kind::StripPlot,
        DesignKind::SplitSplitPlot => Kind::SplitSplitPlot,
    }
}

/// The units a factor of this role was applied to.
#[must_use]
pub fn applied(role: Role) -> Applied {
    match role {
        Role::Treatment => Applied::Plot,
        Role::WholePlot => Applied::WholePlot,
        Role::SubPlot => Applied::SubPlot,
        Role::SubSubPlot => Applied::SubSubPlot,
        Role::RowStrip => Applied::RowStrip,
        Role::CrossStrip => Applied::CrossStrip,
    }
}
