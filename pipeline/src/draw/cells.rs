//! Fields of shaded cells and the key that says what a shade means.

use caneplot_plugin::findings::{Figure, Mark};

use super::axis::TICK_SIZE;
use super::canvas::{Anchor, Area, Canvas, Lettering};
use super::palette::{self, Colour, SPINE, TEXT};
use super::reach::Range;
use super::stage::Stage;
use super::text::{self, Face};
use super::ticks;

/// Length of the key, in points.
const LENGTH: f64 = 110.0;
/// Its length where its title leaves it little room.
const SHORTEST: f64 = 40.0;
/// Height of its bar.
const BAR: f64 = 7.0;
/// Height of the key with its numbers.
pub const HEIGHT: f64 = BAR + 3.0 + TICK_SIZE;
/// Steps of shade in its bar.
const STEPS: u32 = 64;

/// Half the width of a cell.
pub fn half_width(widths: &[f64], cell: usize) -> f64 {
    widths.get(cell).map_or(0.5, |width| width.abs() / 2.0)
}

/// What the shades of all cells of a figure mean.
#[derive(Debug, Clone, PartialEq)]
pub struct Key {
    range: Range,
    /// Whether there are amounts on both sides of zero, which then is the middle of the range.
    two_sided: bool,
    title: String,
}

impl Key {
    /// The key of a figure that has cells.
    pub fn of(figure: &Figure, title: &str) -> Option<Self> {
        let values = figure
            .panels
            .iter()
            .flat_map(|panel| &panel.marks)
            .filter_map(|mark| match mark {
                Mark::Cells { value, .. } => Some(value),
                _ => None,
            })
            .flatten();
        let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| {
            (low.min(*v), high.max(*v))
        });
        let two_sided = low < 0.0 && high > 0.0;
        let range = match two_sided {
            true => Range {
                low: -high.max(-low),
                high: high.max(-low),
            },
            false => Range { low, high },
        };
        (low <= high).then(|| Self {
            range,
            two_sided,
            title: title.to_owned(),
        })
    }

    fn shade(&self, share: f64) -> Colour {
        match self.two_sided {
            true => palette::two_sided(share),
            false => palette::shade(share),
        }
    }

    fn share(&self, value: f64) -> f64 {
        let size = self.range.high - self.range.low;
        // Cells that are all alike get the middle shade.
        if size > 0.0 {
            (value - self.range.low) / size
        } else {
            0.5
        }
    }

    /// Draws cells, with a hair of white between them where they are large enough.
    pub fn draw_cells(
        &self,
        canvas: &mut Canvas,
        stage: &Stage,
        (x, y): (&[f64], &[f64]),
        widths: &[f64],
        value: &[f64],
    ) {
        for (at, ((x, y), value)) in x.iter().zip(y).zip(value).enumerate() {
            let half = half_width(widths, at);
            let a = stage.spot(x - half, y - 0.5, None);
            let b = stage.spot(x + half, y + 0.5, None);
            let area = Area {
                left: a.0.min(b.0),
                right: a.0.max(b.0),
                top: a.1.min(b.1),
                bottom: a.1.max(b.1),
            };
            let gap = if area.width().min(area.height()) > 5.0 {
                0.3
            } else {
                -0.05
            };
            let inner = Area {
                left: area.left + gap,
                right: area.right - gap,
                top: area.top + gap,
                bottom: area.bottom - gap,
            };
            let words = stage.tips.cell(*x, *y, *value, self.range);
            canvas.told(&words, |canvas| {
                canvas.block(inner, self.shade(self.share(*value)));
            });
        }
    }

    /// Draws the key with its top left at the spot, its bar no farther than the right edge.
    pub fn draw(&self, canvas: &mut Canvas, (left, top): (f64, f64), right: f64) {
        let look = Lettering {
            size: TICK_SIZE,
            face: Face::Bold,
            colour: TEXT,
            anchor: Anchor::Start,
            upright: false,
        };
        canvas.text(
            (left, top + BAR / 2.0 + TICK_SIZE * text::CAPITAL / 2.0),
            &self.title,
            look,
        );
        let indent = match self.title.is_empty() {
            true => 6.0,
            false => text::width(&self.title, TICK_SIZE, Face::Bold) + 12.0,
        };
        let start = left + indent;
        let length = LENGTH.min(right - start).max(SHORTEST);
        let step = length / f64::from(STEPS);
        for i in 0..STEPS {
            let from = start + f64::from(i) * step;
            // Each step reaches under the next, so that no seam shows between them.
            let to = (from + step + 0.5).min(start + length);
            let area = Area {
                left: from,
                right: to,
                top,
                bottom: top + BAR,
            };
            canvas.block(area, self.shade(f64::from(i) / f64::from(STEPS - 1)));
        }
        let Range { low, high } = self.range;
        let marks = if high > low {
            ticks::readable_ticks(low, high, 4, 7)
        } else {
            ticks::exact_ticks(&[low])
        };
        for (value, label) in marks.places.iter().zip(&marks.labels) {
            let x = start + self.share(*value) * length;
            canvas.line(&[(x, top + BAR), (x, top + BAR + 2.0)], SPINE, 0.5);
            let look = Lettering {
                face: Face::Regular,
                anchor: Anchor::Middle,
                ..look
            };
            canvas.text(
                (x, top + BAR + 3.0 + TICK_SIZE * text::CAPITAL),
                label,
                look,
            );
        }
    }
}

#[cfg(test)]
mod tests {
    use caneplot_plugin::findings::Panel;

    use super::*;

    fn key(values: &[f64]) -> Key {
        let places: Vec<f64> = (0..values.len()).map(|at| at as f64).collect();
        let cells = Mark::Cells {
            x: places.clone(),
            y: places,
            value: values.to_vec(),
            widths: Vec::new(),
        };
        let panel = Panel {
            marks: vec![cells],
            ..Panel::default()
        };
        let figure = Figure {
            panels: vec![panel],
            ..Figure::default()
        };
        Key::of(&figure, "").unwrap()
    }

    #[test]
    fn amounts_on_both_sides_of_zero_have_zero_in_the_middle() {
        for (values, reach) in [([-0.2, 0.1, 0.9], 0.9), ([-3.0, 0.0, 0.5], 3.0)] {
            let key = key(&values);
            assert_eq!((key.range.low, key.range.high), (-reach, reach));
            assert_eq!(key.shade(key.share(0.0)), palette::two_sided(0.5));
        }
    }

    #[test]
    fn amounts_on_one_side_of_zero_keep_their_own_range() {
        for values in [[0.0, 1.0, 4.0], [-4.0, -1.0, 0.0]] {
            let key = key(&values);
            assert_eq!((key.range.low, key.range.high), (values[0], values[2]));
            assert_eq!(key.shade(0.5), palette::shade(0.5));
        }
    }
}
