//! What an axis reaches over, where a value stands on it, and what is written at its ticks.

use caneplot_plugin::findings::{Mark, Panel, Scale};

use super::check::{self, Along};
use super::text::{self, Face, Wrapped};
use super::ticks::{self, Ticks};

/// Size of the numbers and names at an axis, in points.
pub const TICK_SIZE: f64 = 8.0;
/// Size of names that find room only so.
const SMALLER: f64 = 7.0;
/// The fewest ticks that show a scale, where there is room for them.
const FEWEST: usize = 3;

/// Share of the reach left free beyond data at an end that is not given.
const AIR: f64 = 0.06;

/// Ends of a number axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range {
    /// The low end.
    pub low: f64,
    /// The high end.
    pub high: f64,
}

/// What the marks of an axis reach over, and which ends are exact.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reach {
    low: f64,
    high: f64,
    exact_low: bool,
    exact_high: bool,
}

impl Reach {
    fn over(value: f64) -> Self {
        Self {
            low: value,
            high: value,
            exact_low: false,
            exact_high: false,
        }
    }

    /// The reach over both; an end is exact if the one that sets it is.
    pub fn joined(self, other: Self) -> Self {
        let exact = |mine: f64, my_exact: bool, theirs: f64, their_exact: bool, outer: f64| {
            (mine == outer && my_exact) || (theirs == outer && their_exact)
        };
        let (low, high) = (self.low.min(other.low), self.high.max(other.high));
        Self {
            low,
            high,
            exact_low: exact(self.low, self.exact_low, other.low, other.exact_low, low),
            exact_high: exact(
                self.high,
                self.exact_high,
                other.high,
                other.exact_high,
                high,
            ),
        }
    }

    /// The ends of the axis: some air beyond the data, none beyond an exact end, and never empty.
    pub fn range(self) -> Range {
        let Reach { low, high, .. } = self;
        let size = low.abs().max(high.abs());
        // Values that differ by rounding only are one value; so are differences too small to divide.
        if high - low <= size * 1e-12 || high - low < 1e-290 {
            let half = if size < 1e-280 { 1.0 } else { size * 0.1 };
            return match (self.exact_low, self.exact_high) {
                (true, false) => Range {
                    low,
                    high: high + half,
                },
                (false, true) => Range {
                    low: low - half,
                    high,
                },
                _ => Range {
                    low: low - half,
                    high: high + half,
                },
            };
        }
        let air = (high - low) * AIR;
        Range {
            low: if self.exact_low { low } else { low - air },
            high: if self.exact_high { high } else { high + air },
        }
    }
}

/// What a panel reaches over along one axis; `None` on a category axis or where nothing is drawn.
pub fn reach(panel: &Panel, along: Along) -> Option<Reach> {
    let axis = if along == Along::X {
        &panel.x
    } else {
        &panel.y
    };
    let Scale::Linear { from, to, ticks } = &axis.scale else {
        return None;
    };
    let mut found: Option<Reach> = None;
    let mut add = |reach: Reach| found = Some(found.map_or(reach, |before| before.joined(reach)));
    for value in ticks {
        add(Reach::over(*value));
    }
    let half_bar = bar_step(panel) / 2.0;
    for mark in &panel.marks {
        // Columns stand on zero and have a width; cells fill their place to its edges.
        let (half, exact) = match (mark, along) {
            (Mark::Bar { .. }, Along::X) => (half_bar, false),
            (Mark::Cells { .. }, _) => (0.5, true),
            _ => (0.0, false),
        };
        for member in check::members(mark).iter().filter(|m| m.along == along) {
            for value in member.values {
                add(Reach {
                    low: value - half,
                    high: value + half,
                    exact_low: exact,
                    exact_high: exact,
                });
            }
            if matches!(mark, Mark::Bar { .. }) && along == Along::Y {
                add(Reach {
                    exact_low: true,
                    exact_high: true,
                    ..Reach::over(0.0)
                });
            }
        }
    }
    if let Some(from) = from {
        add(Reach {
            exact_low: true,
            ..Reach::over(*from)
        });
    }
    if let Some(to) = to {
        add(Reach {
            exact_high: true,
            ..Reach::over(*to)
        });
    }
    found
}

/// Distance of neighbouring columns along the horizontal axis; on a number axis the smallest
/// distance between two of them.
pub fn bar_step(panel: &Panel) -> f64 {
    if matches!(panel.x.scale, Scale::Category { .. }) {
        return 1.0;
    }
    let mut places: Vec<f64> = panel
        .marks
        .iter()
        .filter_map(|mark| match mark {
            Mark::Bar { x, .. } => Some(x.iter().copied()),
            _ => None,
        })
        .flatten()
        .collect();
    let smallest = smallest_gap(&mut places);
    match smallest {
        Some(gap) => gap,
        None => places.first().map_or(1.0, |x| (x.abs() * 0.2).max(1e-280)),
    }
}

/// The smallest distance between two different values.
pub fn smallest_gap(values: &mut [f64]) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    values
        .windows(2)
        .map(|pair| pair[1] - pair[0])
        .filter(|gap| *gap > 0.0)
        .min_by(f64::total_cmp)
}

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
    pub fn vertical(scale: &Scale, range: Range, length: f64, widest: f64) -> Self {
        match scale {
            Scale::Linear { ticks: asked, .. } => {
                let usual = (length / 24.0).clamp(2.0, 8.0) as usize;
                let most = (length / 13.0).max(usual as f64) as usize;
                let ticks = (usual..=most)
                    .map(|most| chosen(asked, range, most))
                    .find(|ticks| ticks.places.len() >= FEWEST)
                    .unwrap_or_else(|| chosen(asked, range, usual));
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
    pub fn horizontal(scale: &Scale, range: Range, length: f64, longest: f64) -> Self {
        match scale {
            Scale::Linear { ticks: asked, .. } => {
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
                    .map(|most| chosen(asked, range, most))
                    .find(fits)
                    .unwrap_or_else(|| chosen(asked, range, 1));
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
                        .map(|label| text::wrap(label, size, Face::Regular, step - 3.0, most))
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
    let mut wrapped = text::wrap(label, TICK_SIZE, Face::Regular, room, most);
    if wrapped.lines.len() > most {
        let rest = wrapped.lines.split_off(most - 1).join(" ");
        wrapped.lines.push(rest);
    }
    for line in &mut wrapped.lines {
        *line = text::clipped(line, TICK_SIZE, Face::Regular, room);
    }
    wrapped
}

fn chosen(asked: &[f64], range: Range, most: usize) -> Ticks {
    if asked.is_empty() {
        ticks::round_ticks(range.low, range.high, most)
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
    use caneplot_plugin::findings;

    fn panel(from: Option<f64>, marks: Vec<Mark>) -> Panel {
        Panel {
            y: findings::Axis {
                title: String::new(),
                scale: Scale::Linear {
                    from,
                    to: None,
                    ticks: Vec::new(),
                },
            },
            marks,
            ..Panel::default()
        }
    }

    fn points(y: Vec<f64>) -> Mark {
        Mark::Points {
            x: vec![0.0; y.len()],
            y,
            series: None,
            faint: false,
        }
    }

    #[test]
    fn an_end_that_is_given_is_exact_unless_data_go_beyond() {
        let exact = reach(&panel(Some(0.0), vec![points(vec![2.0, 10.0])]), Along::Y).unwrap();
        assert_eq!(
            exact.range(),
            Range {
                low: 0.0,
                high: 10.6
            }
        );
        let beyond = reach(&panel(Some(3.0), vec![points(vec![2.0, 10.0])]), Along::Y).unwrap();
        assert!(beyond.range().low < 2.0);
    }

    #[test]
    fn columns_stand_on_zero() {
        let bar = Mark::Bar {
            x: vec![0.0],
            y: vec![4.0],
            series: None,
        };
        assert_eq!(
            reach(&panel(None, vec![bar]), Along::Y)
                .unwrap()
                .range()
                .low,
            0.0
        );
    }

    #[test]
    fn no_range_is_empty() {
        for value in [0.0, 5.0, -3.0, 1e-300, 1e300, 5e-324] {
            let range = Reach::over(value).range();
            assert!(
                range.high - range.low > 0.0 && (range.high - range.low).is_finite(),
                "{value}"
            );
        }
        assert!(reach(&panel(None, vec![]), Along::Y).is_none());
    }

    #[test]
    fn names_are_turned_only_where_three_lines_do_not_do() {
        let scale = |labels: &[&str]| Scale::Category {
            labels: labels.iter().map(|l| (*l).to_owned()).collect(),
        };
        let range = Range {
            low: 0.0,
            high: 1.0,
        };
        let axis = Axis::horizontal(
            &scale(&["hand pruned to two buds", "minimal"]),
            range,
            120.0,
            60.0,
        );
        assert!(!axis.turned);
        assert_eq!(axis.ticks[0].lines.len(), 2);
        let axis = Axis::horizontal(&scale(&["unbreakable"; 12]), range, 120.0, 60.0);
        assert!(axis.turned);
        let axis = Axis::horizontal(&scale(&["Mechanical"; 2]), range, 82.0, 60.0);
        assert_eq!((axis.turned, axis.size), (false, SMALLER));
    }

    #[test]
    fn five_hundred_names_leave_most_out() {
        let scale = Scale::Category {
            labels: (0..500).map(|i| format!("plot {i}")).collect(),
        };
        let range = Range {
            low: 0.0,
            high: 1.0,
        };
        let axis = Axis::horizontal(&scale, range, 200.0, 60.0);
        let shown = axis
            .ticks
            .iter()
            .filter(|tick| !tick.lines.is_empty())
            .count();
        assert!(shown > 5 && shown < 25, "{shown}");
    }
}
