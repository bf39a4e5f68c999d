//! Power where vines will be lost: trials drawn, because plots then weigh unequally.

use caneplot_numerics::power::{Lossy, Plan, Settings, Vines, with_losses};
use caneplot_plugin::Refusal;

use crate::options::Options;
use crate::planned::{Frame, Planned};
use crate::reckon::refused;

/// Trials with losses, of the terms of a plan of one season on means over the seasons.
#[derive(Debug, Clone)]
pub(crate) struct Lossful {
    pub planned: Planned,
    pub found: Lossy,
}

/// What losses leave of the power; `None` where none are expected.
pub(crate) fn lossful(
    frame: &Frame,
    options: &Options,
    blocks: usize,
    seasons: usize,
    seed: u64,
) -> Result<Option<Lossful>, Refusal> {
    if options.loss <= 0.0 {
        return Ok(None);
    }
    let planned = frame.planned(blocks, 1)?;
    let mut parts = options.parts;
    // Plots are means over all seasons; what vines add depends on how many are left.
    let vine = parts.vines + parts.vine_seasons / seasons as f64;
    parts.seasons /= seasons as f64;
    (parts.vines, parts.vine_seasons) = (0.0, 0.0);
    let expected: Vec<f64> = planned
        .expected()
        .iter()
        .map(|one| options.difference * one)
        .collect();
    let plan = Plan {
        layout: &planned.design.layout,
        expected: &expected,
        variances: &parts.of_strata(&planned, 1.0),
    };
    let vines = Vines {
        each: options.vines,
        variance: vine,
        loss: options.loss,
    };
    let settings = Settings {
        seed,
        draws: options.draws,
        threads: 1,
        level: options.level,
    };
    let found = with_losses(plan, &planned.design.treatments, vines, settings).map_err(refused)?;
    Ok(Some(Lossful { planned, found }))
}
