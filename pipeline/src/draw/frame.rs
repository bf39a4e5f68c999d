//! The layout: how large the sheet is, where each panel stands, and how its axes run.

use caneplot_plugin::findings::{Figure, Mark, Panel, Scale, Width};

use super::axis::{self, Axis, Range};
use super::canvas::Area;
use super::cells::{self, Key};
use super::check::Along;
use super::error::DrawError;
use super::labels;
use super::legend::Legend;
use super::stage::Stage;
use super::text::{self, Face, LEADING};

/// Points in a millimetre.
const MM: f64 = 72.0 / 25.4;
/// Height beyond which a figure is refused: a page is 297 mm.
const TALLEST: f64 = 700.0 * MM;
/// Free edge of the sheet.
const EDGE: f64 = 3.0;
/// Distance of panels side by side, and of rows.
const BETWEEN: (f64, f64) = (12.0, 10.0);
/// The narrowest panel: more in a row go on to another row.
const NARROWEST: f64 = 78.0;
/// Height of a panel as a share of its width, all its text included.
const ASPECT: f64 = 0.72;
/// Size of axis titles, panel titles and the foot.
pub const TITLE: f64 = 9.0;
/// Size of panel titles.
pub const HEADING: f64 = 8.5;
/// Size of the foot.
pub const FOOT: f64 = 7.0;
/// Length of a tick.
pub const TICK: f64 = 3.0;
/// Distance of a tick and its label.
pub const TICK_GAP: f64 = 2.0;
/// Distance of tick labels and the title of the axis.
pub const TITLE_GAP: f64 = 4.0;

/// One panel on the sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct PanelPlan {
    /// Where the axes enclose it.
    pub plot: Area,
    /// Horizontal axis.
    pub x: Axis,
    /// Vertical axis.
    pub y: Axis,
    /// Lines over it.
    pub heading: Vec<String>,
    /// Lines under it; empty where the panel below says the same.
    pub x_title: Vec<String>,
    /// Lines left of it; empty where the panel to the left says the same.
    pub y_title: Vec<String>,
}

/// The whole sheet, in points.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// Width.
    pub width: f64,
    /// Height.
    pub height: f64,
    /// Left edge of the legend and the foot.
    pub left: f64,
    /// Top of the legend.
    pub legend_top: f64,
    /// The legend.
    pub legend: Legend,
    /// The key of shaded cells, with its top.
    pub key: Option<(Key, f64)>,
    /// The panels in their order.
    pub panels: Vec<PanelPlan>,
    /// Lines of the foot.
    pub foot: Vec<String>,
    /// Top of the foot.
    pub foot_top: f64,
}

/// Ends of the axes of each panel.
type Ends = Vec<(Range, Range)>;

/// Lays a checked figure out.
///
/// # Errors
/// [`DrawError::TooTall`].
pub fn plan(figure: &Figure) -> Result<Plan, DrawError> {
    let mut ends = ends(figure);
    let mut plan = arranged(figure, &ends);
    // Letters need a height in points and an axis is in units of data: a few rounds agree on both.
    for _ in 0..8 {
        if !make_room_for_letters(figure, &plan, &mut ends) {
            break;
        }
        plan = arranged(figure, &ends);
    }
    if plan.height > TALLEST {
        return Err(DrawError::TooTall {
            figure: figure.id.clone(),
            height_mm: plan.height / MM,
            limit_mm: TALLEST / MM,
        });
    }
    Ok(plan)
}

/// Ends of all axes; number axes of the same title share theirs, so that panels can be compared.
fn ends(figure: &Figure) -> Ends {
    let along = |along: Along| -> Vec<Range> {
        let reaches: Vec<_> = figure
            .panels
            .iter()
            .map(|p| axis::reach(p, along))
            .collect();
        (0..figure.panels.len())
            .map(|i| {
                let joined = (0..figure.panels.len())
                    .filter(|j| shares(&figure.panels[i], &figure.panels[*j], along))
                    .filter_map(|j| reaches[j])
                    .reduce(|a, b| a.joined(b));
                joined.map_or(
                    Range {
                        low: 0.0,
                        high: 1.0,
                    },
                    |reach| reach.range(),
                )
            })
            .collect()
    };
    along(Along::X).into_iter().zip(along(Along::Y)).collect()
}

/// Whether two panels have one axis in common: the same panel, or number axes of the same title.
fn shares(a: &Panel, b: &Panel, along: Along) -> bool {
    let axis = |panel: &'_ Panel| match along {
        Along::X => panel.x.clone(),
        _ => panel.y.clone(),
    };
    if std::ptr::eq(a, b) {
        return true;
    }
    let (a, b) = (axis(a), axis(b));
    let number = |scale: &Scale| matches!(scale, Scale::Linear { .. });
    !a.title.is_empty() && a.title == b.title && number(&a.scale) && number(&b.scale)
}

/// Lengthens the axes over which letters stand; `false` if none needed it.
fn make_room_for_letters(figure: &Figure, plan: &Plan, ends: &mut Ends) -> bool {
    let mut longer = false;
    let before = ends.clone();
    for (i, (panel, planned)) in figure.panels.iter().zip(&plan.panels).enumerate() {
        if planned.y.names().is_some() {
            continue;
        }
        let stage = Stage::new(figure, panel, planned.plot, &planned.x, &planned.y);
        let top = labels::letters(&stage)
            .iter()
            .map(|letter| letter.area.top)
            .fold(f64::INFINITY, f64::min);
        let missing = planned.plot.top + 1.0 - top;
        if missing <= 0.0 {
            continue;
        }
        let Range { low, high } = before[i].1;
        let room = (planned.plot.height() - missing - 0.5).max(planned.plot.height() * 0.3);
        let wanted = low + (high - low) * planned.plot.height() / room;
        for (j, other) in figure.panels.iter().enumerate() {
            if shares(panel, other, Along::Y) && wanted > ends[j].1.high {
                ends[j].1.high = wanted;
                longer = true;
            }
        }
    }
    longer
}

/// Panels in a row: as asked, but none narrower than can be read.
fn columns(figure: &Figure, room: f64) -> usize {
    let most = ((room + BETWEEN.0) / (NARROWEST + BETWEEN.0))
        .floor()
        .max(1.0) as usize;
    (figure.columns.max(1) as usize)
        .min(figure.panels.len())
        .min(most)
}

fn arranged(figure: &Figure, ends: &Ends) -> Plan {
    let width = MM
        * match figure.width {
            Width::Single => 85.0,
            Width::Middle => 120.0,
            Width::Double => 170.0,
        };
    let room = width - 2.0 * EDGE;
    let columns = columns(figure, room);
    let cell = (room - BETWEEN.0 * (columns as f64 - 1.0)) / columns as f64;
    let heights: Vec<f64> = figure
        .panels
        .chunks(columns)
        .map(|row| row.iter().map(|p| plot_height(p, cell)).fold(0.0, f64::max))
        .collect();

    // Left of the plot: tick labels and the title of the axis, one width for each column of panels.
    let vertical: Vec<Axis> = figure
        .panels
        .iter()
        .zip(ends)
        .enumerate()
        .map(|(i, (p, (_, y)))| Axis::vertical(&p.y.scale, *y, heights[i / columns], cell * 0.4))
        .collect();
    let y_titles: Vec<Vec<String>> = (0..figure.panels.len())
        .map(|i| y_title(figure, i, columns, heights[i / columns]))
        .collect();
    let mut lefts = vec![0.0_f64; columns];
    for (i, axis) in vertical.iter().enumerate() {
        let left = TICK + TICK_GAP + axis.widest_label() + title_room(&y_titles[i]);
        lefts[i % columns] = lefts[i % columns].max(left);
    }
    const RIGHT: f64 = 6.0;
    let plot_width =
        ((room - lefts.iter().sum::<f64>() - RIGHT - BETWEEN.0 * (columns as f64 - 1.0))
            / columns as f64)
            .max(30.0);
    let mut starts = Vec::with_capacity(columns);
    let mut at = EDGE;
    for left in &lefts {
        starts.push(at + left);
        at += left + plot_width + BETWEEN.0;
    }

    // Above the panels: the legend or the key.
    let legend = Legend::of(figure, room);
    let title = figure.series_title.as_deref().unwrap_or_default();
    // A heading that the legend has used is not the key's.
    let key_title = if legend.height() > 0.0 { "" } else { title };
    let key = Key::of(figure, key_title).map(|key| (key, EDGE + 2.0 + legend.height()));
    let mut top = EDGE + legend.height();
    if let Some((_, key_top)) = &key {
        top = key_top + cells::HEIGHT + 2.0;
    }
    if legend.height() > 0.0 {
        top += 4.0;
    }

    let mut panels = Vec::with_capacity(figure.panels.len());
    for (r, row) in figure.panels.chunks(columns).enumerate() {
        let headings: Vec<Vec<String>> = row.iter().map(|p| heading(p, plot_width)).collect();
        let lines = headings.iter().map(Vec::len).max().unwrap_or(0);
        // Half a tick label may stand above the end of the axis.
        top += (lines as f64 * HEADING * LEADING + if lines > 0 { 4.0 } else { 0.0 }).max(4.0);
        let mut below = 0.0_f64;
        for (c, (panel, heading)) in row.iter().zip(headings).enumerate() {
            let i = r * columns + c;
            let plot = Area {
                left: starts[c],
                right: starts[c] + plot_width,
                top,
                bottom: top + heights[r],
            };
            let x = Axis::horizontal(&panel.x.scale, ends[i].0, plot_width, heights[r] * 0.6);
            let x_title = x_title(figure, i, columns, plot_width);
            below = below.max(x_label_room(&x) + title_room(&x_title));
            panels.push(PanelPlan {
                plot,
                x,
                y: vertical[i].clone(),
                heading,
                x_title,
                y_title: y_titles[i].clone(),
            });
        }
        top += heights[r] + below + BETWEEN.1;
    }
    top -= BETWEEN.1;

    let foot: Vec<String> = match &figure.foot {
        Some(foot) if !foot.trim().is_empty() => {
            text::wrap(foot, FOOT, Face::Regular, room, usize::MAX).lines
        }
        _ => Vec::new(),
    };
    let foot_top = top + if foot.is_empty() { 0.0 } else { 5.0 };
    let height = foot_top + foot.len() as f64 * FOOT * LEADING + EDGE;
    Plan {
        width,
        height,
        left: EDGE,
        legend_top: EDGE,
        legend,
        key,
        panels,
        foot,
        foot_top,
    }
}

/// Height of the plot of a panel that is so wide with all its text.
fn plot_height(panel: &Panel, width: f64) -> f64 {
    // Tick labels and a title take about this much below.
    const BELOW: f64 = 34.0;
    let usual = (width * ASPECT - BELOW).clamp(84.0, 215.0);
    let rows = match &panel.y.scale {
        Scale::Category { labels } => labels.len() as f64,
        Scale::Linear { .. } => match cell_rows(panel) {
            Some(rows) => rows,
            None => return usual,
        },
    };
    if cell_rows(panel).is_some() {
        (rows * 20.0).clamp(60.0, 320.0)
    } else {
        (rows * 16.0).clamp(60.0, 480.0)
    }
}

/// Rows of shaded cells, if the panel has any.
fn cell_rows(panel: &Panel) -> Option<f64> {
    panel
        .marks
        .iter()
        .filter_map(|mark| match mark {
            Mark::Cells { y, .. } => Some(y),
            _ => None,
        })
        .flatten()
        .fold(None, |ends: Option<(f64, f64)>, y| {
            Some(ends.map_or((*y, *y), |(low, high)| (low.min(*y), high.max(*y))))
        })
        .map(|(low, high)| high - low + 1.0)
}

fn title_room(lines: &[String]) -> f64 {
    if lines.is_empty() {
        0.0
    } else {
        TITLE_GAP + lines.len() as f64 * TITLE * LEADING
    }
}

/// Height of the ticks of a horizontal axis with their labels.
pub fn x_label_room(axis: &Axis) -> f64 {
    let labels = if axis.turned {
        axis.widest_label()
    } else {
        axis.most_lines() as f64 * axis.size * LEADING
    };
    TICK + TICK_GAP + labels
}

fn heading(panel: &Panel, room: f64) -> Vec<String> {
    titled(
        panel.title.as_deref().unwrap_or_default(),
        HEADING,
        Face::Bold,
        room,
    )
}

/// The title of the horizontal axis, left to the panel below where that says the same.
fn x_title(figure: &Figure, i: usize, columns: usize, room: f64) -> Vec<String> {
    let panel = &figure.panels[i];
    match figure.panels.get(i + columns) {
        Some(below) if below.x == panel.x => Vec::new(),
        _ => titled(&panel.x.title, TITLE, Face::Regular, room),
    }
}

/// The title of the vertical axis, left to the panel on the left where that says the same.
fn y_title(figure: &Figure, i: usize, columns: usize, room: f64) -> Vec<String> {
    let panel = &figure.panels[i];
    if i % columns > 0 && figure.panels[i - 1].y.title == panel.y.title {
        return Vec::new();
    }
    titled(&panel.y.title, TITLE, Face::Regular, room + 24.0)
}

/// A title on at most two lines; none where it is empty.
fn titled(title: &str, size: f64, face: Face, room: f64) -> Vec<String> {
    if title.trim().is_empty() {
        return Vec::new();
    }
    let mut lines = text::wrap(title, size, face, room, 2).lines;
    if lines.len() > 2 {
        let rest = lines.split_off(1).join(" ");
        lines.push(rest);
    }
    lines
        .iter()
        .map(|line| text::clipped(line, size, face, room))
        .collect()
}
