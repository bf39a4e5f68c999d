//! Figures: from a description in a plugin's findings to an SVG and the same drawing as a PNG.
//!
//! ```text
//! check   refuses what has no place on a sheet           error.rs
//! frame   lays out sheet, legend, panels, axes           axis.rs ticks.rs text.rs legend.rs
//! marks   draws data, stage.rs places and spreads them   symbols.rs palette.rs cells.rs
//! labels  letters, names, labels clear of the data
//! canvas  plotters' SVG backend, ten units to a point
//! svg     one pass: raised text, title, description
//! raster  the same SVG as a PNG
//! ```
//!
//! No clock, no chance, no system font and no hash order: the same figure gives the same bytes.

mod axis;
mod canvas;
mod cells;
mod check;
mod error;
mod frame;
mod labels;
mod legend;
mod marks;
mod palette;
mod raster;
#[cfg(test)]
mod samples;
mod stage;
mod svg;
mod symbols;
#[cfg(test)]
mod tests;
mod text;
mod ticks;
mod wording;

use caneplot_plugin::findings::{Figure, Mark, Scale};

pub use error::{DrawError, MarkPlace};
pub use raster::RESOLUTION;

use axis::TICK_SIZE;
use canvas::{Anchor, Canvas, Lettering};
use frame::{FOOT, HEADING, PanelPlan, Plan, TICK, TICK_GAP, TITLE, TITLE_GAP};
use palette::{GRID, QUIET, SPINE, TEXT};
use stage::Stage;
use text::{Face, LEADING};

/// Thickness of spines and ticks, in points.
const SPINE_LINE: f64 = 0.6;
/// Thickness of the grid.
const GRID_LINE: f64 = 0.4;

/// A drawn figure.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Drawing {
    /// The drawing with its text as text, in points.
    pub svg: String,
    /// The same drawing at [`RESOLUTION`] pixels an inch.
    pub png: Vec<u8>,
}

/// Draws a figure.
///
/// Marks are drawn in their order, with two exceptions: zones lie below the grid, and text lies
/// over everything. Number axes with the same title have the same ends in all panels, and the first
/// name of a vertical category axis is at the top.
///
/// # Errors
/// A [`DrawError`] that names the mark: a coordinate without a place on its axis, members of
/// different length, a series that is not named; or no panel, or more than any page holds.
pub fn draw(figure: &Figure) -> Result<Drawing, DrawError> {
    check::check(figure)?;
    let figure = &wording::legible(figure);
    let plan = frame::plan(figure)?;
    let failed = |message| DrawError::Render {
        figure: figure.id.clone(),
        message,
    };
    let mut raw = String::new();
    draw_sheet(figure, &plan, &mut raw).map_err(failed)?;
    let (title, description) = spoken(figure);
    let svg = svg::finished(&raw, plan.width, plan.height, title, description);
    let png = raster::png(&svg, plan.width, plan.height).map_err(failed)?;
    Ok(Drawing { svg, png })
}

/// What a screen reader says: the first sentence of the description, and the whole of it.
fn spoken(figure: &Figure) -> (&str, &str) {
    let whole = [&figure.alt, &figure.caption, &figure.id]
        .into_iter()
        .find(|text| !text.trim().is_empty())
        .map_or("", |text| text.trim());
    let first = whole.find(". ").map_or(whole, |end| &whole[..=end]);
    (first, whole)
}

fn draw_sheet(figure: &Figure, plan: &Plan, svg: &mut String) -> Result<(), String> {
    let mut canvas = Canvas::new(svg, plan.width, plan.height);
    let sheet = canvas::Area {
        left: 0.0,
        top: 0.0,
        right: plan.width,
        bottom: plan.height,
    };
    canvas.block(sheet, palette::PAPER);
    plan.legend.draw(&mut canvas, plan.left, plan.legend_top);
    if let Some((key, top)) = &plan.key {
        key.draw(&mut canvas, plan.left, *top);
    }
    for (panel, planned) in figure.panels.iter().zip(&plan.panels) {
        let stage = Stage::new(figure, panel, planned.plot, &planned.x, &planned.y);
        marks::draw_zones(&mut canvas, &stage);
        draw_grid(&mut canvas, &stage);
        draw_axes(&mut canvas, planned);
        for mark in &panel.marks {
            marks::draw(
                &mut canvas,
                &stage,
                mark,
                plan.key.as_ref().map(|(key, _)| key),
            );
        }
        // Columns and cells reach to the spines; points on them stay in front.
        if panel.marks.iter().any(fills_to_the_spine) {
            draw_spines(&mut canvas, planned);
        }
        labels::draw(&mut canvas, &stage);
        draw_titles(&mut canvas, planned);
    }
    for (i, line) in plan.foot.iter().enumerate() {
        let base = plan.foot_top + i as f64 * FOOT * LEADING + FOOT * 0.9;
        canvas.text(
            (plan.left, base),
            line,
            lettering(FOOT, Anchor::Start, QUIET),
        );
    }
    canvas.finish()
}

fn fills_to_the_spine(mark: &Mark) -> bool {
    matches!(mark, Mark::Bar { .. } | Mark::Cells { .. })
}

fn lettering(size: f64, anchor: Anchor, colour: palette::Colour) -> Lettering {
    Lettering {
        size,
        face: Face::Regular,
        colour,
        anchor,
        upright: false,
    }
}

/// Hairlines at the ticks of the axis that is read off: across, or up where names stand at the side.
fn draw_grid(canvas: &mut Canvas, stage: &Stage) {
    let cells = |mark: &Mark| matches!(mark, Mark::Cells { .. });
    if stage.panel.marks.iter().any(cells) {
        return;
    }
    let plot = stage.plot;
    match (&stage.panel.x.scale, &stage.panel.y.scale) {
        (_, Scale::Linear { .. }) => {
            for tick in &stage.y.ticks {
                let at = plot.bottom - stage.y.share(tick.value) * plot.height();
                canvas.line(&[(plot.left, at), (plot.right, at)], GRID, GRID_LINE);
            }
        }
        (Scale::Linear { .. }, Scale::Category { .. }) => {
            for tick in &stage.x.ticks {
                let at = plot.left + stage.x.share(tick.value) * plot.width();
                canvas.line(&[(at, plot.bottom), (at, plot.top)], GRID, GRID_LINE);
            }
        }
        _ => {}
    }
}

fn draw_spines(canvas: &mut Canvas, planned: &PanelPlan) {
    let plot = planned.plot;
    let spine = [
        (plot.left, plot.top),
        (plot.left, plot.bottom),
        (plot.right, plot.bottom),
    ];
    canvas.line(&spine, SPINE, SPINE_LINE);
}

/// The left and the bottom spine, ticks outward, and what is written at them.
fn draw_axes(canvas: &mut Canvas, planned: &PanelPlan) {
    let plot = planned.plot;
    draw_spines(canvas, planned);
    for tick in &planned.x.ticks {
        let at = plot.left + planned.x.share(tick.value) * plot.width();
        canvas.line(
            &[(at, plot.bottom), (at, plot.bottom + TICK)],
            SPINE,
            SPINE_LINE,
        );
        let top = plot.bottom + TICK + TICK_GAP;
        if planned.x.turned {
            let look = Lettering {
                upright: true,
                ..lettering(TICK_SIZE, Anchor::End, TEXT)
            };
            let block = (tick.lines.len() as f64 - 1.0) * TICK_SIZE * LEADING;
            for (i, line) in tick.lines.iter().enumerate() {
                let base =
                    at - block / 2.0 + TICK_SIZE * (text::CAPITAL / 2.0 + i as f64 * LEADING);
                canvas.text((base, top), line, look);
            }
            continue;
        }
        for (i, line) in tick.lines.iter().enumerate() {
            let size = planned.x.size;
            let base = top + size * (text::CAPITAL + i as f64 * LEADING);
            canvas.text((at, base), line, lettering(size, Anchor::Middle, TEXT));
        }
    }
    for tick in &planned.y.ticks {
        let share = planned.y.share(tick.value);
        let at = match planned.y.names() {
            Some(_) => plot.top + share * plot.height(),
            None => plot.bottom - share * plot.height(),
        };
        canvas.line(
            &[(plot.left - TICK, at), (plot.left, at)],
            SPINE,
            SPINE_LINE,
        );
        let block = (tick.lines.len() as f64 - 1.0) * TICK_SIZE * LEADING;
        for (i, line) in tick.lines.iter().enumerate() {
            let base = at - block / 2.0 + TICK_SIZE * (text::CAPITAL / 2.0 + i as f64 * LEADING);
            let spot = (plot.left - TICK - TICK_GAP, base);
            canvas.text(spot, line, lettering(TICK_SIZE, Anchor::End, TEXT));
        }
    }
}

/// Titles of the axes and of the panel.
fn draw_titles(canvas: &mut Canvas, planned: &PanelPlan) {
    let plot = planned.plot;
    let (middle_x, middle_y) = plot.middle();
    let step = TITLE * LEADING;
    let top = plot.bottom + frame::x_label_room(&planned.x) + TITLE_GAP;
    for (i, line) in planned.x_title.iter().enumerate() {
        let base = top + TITLE * text::CAPITAL + i as f64 * step;
        canvas.text(
            (middle_x, base),
            line,
            lettering(TITLE, Anchor::Middle, TEXT),
        );
    }
    let labels = planned.y.widest_label();
    let right = plot.left - TICK - TICK_GAP - labels - TITLE_GAP - TITLE * text::DESCENT;
    let lines = planned.y_title.len() as f64;
    for (i, line) in planned.y_title.iter().enumerate() {
        let look = Lettering {
            upright: true,
            ..lettering(TITLE, Anchor::Middle, TEXT)
        };
        let base = right - (lines - 1.0 - i as f64) * step;
        canvas.text((base, middle_y), line, look);
    }
    let lines = planned.heading.len() as f64;
    for (i, line) in planned.heading.iter().enumerate() {
        let look = Lettering {
            face: Face::Bold,
            ..lettering(HEADING, Anchor::Start, TEXT)
        };
        let base = plot.top - 5.0 - (lines - 1.0 - i as f64) * HEADING * LEADING;
        canvas.text((plot.left, base), line, look);
    }
}
