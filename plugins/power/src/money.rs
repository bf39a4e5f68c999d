//! Blocks and vines for their price.

use caneplot_plugin::Refusal;

use crate::growth::Growth;
use crate::options::{Options, Prices};
use crate::planned::Frame;

/// Vines of a plot that are tried at most.
const MOST_VINES: usize = 24;

/// A trial with the wanted power.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Offer {
    pub vines: usize,
    pub blocks: usize,
    pub plots: usize,
    pub cost: f64,
    pub power: f64,
    /// Variance of a plot's mean over the seasons.
    pub variance: f64,
}

/// Offers by rising number of vines, those that MOST_BLOCKS cannot fill left out.
pub(crate) fn offers(
    frame: &Frame,
    options: &Options,
    factor: usize,
    seasons: usize,
    prices: Prices,
) -> Result<Vec<Offer>, Refusal> {
    let mut found = Vec::new();
    for vines in 1..=MOST_VINES {
        let growth = Growth::of(frame, options, factor, vines, seasons)?;
        let Some(blocks) = growth.fewest(options.wanted, options)? else {
            continue;
        };
        let plots = blocks * frame.treatments();
        found.push(Offer {
            vines,
            blocks,
            plots,
            cost: plots as f64 * (prices.plot + prices.vine * vines as f64),
            power: growth.power(blocks, 1.0, options)?,
            variance: options.parts.of_plot_mean(vines as f64, seasons as f64),
        });
    }
    Ok(found)
}

/// The cheapest offer; of equally dear ones the one with the fewest vines.
pub(crate) fn cheapest(offers: &[Offer]) -> Option<&Offer> {
    offers.iter().min_by(|a, b| a.cost.total_cmp(&b.cost))
}
