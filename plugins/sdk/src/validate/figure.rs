//! What the description of a figure must keep: lists of one length, series that are named, finite
//! numbers.

use super::{Fault, fault, finite};
use crate::findings::{Axis, Figure, Mark, Scale};

pub(super) fn check_figure(figure: &Figure, path: &str) -> Result<(), Fault> {
    if figure.panels.is_empty() || figure.columns == 0 {
        return fault(path, "has no panel or no column of panels");
    }
    for (index, panel) in figure.panels.iter().enumerate() {
        let path = format!("{path}.panels[{index}]");
        check_axis(&panel.x, &format!("{path}.x"))?;
        check_axis(&panel.y, &format!("{path}.y"))?;
        for (index, mark) in panel.marks.iter().enumerate() {
            check_mark(mark, figure.series.len(), &format!("{path}.marks[{index}]"))?;
        }
    }
    Ok(())
}

fn check_axis(axis: &Axis, path: &str) -> Result<(), Fault> {
    match &axis.scale {
        Scale::Linear { from, to, ticks } => {
            finite_if_any(*from, &format!("{path}.from"))?;
            finite_if_any(*to, &format!("{path}.to"))?;
            all_finite(ticks, &format!("{path}.ticks"))
        }
        Scale::Category { labels } if labels.is_empty() => fault(path, "has no category"),
        Scale::Category { .. } => Ok(()),
    }
}

/// What the lists of a mark must agree in.
struct Lists<'a> {
    numbers: Vec<(&'static str, &'a [f64])>,
    texts: Option<usize>,
    series: Option<usize>,
}

impl<'a> Lists<'a> {
    fn of(mark: &'a Mark) -> Self {
        let plain = |numbers, series: &Option<usize>| Self {
            numbers,
            texts: None,
            series: *series,
        };
        match mark {
            Mark::Points { x, y, series, .. }
            | Mark::Line { x, y, series, .. }
            | Mark::Bar { x, y, series } => plain(vec![("x", x), ("y", y)], series),
            Mark::Ribbon {
                x,
                low,
                high,
                series,
            }
            | Mark::Interval {
                x,
                low,
                high,
                series,
            } => plain(vec![("x", x), ("low", low), ("high", high)], series),
            Mark::Across {
                low,
                high,
                y,
                series,
            } => plain(vec![("y", y), ("low", low), ("high", high)], series),
            Mark::Letters { x, y, text, series } => Self {
                texts: Some(text.len()),
                ..plain(vec![("x", x), ("y", y)], series)
            },
            Mark::Names { x, y, text } => Self {
                texts: Some(text.len()),
                ..plain(vec![("x", x), ("y", y)], &None)
            },
            Mark::Cells {
                x,
                y,
                value,
                widths,
            } => {
                let mut lists: Vec<(&str, &[f64])> = vec![("x", x), ("y", y), ("value", value)];
                if !widths.is_empty() {
                    lists.push(("widths", widths));
                }
                plain(lists, &None)
            }
            // These have single numbers.
            Mark::Zone { .. } | Mark::Rule { .. } => plain(Vec::new(), &None),
        }
    }
}

fn check_mark(mark: &Mark, series_known: usize, path: &str) -> Result<(), Fault> {
    match mark {
        Mark::Zone { low, high, .. } => {
            finite(*low, &format!("{path}.low"))?;
            finite(*high, &format!("{path}.high"))?;
        }
        Mark::Rule { y, x, .. } => {
            finite_if_any(*y, &format!("{path}.y"))?;
            finite_if_any(*x, &format!("{path}.x"))?;
        }
        _ => {}
    }
    let lists = Lists::of(mark);
    let places = lists.numbers.first().map_or(0, |(_, values)| values.len());
    for (name, values) in &lists.numbers {
        if values.len() != places {
            return fault(
                format!("{path}.{name}"),
                format!("has {} values for {places} places", values.len()),
            );
        }
        all_finite(values, &format!("{path}.{name}"))?;
    }
    if let Some(count) = lists.texts.filter(|count| *count != places) {
        return fault(
            format!("{path}.text"),
            format!("has {count} texts for {places} places"),
        );
    }
    match lists.series.filter(|series| *series >= series_known) {
        Some(series) => fault(
            format!("{path}.series"),
            format!("is {series}, but the figure names {series_known} series"),
        ),
        None => Ok(()),
    }
}

fn finite_if_any(value: Option<f64>, path: &str) -> Result<(), Fault> {
    value.map_or(Ok(()), |value| finite(value, path))
}

fn all_finite(values: &[f64], path: &str) -> Result<(), Fault> {
    for (index, value) in values.iter().enumerate() {
        finite(*value, &format!("{path}[{index}]"))?;
    }
    Ok(())
}
