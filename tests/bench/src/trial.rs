//! The designs of the jobs.

use caneplot_numerics::design::{Applied, Kind, Sheet};
use caneplot_numerics::strata::Classifier;

/// Levels 1 to `levels` of a factor, from the level of each unit.
fn factor(name: &str, levels: usize, codes: Vec<usize>) -> Classifier {
    Classifier {
        name: name.to_owned(),
        levels: (1..=levels).map(|level| level.to_string()).collect(),
        codes,
    }
}

fn sheet(kind: Kind, blocks: usize, each: usize, treatments: Vec<(Classifier, Applied)>) -> Sheet {
    let units = 0..blocks * each;
    Sheet {
        kind,
        block: Some(factor(
            "block",
            blocks,
            units.clone().map(|u| u / each).collect(),
        )),
        row: None,
        column: None,
        plot: factor("plot", each, units.map(|u| u % each).collect()),
        season: None,
        vines: false,
        treatments,
        block_by_season: false,
    }
}

/// Every treatment once in every block, block after block.
pub fn randomised_block(blocks: usize, treatments: usize) -> Sheet {
    let codes = (0..blocks * treatments).map(|u| u % treatments).collect();
    let pruning = factor("pruning", treatments, codes);
    sheet(
        Kind::RandomisedBlock,
        blocks,
        treatments,
        vec![(pruning, Applied::Plot)],
    )
}

/// Whole plots in blocks and sub plots in whole plots, one after the other.
pub fn split_plot(blocks: usize, whole: usize, sub: usize) -> Sheet {
    let units = 0..blocks * whole * sub;
    let training = units.clone().map(|u| u / sub % whole).collect();
    let pruning = units.map(|u| u % sub).collect();
    sheet(
        Kind::SplitPlot,
        blocks,
        whole * sub,
        vec![
            (factor("training", whole, training), Applied::WholePlot),
            (factor("pruning", sub, pruning), Applied::SubPlot),
        ],
    )
}
