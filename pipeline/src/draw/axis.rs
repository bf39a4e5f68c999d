//! Where a value stands on an axis, and what is written at its ticks.

use caneplot_plugin::findings::Scale;

use super::reach::Range;
use super::text::{self, Face};
use super::ticks::{self, Ticks};
use super::wrap::{self, Wrapped};

/// Size of the numbers and names at an axis, in points.
pub const TICK_SIZE: f64 = 8.0;
/// Size of names that find room only so.
const SMALLER: f64 = 7.0;

/// Kind of a planned axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Kind {
    /// Numbers between two ends.
    Numbers(Range),
    /// So many named places, each one step wide.
    Names(usize),
}

/// What is written at one place of an axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Tick {
    /// Place on the axis.
    pub value: f64,
    /// Its lines; empty where there is no room.
    pub lines: Vec<String>,
}

/// An axis with its ticks.
#[derive(Debug, Clone, PartialEq)]
pub struct Axis {
    /// Numbers or names.
    pub kind: Kind,
    /// The ticks.
    pub ticks: Vec<Tick>,
    /// Size of its numbers or names, in points.
    pub size: f64,
    /// Whether the names had to be turned upright to find room.
    pub turned: bool,
}

impl Axis {
    /// How far along the axis a value stands, 0 at its beginning and 1 at its end.
    pub fn share(&self, value: f64) -> f64 {
        match self.kind {
            Kind::Numbers(Range { low, high }) => (value - low) / (high - low),
            Kind::Names(count) => (value + 0.5) / count.max(1) as f64,
        }
    }

    /// Width of its widest label.
    pub fn widest_label(&self) -> f64 {
        self.ticks
            .iter()
            .map(|tick| text::widest(&tick.lines, self.size, Face::Regular))
            .fold(0.0, f64::max)
    }

    /// Most lines of a label.
    pub fn most_lines(&self) -> usize {
        self.ticks
            .iter()
            .map(|tick| tick.lines.len())
            .max()
            .unwrap_or(0)
    }

    /// Number of places on a category axis.
    pub fn names(&self) -> Option<usize> {
        match self.kind {
            Kind::Names(count) => Some(count),
            Kind::Numbers(_) => None,
        }
    }

    /// The vertical axis of that length in points; its names may be so wide.
    pub fn vertical(scale: &Scale, range: Option<Range>, length: f64, widest: f64) -> Self {
        match scale {
            Scale::Linear { ticks: asked, .. } => {
                let Some(range) = range else {
                    return Self::empty();
                };
                let usual = (length / 24.0).clamp(2.0, 8.0) as usize;
                let most = (length / 13.0).max(usual as f64) as usize;
                let ticks = chosen(asked, range, usual, most);
                let places = thinned(&ticks.places, |_| TICK_SIZE, 2.0, range, length);
                Self::numbers(range, ticks, &places)
            }
            Scale::Category { labels } => {
                let step = length / labels.len().max(1) as f64;
                let leading = TICK_SIZE * text::LEADING;
                let most = ((step / leading) as usize).clamp(1, 3);
                let shown = (leading / step).ceil().max(1.0) as usize;
                let lines = |label: &str| limited(label, widest, most).lines;
                Self::named(labels, shown, TICK_SIZE, lines, false)
            }
        }
    }

    /// The horizontal axis of that length in points; turned names may be so long.
    pub fn horizontal(scale: &Scale, range: Option<Range>, length: f64, longest: f64) -> Self {
        match scale {
            Scale::Linear { ticks: asked, .. } => {
                let Some(range) = range else {
                    return Self::empty();
                };
                let width = |label: &str| text::width(label, TICK_SIZE, Face::Regular);
                let fits = |ticks: &Ticks| {
                    let shown = thinned(
                        &ticks.places,
                        |i| width(&ticks.labels[i]),
                        7.0,
                        range,
                        length,
                    );
                    shown.iter().all(|shown| *shown)
                };
                let ticks = (2..=8)
                    .rev()
                    .map(|most| chosen(asked, range, most, most))
                    .find(fits)
                    .unwrap_or_else(|| chosen(asked, range, 1, 1));
                let shown = thinned(
                    &ticks.places,
                    |i| width(&ticks.labels[i]),
                    4.0,
                    range,
                    length,
                );
                Self::numbers(range, ticks, &shown)
            }
            Scale::Category { labels } => {
                let step = length / labels.len().max(1) as f64;
                for (size, most) in [(TICK_SIZE, 2), (TICK_SIZE, 3), (SMALLER, 3), (SMALLER, 4)] {
                    let wrapped: Vec<Wrapped> = labels
                        .iter()
                        .map(|label| wrap::wrap(label, size, Face::Regular, step - 3.0, most))
                        .collect();
                    if wrapped.iter().all(|w| w.fits) {
                        let mut lines = wrapped.into_iter().map(|w| w.lines);
                        let next = |_: &str| lines.next().unwrap_or_default();
                        return Self::named(labels, 1, size, next, false);
                    }
                }
                let leading = TICK_SIZE * text::LEADING;
                let shown = (leading / step).ceil().max(1.0) as usize;
                let most = ((step - 2.0) / leading).clamp(1.0, 3.0) as usize;
                let upright = |label: &str| limited(label, longest, most).lines;
                Self::named(labels, shown, TICK_SIZE, upright, true)
            }
        }
    }

    /// An axis without a scale, because there is nothing to measure.
    fn empty() -> Self {
        let range = Range {
            low: 0.0,
            high: 1.0,
        };
        Self::numbers(range, Ticks::default(), &[])
    }

    fn numbers(range: Range, ticks: Ticks, shown: &[bool]) -> Self {
        let ticks = ticks
            .places
            .into_iter()
            .zip(ticks.labels)
            .zip(shown)
            .map(|((value, label), shown)| Tick {
                value,
                lines: if *shown { vec![label] } else { Vec::new() },
            })
            .collect();
        Self {
            kind: Kind::Numbers(range),
            ticks,
            size: TICK_SIZE,
            turned: false,
        }
    }

    /// Every `shown`-th name is written, where there is no room for all.
    fn named(
        labels: &[String],
        shown: usize,
        size: f64,
        mut lines: impl FnMut(&str) -> Vec<String>,
        turned: bool,
    ) -> Self {
        let ticks = labels
            .iter()
            .enumerate()
            .map(|(i, label)| Tick {
                value: i as f64,
                lines: if i % shown == 0 {
                    lines(label)
                } else {
                    Vec::new()
                },
            })
            .collect();
        Self {
            kind: Kind::Names(labels.len()),
            ticks,
            size,
            turned,
        }
    }
}

/// A name on at most so many lines, cut where even that is too wide.
fn limited(label: &str, room: f64, most: usize) -> Wrapped {
    let mut wrapped = wrap::wrap(label, TICK_SIZE, Face::Regular, room, most);
    if wrapped.lines.len() > most {
        let rest = wrapped.lines.split_off(most - 1).join(" ");
        wrapped.lines.push(rest);
    }
    for line in &mut wrapped.lines {
        *line = wrap::clipped(line, TICK_SIZE, Face::Regular, room);
    }
    wrapped
}

fn chosen(asked: &[f64], range: Range, usual: usize, most: usize) -> Ticks {
    if asked.is_empty() {
        ticks::readable_ticks(range.low, range.high, usual, most)
    } else {
        ticks::exact_ticks(asked)
    }
}

/// Which labels are written so that none comes nearer than `gap` to the one before it.
fn thinned(
    places: &[f64],
    size: impl Fn(usize) -> f64,
    gap: f64,
    range: Range,
    length: f64,
) -> Vec<bool> {
    let mut free = f64::NEG_INFINITY;
    places
        .iter()
        .enumerate()
        .map(|(i, value)| {
            let centre = (value - range.low) / (range.high - range.low) * length;
            let half = size(i) / 2.0;
            let shown = centre - half >= free;
            if shown {
                free = centre + half + gap;
            }
            shown
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_turned_only_where_three_lines_do_not_do() {
        let scale = |labels: &[&str]| Scale::Category {
            labels: labels.iter().map(|l| (*l).to_owned()).collect(),
        };
        let axis = Axis::horizontal(
            &scale(&["hand pruned to two buds", "minimal"]),
            None,
            120.0,
            60.0,
        );
        assert!(!axis.turned);
        assert_eq!(axis.ticks[0].lines.len(), 2);
        let axis = Axis::horizontal(&scale(&["unbreakable"; 12]), None, 120.0, 60.0);
        assert!(axis.turned);
        let axis = Axis::horizontal(&scale(&["Mechanical"; 2]), None, 82.0, 60.0);
        assert_eq!((axis.turned, axis.size), (false, SMALLER));
    }

    #[test]
    fn five_hundred_names_leave_most_out() {
        let scale = Scale::Category {
            labels: (0..500).map(|i| format!("plot {i}")).collect(),
        };
        let axis = Axis::horizontal(&scale, None, 200.0, 60.0);
        let shown = axis
            .ticks
            .iter()
            .filter(|tick| !tick.lines.is_empty())
            .count();
        assert!(shown > 5 && shown < 25, "{shown}");
    }
}
