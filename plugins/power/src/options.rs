//! What is asked, understood: amounts in the unit of the response, mistakes as refusals.

use caneplot_plugin::{Call, Refusal};
use serde::Deserialize;

use crate::earlier;
use crate::parts::Parts;

/// The options as they are written.
#[derive(Debug, Clone, Deserialize)]
struct Written {
    blocks: Option<usize>,
    vines: usize,
    response: Option<String>,
    unit: Option<String>,
    mean: Option<f64>,
    difference: Option<String>,
    between_plots: Option<String>,
    between_vines: Option<String>,
    within_seasons: Option<String>,
    vines_within_seasons: Option<String>,
    between_whole_plots: Option<String>,
    between_sub_plots: Option<String>,
    between_row_strips: Option<String>,
    between_cross_strips: Option<String>,
    treatments_by_season: Option<String>,
    earlier: Option<String>,
    loss: f64,
    price_plot: Option<f64>,
    price_vine: Option<f64>,
    level: f64,
    wanted: f64,
    draws: u64,
}

/// What a plot and a vine cost over the whole trial.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Prices {
    pub plot: f64,
    pub vine: f64,
}

/// The options.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Options {
    pub blocks: Option<usize>,
    pub vines: usize,
    /// The response in words, as inside a sentence.
    pub response: String,
    pub unit: String,
    pub mean: Option<f64>,
    /// The difference that matters, in the unit of the response.
    pub difference: f64,
    pub parts: Parts,
    /// What an earlier report gave, sentence by sentence.
    pub taken: Vec<String>,
    /// Whether the part of plots holds that of vines, because nobody told them apart.
    pub plots_hold_vines: bool,
    pub loss: f64,
    pub prices: Option<Prices>,
    pub level: f64,
    pub wanted: f64,
    pub draws: u64,
}

impl Options {
    pub fn of(call: &Call) -> Result<Self, Refusal> {
        let written: Written = call.options()?;
        let earlier = match &written.earlier {
            Some(text) => Some(earlier::Earlier::read(text)?),
            None => None,
        };
        let mean = written.mean.or(earlier.as_ref().and_then(|one| one.mean));
        let amount = |name: &str, text: &Option<String>| match text {
            Some(text) => amount(name, text, mean).map(Some),
            None => Ok(None),
        };
        let mut parts = earlier
            .as_ref()
            .map_or_else(Parts::default, |one| one.parts);
        let Some(difference) = amount("difference", &written.difference)? else {
            return Err(Refusal::new("the difference that matters is not given")
                .hint("say how large a difference would change what a grower does, as 0.5 or \"10 %\""));
        };
        if difference <= 0.0 {
            return Err(Refusal::new("the difference that matters is 0")
                .hint("a difference of nothing can never be found; give the least that matters"));
        }
        let vines_given = amount("between_vines", &written.between_vines)?;
        let plots_given = amount("between_plots", &written.between_plots)?;
        for (place, found) in [
            (&mut parts.plots, plots_given),
            (&mut parts.vines, vines_given),
            (
                &mut parts.seasons,
                amount("within_seasons", &written.within_seasons)?,
            ),
            (
                &mut parts.vine_seasons,
                amount("vines_within_seasons", &written.vines_within_seasons)?,
            ),
            (
                &mut parts.whole_plots,
                amount("between_whole_plots", &written.between_whole_plots)?,
            ),
            (
                &mut parts.sub_plots,
                amount("between_sub_plots", &written.between_sub_plots)?,
            ),
            (
                &mut parts.row_strips,
                amount("between_row_strips", &written.between_row_strips)?,
            ),
            (
                &mut parts.cross_strips,
                amount("between_cross_strips", &written.between_cross_strips)?,
            ),
            (
                &mut parts.treatments_by_season,
                amount("treatments_by_season", &written.treatments_by_season)?,
            ),
        ] {
            if let Some(deviation) = found {
                *place = deviation * deviation;
            }
        }
        if plots_given.is_none() && earlier.is_none() {
            return Err(Refusal::new("how much plots treated alike vary is not given").hint(
                "give it as a standard deviation or in % of the mean (between_plots), or take it from the report of an earlier trial",
            ));
        }
        let mut taken = earlier
            .as_ref()
            .map_or_else(Vec::new, |one| one.taken.clone());
        if let (Some(one), None, Some(vines)) = (&earlier, plots_given, vines_given) {
            // The earlier plots were means of vines, whose part is told apart where it can be.
            match one.vines {
                Some(each) => {
                    let rest = parts.plots - vines * vines / each;
                    parts.plots = rest.max(0.0);
                    taken.push(format!(
                        "The variance between plots of the earlier trial is less what the {each} vines of its plots add."
                    ));
                }
                None => taken.push(
                    "The earlier trial does not say how many vines its plots had: what vines add is counted twice, once in its plots, which makes this plan cautious.".to_owned(),
                ),
            }
        }
        let seasons = call.request.trial.seasons.len();
        if seasons > 1 && parts.seasons + parts.vine_seasons <= 0.0 {
            return Err(Refusal::new(format!(
                "{seasons} seasons are planned, and how much a plot changes from season to season is not given"
            ))
            .hint("give within_seasons as a standard deviation or in % of the mean, or take it from the report of an earlier trial"));
        }
        let prices = match (written.price_plot, written.price_vine) {
            (Some(plot), Some(vine)) if plot + vine > 0.0 => Some(Prices { plot, vine }),
            (None, None) => None,
            _ => {
                return Err(Refusal::new("prices are given of only one of plots and vines")
                    .hint("give price_plot and price_vine, both for the whole trial, at least one of them above 0"));
            }
        };
        Ok(Self {
            blocks: written.blocks,
            vines: written.vines,
            response: written
                .response
                .unwrap_or_else(|| "the response".to_owned()),
            unit: written.unit.unwrap_or_default(),
            mean,
            difference,
            plots_hold_vines: parts.vines == 0.0,
            parts,
            taken,
            loss: written.loss,
            prices,
            level: written.level,
            wanted: written.wanted,
            draws: written.draws,
        })
    }
}

/// An amount in the unit of the response: "0.5", or "10 %" of the mean.
fn amount(name: &str, text: &str, mean: Option<f64>) -> Result<f64, Refusal> {
    let wrong = || {
        Refusal::new(format!("{name} = \"{text}\" is not an amount"))
            .hint("write a number of 0 or more in the unit of the response, or a share of the mean as in \"8 %\"")
    };
    let (number, share) = match text.trim().strip_suffix('%') {
        Some(number) => (number.trim(), true),
        None => (text.trim(), false),
    };
    let number: f64 = number.parse().map_err(|_| wrong())?;
    if !(0.0..1e12).contains(&number) {
        return Err(wrong());
    }
    match (share, mean) {
        (false, _) => Ok(number),
        (true, Some(mean)) if mean.is_finite() && mean > 0.0 => Ok(number / 100.0 * mean),
        (true, _) => Err(Refusal::new(format!(
            "{name} is given in %, and there is no mean above 0 to take it of"
        ))
        .hint("give the mean to expect, or the amount in the unit of the response")),
    }
}
