//! Changing an existing vineyard over, looked at over the years: what is paid at once, the seasons
//! without a crop, and what every season after brings.

use caneplot_numerics::economics::capital::present_value;

use crate::items::Kind;
use crate::study::Study;

/// A treatment looked at over the years, on a hectare, against going on with the control.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Ahead {
    pub treatment: usize,
    /// Seasons without a crop.
    pub lost: u32,
    /// Paid at once.
    pub at_once: f64,
    /// What a bearing season brings more.
    pub a_season: f64,
    /// Value now of everything.
    pub value: f64,
    /// The year by whose end it has paid, where it does.
    pub paid_after: Option<u32>,
}

/// Every treatment but the control; none where no conversion is declared for these treatments.
pub(crate) fn ahead(study: &Study<'_>) -> Vec<Ahead> {
    let (Some(conversion), Some(interest)) = (&study.prices.conversion, study.prices.interest)
    else {
        return Vec::new();
    };
    let factor = |&&at: &&usize| study.trial.factors[at].name == conversion.lost.factor;
    let Some(place) = study.set.factors.iter().position(|at| factor(&at)) else {
        return Vec::new();
    };
    let lost = |at: usize| {
        let level = &study.set.crop.treatments[at].levels[place];
        let mut amounts = conversion.lost.amounts.iter();
        let found = amounts.find(|(name, _)| name == level);
        found.map_or(0, |(_, amount)| amount.likely as u32)
    };
    let years = conversion.years;
    let control = study.set.control;
    // The vineyard as it stands has its trellis: going on with it costs nothing at once.
    let stay = flows(study, control, lost(control), years, true);
    let one = |treatment: usize| {
        let own = flows(study, treatment, lost(treatment), years, false);
        let sums: Vec<f64> = own
            .iter()
            .zip(&stay)
            .map(|(own, stay)| own - stay)
            .collect();
        let until = |year: u32| present_value(interest, &sums[..=year as usize]).ok();
        let paid = |year: &u32| until(*year).is_some_and(|value| value >= 0.0);
        Some(Ahead {
            treatment,
            lost: lost(treatment),
            at_once: -sums[0],
            a_season: seasonal(study, treatment, false) - seasonal(study, control, false),
            value: present_value(interest, &sums).ok()?,
            // Later years may undo it (a trellis to be bought again), so the last doubt counts.
            paid_after: (0..=years).rev().take_while(|year| paid(year)).last(),
        })
    };
    study.others().into_iter().filter_map(one).collect()
}

/// What each year brings: now, then a season a year; what comes once is paid at the beginning of each
/// of its lives, the first of which has begun where it stands already.
fn flows(study: &Study<'_>, treatment: usize, lost: u32, years: u32, stands: bool) -> Vec<f64> {
    let mut sums = vec![0.0; years as usize + 1];
    for (year, sum) in sums.iter_mut().enumerate().skip(1) {
        *sum = seasonal(study, treatment, year as u32 <= lost);
    }
    for item in &study.items {
        let Kind::Once { full, life } = &item.kind else {
            continue;
        };
        let mut at = if stands {
            life.unwrap_or(f64::INFINITY)
        } else {
            0.0
        };
        while at < f64::from(years) {
            sums[at as usize] -= full[treatment];
            at += life.unwrap_or(f64::INFINITY);
        }
    }
    sums
}

/// What a season brings over the costs that come every season.
fn seasonal(study: &Study<'_>, treatment: usize, without_crop: bool) -> f64 {
    let crop = study.tonnes[treatment] * (study.price[treatment] - study.harvest);
    let every = study.items.iter();
    let every = every.filter(|item| !matches!(item.kind, Kind::Once { .. }));
    let costs: f64 = every.map(|item| item.money[treatment]).sum();
    if without_crop { -costs } else { crop - costs }
}
