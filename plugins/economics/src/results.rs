//! Results for programs: net benefits on the area that is spoken of first.

use caneplot_plugin::estimates::{Difference, Estimates, Kind, Treatment};
use caneplot_plugin::findings::Format;

use crate::study::Study;

/// Name under which others find them.
const NAME: &str = "net_benefit";

/// Net benefits over all seasons, with what is known of their differences, and in each season.
pub(crate) fn results(study: &Study<'_>) -> Vec<Estimates> {
    let all: Vec<f64> = (0..study.count()).map(|at| study.benefit(at)).collect();
    let mut found = vec![Estimates {
        covariance: covariance(study).unwrap_or_default(),
        df: fewest_df(study),
        differences: differences(study).unwrap_or_default(),
        ..plain(study, &all, None)
    }];
    let seasons = study.seasons.iter();
    found.extend(seasons.map(|one| plain(study, &one.benefit, Some(one.name.clone()))));
    found
}

fn plain(study: &Study<'_>, benefit: &[f64], season: Option<String>) -> Estimates {
    let treatments = study.set.crop.treatments.iter().zip(benefit);
    Estimates {
        name: NAME.to_owned(),
        label: "Net benefit".to_owned(),
        unit: study.unit(study.prices.area),
        kind: Kind::Mean,
        factors: study.set.crop.factors.clone(),
        season,
        level: study.options.level,
        format: Format::Decimals(0),
        treatments: treatments
            .map(|(one, benefit)| Treatment {
                levels: one.levels.clone(),
                plots: one.plots,
                value: study.first(*benefit),
                // Only differences are as sure as the trial can make them: the rest is common to all.
                ..Treatment::default()
            })
            .collect(),
        covariance: Vec::new(),
        df: None,
        differences: Vec::new(),
        test: None,
        seasons_test: None,
        interaction_test: None,
        ranges: Vec::new(),
    }
}

/// Covariances of the money: those of crop and measured work by what a unit of each is worth.
fn covariance(study: &Study<'_>) -> Option<Vec<f64>> {
    let measured = study.measured()?;
    let squared = study.first(1.0).powi(2);
    let mut all = Vec::new();
    for row in 0..study.count() {
        for column in 0..=row {
            let place = row * (row + 1) / 2 + column;
            let parts = measured
                .iter()
                .map(|one| one.covariance[place] * one.weights[row] * one.weights[column]);
            all.push(parts.sum::<f64>() * squared);
        }
    }
    Some(all)
}

fn fewest_df(study: &Study<'_>) -> Option<f64> {
    let measured = study.measured()?;
    measured.iter().filter_map(|one| one.df).reduce(f64::min)
}

/// Differences from the control with the intervals of the draws.
fn differences(study: &Study<'_>) -> Option<Vec<Difference>> {
    let covariance = covariance(study)?;
    let of = |a: usize, b: usize| {
        let (low, high) = (a.min(b), a.max(b));
        covariance[high * (high + 1) / 2 + low]
    };
    let against = study.set.control;
    let one = |at: usize| {
        let (low, high) = study.interval(at)?;
        let variance = of(at, at) + of(against, against) - 2.0 * of(at, against);
        Some(Difference {
            of: at,
            against,
            value: study.first(study.net(at)),
            standard_error: variance.max(0.0).sqrt(),
            df: fewest_df(study),
            low: study.first(low),
            high: study.first(high),
            p: None,
        })
    };
    study.others().into_iter().map(one).collect()
}
