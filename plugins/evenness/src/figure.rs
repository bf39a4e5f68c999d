//! A number of plots by treatment: plots faint, means with their intervals.

use caneplot_plugin::findings::{Axis, Figure, Mark, Panel, Scale, Width};
use caneplot_plugin::words;

use crate::compare::{Comparison, half_width};
use crate::spread::{LOG, Spread};

/// Most panels of one figure.
const MOST: usize = 4;

/// A figure of one number a plot, a panel for each set of factors.
pub(crate) struct Shown<'a> {
    pub comparisons: Vec<&'a Comparison<'a>>,
    /// Values of the plots and their column among the means.
    pub values: &'a [f64],
    pub column: usize,
    /// From the scale of the analysis to that of the figure.
    pub back: fn(f64) -> f64,
    pub level: f64,
    pub axis: String,
    pub id: &'static str,
    pub caption: String,
    pub alt: String,
}

pub(crate) fn of_spread(spread: &Spread<'_>) -> Vec<Figure> {
    let response = spread.response();
    let label = words::inside(&response.label);
    let comparisons: Vec<&Comparison<'_>> = spread.sets.iter().map(|set| &set.overall).collect();
    let Some(&first) = comparisons.first() else {
        return Vec::new();
    };
    let each: Vec<String> = first
        .means
        .iter()
        .enumerate()
        .map(|(at, mean)| {
            let value = (mean.values[LOG] / 2.0).exp();
            format!(
                "{} {value:.2} {}",
                first.treatments.label(at),
                response.unit
            )
        })
        .collect();
    vec![figure(&Shown {
        values: &spread.overall.columns[LOG],
        column: LOG,
        back: |log| (log / 2.0).exp(),
        level: spread.level,
        axis: words::axis(&format!("Spread of {label} within plots"), &response.unit),
        id: "spread",
        caption: format!("Standard deviation of {label} between the vines of a plot"),
        alt: format!("Spread of {label} within plots: {}.", each.join("; ")),
        comparisons,
    })]
}

pub(crate) fn figure(shown: &Shown<'_>) -> Figure {
    let panels: Vec<Panel> = shown
        .comparisons
        .iter()
        .take(MOST)
        .map(|comparison| panel(shown, comparison))
        .collect();
    let plots = numbers(&shown.comparisons);
    let bars = format!("bars are {} intervals", words::percent(shown.level));
    Figure {
        id: shown.id.to_owned(),
        caption: format!(
            "{}. Faint points are plots; means of treatments, {plots}; {bars}.",
            shown.caption
        ),
        alt: shown.alt.clone(),
        foot: Some(format!("{plots}; {bars}.")),
        width: if panels.len() > 1 {
            Width::Double
        } else {
            Width::Single
        },
        columns: u32::try_from(panels.len().min(2)).unwrap_or(1),
        panels,
        series: Vec::new(),
        series_title: None,
    }
}

/// How many plots are behind a mean, in each panel where there are several.
fn numbers(comparisons: &[&Comparison<'_>]) -> String {
    match comparisons {
        [one] => format!("{} each", one.plots_words()),
        several => {
            let panel = |comparison: &&Comparison<'_>| {
                let heading = words::inside(&comparison.treatments.heading());
                format!("{} by {heading}", comparison.plots_words())
            };
            let all: Vec<String> = several.iter().take(MOST).map(panel).collect();
            words::list(&all)
        }
    }
}

fn panel(shown: &Shown<'_>, comparison: &Comparison<'_>) -> Panel {
    let treatments = &comparison.treatments;
    let count = treatments.count();
    let quantities: Option<Vec<f64>> = (0..count).map(|at| treatments.quantity(at)).collect();
    let (scale, places) = match quantities {
        Some(places) => (
            Scale::Linear {
                from: None,
                to: None,
                ticks: places.clone(),
            },
            places,
        ),
        None => (
            Scale::Category {
                labels: (0..count).map(|at| treatments.label(at)).collect(),
            },
            (0..count).map(|place| place as f64).collect(),
        ),
    };
    let mut marks = vec![Mark::Points {
        x: comparison.of_plot.iter().map(|&at| places[at]).collect(),
        y: shown
            .values
            .iter()
            .map(|value| (shown.back)(*value))
            .collect(),
        series: None,
        faint: true,
    }];
    let (mut x, mut low, mut high) = (Vec::new(), Vec::new(), Vec::new());
    for (mean, &place) in comparison.means.iter().zip(&places) {
        if let Some(half) = half_width(mean, shown.column, shown.level) {
            x.push(place);
            low.push((shown.back)(mean.values[shown.column] - half));
            high.push((shown.back)(mean.values[shown.column] + half));
        }
    }
    marks.push(Mark::Interval {
        x,
        low,
        high,
        series: None,
    });
    marks.push(Mark::Points {
        x: places,
        y: comparison
            .means
            .iter()
            .map(|mean| (shown.back)(mean.values[shown.column]))
            .collect(),
        series: None,
        faint: false,
    });
    Panel {
        title: None,
        x: Axis {
            title: words::axis(&treatments.heading(), treatments.unit().unwrap_or("")),
            scale,
        },
        y: Axis {
            title: shown.axis.clone(),
            scale: Scale::Linear {
                from: Some(0.0),
                to: None,
                ticks: Vec::new(),
            },
        },
        marks,
    }
}
