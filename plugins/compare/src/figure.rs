//! Every difference in every trial with its interval, and over all of them.

use caneplot_numerics::distribution::t_critical;
use caneplot_plugin::findings::{Axis, Figure, Format, Mark, Panel, Scale, Width};
use caneplot_plugin::words::{axis, inside};

use crate::study::{Over, Pair, Study};
use crate::tables::capital;

/// More panels than these are not looked at; the table has them all.
const MOST: usize = 9;

/// The line of the average.
const OVER: &str = "All trials";

pub(crate) fn figure(study: &Study) -> Option<Figure> {
    let panels: Vec<Panel> = study
        .pairs
        .iter()
        .filter_map(|pair| panel(study, pair))
        .take(MOST)
        .collect();
    if panels.is_empty() {
        return None;
    }
    let averaged = study.pairs.iter().any(|pair| drawn(pair).is_some());
    let confidence = study.confidence();
    let label = inside(&study.question.label);
    let bars = format!("bars: {confidence} intervals of each by itself");
    Some(Figure {
        id: "forest".to_owned(),
        caption: format!(
            "Differences in {label} between treatments in {} trials{}; {bars}; the line marks no difference.",
            study.question.trials.len(),
            if averaged {
                " and over all of them"
            } else {
                ""
            }
        ),
        alt: alt(study),
        foot: Some(format!(
            "n = {} trials; {bars}",
            study.question.trials.len()
        )),
        width: if panels.len() > 1 {
            Width::Double
        } else {
            Width::Middle
        },
        columns: if panels.len() > 1 { 2 } else { 1 },
        panels,
        ..Figure::default()
    })
}

/// The average of three trials at least: that of two is so wide that it would hide them.
fn drawn(pair: &Pair) -> Option<&Over> {
    pair.over.as_ref().filter(|over| over.trials.len() > 2)
}

/// One difference: trials from the top down, their average last.
fn panel(study: &Study, pair: &Pair) -> Option<Panel> {
    let mut lines = Vec::new();
    for (trial, value) in pair.seen.iter().enumerate() {
        let interval = value.measured().and_then(|one| {
            let t = t_critical(study.level, one.df.unwrap_or(f64::INFINITY)).ok()?;
            Some((
                one.value - t * one.standard_error,
                one.value + t * one.standard_error,
            ))
        });
        lines.push((capital(study.name(trial)), value.value, interval));
    }
    if lines.iter().all(|line| line.2.is_none()) {
        return None;
    }
    if let Some(over) = drawn(pair) {
        let summary = &over.summary;
        lines.push((
            OVER.to_owned(),
            summary.value,
            Some((summary.low, summary.high)),
        ));
    }
    let places: Vec<f64> = (0..lines.len()).map(|place| place as f64).collect();
    let known: Vec<(f64, (f64, f64))> = places
        .iter()
        .zip(&lines)
        .filter_map(|(place, line)| Some((*place, line.2?)))
        .collect();
    let marks = vec![
        Mark::Rule {
            x: Some(0.0),
            y: None,
            label: None,
        },
        Mark::Across {
            low: known.iter().map(|one| one.1.0).collect(),
            high: known.iter().map(|one| one.1.1).collect(),
            y: known.iter().map(|one| one.0).collect(),
            series: None,
        },
        Mark::Points {
            x: lines.iter().map(|line| line.1).collect(),
            y: places,
            series: None,
            faint: false,
        },
    ];
    let unit = match study.question.format {
        Format::Percent(_) => "",
        _ => study.question.unit.as_str(),
    };
    Some(Panel {
        title: Some(study.words(pair)),
        x: Axis {
            title: axis("Difference", unit),
            scale: Scale::default(),
        },
        y: Axis {
            title: "Trial".to_owned(),
            scale: Scale::Category {
                labels: lines.into_iter().map(|line| line.0).collect(),
            },
        },
        marks,
    })
}

/// The finding for those who cannot see it.
fn alt(study: &Study) -> String {
    let decimals = match study.question.format {
        Format::Decimals(digits) => usize::from(digits),
        _ => 3,
    };
    let parts: Vec<String> = study
        .pairs
        .iter()
        .take(MOST)
        .map(|pair| {
            let seen: Vec<String> = pair
                .seen
                .iter()
                .enumerate()
                .map(|(trial, value)| {
                    format!("{:.decimals$} in {}", value.value, study.name(trial))
                })
                .collect();
            let over = pair.over.as_ref().map_or_else(String::new, |over| {
                format!(", {:.decimals$} over all", over.summary.value)
            });
            format!("{}: {}{over}", study.words(pair), seen.join(", "))
        })
        .collect();
    format!("{}.", parts.join("; "))
}
