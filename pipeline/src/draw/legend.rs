//! The legend over the frame: one entry a series, as it looks in the drawing.

use caneplot_plugin::findings::{Figure, Mark};

use super::canvas::{Anchor, Area, Canvas, Ink, Lettering};
use super::check;
use super::palette::{self, TEXT};
use super::symbols;
use super::text::{self, Face};
use super::wrap;

/// Size of its text.
const SIZE: f64 = 8.0;
/// Height of one row.
pub const ROW: f64 = 12.0;
/// Width of the sample of a series.
const SAMPLE: f64 = 16.0;
/// Width of the sample of a series drawn with points only.
const POINT_SAMPLE: f64 = 7.0;
/// Distance of sample and name.
const GAP: f64 = 3.0;
/// Distance of entries.
const APART: f64 = 12.0;

/// What a series is drawn with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
struct Uses {
    points: bool,
    line: bool,
    solid: bool,
    bar: bool,
    ribbon: bool,
}

impl Uses {
    /// Width of the sample.
    fn width(self) -> f64 {
        if self.line || self.bar || self.ribbon {
            SAMPLE
        } else {
            POINT_SAMPLE
        }
    }
}

/// One series of the legend.
#[derive(Debug, Clone, PartialEq)]
struct Entry {
    series: usize,
    name: String,
    uses: Uses,
    /// Distance from the left of the legend.
    left: f64,
    /// Row, from 0.
    row: usize,
}

/// The planned legend.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Legend {
    title: String,
    entries: Vec<Entry>,
    rows: usize,
}

impl Legend {
    /// The legend of the series that a figure uses, in rows of that width.
    pub fn of(figure: &Figure, room: f64) -> Self {
        let used: Vec<(usize, Uses)> = (0..figure.series.len())
            .filter_map(|series| Some((series, uses(figure, series)?)))
            .collect();
        if used.is_empty() {
            return Self::default();
        }
        let title = wrap::clipped(
            figure.series_title.as_deref().unwrap_or_default(),
            SIZE,
            Face::Bold,
            room * 0.5,
        );
        let indent = match title.is_empty() {
            true => 0.0,
            false => text::width(&title, SIZE, Face::Bold) + 10.0,
        };
        let (mut left, mut row) = (indent, 0);
        let mut entries = Vec::new();
        for (series, uses) in used {
            let name = wrap::clipped(
                &figure.series[series],
                SIZE,
                Face::Regular,
                room - indent - SAMPLE - GAP,
            );
            let width = uses.width() + GAP + text::width(&name, SIZE, Face::Regular);
            if left > indent && left + width > room {
                left = indent;
                row += 1;
            }
            entries.push(Entry {
                series,
                name,
                uses,
                left,
                row,
            });
            left += width + APART;
        }
        Self {
            title,
            entries,
            rows: row + 1,
        }
    }

    /// Its height in points.
    pub fn height(&self) -> f64 {
        self.rows as f64 * ROW
    }

    /// Draws it with its top left at the spot.
    pub fn draw(&self, canvas: &mut Canvas, left: f64, top: f64) {
        let look = |face| Lettering {
            size: SIZE,
            face,
            colour: TEXT,
            anchor: Anchor::Start,
            upright: false,
        };
        let base = |row: usize| top + (row as f64 + 0.5) * ROW + SIZE * text::CAPITAL / 2.0;
        canvas.text((left, base(0)), &self.title, look(Face::Bold));
        for entry in &self.entries {
            let middle = top + (entry.row as f64 + 0.5) * ROW;
            sample(canvas, entry, left + entry.left, middle);
            let start = left + entry.left + entry.uses.width() + GAP;
            canvas.text((start, base(entry.row)), &entry.name, look(Face::Regular));
        }
    }
}

fn sample(canvas: &mut Canvas, entry: &Entry, left: f64, middle: f64) {
    let look = palette::look(Some(entry.series));
    let width = entry.uses.width();
    let centre = left + width / 2.0;
    if entry.uses.ribbon {
        let pale = Ink {
            colour: look.colour,
            opacity: 0.18,
        };
        canvas.block(Area::around((centre, middle), width / 2.0, 4.0), pale);
    }
    if entry.uses.bar {
        let area = Area::around((centre, middle), width / 2.0, 3.8);
        symbols::column(canvas, area, look.colour.into(), look.hatch);
    }
    let ends = [(left, middle), (left + width, middle)];
    if entry.uses.line && entry.uses.solid {
        canvas.line(&ends, look.colour, 1.2);
    } else if entry.uses.line {
        canvas.dashes(&ends, look.colour, 1.2, (3.4, 2.0));
    }
    if entry.uses.points {
        symbols::point(canvas, (centre, middle), 2.8, look);
    }
}

/// What a series is drawn with; `None` if it is not drawn.
fn uses(figure: &Figure, series: usize) -> Option<Uses> {
    let mut uses = Uses::default();
    let mut drawn = false;
    let marks = figure.panels.iter().flat_map(|panel| &panel.marks);
    for mark in marks.filter(|mark| check::series(mark) == Some(series)) {
        match mark {
            Mark::Line { dashed, .. } => {
                uses.line = true;
                uses.solid |= !dashed;
            }
            Mark::Ribbon { .. } => uses.ribbon = true,
            Mark::Bar { .. } => uses.bar = true,
            Mark::Points { .. } => uses.points = true,
            // A bar of error alone is shown by the mark of its series.
            Mark::Interval { .. } | Mark::Across { .. } => {}
            _ => continue,
        }
        drawn = true;
    }
    if drawn && uses == Uses::default() {
        uses.points = true;
    }
    drawn.then_some(uses)
}

#[cfg(test)]
mod tests {
    use super::*;
    use caneplot_plugin::findings::Panel;

    fn figure(names: &[&str]) -> Figure {
        let marks = (0..names.len())
            .map(|series| Mark::Points {
                x: vec![],
                y: vec![],
                series: Some(series),
                faint: false,
            })
            .collect();
        Figure {
            series: names.iter().map(|name| (*name).to_owned()).collect(),
            panels: vec![Panel {
                marks,
                ..Panel::default()
            }],
            ..Figure::default()
        }
    }

    #[test]
    fn entries_go_on_to_another_row_and_never_past_the_width() {
        let legend = Legend::of(&figure(&["a long name of a series"; 5]), 240.0);
        assert!(legend.rows > 1);
        for entry in &legend.entries {
            let end = entry.left + SAMPLE + GAP + text::width(&entry.name, SIZE, Face::Regular);
            assert!(end <= 240.0);
        }
    }

    #[test]
    fn series_that_are_not_drawn_are_not_named() {
        let mut figure = figure(&["a", "b"]);
        figure.panels[0].marks.remove(0);
        let legend = Legend::of(&figure, 240.0);
        assert_eq!(legend.entries.len(), 1);
        assert_eq!(legend.entries[0].series, 1);
        figure.panels[0].marks.clear();
        assert_eq!(Legend::of(&figure, 240.0).height(), 0.0);
    }
}
