//! Money of work and costs, on a hectare and season, a figure for each treatment.

use caneplot_numerics::economics::capital::recovery;
use caneplot_plugin::estimates::Estimates;
use caneplot_plugin::prices::{Amount, ByLevel, Cost, Prices, Time, Work};
use caneplot_plugin::request::TrialInfo;
use caneplot_plugin::words::{inside, safe};

use crate::areas::{hours_a_hectare, on_a_hectare, vines_a_hectare};
use crate::sets;

/// A kind of work or a cost.
#[derive(Debug, Clone)]
pub(crate) struct Item<'a> {
    /// In words.
    pub label: &'a str,
    /// Money on a hectare and season.
    pub money: Vec<f64>,
    /// The same at the lowest and highest that is thought possible, where bounds are declared.
    pub bounds: Option<(Vec<f64>, Vec<f64>)>,
    /// What it is.
    pub kind: Kind<'a>,
}

/// What an item is.
#[derive(Debug, Clone)]
pub(crate) enum Kind<'a> {
    /// Work: hours on a hectare, and the results they rest on where they were measured.
    Work {
        hours: Vec<f64>,
        measured: Option<&'a Estimates>,
        /// Hours on a hectare of one unit of those results.
        scale: f64,
        /// On what ground they are assumed.
        source: Option<&'a str>,
    },
    /// A cost of every season.
    Seasonal,
    /// A cost that comes once: in full on a hectare, and the years it serves.
    Once { full: Vec<f64>, life: Option<f64> },
}

/// The levels of the treatments of a set, and its factors.
pub(crate) struct Treated<'a, 's> {
    pub trial: &'a TrialInfo,
    pub factors: &'s [usize],
    pub levels: Vec<&'a [String]>,
}

impl Treated<'_, '_> {
    /// The amounts of the treatments; `None` where another factor makes the difference.
    fn amounts(&self, by: &ByLevel) -> Option<Vec<Amount>> {
        let named = |&&at: &&usize| self.trial.factors[at].name == by.factor;
        let place = self.factors.iter().position(|at| named(&at))?;
        self.levels
            .iter()
            .map(|levels| {
                let mut amounts = by.amounts.iter();
                amounts
                    .find(|(name, _)| *name == levels[place])
                    .map(|(_, amount)| *amount)
            })
            .collect()
    }
}

/// The items of a set, and a sentence for each that cannot be reckoned.
pub(crate) fn items<'a>(
    treated: &Treated<'a, '_>,
    prices: &'a Prices,
) -> (Vec<Item<'a>>, Vec<String>) {
    let (mut items, mut lacking) = (Vec::new(), Vec::new());
    let mut keep = |label: &str, found: Result<Option<Item<'a>>, String>| match found {
        Ok(found) => items.extend(found),
        Err(why) => lacking.push(format!("{} is not in these budgets: {why}.", safe(label))),
    };
    let wage = prices.wage.map_or(0.0, |wage| wage.likely);
    for one in &prices.work {
        keep(&one.label, work(treated, one, wage));
    }
    for one in &prices.costs {
        keep(&one.label, cost(treated, one, prices.interest));
    }
    (items, lacking)
}

fn work<'a>(
    treated: &Treated<'a, '_>,
    work: &'a Work,
    wage: f64,
) -> Result<Option<Item<'a>>, String> {
    let vineyard = &treated.trial.vineyard;
    let priced = |hours: &[f64]| -> Vec<f64> { hours.iter().map(|hours| hours * wage).collect() };
    match &work.time {
        Time::Measured(name) => {
            let trial = treated.trial;
            let response = trial.responses.iter().find(|one| one.name == *name);
            let label = response.map_or_else(|| safe(name), |one| inside(&one.label));
            let found = sets::of(trial, name, treated.factors, None)
                .ok_or_else(|| format!("no analysis of this run has means of {label}"))?;
            let scale = hours_a_hectare(&found.unit, vineyard)?;
            let hours = treated
                .levels
                .iter()
                .map(|levels| {
                    let mut all = found.treatments.iter();
                    Some(all.find(|one| one.levels == **levels)?.value * scale)
                })
                .collect::<Option<Vec<f64>>>()
                .ok_or_else(|| format!("not every treatment has a mean of {label}"))?;
            Ok(Some(Item {
                label: &work.label,
                money: priced(&hours),
                bounds: None,
                kind: Kind::Work {
                    hours,
                    measured: Some(found),
                    scale,
                    source: None,
                },
            }))
        }
        Time::Assumed { minutes, source } => {
            let Some(amounts) = treated.amounts(minutes) else {
                return Ok(None);
            };
            let scale = vines_a_hectare(vineyard)? / 60.0;
            let hours = |of: fn(&Amount) -> f64| -> Vec<f64> {
                amounts.iter().map(|amount| of(amount) * scale).collect()
            };
            Ok(Some(Item {
                label: &work.label,
                money: priced(&hours(likely)),
                bounds: bounded(&amounts).then(|| (priced(&hours(low)), priced(&hours(high)))),
                kind: Kind::Work {
                    hours: hours(likely),
                    measured: None,
                    scale,
                    source: Some(source),
                },
            }))
        }
    }
}

fn cost<'a>(
    treated: &Treated<'a, '_>,
    cost: &'a Cost,
    interest: Option<f64>,
) -> Result<Option<Item<'a>>, String> {
    let Some(amounts) = treated.amounts(&cost.amounts) else {
        return Ok(None);
    };
    let one = on_a_hectare(1.0, cost.per, &treated.trial.vineyard)?;
    let full = |of: fn(&Amount) -> f64| -> Vec<f64> {
        amounts.iter().map(|amount| of(amount) * one).collect()
    };
    let share = match &cost.once {
        None => 1.0,
        Some(once) => match once.life {
            Some(life) => {
                recovery(interest.unwrap_or(0.0), life).map_err(|error| error.to_string())?
            }
            None => 1.0 / treated.trial.seasons.len().max(1) as f64,
        },
    };
    let of_season =
        |of: fn(&Amount) -> f64| -> Vec<f64> { full(of).iter().map(|cost| cost * share).collect() };
    Ok(Some(Item {
        label: &cost.label,
        money: of_season(likely),
        bounds: bounded(&amounts).then(|| (of_season(low), of_season(high))),
        kind: match &cost.once {
            None => Kind::Seasonal,
            Some(once) => Kind::Once {
                full: full(likely),
                life: once.life,
            },
        },
    }))
}

fn bounded(amounts: &[Amount]) -> bool {
    amounts.iter().any(|amount| amount.bounds.is_some())
}

fn likely(amount: &Amount) -> f64 {
    amount.likely
}

fn low(amount: &Amount) -> f64 {
    amount.bounds.map_or(amount.likely, |bounds| bounds.0)
}

fn high(amount: &Amount) -> f64 {
    amount.bounds.map_or(amount.likely, |bounds| bounds.1)
}
