//! Means of the levels on the scale they were counted on.

use caneplot_plugin::findings::{Column, Format, Table};

use super::rows::rows;
use super::{ends, interval_words, mean_format};
use crate::frame::Frame;
use crate::levels::LevelMean;
use crate::section::Subjected;
use crate::subject::Kind;
use crate::words::capital;

/// The treatment factors of all sets, by their label.
fn factor_labels(subjected: &Subjected) -> Vec<String> {
    let mut labels: Vec<String> = Vec::new();
    for (set, ..) in subjected.fitted() {
        for dimension in set.frame.dimensions.iter().filter(|d| d.factor.is_some()) {
            if !labels.contains(&dimension.label) {
                labels.push(dimension.label.clone());
            }
        }
    }
    labels
}

fn level_of(frame: &Frame, label: &str, levels: &[Option<usize>]) -> String {
    let at = frame
        .dimensions
        .iter()
        .position(|dimension| dimension.label == label);
    match at.map(|at| (&frame.dimensions[at], levels[at])) {
        Some((dimension, Some(level))) => dimension.labels[level].clone(),
        Some((_, None)) => "all".to_owned(),
        None => String::new(),
    }
}

/// The table.
pub fn table(subjected: &Subjected) -> Table {
    let rows = rows(subjected, false, |_, _, levels| {
        levels.means.iter().collect()
    });
    let words = &subjected.subject.words;
    let kind = subjected.subject.kind;
    let response = &subjected.subject.response;
    let largest = rows
        .rows
        .iter()
        .map(|(_, _, mean)| mean.mean)
        .fold(0.0, f64::max);
    let format = mean_format(kind, largest);
    let [low, high] = ends(subjected.level);
    let mut columns: Vec<Column> = factor_labels(subjected)
        .iter()
        .map(|label| {
            rows.text(label, |set, mean: &&LevelMean| {
                level_of(&set.frame, label, &mean.levels)
            })
        })
        .collect();
    for column in &mut columns {
        column.unit = unit_of(subjected, &column.name);
    }
    let plots = if subjected.sets.len() > 1 {
        "Plots and seasons"
    } else {
        "Plots"
    };
    columns.push(rows.count(plots, |mean| mean.plots as f64));
    columns.push(rows.count(&words.counted, |mean| mean.counted));
    let size = match kind {
        Kind::Share => words.total.clone(),
        Kind::PerPlot => String::new(),
        other => format!("{}s", capital(other.unit())),
    };
    if kind != Kind::PerPlot {
        columns.push(rows.count(&size, |mean| mean.size));
    }
    columns.push(rows.number("As counted", format, |mean| Some(mean.counted / mean.size)));
    columns.push(rows.number("Mean", format, |mean| Some(mean.mean)));
    columns.push(rows.number(&low, format, |mean| Some(mean.low)));
    columns.push(rows.number(&high, format, |mean| Some(mean.high)));
    let vines = kind == Kind::Share && rows.rows.iter().any(|(_, _, mean)| mean.vines.is_some());
    if vines {
        let name = format!("{} per vine, as counted", words.counted);
        columns.push(rows.number(&name, Format::Decimals(1), |mean| {
            Some(mean.counted / mean.vines?)
        }));
    }
    let what = match kind {
        Kind::Share => "shares".to_owned(),
        other => format!("{} per {}", words.items, other.unit()),
    };
    let sure = interval_words(subjected.level);
    let mut table = rows.table(
        "means",
        format!(
            "{}: {what} by the model, with {sure} intervals",
            capital(&response.label)
        ),
        columns,
    );
    if matches!(kind, Kind::PerVine | Kind::PerNode | Kind::PerPlot) {
        let unit = format!("per {}", kind.unit());
        for column in table.columns.iter_mut() {
            if ["As counted", "Mean", low.as_str(), high.as_str()].contains(&column.name.as_str()) {
                column.unit = Some(unit.clone());
            }
        }
    }
    table
}

fn unit_of(subjected: &Subjected, label: &str) -> Option<String> {
    let (set, ..) = subjected.main()?;
    let dimension = set
        .frame
        .dimensions
        .iter()
        .find(|dimension| dimension.label == label)?;
    dimension.values.as_ref()?;
    dimension.unit.clone()
}
