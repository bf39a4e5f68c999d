//! The figure of a response: means with intervals, the plots faint behind them.

use caneplot_plugin::findings::{Axis, Figure, Mark, Panel, Scale, Width};

use crate::frame::Dimension;
use crate::levels::{LevelMean, Levels};
use crate::section::{Set, Subjected};
use crate::subject::Kind;
use crate::tables::interval_words;
use crate::words::capital;

/// The figures of a response that has a model: one, with a panel a season.
#[must_use]
pub fn figures(subjected: &Subjected) -> Vec<Figure> {
    let Some((main, _, main_levels)) = subjected.main() else {
        return Vec::new();
    };
    let Some((across, series)) = axes(main) else {
        return Vec::new();
    };
    let panels: Vec<Panel> = subjected
        .fitted()
        .filter_map(|(set, _, levels)| {
            let same = axes(set)?;
            let alike = same.0.names == across.names
                && same.1.map(|d| &d.names) == series.map(|d| &d.names);
            alike.then(|| panel(subjected, set, levels))
        })
        .flatten()
        .collect();
    if panels.is_empty() {
        return Vec::new();
    }
    let several = panels.len() > 1;
    let label = capital(&subjected.subject.response.label);
    let sure = interval_words(subjected.level);
    let plots = main.records.len();
    let foot = format!(
        "Means by the model, bars {sure} intervals; faint: single plots (n = {plots} counts in all)"
    );
    vec![Figure {
        id: "means".to_owned(),
        caption: format!(
            "{label} by {}{}. Points are means by the model for a typical block and plot, bars their {sure} intervals; faint points are single plots. n = {plots} counts of plots.",
            across.label.to_lowercase(),
            series.map_or_else(String::new, |d| format!(" and {}", d.label.to_lowercase())),
        ),
        alt: alt(subjected, main, main_levels, across),
        foot: Some(foot),
        width: if several {
            Width::Double
        } else {
            Width::Single
        },
        columns: u32::try_from(panels.len().min(3)).unwrap_or(1),
        panels,
        series: series.map_or_else(Vec::new, |d| d.labels.clone()),
        series_title: series.map(|d| d.label.clone()),
    }]
}

/// The factor along the axis (a quantity where there is one) and the one told apart by colour.
fn axes(set: &Set) -> Option<(&Dimension, Option<&Dimension>)> {
    let treatments: Vec<&Dimension> = set
        .frame
        .dimensions
        .iter()
        .filter(|dimension| dimension.factor.is_some())
        .collect();
    let across = treatments
        .iter()
        .position(|dimension| dimension.values.is_some())
        .unwrap_or(0);
    let first = *treatments.get(across)?;
    let second = match treatments.len() {
        2 => Some(treatments[1 - across]),
        _ => None,
    };
    Some((first, second))
}

fn scale(kind: Kind) -> f64 {
    if kind == Kind::Share { 100.0 } else { 1.0 }
}

/// Marks of one series: the counts of its plots and its means.
struct Drawn<'a> {
    means: Vec<&'a LevelMean>,
    series: Option<usize>,
}

fn panel(subjected: &Subjected, set: &Set, levels: &Levels) -> Option<Panel> {
    let (across, series) = axes(set)?;
    let place_of = |dimension: &Dimension| {
        set.frame
            .dimensions
            .iter()
            .position(|other| other.label == dimension.label)
    };
    let at = place_of(across)?;
    let by = match series {
        Some(series) => Some(place_of(series)?),
        None => None,
    };
    let place = |level: usize| match &across.values {
        Some(values) => values[level],
        None => level as f64,
    };
    let times = scale(subjected.subject.kind);
    let drawn: Vec<Drawn> = match by {
        None => vec![Drawn {
            means: chosen(levels, &[at]),
            series: None,
        }],
        Some(by) => (0..set.frame.dimensions[by].size())
            .map(|level| Drawn {
                means: chosen(levels, &[at, by])
                    .into_iter()
                    .filter(|mean| mean.levels[by] == Some(level))
                    .collect(),
                series: Some(level),
            })
            .collect(),
    };
    let mut marks = Vec::new();
    for one in &drawn {
        let mine: Vec<usize> = (0..set.records.len())
            .filter(|row| {
                by.is_none_or(|by| Some(set.frame.dimensions[by].codes[*row]) == one.series)
            })
            .collect();
        marks.push(Mark::Points {
            x: mine.iter().map(|row| place(across.codes[*row])).collect(),
            y: mine
                .iter()
                .map(|row| times * set.records[*row].count / set.records[*row].size)
                .collect(),
            series: one.series,
            faint: true,
        });
    }
    for one in &drawn {
        let x: Vec<f64> = one
            .means
            .iter()
            .map(|mean| place(mean.levels[at].unwrap_or(0)))
            .collect();
        let y: Vec<f64> = one.means.iter().map(|mean| times * mean.mean).collect();
        marks.push(Mark::Interval {
            x: x.clone(),
            low: one.means.iter().map(|mean| times * mean.low).collect(),
            high: one.means.iter().map(|mean| times * mean.high).collect(),
            series: one.series,
        });
        if across.values.is_some() {
            marks.push(Mark::Line {
                x: x.clone(),
                y: y.clone(),
                series: one.series,
                dashed: false,
            });
        }
        marks.push(Mark::Points {
            x,
            y,
            series: one.series,
            faint: false,
        });
    }
    Some(Panel {
        title: set.label.as_deref().map(capital),
        x: x_axis(across),
        y: Axis {
            title: y_title(subjected),
            scale: Scale::default(),
        },
        marks,
    })
}

/// The means given by exactly these dimensions, in the order of their levels.
fn chosen<'a>(levels: &'a Levels, of: &[usize]) -> Vec<&'a LevelMean> {
    let alone = |mean: &&LevelMean| {
        mean.levels
            .iter()
            .enumerate()
            .all(|(at, level)| level.is_some() == of.contains(&at))
    };
    levels.means.iter().filter(alone).collect()
}

fn x_axis(across: &Dimension) -> Axis {
    let Some(values) = &across.values else {
        return Axis {
            title: across.label.clone(),
            scale: Scale::Category {
                labels: across.labels.clone(),
            },
        };
    };
    let title = match &across.unit {
        Some(unit) => format!("{} ({unit})", across.label),
        None => across.label.clone(),
    };
    Axis {
        title,
        scale: Scale::Linear {
            from: None,
            to: None,
            ticks: values.clone(),
        },
    }
}

fn y_title(subjected: &Subjected) -> String {
    let label = capital(&subjected.subject.response.label);
    match subjected.subject.kind {
        Kind::Share => format!("{label} (%)"),
        rate => format!(
            "{} (per {})",
            capital(&subjected.subject.words.items),
            rate.unit()
        ),
    }
}

fn alt(subjected: &Subjected, set: &Set, levels: &Levels, across: &Dimension) -> String {
    let at = set
        .frame
        .dimensions
        .iter()
        .position(|d| d.label == across.label)
        .unwrap_or(0);
    let times = scale(subjected.subject.kind);
    let unit = match subjected.subject.kind {
        Kind::Share => " %".to_owned(),
        rate => format!(" per {}", rate.unit()),
    };
    let parts: Vec<String> = chosen(levels, &[at])
        .iter()
        .map(|mean| {
            let level = mean.levels[at].unwrap_or(0);
            format!("{:.1}{unit} at {}", times * mean.mean, across.labels[level])
        })
        .collect();
    format!(
        "Means with intervals over single plots. {}: {}.",
        capital(&subjected.subject.response.label),
        parts.join(", ")
    )
}
