//! The plots of a ratio as the design they are laid out in.

use caneplot_numerics::design::{Applied, Design, DesignError, Kind, Sheet};
use caneplot_numerics::strata::Classifier;
use caneplot_plugin::request::{DesignKind, Role, TrialInfo};

use crate::plots::Plot;

/// The layout of plots with one value each.
///
/// # Errors
/// See [`DesignError`].
pub fn design(trial: &TrialInfo, plots: &[&Plot]) -> Result<Design, DesignError> {
    let mut names = Vec::new();
    if trial.design.block {
        names.push("block");
    }
    if trial.design.row_column {
        names.extend(["row", "column"]);
    }
    let place = |name: &str| {
        let at = names.iter().position(|known| *known == name)?;
        let levels: Vec<&str> = plots.iter().map(|plot| plot.place[at].as_str()).collect();
        Some(Classifier::from_texts(name, &levels, &[]))
    };
    // A plot without a column of its own is known by its treatment.
    let own: Vec<String> = plots
        .iter()
        .map(|plot| format!("{} {:?}", plot.name, plot.levels))
        .collect();
    let treatments = trial.factors.iter().enumerate().map(|(at, factor)| {
        let order: Vec<String> = factor.levels.iter().map(|l| l.name.clone()).collect();
        let levels: Vec<&str> = plots
            .iter()
            .map(|plot| order[plot.levels[at]].as_str())
            .collect();
        let applied = match factor.role {
            Role::Treatment => Applied::Plot,
            Role::WholePlot => Applied::WholePlot,
            Role::SubPlot => Applied::SubPlot,
            Role::SubSubPlot => Applied::SubSubPlot,
            Role::RowStrip => Applied::RowStrip,
            Role::CrossStrip => Applied::CrossStrip,
        };
        (
            Classifier::from_texts(&factor.label, &levels, &order),
            applied,
        )
    });
    Sheet {
        kind: match trial.design.kind {
            DesignKind::CompletelyRandomised => Kind::CompletelyRandomised,
            DesignKind::RandomisedBlock => Kind::RandomisedBlock,
            DesignKind::LatinSquare => Kind::LatinSquare,
            DesignKind::SplitPlot => Kind::SplitPlot,
            DesignKind::StripPlot => Kind::StripPlot,
            DesignKind::SplitSplitPlot => Kind::SplitSplitPlot,
        },
        block: place("block"),
        row: place("row"),
        column: place("column"),
        plot: Classifier::from_texts("plot", &own, &[]),
        season: None,
        vines: false,
        treatments: treatments.collect(),
        block_by_season: false,
    }
    .design()
}
