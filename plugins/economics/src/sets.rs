//! Which crop is paid for, and which treatments are compared with which.

use caneplot_plugin::Refusal;
use caneplot_plugin::estimates::{Estimates, speaking};
use caneplot_plugin::prices::Prices;
use caneplot_plugin::request::{Basis, Quantity, Response, TrialInfo};
use caneplot_plugin::words;

/// The response that is paid for.
pub(crate) struct Crop<'a> {
    pub response: &'a Response,
    /// Crops over planted spaces, so that gaps bring nothing.
    pub gaps_count: bool,
}

/// The crop that prices are set on: where gaps are known, the one that counts them as empty.
///
/// # Errors
/// The trial has no such crop.
pub(crate) fn crop<'a>(trial: &'a TrialInfo, prices: &Prices) -> Result<Crop<'a>, Refusal> {
    let named = prices.crop.response.as_deref();
    let crops = || {
        let all = trial.responses.iter();
        all.filter(|one| one.quantity == Quantity::Yield)
    };
    let own = match named {
        Some(name) => trial.responses.iter().find(|one| one.name == name),
        None => crops().find(|one| one.derived.is_none()),
    };
    let own = own.ok_or_else(|| {
        Refusal::new("no crop has values, so there is nothing to set a price on")
            .hint("add the data of the crop, or name another response under [crop] in prices.toml")
    })?;
    let spaced = crops().find(|one| {
        one.basis == Basis::PlantedSpace
            && (one.name == own.name || one.name == format!("{}_per_space", own.name))
    });
    Ok(Crop {
        response: spaced.unwrap_or(own),
        gaps_count: spaced.is_some(),
    })
}

/// Treatments that are compared, with their crop.
pub(crate) struct Set<'a> {
    /// Factors, by their place in the trial.
    pub factors: Vec<usize>,
    /// Their crop over all seasons.
    pub crop: &'a Estimates,
    /// Place of the treatment the others are set against.
    pub control: usize,
    /// Whether the trial declares it.
    pub declared: bool,
}

/// The sets of a trial: every factor with a control, and all together where all have one; the factors
/// with their first level in its place where none has.
///
/// # Errors
/// No other analysis has results of the crop.
pub(crate) fn sets<'a>(trial: &'a TrialInfo, crop: &Crop<'a>) -> Result<Vec<Set<'a>>, Refusal> {
    let all: Vec<usize> = (0..trial.factors.len()).collect();
    let with = |&at: &usize| trial.factors[at].control.is_some();
    let mut wanted: Vec<Vec<usize>> = all
        .iter()
        .filter(|at| with(at))
        .map(|&at| vec![at])
        .collect();
    if all.len() > 1 && all.iter().all(with) {
        wanted.push(all.clone());
    }
    let declared = !wanted.is_empty();
    if !declared {
        wanted = all.iter().map(|&at| vec![at]).collect();
    }
    let found: Vec<Set<'a>> = wanted
        .into_iter()
        .filter_map(|factors| set(trial, crop, factors, declared))
        .collect();
    if found.is_empty() {
        let name = words::inside(&crop.response.label);
        return Err(Refusal::new(format!(
            "no analysis of this run has means of {name}, on which a budget could rest"
        ))
        .hint("name 'anova' or 'mixed' under [analyses] beside 'economics'"));
    }
    Ok(found)
}

fn set<'a>(
    trial: &'a TrialInfo,
    crop: &Crop<'a>,
    factors: Vec<usize>,
    declared: bool,
) -> Option<Set<'a>> {
    let estimates = of(trial, &crop.response.name, &factors, None)?;
    let wanted: Option<Vec<&str>> = factors
        .iter()
        .map(|&at| trial.factors[at].control.as_deref())
        .collect();
    let place = wanted.and_then(|wanted| {
        let all = &estimates.treatments;
        all.iter().position(|one| one.levels == wanted)
    });
    (estimates.treatments.len() > 1).then(|| Set {
        factors,
        crop: estimates,
        control: place.unwrap_or(0),
        declared: declared && place.is_some(),
    })
}

/// The results that speak for a response over the levels of some factors.
pub(crate) fn of<'a>(
    trial: &'a TrialInfo,
    response: &'a str,
    factors: &[usize],
    season: Option<&str>,
) -> Option<&'a Estimates> {
    let names: Vec<&str> = factors
        .iter()
        .map(|&at| trial.factors[at].name.as_str())
        .collect();
    let mut all = speaking(&trial.estimates, response);
    all.find(|one| one.factors == names && one.season.as_deref() == season)
}

/// A treatment in a sentence: "cane-pruned, 24 nodes/vine".
pub(crate) fn in_words(trial: &TrialInfo, factors: &[usize], levels: &[String]) -> String {
    let parts: Vec<String> = factors
        .iter()
        .zip(levels)
        .map(|(&at, name)| {
            let factor = &trial.factors[at];
            let level = factor.levels.iter().find(|level| &level.name == name);
            level.map_or_else(|| words::safe(name), |level| words::level(factor, level))
        })
        .collect();
    parts.join(", ")
}
