//! What is drawn around the data: grid, spines, ticks, titles and the foot.

use caneplot_plugin::findings::{Mark, Scale};

use super::axis::TICK_SIZE;
use super::canvas::{Anchor, Canvas, Lettering};
use super::frame::{FOOT, PanelPlan, Plan, TICK, TICK_GAP};
use super::palette::{self, GRID, QUIET, SPINE, TEXT};
use super::stage::Stage;
use super::text::{self, Face, LEADING};
use super::titles::{HEADING, TITLE, TITLE_GAP};

/// Thickness of spines and ticks, in points.
const SPINE_LINE: f64 = 0.6;
/// Least distance of a title and the end of the page.
const EDGE: f64 = 1.0;
/// Thickness of the grid.
const GRID_LINE: f64 = 0.4;

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
pub fn draw_grid(canvas: &mut Canvas, stage: &Stage) {
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

/// The left and the bottom spine.
pub fn draw_spines(canvas: &mut Canvas, planned: &PanelPlan) {
    let plot = planned.plot;
    let spine = [
        (plot.left, plot.top),
        (plot.left, plot.bottom),
        (plot.right, plot.bottom),
    ];
    canvas.line(&spine, SPINE, SPINE_LINE);
}

/// The line that columns stand on, where it is inside the plot because some hang from it.
pub fn draw_zero(canvas: &mut Canvas, stage: &Stage) {
    let plot = stage.plot;
    let (_, zero) = stage.spot(0.0, 0.0, None);
    let bars = stage
        .panel
        .marks
        .iter()
        .any(|mark| matches!(mark, Mark::Bar { .. }));
    if bars && stage.y.names().is_none() && zero > plot.top && zero < plot.bottom - 0.5 {
        canvas.line(&[(plot.left, zero), (plot.right, zero)], SPINE, SPINE_LINE);
    }
}

/// Spines, ticks outward, and what is written at them.
pub fn draw_axes(canvas: &mut Canvas, planned: &PanelPlan) {
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
pub fn draw_titles(canvas: &mut Canvas, planned: &PanelPlan) {
    let plot = planned.plot;
    let (middle_x, middle_y) = plot.middle();
    let step = TITLE * LEADING;
    let top = plot.bottom + planned.x_labels + TITLE_GAP;
    for (i, line) in planned.x_title.iter().enumerate() {
        let base = top + TITLE * text::CAPITAL + i as f64 * step;
        canvas.text(
            (middle_x, base),
            line,
            lettering(TITLE, Anchor::Middle, TEXT),
        );
    }
    let right = plot.left - planned.y_labels - TITLE_GAP - TITLE * text::DESCENT;
    let lines = planned.y_title.len() as f64;
    for (i, line) in planned.y_title.iter().enumerate() {
        let look = Lettering {
            upright: true,
            ..lettering(TITLE, Anchor::Middle, TEXT)
        };
        let base = right - (lines - 1.0 - i as f64) * step;
        // A title longer than its axis reaches down past it rather than off the page.
        let middle_y = middle_y.max(text::width(line, TITLE, Face::Regular) / 2.0 + EDGE);
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

/// The lines of the foot.
pub fn draw_foot(canvas: &mut Canvas, plan: &Plan) {
    for (i, line) in plan.foot.iter().enumerate() {
        let base = plan.foot_top + i as f64 * FOOT * LEADING + FOOT * 0.9;
        canvas.text(
            (plan.left, base),
            line,
            lettering(FOOT, Anchor::Start, QUIET),
        );
    }
}
