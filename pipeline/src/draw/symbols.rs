//! The shapes of points, of equal weight to the eye, and of columns.

use super::canvas::{Area, Canvas, Ink, Spot};
use super::palette::{Hatch, Look, PAPER, Shape};

/// Distance between the lines of a hatch, in points.
const HATCH_STEP: f64 = 3.6;
/// Thickness of the lines of a hatch.
const HATCH_LINE: f64 = 0.9;

/// A point with a thin white rim, so that it stands off what lies behind it.
pub fn point(canvas: &mut Canvas, centre: Spot, radius: f64, look: Look) {
    fill(canvas, centre, radius + 0.45, look.shape, PAPER.into());
    fill(canvas, centre, radius, look.shape, look.colour.into());
    if look.hollow {
        fill(canvas, centre, radius * 0.58, look.shape, PAPER.into());
    }
}

/// A raw point behind a summary.
pub fn raw_point(canvas: &mut Canvas, centre: Spot, radius: f64, look: Look, opacity: f64) {
    let ink = Ink {
        colour: look.colour,
        opacity,
    };
    fill(canvas, centre, radius, look.shape, ink);
}

fn fill(canvas: &mut Canvas, centre: Spot, radius: f64, shape: Shape, ink: Ink) {
    if shape == Shape::Circle {
        canvas.disc(centre, radius, ink);
        return;
    }
    let spots: Vec<Spot> = outline(shape)
        .iter()
        .map(|(x, y)| (centre.0 + x * radius, centre.1 + y * radius))
        .collect();
    canvas.polygon(&spots, ink);
}

/// Corners for a radius of one; the areas are near that of the disc.
fn outline(shape: Shape) -> &'static [Spot] {
    const SQUARE: [Spot; 4] = [(-0.9, -0.9), (0.9, -0.9), (0.9, 0.9), (-0.9, 0.9)];
    const TRIANGLE: [Spot; 3] = [(0.0, -1.3), (1.17, 0.78), (-1.17, 0.78)];
    const WEDGE: [Spot; 3] = [(0.0, 1.3), (1.17, -0.78), (-1.17, -0.78)];
    const DIAMOND: [Spot; 4] = [(0.0, -1.3), (1.3, 0.0), (0.0, 1.3), (-1.3, 0.0)];
    const CROSS: [Spot; 12] = [
        (-0.42, -1.2),
        (0.42, -1.2),
        (0.42, -0.42),
        (1.2, -0.42),
        (1.2, 0.42),
        (0.42, 0.42),
        (0.42, 1.2),
        (-0.42, 1.2),
        (-0.42, 0.42),
        (-1.2, 0.42),
        (-1.2, -0.42),
        (-0.42, -0.42),
    ];
    // Sines and cosines of multiples of 72°, times 1.12.
    const PENTAGON: [Spot; 5] = [
        (0.0, -1.12),
        (1.0652, -0.3461),
        (0.6583, 0.9061),
        (-0.6583, 0.9061),
        (-1.0652, -0.3461),
    ];
    match shape {
        Shape::Circle => &[],
        Shape::Square => &SQUARE,
        Shape::Triangle => &TRIANGLE,
        Shape::Wedge => &WEDGE,
        Shape::Diamond => &DIAMOND,
        Shape::Cross => &CROSS,
        Shape::Pentagon => &PENTAGON,
    }
}

/// A column with the hatch of its series.
pub fn column(canvas: &mut Canvas, area: Area, colour: Ink, hatch: Hatch) {
    canvas.block(area, colour);
    let (width, height) = (area.width(), area.height());
    if hatch == Hatch::Plain || !(width > 0.0 && height > 0.0) {
        return;
    }
    let paper = Ink {
        colour: PAPER,
        opacity: 0.85,
    };
    if hatch == Hatch::Lying {
        let mut y = area.bottom - HATCH_STEP;
        // A line at the very top would look like a lower column.
        while y > area.top + 1.2 {
            canvas.line(&[(area.left, y), (area.right, y)], paper, HATCH_LINE);
            y -= HATCH_STEP;
        }
        return;
    }
    // Lines at 45°: each meets the column between two of its edges.
    let step = HATCH_STEP * std::f64::consts::SQRT_2;
    let mut offset = step;
    while offset < width + height {
        let (start, end) = ((offset - height).max(0.0), offset.min(width));
        let rising = [
            (area.left + start, area.bottom - (offset - start)),
            (area.left + end, area.bottom - (offset - end)),
        ];
        let spots = match hatch {
            Hatch::Falling => rising,
            _ => rising.map(|(x, y)| (area.left + area.right - x, y)),
        };
        canvas.line(&spots, paper, HATCH_LINE);
        offset += step;
    }
    // The slanted ends of the hatch leave ragged edges, which an outline makes straight.
    let corners = [
        (area.left, area.bottom),
        (area.left, area.top),
        (area.right, area.top),
        (area.right, area.bottom),
    ];
    canvas.line(&corners, colour, 0.6);
}
