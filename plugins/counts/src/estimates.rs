//! Results for programs: the shares of the table of means with their intervals.

use std::collections::BTreeSet;

use caneplot_plugin::estimates::{Estimates, Kind, Test, Treatment};
use caneplot_plugin::request::TrialInfo;

use crate::levels::{LevelMean, Levels};
use crate::model::Modelled;
use crate::section::{Set, Subjected};
use crate::tables::mean_format;
use crate::terms::mean_weights;

/// Shares of each factor and of combinations, over all seasons and in each; none of counts that are
/// not out of a total, whose means in the unit of the response another analysis gives.
pub fn of(trial: &TrialInfo, subjected: &Subjected<'_>) -> Vec<Estimates> {
    if !subjected.is_share() {
        return Vec::new();
    }
    let mut all = Vec::new();
    for (set, model, levels) in subjected.fitted() {
        for chosen in families(levels) {
            all.push(estimates(trial, subjected, set, (model, levels), &chosen));
        }
    }
    all
}

/// Which dimensions the means of a set are of, in the order of its means.
fn families(levels: &Levels) -> Vec<Vec<usize>> {
    let mut known: Vec<Vec<usize>> = Vec::new();
    for mean in &levels.means {
        let own = dimensions(mean);
        if !known.contains(&own) {
            known.push(own);
        }
    }
    known
}

/// The dimensions a mean is not averaged over.
fn dimensions(mean: &LevelMean) -> Vec<usize> {
    let levels = mean.levels.iter().enumerate();
    levels.filter_map(|(at, level)| level.map(|_| at)).collect()
}

fn estimates(
    trial: &TrialInfo,
    subjected: &Subjected<'_>,
    set: &Set,
    (model, levels): (&Modelled, &Levels),
    chosen: &[usize],
) -> Estimates {
    let response = subjected.subject.response;
    let means = || {
        levels
            .means
            .iter()
            .filter(|mean| dimensions(mean) == chosen)
    };
    let largest = means().map(|mean| mean.mean).fold(0.0, f64::max);
    let season = set.frame.dimensions.iter().position(|d| d.factor.is_none());
    let test = |of: Vec<usize>| {
        let found = model.tests.iter().find(|test| test.term.of == of)?;
        Some(Test {
            p: found.probability,
            f: Some(found.f),
            df: Some(found.df),
            error_df: Some(found.error_df),
        })
    };
    // Combinations have no test of their own, only one of what goes beyond their factors.
    let single = chosen.len() == 1;
    let factor = |&at: &usize| {
        let factor = set.frame.dimensions[at].factor?;
        Some(trial.factors.get(factor)?.name.clone())
    };
    Estimates {
        name: response.name.clone(),
        label: response.label.clone(),
        unit: String::new(),
        kind: Kind::Share,
        factors: chosen.iter().filter_map(factor).collect(),
        season: set.label.clone().filter(|_| !set.seasons),
        level: 1.0 - subjected.level,
        format: mean_format(subjected.subject.kind, largest),
        treatments: means().map(|mean| treatment(set, mean)).collect(),
        covariance: Vec::new(),
        df: None,
        differences: Vec::new(),
        test: test(chosen.to_vec()).filter(|_| single),
        seasons_test: season
            .filter(|_| single)
            .and_then(|season| test([chosen, &[season]].concat())),
        interaction_test: test(chosen.to_vec()).filter(|_| !single),
        ranges: Vec::new(),
    }
}

fn treatment(set: &Set, mean: &LevelMean) -> Treatment {
    let names = mean.levels.iter().zip(&set.frame.dimensions);
    Treatment {
        levels: names
            .filter_map(|(level, dimension)| Some(dimension.names[(*level)?].clone()))
            .collect(),
        plots: plots(set, mean),
        value: mean.mean,
        standard_error: None,
        low: Some(mean.low),
        high: Some(mean.high),
    }
}

/// Plots behind a mean, each once however many seasons it was counted in.
fn plots(set: &Set, mean: &LevelMean) -> u32 {
    let grouping = set.frame.groupings.iter().find(|one| one.name == "plot");
    let Some(plots) = grouping.filter(|_| set.seasons) else {
        return mean.plots as u32;
    };
    let weights = mean_weights(&set.frame, &mean.levels);
    let rows = set.frame.cell_of.iter().zip(&plots.codes);
    let behind = rows.filter(|(cell, _)| weights[**cell] > 0.0);
    let distinct: BTreeSet<usize> = behind.map(|(_, &plot)| plot).collect();
    distinct.len() as u32
}
