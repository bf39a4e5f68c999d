//! Parts of figures: axes, marks and the words that go with them.

use std::collections::BTreeMap;

use caneplot_plugin::findings::{Axis, Mark, Scale};
use caneplot_plugin::words::{self, counted};

use crate::means::Means;
use crate::study::Study;
use crate::tests_table::unescaped;

/// Most means that are spoken one by one.
const MOST_SPOKEN: usize = 12;

/// n and the meaning of the bars.
pub(crate) fn foot(study: &Study<'_>, means: &Means) -> String {
    let (least, most) = (
        means.plots.iter().min().copied().unwrap_or(0),
        means.plots.iter().max().copied().unwrap_or(0),
    );
    let n = match least == most {
        true => format!("n = {}", counted(least, "plot")),
        false => format!("n = {least} to {most} plots"),
    };
    format!(
        "{n}; bars are {} confidence intervals of single {}",
        study.options.confidence_words(),
        study.averages()
    )
}

pub(crate) fn y_axis(study: &Study<'_>) -> Axis {
    Axis {
        title: words::axis(&study.response.label, study.unit()),
        ..Axis::default()
    }
}

/// The axis of a margin and the place of each level on it.
pub(crate) fn x_axis(study: &Study<'_>, factor: usize) -> (Axis, Vec<f64>) {
    let margin = &study.margins()[factor];
    match &margin.quantities {
        Some(quantities) => (
            Axis {
                title: words::axis(&margin.label, &margin.unit),
                scale: Scale::Linear {
                    from: None,
                    to: None,
                    ticks: quantities.clone(),
                },
            },
            quantities.clone(),
        ),
        None => (
            Axis {
                title: margin.label.clone(),
                scale: Scale::Category {
                    labels: margin.labels.clone(),
                },
            },
            (0..margin.labels.len()).map(|place| place as f64).collect(),
        ),
    }
}

/// Means with their intervals.
pub(crate) fn marks(
    study: &Study<'_>,
    means: &Means,
    places: &[f64],
    series: Option<usize>,
) -> Vec<Mark> {
    let mut points = Vec::new();
    for (at, &x) in places.iter().enumerate() {
        if let (Some(mean), Some(estimate)) = (study.mean(means, at), means.estimates[at]) {
            points.push((x, mean, study.limits(&estimate)));
        }
    }
    let bars: Vec<(f64, f64, f64)> = points
        .iter()
        .filter_map(|(x, _, limits)| limits.map(|(low, high)| (*x, low, high)))
        .collect();
    let mut all = Vec::new();
    if !bars.is_empty() {
        all.push(Mark::Interval {
            x: bars.iter().map(|bar| bar.0).collect(),
            low: bars.iter().map(|bar| bar.1).collect(),
            high: bars.iter().map(|bar| bar.2).collect(),
            series,
        });
    }
    all.push(Mark::Points {
        x: points.iter().map(|point| point.0).collect(),
        y: points.iter().map(|point| point.1).collect(),
        series,
        faint: false,
    });
    all
}

pub(crate) fn line(study: &Study<'_>, means: &Means, places: &[f64], series: usize) -> Mark {
    let points: Vec<(f64, f64)> = places
        .iter()
        .enumerate()
        .filter_map(|(at, &x)| study.mean(means, at).map(|mean| (x, mean)))
        .collect();
    Mark::Line {
        x: points.iter().map(|point| point.0).collect(),
        y: points.iter().map(|point| point.1).collect(),
        series: Some(series),
        dashed: false,
    }
}

/// Means of the plots as recorded, with the place their levels have; none where means are adjusted
/// for a covariate, beside which they would mislead.
pub(crate) fn raw(
    study: &Study<'_>,
    place: &dyn Fn(usize) -> Option<f64>,
    series: Option<usize>,
) -> Option<Mark> {
    if !study.readings.covariates.is_empty() {
        return None;
    }
    let mut plots: BTreeMap<usize, (f64, f64, f64)> = BTreeMap::new();
    for (unit, &plot) in study.readings.plot.iter().enumerate() {
        if let Some(x) = place(unit) {
            let entry = plots.entry(plot).or_insert((x, 0.0, 0.0));
            entry.1 += study.problem.values[unit];
            entry.2 += 1.0;
        }
    }
    let points: Vec<(f64, f64)> = plots
        .values()
        .filter_map(|(x, sum, count)| Some((*x, study.back(sum / count)?)))
        .collect();
    Some(Mark::Points {
        x: points.iter().map(|point| point.0).collect(),
        y: points.iter().map(|point| point.1).collect(),
        series,
        faint: true,
    })
}

/// Means in words, for readers who cannot see the figure: all of a few, else their range.
pub(crate) fn means_words(study: &Study<'_>, means: &Means) -> String {
    let order = study.by_mean(means);
    if let (true, Some(&best), Some(&worst)) =
        (order.len() > MOST_SPOKEN, order.first(), order.last())
    {
        let one = |at: usize| {
            let mean = study.mean(means, at).unwrap_or_default();
            format!(
                "{} with {}",
                words::plain(mean, study.decimals),
                unescaped(&study.cell_words(&means.factors, &means.levels[at]))
            )
        };
        return format!(
            "{} means from {} to {} ({})",
            order.len(),
            one(worst),
            one(best),
            study.unit()
        );
    }
    let parts: Vec<String> = (0..means.levels.len())
        .filter_map(|at| {
            let mean = study.mean(means, at)?;
            Some(format!(
                "{} {}",
                unescaped(&study.cell_words(&means.factors, &means.levels[at])),
                words::plain(mean, study.decimals)
            ))
        })
        .collect();
    let unit = match study.unit() {
        "" => String::new(),
        unit => format!(" {unit}"),
    };
    format!("{}{unit}", parts.join(", "))
}

pub(crate) fn verdict(study: &Study<'_>, factors: &[usize]) -> &'static str {
    match study.term(factors).and_then(|term| term.test) {
        Some(_) if study.clear(factors) => "clear",
        Some(_) => "not clear",
        None => "not tested",
    }
}

pub(crate) fn raw_words(study: &Study<'_>) -> String {
    match (study.readings.covariates.is_empty(), study.seasons().len()) {
        (false, _) => String::new(),
        (true, 0) => ", small points plots".to_owned(),
        (true, _) => ", small points the means of single plots over the seasons".to_owned(),
    }
}
