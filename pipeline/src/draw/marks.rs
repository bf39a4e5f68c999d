//! How each mark is drawn.

use caneplot_plugin::findings::Mark;

use super::canvas::{Area, Canvas, Ink, Spot};
use super::cells::Key;
use super::palette::{self, COLUMN, Colour, INK, SPINE, ZONE};
use super::stage::Stage;
use super::symbols;

/// Thickness of lines through data.
const LINE: f64 = 1.2;
/// Thickness of error bars.
const ERROR: f64 = 0.9;
/// Thickness of reference lines.
const RULE: f64 = 0.6;
/// Length and gap of the dashes of a line.
const DASH: (f64, f64) = (4.0, 2.4);
/// Opacity of raw data behind a summary.
const RAW_OPACITY: f64 = 0.38;
/// Opacity of a band.
const BAND_OPACITY: f64 = 0.18;

/// Draws the zones of a panel, which lie below its grid.
pub fn draw_zones(canvas: &mut Canvas, stage: &Stage) {
    for mark in &stage.panel.marks {
        if let Mark::Zone { low, high, .. } = mark {
            canvas.block(zone(stage, *low, *high), ZONE);
        }
    }
}

/// The rectangle of a zone.
pub fn zone(stage: &Stage, low: f64, high: f64) -> Area {
    let edges = [low, high].map(|y| stage.spot(0.0, y, None).1);
    Area {
        top: edges[0].min(edges[1]),
        bottom: edges[0].max(edges[1]),
        ..stage.plot
    }
}

/// Draws one mark; text and zones have their own turn.
pub fn draw(canvas: &mut Canvas, stage: &Stage, mark: &Mark, key: Option<&Key>) {
    match mark {
        Mark::Points {
            x,
            y,
            series,
            faint,
        } => points(canvas, stage, (x, y), *series, *faint),
        Mark::Line {
            x,
            y,
            series,
            dashed,
        } => {
            let spots = spots(stage, x, y, *series);
            let colour = palette::look(*series).colour;
            match (spots.len(), dashed) {
                (0 | 1, _) => {}
                (_, true) => canvas.dashes(&spots, colour, LINE, DASH),
                (_, false) => canvas.line(&spots, colour, LINE),
            }
        }
        Mark::Ribbon {
            x,
            low,
            high,
            series,
        } => ribbon(canvas, stage, x, (low, high), *series),
        Mark::Interval {
            x,
            low,
            high,
            series,
        } => {
            let ink = error_colour(stage, *series);
            for ((x, low), high) in x.iter().zip(low).zip(high) {
                let ends = [
                    stage.spot(*x, *low, *series),
                    stage.spot(*x, *high, *series),
                ];
                canvas.told(&stage.tips.upright(*x, (*low, *high), *series), |canvas| {
                    error_bar(canvas, ends, (stage.cap(), 0.0), ink.into());
                });
            }
        }
        Mark::Across {
            low,
            high,
            y,
            series,
        } => {
            let ink = error_colour(stage, *series);
            for ((low, high), y) in low.iter().zip(high).zip(y) {
                let ends = [
                    stage.spot(*low, *y, *series),
                    stage.spot(*high, *y, *series),
                ];
                canvas.told(&stage.tips.lying((*low, *high), *y, *series), |canvas| {
                    error_bar(canvas, ends, (0.0, stage.cap()), ink.into());
                });
            }
        }
        Mark::Bar { x, y, series } => bars(canvas, stage, (x, y), *series),
        Mark::Cells {
            x,
            y,
            value,
            widths,
        } => {
            if let Some(key) = key {
                key.draw_cells(canvas, stage, (x, y), widths, value);
            }
        }
        Mark::Rule { y, x, .. } => {
            let plot = stage.plot;
            if let Some(y) = y {
                let at = stage.spot(0.0, *y, None).1;
                canvas.dashes(
                    &[(plot.left, at), (plot.right, at)],
                    SPINE,
                    RULE,
                    (2.4, 1.8),
                );
            }
            if let Some(x) = x {
                let at = stage.spot(*x, 0.0, None).0;
                canvas.dashes(
                    &[(at, plot.bottom), (at, plot.top)],
                    SPINE,
                    RULE,
                    (2.4, 1.8),
                );
            }
        }
        Mark::Zone { .. } | Mark::Letters { .. } | Mark::Names { .. } => {}
    }
}

fn spots(stage: &Stage, x: &[f64], y: &[f64], series: Option<usize>) -> Vec<Spot> {
    x.iter()
        .zip(y)
        .map(|(x, y)| stage.spot(*x, *y, series))
        .collect()
}

fn points(
    canvas: &mut Canvas,
    stage: &Stage,
    (x, y): (&[f64], &[f64]),
    series: Option<usize>,
    faint: bool,
) {
    let look = palette::look(series);
    let radius = stage.radius(faint, x.len());
    for (at, spot) in stage
        .point_spots((x, y), series, faint)
        .into_iter()
        .enumerate()
    {
        canvas.told(&stage.tips.point(x[at], y[at], series), |canvas| {
            if faint {
                symbols::raw_point(canvas, spot, radius, look, RAW_OPACITY);
            } else {
                symbols::point(canvas, spot, radius, look);
            }
        });
    }
}

fn ribbon(
    canvas: &mut Canvas,
    stage: &Stage,
    x: &[f64],
    (low, high): (&[f64], &[f64]),
    series: Option<usize>,
) {
    if x.len() < 2 {
        return;
    }
    let colour = palette::look(series).colour;
    let lower = spots(stage, x, low, series);
    let upper = spots(stage, x, high, series);
    let outline: Vec<Spot> = upper
        .iter()
        .copied()
        .chain(lower.iter().rev().copied())
        .collect();
    let ink = |opacity| Ink { colour, opacity };
    canvas.polygon(&outline, ink(BAND_OPACITY));
    // Thin edges tell crossing bands apart in grey print.
    canvas.line(&upper, ink(0.45), 0.4);
    canvas.line(&lower, ink(0.45), 0.4);
}

/// Error bars have the colour of their series, and ink over columns, where that would not show.
fn error_colour(stage: &Stage, series: Option<usize>) -> Colour {
    let bar = |mark: &Mark| matches!(mark, Mark::Bar { .. });
    if stage.panel.marks.iter().any(bar) {
        INK
    } else {
        palette::look(series).colour
    }
}

/// A bar between two spots with caps of that half length across and down.
fn error_bar(canvas: &mut Canvas, ends: [Spot; 2], cap: (f64, f64), ink: Ink) {
    canvas.line(&ends, ink, ERROR);
    for (x, y) in ends {
        canvas.line(
            &[(x - cap.0, y - cap.1), (x + cap.0, y + cap.1)],
            ink,
            ERROR,
        );
    }
}

fn bars(canvas: &mut Canvas, stage: &Stage, (x, y): (&[f64], &[f64]), series: Option<usize>) {
    let look = palette::look(series);
    let colour = if series.is_some() {
        look.colour
    } else {
        COLUMN
    };
    // A hair of white between neighbours.
    let half = (stage.bar_width(series) / 2.0 - 0.3).max(0.3);
    for (x, y) in x.iter().zip(y) {
        let (centre, end) = stage.spot(*x, *y, series);
        let (_, zero) = stage.spot(*x, 0.0, series);
        let area = Area {
            left: centre - half,
            right: centre + half,
            top: end.min(zero),
            bottom: end.max(zero),
        };
        canvas.told(&stage.tips.point(*x, *y, series), |canvas| {
            symbols::column(canvas, area, colour.into(), look.hatch);
        });
    }
}
