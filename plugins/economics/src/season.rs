//! Each season by itself, and prices that follow the Brix of a season.

use caneplot_plugin::estimates::Estimates;

use crate::items::{Item, Kind};
use crate::sets;
use crate::study::Study;

/// One season.
#[derive(Debug, Clone)]
pub(crate) struct Season {
    pub name: String,
    /// Net benefit of each treatment on a hectare.
    pub benefit: Vec<f64>,
}

/// Puts the price that each treatment's fruit fetches over the seasons in the place of the plain one,
/// where prices follow the Brix: the money of all seasons over their crop.
pub(crate) fn price_by_brix(study: &mut Study<'_>, of_tonne: f64) {
    if study.prices.crop.steps.is_empty() {
        return;
    }
    let crops: Vec<(String, &Estimates)> = by_season(study);
    let mut prices = Vec::new();
    for at in 0..study.count() {
        let levels = &study.set.crop.treatments[at].levels;
        let (mut money, mut weight) = (0.0, 0.0);
        for (season, crop) in &crops {
            let crop = value(crop, levels);
            let brix = brix(study, levels, Some(season));
            if let (Some(crop), Some(brix)) = (crop, brix) {
                money += crop * price_at(study, brix);
                weight += crop;
            }
        }
        let price = match weight > 0.0 {
            true => Some(money / weight),
            false => brix(study, levels, None).map(|brix| price_at(study, brix)),
        };
        prices.push(price);
    }
    let found: Option<Vec<f64>> = prices.into_iter().collect();
    match found {
        Some(found) => study.price = found.iter().map(|price| price * of_tonne).collect(),
        None => study.lacking.push(
            "Prices by Brix are not used, because not every treatment has a mean of it: all fruit is reckoned at the lowest price.".to_owned(),
        ),
    }
}

/// Every season that has means of the crop of all treatments.
pub(crate) fn seasons(study: &Study<'_>, of_tonne: f64) -> Vec<Season> {
    let crops: Vec<(String, &Estimates)> = by_season(study);
    let steps = !study.prices.crop.steps.is_empty();
    let season = |(name, crop): (String, &Estimates)| {
        let benefit = (0..study.count()).map(|at| {
            let levels = &study.set.crop.treatments[at].levels;
            let tonnes = value(crop, levels)? * study.scale;
            let price = match brix(study, levels, Some(&name)).filter(|_| steps) {
                Some(brix) => price_at(study, brix) * of_tonne,
                None => study.price[at],
            };
            let costs: f64 = study
                .items
                .iter()
                .map(|item| cost(study, item, at, &name))
                .sum();
            Some(tonnes * (price - study.harvest) - costs)
        });
        Some(Season {
            benefit: benefit.collect::<Option<Vec<f64>>>()?,
            name,
        })
    };
    crops.into_iter().filter_map(season).collect()
}

/// Money of an item in a season: measured work of that season, where there is some, else as over all.
fn cost(study: &Study<'_>, item: &Item<'_>, at: usize, season: &str) -> f64 {
    let Kind::Work {
        measured: Some(found),
        scale,
        ..
    } = &item.kind
    else {
        return item.money[at];
    };
    let levels = &study.set.crop.treatments[at].levels;
    let own = sets::of(study.trial, &found.name, &study.set.factors, Some(season));
    let wage = study.prices.wage.map_or(0.0, |wage| wage.likely);
    match own.and_then(|own| value(own, levels)) {
        Some(value) => value * scale * wage,
        None => item.money[at],
    }
}

fn by_season<'a>(study: &Study<'a>) -> Vec<(String, &'a Estimates)> {
    let response = &study.crop.response.name;
    let seasons = study.trial.seasons.iter();
    seasons
        .filter_map(|season| {
            let found = sets::of(study.trial, response, &study.set.factors, Some(season))?;
            Some((season.clone(), found))
        })
        .collect()
}

fn value(estimates: &Estimates, levels: &[String]) -> Option<f64> {
    let mut all = estimates.treatments.iter();
    all.find(|one| one.levels == levels).map(|one| one.value)
}

fn brix(study: &Study<'_>, levels: &[String], season: Option<&str>) -> Option<f64> {
    let name = study.prices.crop.brix.as_deref()?;
    let found = sets::of(study.trial, name, &study.set.factors, season)?;
    value(found, levels)
}

/// Price of one weight of fruit of this Brix.
fn price_at(study: &Study<'_>, brix: f64) -> f64 {
    let crop = &study.prices.crop;
    let paid = crop.steps.iter().rev().find(|step| brix >= step.from);
    paid.map_or(crop.price.likely, |step| step.price)
}
