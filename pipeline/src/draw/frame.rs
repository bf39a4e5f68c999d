//! The layout: how large the sheet is, where each panel stands, and how its axes run.

use caneplot_plugin::findings::{Figure, Mark, Panel, Scale, Width};

use super::axis::Axis;
use super::canvas::Area;
use super::cells::{self, Key};
use super::ends::{self, Ends};
use super::error::DrawError;
use super::legend::Legend;
use super::text::{Face, LEADING};
use super::titles::{self, HEADING};
use super::wrap;

/// Points in a millimetre.
const MM: f64 = 72.0 / 25.4;
/// Height beyond which a figure is refused: a page is 297 mm.
const TALLEST: f64 = 700.0 * MM;
/// Free edge of the sheet.
const EDGE: f64 = 3.0;
/// Free edge right of the last plot, where half a tick label may stand.
const RIGHT: f64 = 6.0;
/// Distance of panels side by side, and of rows.
const BETWEEN: (f64, f64) = (12.0, 10.0);
/// The narrowest panel: more in a row go on to another row.
const NARROWEST: f64 = 78.0;
/// Height of a panel as a share of its width, all its text included.
const ASPECT: f64 = 0.72;
/// Size of the foot.
pub const FOOT: f64 = 7.0;
/// Length of a tick.
pub const TICK: f64 = 3.0;
/// Distance of a tick and its label.
pub const TICK_GAP: f64 = 2.0;

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
    /// Depth of ticks and tick labels under it, the same in its row.
    pub x_labels: f64,
    /// Width of ticks and tick labels left of it, the same in its column.
    pub y_labels: f64,
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

/// Millimetres a width of a figure stands for.
#[must_use]
pub fn millimetres(width: Width) -> f64 {
    match width {
        Width::Single => 85.0,
        Width::Middle => 120.0,
        Width::Double => 170.0,
    }
}

/// Lays a checked figure out on a sheet of so many millimetres.
///
/// # Errors
/// [`DrawError::TooTall`].
pub fn plan(figure: &Figure, width_mm: f64) -> Result<Plan, DrawError> {
    let mut ends = ends::ends(figure);
    let mut plan = arranged(figure, &ends, width_mm * MM);
    // Letters need a height in points and an axis is in units of data: a few rounds agree on both.
    for _ in 0..8 {
        if !ends::make_room_for_letters(figure, &plan.panels, &mut ends) {
            break;
        }
        plan = arranged(figure, &ends, width_mm * MM);
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

/// Panels in a row: as asked, but none narrower than can be read.
fn columns(figure: &Figure, room: f64) -> usize {
    let most = ((room + BETWEEN.0) / (NARROWEST + BETWEEN.0))
        .floor()
        .max(1.0) as usize;
    (figure.columns.max(1) as usize)
        .min(figure.panels.len())
        .min(most)
}

fn arranged(figure: &Figure, ends: &Ends, width: f64) -> Plan {
    let room = width - 2.0 * EDGE;
    let columns = columns(figure, room);
    let sides = Sides::of(figure, ends, columns, room);
    let legend = Legend::of(figure, room);
    let key = key(figure, &legend);
    let mut top = match &key {
        Some((_, key_top)) => key_top + cells::HEIGHT + 4.0,
        None if legend.height() > 0.0 => EDGE + legend.height() + 4.0,
        None => EDGE,
    };
    let mut panels = Vec::with_capacity(figure.panels.len());
    for row in 0..figure.panels.len().div_ceil(columns) {
        if row > 0 {
            top += BETWEEN.1;
        }
        top = add_row(&mut panels, figure, ends, &sides, row, top);
    }
    let foot = match &figure.foot {
        Some(foot) if !foot.trim().is_empty() => {
            wrap::wrap(foot, FOOT, Face::Regular, room, usize::MAX).lines
        }
        _ => Vec::new(),
    };
    let foot_top = top + if foot.is_empty() { 0.0 } else { 5.0 };
    Plan {
        width,
        height: foot_top + foot.len() as f64 * FOOT * LEADING + EDGE,
        left: EDGE,
        legend_top: EDGE,
        legend,
        key,
        panels,
        foot,
        foot_top,
    }
}

/// The key of shaded cells with its top; it has the heading that no legend uses.
fn key(figure: &Figure, legend: &Legend) -> Option<(Key, f64)> {
    let title = figure
        .series_title
        .as_deref()
        .filter(|_| legend.height() == 0.0);
    let key = Key::of(figure, title.unwrap_or_default())?;
    Some((key, EDGE + 2.0 + legend.height()))
}

/// What stands left of the plots: vertical axes with their titles, as wide in all rows.
struct Sides {
    columns: usize,
    /// Height of the plots of each row.
    heights: Vec<f64>,
    /// Vertical axis of each panel.
    axes: Vec<Axis>,
    /// Its title.
    titles: Vec<Vec<String>>,
    /// Width of the tick labels of each column of panels.
    labels: Vec<f64>,
    /// Left edge of the plots of each column.
    starts: Vec<f64>,
    /// Width of every plot.
    width: f64,
}

impl Sides {
    fn of(figure: &Figure, ends: &Ends, columns: usize, room: f64) -> Self {
        let gaps = BETWEEN.0 * (columns as f64 - 1.0);
        let cell = (room - gaps) / columns as f64;
        let heights: Vec<f64> = figure
            .panels
            .chunks(columns)
            .map(|row| row.iter().map(|p| plot_height(p, cell)).fold(0.0, f64::max))
            .collect();
        let axes: Vec<Axis> = figure
            .panels
            .iter()
            .zip(ends)
            .enumerate()
            .map(|(i, (p, (_, y)))| {
                Axis::vertical(&p.y.scale, *y, heights[i / columns], cell * 0.4)
            })
            .collect();
        let titles: Vec<Vec<String>> = (0..figure.panels.len())
            .map(|i| titles::y_title(figure, i, columns, heights[i / columns]))
            .collect();
        let (mut labels, mut beside) = (vec![0.0_f64; columns], vec![0.0_f64; columns]);
        for (i, (axis, title)) in axes.iter().zip(&titles).enumerate() {
            let column = i % columns;
            labels[column] = labels[column].max(axis.widest_label());
            beside[column] = beside[column].max(titles::title_room(title));
        }
        let lefts: Vec<f64> = labels
            .iter()
            .zip(&beside)
            .map(|(labels, beside)| TICK + TICK_GAP + labels + beside)
            .collect();
        let free = room - lefts.iter().sum::<f64>() - RIGHT - gaps;
        let width = (free / columns as f64).max(30.0);
        let mut starts = Vec::with_capacity(columns);
        let mut at = EDGE;
        for left in &lefts {
            starts.push(at + left);
            at += left + width + BETWEEN.0;
        }
        Self {
            columns,
            heights,
            axes,
            titles,
            labels,
            starts,
            width,
        }
    }
}

/// Plans the panels of one row from its top; the result is its bottom.
fn add_row(
    panels: &mut Vec<PanelPlan>,
    figure: &Figure,
    ends: &Ends,
    sides: &Sides,
    row: usize,
    top: f64,
) -> f64 {
    let first = row * sides.columns;
    let members = first..figure.panels.len().min(first + sides.columns);
    let height = sides.heights[row];
    let headings: Vec<Vec<String>> = members
        .clone()
        .map(|i| titles::heading(&figure.panels[i], sides.width))
        .collect();
    let lines = headings.iter().map(Vec::len).max().unwrap_or(0);
    // Half a tick label may stand above the end of the axis.
    let over = match lines {
        0 => 4.0,
        lines => lines as f64 * HEADING * LEADING + 4.0,
    };
    let axes: Vec<Axis> = members
        .clone()
        .map(|i| {
            let scale = &figure.panels[i].x.scale;
            Axis::horizontal(scale, ends[i].0, sides.width, height * 0.6)
        })
        .collect();
    let label_depth = axes.iter().map(label_depth).fold(0.0, f64::max);
    let mut title_depth = 0.0_f64;
    for ((i, x), heading) in members.zip(axes).zip(headings) {
        let column = i % sides.columns;
        let x_title = titles::x_title(figure, i, sides.columns, sides.width);
        title_depth = title_depth.max(titles::title_room(&x_title));
        panels.push(PanelPlan {
            plot: Area {
                left: sides.starts[column],
                right: sides.starts[column] + sides.width,
                top: top + over,
                bottom: top + over + height,
            },
            x,
            y: sides.axes[i].clone(),
            heading,
            x_title,
            y_title: sides.titles[i].clone(),
            x_labels: label_depth,
            y_labels: TICK + TICK_GAP + sides.labels[column],
        });
    }
    top + over + height + label_depth + title_depth
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

/// Height of the ticks of a horizontal axis with their labels.
fn label_depth(axis: &Axis) -> f64 {
    let labels = if axis.turned {
        axis.widest_label()
    } else {
        axis.most_lines() as f64 * axis.size * LEADING
    };
    TICK + TICK_GAP + labels
}
