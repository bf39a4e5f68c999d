//! Titles of panels and axes, and which of them need not be repeated.

use caneplot_plugin::findings::{Figure, Panel};

use super::text::{Face, LEADING};
use super::wrap;

/// Size of axis titles.
pub const TITLE: f64 = 9.0;
/// Size of panel titles.
pub const HEADING: f64 = 8.5;
/// Distance of tick labels and the title of the axis.
pub const TITLE_GAP: f64 = 4.0;

/// Depth of the title of an axis with its distance.
pub fn title_room(lines: &[String]) -> f64 {
    if lines.is_empty() {
        0.0
    } else {
        TITLE_GAP + lines.len() as f64 * TITLE * LEADING
    }
}

/// The lines over a panel.
pub fn heading(panel: &Panel, room: f64) -> Vec<String> {
    titled(
        panel.title.as_deref().unwrap_or_default(),
        HEADING,
        Face::Bold,
        room,
    )
}

/// The title of the horizontal axis, left to the panel below where that says the same.
pub fn x_title(figure: &Figure, i: usize, columns: usize, room: f64) -> Vec<String> {
    let panel = &figure.panels[i];
    match figure.panels.get(i + columns) {
        Some(below) if below.x == panel.x => Vec::new(),
        _ => titled(&panel.x.title, TITLE, Face::Regular, room),
    }
}

/// The title of the vertical axis, left to the panel on the left where that says the same.
pub fn y_title(figure: &Figure, i: usize, columns: usize, room: f64) -> Vec<String> {
    let panel = &figure.panels[i];
    if !i.is_multiple_of(columns) && figure.panels[i - 1].y.title == panel.y.title {
        return Vec::new();
    }
    titled(&panel.y.title, TITLE, Face::Regular, room + 24.0)
}

/// A title on at most two lines; none where it is empty.
fn titled(title: &str, size: f64, face: Face, room: f64) -> Vec<String> {
    if title.trim().is_empty() {
        return Vec::new();
    }
    let mut lines = wrap::wrap(title, size, face, room, 2).lines;
    if lines.len() > 2 {
        let rest = lines.split_off(1).join(" ");
        lines.push(rest);
    }
    lines
        .iter()
        .map(|line| wrap::clipped(line, size, face, room))
        .collect()
}
