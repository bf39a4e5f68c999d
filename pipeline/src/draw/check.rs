//! What must hold of a figure before anything is drawn, so that the drawing itself cannot fail.

use caneplot_plugin::findings::{Axis, Figure, Mark, Panel, Scale};

use super::error::{DrawError, MarkPlace};

/// The largest size of a coordinate that is drawn: differences of two such values stay finite.
pub const LARGEST: f64 = 1e300;

/// Which axis a member of a mark is measured on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Along {
    /// The horizontal axis.
    X,
    /// The vertical axis.
    Y,
    /// None: the shade of a cell.
    Shade,
}

/// One member of a mark with its numbers.
#[derive(Debug, Clone, Copy)]
pub struct Member<'a> {
    /// Its name in the findings document.
    pub name: &'static str,
    /// The axis it is measured on.
    pub along: Along,
    /// The numbers.
    pub values: &'a [f64],
}

/// The members of a mark that hold numbers.
pub fn members(mark: &Mark) -> Vec<Member<'_>> {
    let member = |name, along, values| Member {
        name,
        along,
        values,
    };
    match mark {
        Mark::Points { x, y, .. }
        | Mark::Line { x, y, .. }
        | Mark::Bar { x, y, .. }
        | Mark::Letters { x, y, .. }
        | Mark::Names { x, y, .. } => {
            vec![member("x", Along::X, x), member("y", Along::Y, y)]
        }
        Mark::Ribbon { x, low, high, .. } | Mark::Interval { x, low, high, .. } => vec![
            member("x", Along::X, x),
            member("low", Along::Y, low),
            member("high", Along::Y, high),
        ],
        Mark::Across { low, high, y, .. } => vec![
            member("low", Along::X, low),
            member("high", Along::X, high),
            member("y", Along::Y, y),
        ],
        Mark::Cells { x, y, value, .. } => vec![
            member("x", Along::X, x),
            member("y", Along::Y, y),
            member("value", Along::Shade, value),
        ],
        Mark::Zone { low, high, .. } => vec![
            member("low", Along::Y, std::slice::from_ref(low)),
            member("high", Along::Y, std::slice::from_ref(high)),
        ],
        Mark::Rule { y, x, .. } => vec![
            member("y", Along::Y, y.as_slice()),
            member("x", Along::X, x.as_slice()),
        ],
    }
}

/// The series a mark belongs to.
pub fn series(mark: &Mark) -> Option<usize> {
    match mark {
        Mark::Points { series, .. }
        | Mark::Line { series, .. }
        | Mark::Ribbon { series, .. }
        | Mark::Interval { series, .. }
        | Mark::Across { series, .. }
        | Mark::Bar { series, .. }
        | Mark::Letters { series, .. } => *series,
        Mark::Names { .. } | Mark::Cells { .. } | Mark::Zone { .. } | Mark::Rule { .. } => None,
    }
}

fn kind(mark: &Mark) -> &'static str {
    match mark {
        Mark::Points { .. } => "points",
        Mark::Line { .. } => "line",
        Mark::Ribbon { .. } => "ribbon",
        Mark::Interval { .. } => "interval",
        Mark::Across { .. } => "across",
        Mark::Bar { .. } => "bar",
        Mark::Letters { .. } => "letters",
        Mark::Names { .. } => "names",
        Mark::Cells { .. } => "cells",
        Mark::Zone { .. } => "zone",
        Mark::Rule { .. } => "rule",
    }
}

/// Refuses a figure that has no panel, or a mark with a number, length, category or series that
/// has no place in it.
pub fn check(figure: &Figure) -> Result<(), DrawError> {
    if figure.panels.is_empty() {
        return Err(DrawError::NoPanel {
            figure: figure.id.clone(),
        });
    }
    for (p, panel) in figure.panels.iter().enumerate() {
        check_axis(figure, p, &panel.x, "horizontal")?;
        check_axis(figure, p, &panel.y, "vertical")?;
        for (m, mark) in panel.marks.iter().enumerate() {
            let place = || MarkPlace {
                figure: figure.id.clone(),
                panel: p + 1,
                mark: m + 1,
                kind: kind(mark),
            };
            check_mark(panel, mark, &place)?;
            if let Some(series) = series(mark).filter(|s| *s >= figure.series.len()) {
                return Err(DrawError::Series {
                    place: place(),
                    series,
                    named: figure.series.len(),
                });
            }
        }
    }
    Ok(())
}

fn check_axis(
    figure: &Figure,
    panel: usize,
    axis: &Axis,
    name: &'static str,
) -> Result<(), DrawError> {
    let Scale::Linear { from, to, ticks } = &axis.scale else {
        return Ok(());
    };
    let asked = from.iter().chain(to).chain(ticks);
    match asked.copied().find(|v| v.is_nan() || v.abs() > LARGEST) {
        Some(value) => Err(DrawError::Axis {
            figure: figure.id.clone(),
            panel: panel + 1,
            axis: name,
            value,
        }),
        None => Ok(()),
    }
}

fn check_mark(panel: &Panel, mark: &Mark, place: &dyn Fn() -> MarkPlace) -> Result<(), DrawError> {
    let members = members(mark);
    for member in &members {
        let axis = match member.along {
            Along::X => Some(&panel.x.scale),
            Along::Y => Some(&panel.y.scale),
            Along::Shade => None,
        };
        let categories = match axis {
            Some(Scale::Category { labels }) => Some(labels.len()),
            _ => None,
        };
        for (index, value) in member.values.iter().copied().enumerate() {
            check_number(member.name, index, value, categories, place)?;
        }
    }
    // A rule has one coordinate or the other: its members need not be as many.
    if matches!(mark, Mark::Rule { .. }) {
        return Ok(());
    }
    let texts = match mark {
        Mark::Letters { text, .. } | Mark::Names { text, .. } => Some(("text", text.len())),
        _ => None,
    };
    let lengths: Vec<(&'static str, usize)> = members
        .iter()
        .map(|member| (member.name, member.values.len()))
        .chain(texts)
        .collect();
    match lengths.windows(2).find(|pair| pair[0].1 != pair[1].1) {
        Some(pair) => Err(DrawError::Lengths {
            place: place(),
            first: pair[0].0,
            first_length: pair[0].1,
            second: pair[1].0,
            second_length: pair[1].1,
        }),
        None => Ok(()),
    }
}

fn check_number(
    member: &'static str,
    index: usize,
    value: f64,
    categories: Option<usize>,
    place: &dyn Fn() -> MarkPlace,
) -> Result<(), DrawError> {
    if !value.is_finite() {
        return Err(DrawError::NotFinite {
            place: place(),
            member,
            index,
            value,
        });
    }
    if value.abs() > LARGEST {
        return Err(DrawError::TooLarge {
            place: place(),
            member,
            index,
            value,
            limit: LARGEST,
        });
    }
    match categories {
        // Half a step to either side is still the place of a category.
        Some(n) if value < -0.5 || value > n as f64 - 0.5 => Err(DrawError::Category {
            place: place(),
            member,
            index,
            value,
            categories: n,
        }),
        _ => Ok(()),
    }
}
