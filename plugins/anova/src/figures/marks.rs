//! Axes, marks and words that the figures of means share.

use caneplot_numerics::cells::Cells;
use caneplot_plugin::findings::{Axis, Figure, Mark, Panel, Scale, Width};

use crate::study::Study;
use crate::tables::plain_label;
use crate::words;

/// Values of the plots behind a table of means: the cell of each plot and its mean.
pub(super) fn plot_values(study: &Study<'_>, term: usize) -> Vec<(usize, f64)> {
    let design = &study.planned.design;
    let cells = &study.planned.plans[term].cells;
    let plots = design.layout.strata()[design.plots].cells.of_unit();
    let both = Cells::crossing(design.layout.units(), [cells.of_unit(), plots]);
    let means = both.means(&study.values);
    both.first()
        .iter()
        .zip(means)
        .map(|(&unit, mean)| (cells.of_unit()[unit], study.response.offset + mean))
        .collect()
}

/// How many plots a mean rests on, in words.
pub(super) fn plots_words(study: &Study<'_>, term: usize) -> String {
    let counts = &study.planned.plots_behind[term];
    let (least, most) = (
        counts.iter().min().copied().unwrap_or(0),
        counts.iter().max().copied().unwrap_or(0),
    );
    if least == most {
        format!("n = {}", words::counted(least, "plot"))
    } else {
        format!("n = {least} to {most} plots")
    }
}

pub(super) fn bars_words(study: &Study<'_>, term: usize) -> String {
    let seasons = study.seasons().len();
    let over = if seasons > 0 && !study.has_season(term) {
        format!(", each the mean of {seasons} seasons")
    } else {
        String::new()
    };
    let has_error = study.tables[term].of_mean.iter().any(Option::is_some);
    let bars = if has_error {
        "; bars are ± 1 standard error"
    } else {
        ""
    };
    format!("{}{over}{bars}", plots_words(study, term))
}

/// A figure of one panel of a term's means, still without its words and its series.
pub(super) fn one_panel(study: &Study<'_>, term: usize, x: Axis, marks: Vec<Mark>) -> Figure {
    Figure {
        foot: Some(format!("{}.", bars_words(study, term))),
        width: Width::Middle,
        panels: vec![Panel {
            title: None,
            x,
            y: y_axis(study),
            marks,
        }],
        columns: 1,
        ..Figure::default()
    }
}

pub(super) fn y_axis(study: &Study<'_>) -> Axis {
    Axis {
        title: words::axis(&study.response.label, study.unit()),
        ..Axis::default()
    }
}

/// The axis of a factor and the place of each level on it.
pub(super) fn x_axis(study: &Study<'_>, factor: usize) -> (Axis, Vec<f64>) {
    let about = study.factor(factor);
    let labels: Vec<String> = (0..study.levels(factor).len())
        .map(|level| study.level_label(factor, level))
        .collect();
    match study.quantities(factor) {
        Some(quantities) => (
            Axis {
                title: words::axis(&about.label, about.unit.as_deref().unwrap_or("")),
                scale: Scale::Linear {
                    from: None,
                    to: None,
                    ticks: quantities.clone(),
                },
            },
            quantities,
        ),
        None => (
            Axis {
                title: about.label.clone(),
                scale: Scale::Category {
                    labels: labels.clone(),
                },
            },
            (0..labels.len()).map(|place| place as f64).collect(),
        ),
    }
}

/// Means with their bars at given places.
pub(super) fn mean_marks(
    study: &Study<'_>,
    term: usize,
    cells: &[usize],
    places: &[f64],
    series: Option<usize>,
) -> Vec<Mark> {
    let means: Vec<f64> = cells.iter().map(|&cell| study.mean(term, cell)).collect();
    let errors: Vec<(f64, f64, f64)> = cells
        .iter()
        .zip(places)
        .zip(&means)
        .filter_map(|((&cell, &x), &mean)| {
            study
                .standard_error(term, cell)
                .map(|se| (x, mean - se, mean + se))
        })
        .collect();
    let mut marks = Vec::new();
    if !errors.is_empty() {
        marks.push(Mark::Interval {
            x: errors.iter().map(|bar| bar.0).collect(),
            low: errors.iter().map(|bar| bar.1).collect(),
            high: errors.iter().map(|bar| bar.2).collect(),
            series,
        });
    }
    marks.push(Mark::Points {
        x: places.to_vec(),
        y: means,
        series,
        faint: false,
    });
    marks
}

pub(super) fn raw_marks(
    study: &Study<'_>,
    term: usize,
    places: &dyn Fn(usize) -> Option<f64>,
    series: Option<usize>,
) -> Mark {
    let points: Vec<(f64, f64)> = plot_values(study, term)
        .into_iter()
        .filter_map(|(cell, value)| places(cell).map(|x| (x, value)))
        .collect();
    Mark::Points {
        x: points.iter().map(|point| point.0).collect(),
        y: points.iter().map(|point| point.1).collect(),
        series,
        faint: true,
    }
}

pub(super) fn axis_words(study: &Study<'_>) -> String {
    let label = plain_label(study);
    match label.strip_prefix("mean ") {
        Some(rest) => format!("Mean {rest}"),
        None => format!("Mean {label}"),
    }
}

/// Every mean in words, for readers who cannot see the figure.
pub(super) fn means_words(study: &Study<'_>, term: usize) -> String {
    let unit = if study.unit().is_empty() {
        String::new()
    } else {
        format!(" {}", study.unit())
    };
    let parts: Vec<String> = (0..study.tables[term].means.len())
        .map(|cell| {
            let mut name = study
                .cell_words(term, cell)
                .replace("{{", "{")
                .replace("}}", "}");
            if study.has_season(term)
                && let Some(&season) = study.cell_levels(term, cell).last()
            {
                name = format!("{name} in {}", study.seasons()[season]);
            }
            format!(
                "{name} {}",
                words::plain(study.mean(term, cell), study.decimals())
            )
        })
        .collect();
    format!("{}{unit}", parts.join(", "))
}

/// Whether the differences of a term are clear.
pub(super) fn verdict(study: &Study<'_>, term: usize) -> &'static str {
    match study.line(term).p {
        Some(_) if study.clear(term) => "clear",
        Some(_) => "not clear",
        None => "not tested",
    }
}

/// A level in a legend: a quantity with its unit.
pub(super) fn series_label(study: &Study<'_>, factor: usize, level: usize) -> String {
    match (&study.factor(factor).unit, study.quantities(factor)) {
        (Some(unit), Some(_)) => format!("{} {unit}", study.level_label(factor, level)),
        _ => study.level_label(factor, level),
    }
}
