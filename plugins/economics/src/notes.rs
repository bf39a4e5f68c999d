//! What a reader must know to use the figures.

use caneplot_plugin::findings::{Rank, Statement};
use caneplot_plugin::request::Basis;
use caneplot_plugin::sentence::Sentence;
use caneplot_plugin::words::{inside, list, safe};

use crate::items::Kind;
use crate::study::Study;

/// The notes of a section.
pub(crate) fn notes(study: &Study<'_>) -> Vec<Statement> {
    let mut all = Vec::new();
    let mut say = |text: String| all.push(Sentence::default().literal(&text).ranked(Rank::Detail));
    let prices = study.prices;
    say(format!(
        "Prices are of {} in {}, as this trial's prices.toml declares them: {}.",
        prices.year,
        safe(&prices.currency),
        safe(prices.source.trim_end_matches('.'))
    ));
    say("The money of one trial on one site, in the seasons it had, is no forecast. Put in your own prices, and ask an accountant or an adviser before money is spent.".to_owned());
    if !study.set.declared {
        say(format!(
            "No control is declared, so treatments are set against the first, {}.",
            study.words(study.set.control)
        ));
    }
    for why in &study.lacking {
        say(why.clone());
    }
    for item in &study.items {
        match &item.kind {
            Kind::Work {
                source: Some(source),
                ..
            } => say(format!(
                "Minutes of {} were not measured in this trial but assumed: {}.",
                inside(item.label),
                safe(source.trim_end_matches('.'))
            )),
            Kind::Once { life: None, .. } => say(format!(
                "{} comes once; each season of the trial bears an equal part of it.",
                safe(item.label)
            )),
            Kind::Once {
                life: Some(life), ..
            } => say(format!(
                "{} comes once and serves {life} years; a season bears the equal yearly sum that pays it back with interest.",
                safe(item.label)
            )),
            _ => {}
        }
    }
    if prices.crop.counted < 1.0 {
        say(format!(
            "Of the trial's crop {} % is counted on, as prices.toml asks: trials are tended better than vineyards.",
            (prices.crop.counted * 1e4).round() / 100.0
        ));
    }
    if study.crop.gaps_count {
        say("The crop is that of planted spaces: gaps bring nothing.".to_owned());
    } else if study.crop.response.basis == Basis::LivingVine {
        say("The crop is that of living vines on every planted space: where vines are missing, an area brings less.".to_owned());
    }
    if study.chances.is_some() && study.measured().is_some_and(|all| all.len() > 1) {
        say("Crop and measured work are drawn independently: whether a plot that bears more also takes longer is not counted.".to_owned());
    }
    if !prices.crop.steps.is_empty() {
        say("Where prices follow Brix, each treatment's fruit fetches what the mean Brix of each season is paid; how sure that Brix is does not enter the intervals.".to_owned());
    }
    if study.chances.is_none() {
        say("There are no intervals and chances, because how sure the means of the crop or of measured work are is not known as a difference in their own unit.".to_owned());
    }
    let level = 1.0 - study.set.crop.level;
    if study
        .set
        .crop
        .seasons_test
        .as_ref()
        .is_some_and(|test| test.p < level)
    {
        say("What the treatments did to the crop changed clearly with the season: read the money season by season.".to_owned());
    }
    let elsewhere = elsewhere(study);
    if !elsewhere.is_empty() {
        say(format!(
            "Work and costs that differ only by other factors ({}) are the same for all treatments here and stand in no figure.",
            list(&elsewhere)
        ));
    }
    all
}

/// Work and costs by factors that this set does not compare.
fn elsewhere(study: &Study<'_>) -> Vec<String> {
    let own = |name: &str| {
        let mut factors = study.set.factors.iter();
        factors.any(|&at| study.trial.factors[at].name == name)
    };
    let work = study
        .prices
        .work
        .iter()
        .filter_map(|work| match &work.time {
            caneplot_plugin::prices::Time::Assumed { minutes, .. } if !own(&minutes.factor) => {
                Some(&work.label)
            }
            _ => None,
        });
    let costs = study.prices.costs.iter();
    let costs = costs
        .filter(|cost| !own(&cost.amounts.factor))
        .map(|cost| &cost.label);
    work.chain(costs).map(|label| inside(label)).collect()
}
