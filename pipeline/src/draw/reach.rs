//! What an axis reaches over: data, given ends, and some air.

use caneplot_plugin::findings::{Mark, Panel, Scale};

use super::cells::half_width;
use super::check::{self, Along};

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
        let widths: &[f64] = match (mark, along) {
            (Mark::Cells { widths, .. }, Along::X) => widths,
            _ => &[],
        };
        for member in check::members(mark).iter().filter(|m| m.along == along) {
            for (at, value) in member.values.iter().enumerate() {
                let half = widths.get(at).map_or(half, |_| half_width(widths, at));
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
}
