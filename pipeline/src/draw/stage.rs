//! One panel ready to be drawn on: where a value stands on the sheet, series side by side, raw
//! points spread.

use std::collections::{BTreeMap, BTreeSet};

use caneplot_plugin::findings::{Figure, Mark, Panel};

use super::axis::Axis;
use super::canvas::{Area, Spot};
use super::check;
use super::reach;
use super::spread::spread;
use super::tips::Tips;

/// Share of a category that points of all series take up together.
const CLUSTER: f64 = 0.66;
/// Share of a category, or of the distance between two places, that columns take up together.
const COLUMNS: f64 = 0.76;
/// The widest distance between neighbouring series, in points.
const WIDEST_SLOT: f64 = 17.0;
/// Radius of a mean, in points.
const MEAN: f64 = 2.8;
/// Radius of a point among many.
const MANY: f64 = 2.1;
/// So many points in one mark are many.
const MANY_POINTS: usize = 16;
/// Radius of raw data behind a summary.
pub const RAW: f64 = 1.7;

/// A panel with its place on the sheet.
pub struct Stage<'a> {
    /// What is drawn.
    pub panel: &'a Panel,
    /// Where the axes enclose it.
    pub plot: Area,
    /// Horizontal axis.
    pub x: &'a Axis,
    /// Vertical axis.
    pub y: &'a Axis,
    /// The words for its marks.
    pub tips: Tips<'a>,
    /// Series of the figure that are set side by side, in order.
    beside: Vec<usize>,
    has_bars: bool,
    bar_step: f64,
}

impl<'a> Stage<'a> {
    /// The stage of one panel.
    pub fn new(figure: &'a Figure, panel: &'a Panel, plot: Area, x: &'a Axis, y: &'a Axis) -> Self {
        // Over all panels, so that a series stands at the same place in each.
        let marks = || figure.panels.iter().flat_map(|panel| &panel.marks);
        let beside: BTreeSet<usize> = marks().filter_map(check::series).collect();
        Self {
            panel,
            plot,
            x,
            y,
            tips: Tips::new(figure, panel, x, y),
            beside: beside.into_iter().collect(),
            has_bars: panel
                .marks
                .iter()
                .any(|mark| matches!(mark, Mark::Bar { .. })),
            bar_step: reach::bar_step(panel),
        }
    }

    /// Whether no mark has a coordinate.
    pub fn is_empty(&self) -> bool {
        let members = self.panel.marks.iter().flat_map(check::members);
        members.into_iter().all(|member| member.values.is_empty())
    }

    /// Where a value stands, before any shift to the side.
    fn place(&self, x: f64, y: f64) -> Spot {
        let across = self.plot.left + self.x.share(x) * self.plot.width();
        let up = self.y.share(y) * self.plot.height();
        // The first of several names is at the top, as in a list; numbers rise.
        let down = match self.y.names() {
            Some(_) => self.plot.top + up,
            None => self.plot.bottom - up,
        };
        (across, down)
    }

    /// Where a value of a series stands.
    pub fn spot(&self, x: f64, y: f64, series: Option<usize>) -> Spot {
        let (across, down) = self.place(x, y);
        let shift = self.shift(series);
        match (self.x.names(), self.y.names()) {
            (Some(_), Some(_)) => (across, down),
            (None, Some(_)) => (across, down + shift),
            (Some(_), None) => (across + shift, down),
            (None, None) if self.has_bars => (across + shift, down),
            (None, None) => (across, down),
        }
    }

    /// Length in points of one step of the axis along which series are set side by side.
    fn step(&self) -> f64 {
        match (self.x.names(), self.y.names()) {
            (Some(names), _) => self.plot.width() / names.max(1) as f64,
            (None, Some(names)) => self.plot.height() / names.max(1) as f64,
            (None, None) => {
                (self.x.share(self.bar_step) - self.x.share(0.0)).abs() * self.plot.width()
            }
        }
    }

    /// Distance of neighbouring letters, where they stand at named places.
    pub fn letter_room(&self) -> Option<f64> {
        let names = self.x.names()?;
        let alone = self.plot.width() / names.max(1) as f64;
        Some(if self.beside.len() > 1 {
            self.slot().min(48.0)
        } else {
            alone
        })
    }

    /// Room for one series inside a category, in points.
    pub fn slot(&self) -> f64 {
        let series = self.beside.len().max(1) as f64;
        if self.has_bars {
            self.step() * COLUMNS / series
        } else {
            (self.step() * CLUSTER / series).min(if series > 1.0 {
                WIDEST_SLOT
            } else {
                2.0 * WIDEST_SLOT
            })
        }
    }

    /// Width of a column of a series, in points.
    pub fn bar_width(&self, series: Option<usize>) -> f64 {
        match series {
            Some(_) => self.slot(),
            None => self.step() * COLUMNS,
        }
        .min(48.0)
    }

    fn shift(&self, series: Option<usize>) -> f64 {
        let rank = series.and_then(|series| self.beside.iter().position(|s| *s == series));
        match rank {
            Some(rank) => {
                (rank as f64 - (self.beside.len() as f64 - 1.0) / 2.0) * self.slot().min(48.0)
            }
            None => 0.0,
        }
    }

    /// Radius of the points of a mark with so many of them.
    pub fn radius(&self, faint: bool, count: usize) -> f64 {
        let named = self.x.names().is_some() || self.y.names().is_some();
        let room = if named {
            self.slot() * 0.42
        } else {
            f64::INFINITY
        };
        let wanted = match (faint, count > MANY_POINTS) {
            (true, _) => RAW,
            (false, true) => MANY,
            (false, false) => MEAN,
        };
        wanted.min(room).max(0.8)
    }

    /// Half the length of the cap of an error bar.
    pub fn cap(&self) -> f64 {
        if self.x.names().is_some() || self.y.names().is_some() {
            (self.slot() * 0.32).clamp(0.6, 2.4)
        } else {
            2.4
        }
    }

    /// Places of points. On a category axis, and of raw points on a number axis too, those with the
    /// same coordinate lie side by side, in an order that looks unordered but is always the same.
    pub fn point_spots(
        &self,
        (x, y): (&[f64], &[f64]),
        series: Option<usize>,
        faint: bool,
    ) -> Vec<Spot> {
        let mut spots: Vec<Spot> = (0..x.len())
            .map(|i| self.spot(x[i], y[i], series))
            .collect();
        let named = self.x.names().is_some() || self.y.names().is_some();
        if !(faint || named) {
            return spots;
        }
        let lying = self.x.names().is_none() && self.y.names().is_some();
        let along = if lying { y } else { x };
        let mut places: BTreeMap<u64, Vec<usize>> = BTreeMap::new();
        for (i, value) in along.iter().enumerate() {
            // Adding zero makes one key of both zeros.
            places.entry((value + 0.0).to_bits()).or_default().push(i);
        }
        let half = if self.x.names().is_some() || lying {
            self.slot() * 0.42
        } else {
            let gap = reach::smallest_gap(&mut along.to_vec()).unwrap_or(f64::INFINITY);
            let step = (self.x.share(gap) - self.x.share(0.0)).abs() * self.plot.width();
            if step.is_finite() {
                (step * 0.3).min(3.5)
            } else {
                3.5
            }
        };
        for members in places.values() {
            let half = half.min(RAW * 1.25 * (members.len() as f64 - 1.0));
            for (i, share) in members.iter().zip(spread(members.len())) {
                let moved = share * half;
                if lying {
                    spots[*i].1 += moved;
                } else {
                    spots[*i].0 += moved;
                }
            }
        }
        spots
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draw::axis::Kind;
    use crate::draw::reach::Range;
    use caneplot_plugin::findings::{self, Scale};

    fn axis(kind: Kind) -> Axis {
        Axis {
            kind,
            ticks: Vec::new(),
            size: 8.0,
            turned: false,
        }
    }

    fn points(series: usize) -> Mark {
        Mark::Points {
            x: vec![0.0],
            y: vec![0.0],
            series: Some(series),
            faint: false,
        }
    }

    const PLOT: Area = Area {
        left: 0.0,
        top: 0.0,
        right: 100.0,
        bottom: 50.0,
    };

    #[test]
    fn series_stand_side_by_side_around_their_category() {
        let panel = Panel {
            x: findings::Axis {
                title: String::new(),
                scale: Scale::Category {
                    labels: vec!["a".into(), "b".into()],
                },
            },
            marks: vec![points(0), points(1), points(3)],
            ..Panel::default()
        };
        let figure = Figure {
            panels: vec![panel.clone()],
            ..Figure::default()
        };
        let x = axis(Kind::Names(2));
        let y = axis(Kind::Numbers(Range {
            low: 0.0,
            high: 1.0,
        }));
        let stage = Stage::new(&figure, &panel, PLOT, &x, &y);
        let across = |series| stage.spot(0.0, 0.5, series).0;
        assert!((across(None) - 25.0).abs() < 1e-9);
        assert!((across(Some(1)) - 25.0).abs() < 1e-9);
        assert!((across(Some(0)) + across(Some(3)) - 50.0).abs() < 1e-9);
        assert!((across(Some(3)) - across(Some(1)) - stage.slot()).abs() < 1e-9);
        assert!(across(Some(3)) + stage.slot() / 2.0 < 50.0);
    }

    #[test]
    fn nothing_is_shifted_on_a_number_axis() {
        let panel = Panel {
            marks: vec![points(0), points(1)],
            ..Panel::default()
        };
        let figure = Figure {
            panels: vec![panel.clone()],
            ..Figure::default()
        };
        let x = axis(Kind::Numbers(Range {
            low: 0.0,
            high: 10.0,
        }));
        let y = axis(Kind::Numbers(Range {
            low: 0.0,
            high: 1.0,
        }));
        let stage = Stage::new(&figure, &panel, PLOT, &x, &y);
        assert_eq!(stage.spot(5.0, 0.5, Some(1)), (50.0, 25.0));
    }
}
