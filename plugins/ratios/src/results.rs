//! Results for programs: the ratios of the tables with their intervals and the ranges that may judge
//! them.

use caneplot_plugin::estimates::{Estimates, Kind, PublishedRange, Treatment};
use caneplot_plugin::findings::Format;
use caneplot_plugin::request::{Canopy, TrialInfo};

use crate::ranges::{Range, conversion};
use crate::report::{Entry, Report, Window};
use crate::verdict::judging_range;

/// The ratios of every group over the seasons and in each.
pub fn results(report: &Report<'_>) -> Vec<Estimates> {
    let mut all = Vec::new();
    for group in 0..report.groups.len() {
        all.extend(estimates(report, &report.overall, group, None));
        for (season, window) in &report.seasons {
            let season = report.trial.seasons.get(*season).map(String::as_str);
            all.extend(estimates(report, window, group, season));
        }
    }
    all
}

fn estimates(
    report: &Report<'_>,
    window: &Window,
    group: usize,
    season: Option<&str>,
) -> Option<Estimates> {
    let trial = report.trial;
    let entries = report.entries(window, group);
    if entries.is_empty() {
        return None;
    }
    let factors = match report.groups[group].factor {
        Some(factor) => vec![factor],
        None => (0..trial.factors.len()).collect(),
    };
    let treatment = |entry: &Entry<'_>| {
        let interval = entry.estimate.interval();
        Treatment {
            levels: level_names(trial, &factors, entry),
            plots: entry.estimate.plots as u32,
            value: entry.estimate.ratio,
            // Fieller's interval is not made of one.
            standard_error: None,
            low: interval.map(|ends| ends.0),
            high: interval.map(|ends| ends.1),
        }
    };
    Some(Estimates {
        name: report.ratio.name.clone(),
        label: report.ratio.label.clone(),
        unit: report.ratio.unit.clone(),
        kind: Kind::Ratio,
        season: season.map(str::to_owned),
        level: report.level,
        format: Format::Decimals(report.decimals()),
        treatments: entries.iter().map(treatment).collect(),
        factors: factors
            .iter()
            .map(|&factor| trial.factors[factor].name.clone())
            .collect(),
        covariance: Vec::new(),
        df: None,
        differences: Vec::new(),
        test: None,
        seasons_test: None,
        interaction_test: None,
        ranges: ranges(report, &entries),
    })
}

fn level_names(trial: &TrialInfo, factors: &[usize], entry: &Entry<'_>) -> Vec<String> {
    let level = |&factor: &usize| {
        let level = entry.treatment.levels[factor]?;
        Some(trial.factors[factor].levels[level].name.clone())
    };
    factors.iter().filter_map(level).collect()
}

/// The ranges that may judge some of the treatments, in the unit of the ratio.
fn ranges(report: &Report<'_>, entries: &[Entry<'_>]) -> Vec<PublishedRange> {
    let mut found: Vec<(&Range, Vec<usize>)> = Vec::new();
    for (at, entry) in entries.iter().enumerate() {
        let judging = judging_range(
            report.ratio.index,
            &report.ratio.unit,
            entry.treatment.canopy,
            report.trial.vineyard.grape.as_deref(),
        );
        let Ok(range) = judging else { continue };
        match found.iter_mut().find(|(known, _)| *known == range) {
            Some((_, treatments)) => treatments.push(at),
            None => found.push((range, vec![at])),
        }
    }
    let published = |(range, treatments): (&Range, Vec<usize>)| {
        let factor = conversion(&report.ratio.unit, range)?;
        Some(PublishedRange {
            low: range.low? / factor,
            high: range.high? / factor,
            applies_to: match range.canopy {
                Some(Canopy::Single) => format!("{}, single canopy", range.conditions),
                Some(Canopy::Divided) => format!("{}, divided canopy", range.conditions),
                _ => range.conditions.to_owned(),
            },
            source: range.source.to_owned(),
            treatments,
        })
    };
    found.into_iter().filter_map(published).collect()
}
