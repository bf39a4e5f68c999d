//! Text inside a panel: separation letters, names beside points, labels of zones and rules. Each is
//! moved until it covers neither data nor other text.

use caneplot_plugin::findings::Mark;

use super::canvas::{Anchor, Area, Canvas, Lettering, Spot};
use super::covered::covered;
use super::letters;
use super::marks;
use super::palette::{QUIET, TEXT};
use super::stage::Stage;
use super::text::{self, Face};
use super::wrap;

/// Size of names.
const NAME: f64 = 7.5;
/// Size of labels of zones and rules.
const LABEL: f64 = 7.0;

/// Draws all text inside a panel.
pub fn draw(canvas: &mut Canvas, stage: &Stage) {
    if stage.is_empty() {
        let look = lettering(LABEL, Face::Italic, Anchor::Middle);
        canvas.text(stage.plot.middle(), "no data", look);
        return;
    }
    let mut taken = covered(stage);
    taken.extend(letters::draw(canvas, stage));
    for mark in &stage.panel.marks {
        if let Mark::Names { x, y, text } = mark {
            for ((x, y), name) in x.iter().zip(y).zip(text) {
                draw_name(canvas, stage, stage.spot(*x, *y, None), name, &mut taken);
            }
        }
    }
    for mark in &stage.panel.marks {
        match mark {
            Mark::Zone {
                low,
                high,
                label: Some(label),
            } => {
                let zone = marks::zone(stage, *low, *high);
                draw_label(canvas, stage, label, &zone_corners(zone), &mut taken);
            }
            Mark::Rule {
                y: Some(y),
                label: Some(label),
                ..
            } => {
                let at = stage.spot(0.0, *y, None).1;
                let ends = [
                    (false, at - 2.0),
                    (true, at - 2.0),
                    (false, at + 8.0),
                    (true, at + 8.0),
                ]
                .map(|(left, base)| Corner {
                    base,
                    ..Corner::at(stage.plot, left)
                });
                draw_label(canvas, stage, label, &ends, &mut taken);
            }
            Mark::Rule {
                x: Some(x),
                label: Some(label),
                ..
            } => {
                let at = stage.spot(*x, 0.0, None).0;
                let top = stage.plot.top + LABEL;
                let bottom = stage.plot.bottom - 4.0;
                let ends = [(true, top), (false, top), (true, bottom), (false, bottom)].map(
                    |(left, base)| Corner {
                        left,
                        x: if left { at + 3.0 } else { at - 3.0 },
                        base,
                    },
                );
                draw_label(canvas, stage, label, &ends, &mut taken);
            }
            _ => {}
        }
    }
}

fn lettering(size: f64, face: Face, anchor: Anchor) -> Lettering {
    Lettering {
        size,
        face,
        colour: if face == Face::Italic { QUIET } else { TEXT },
        anchor,
        upright: false,
    }
}

/// A place for a label: its baseline, and whether it begins or ends there.
#[derive(Debug, Clone, Copy)]
struct Corner {
    left: bool,
    x: f64,
    base: f64,
}

impl Corner {
    fn at(plot: Area, left: bool) -> Self {
        Self {
            left,
            x: if left {
                plot.left + 4.0
            } else {
                plot.right - 2.0
            },
            base: plot.top,
        }
    }

    fn area(&self, width: f64, size: f64) -> Area {
        let left = if self.left { self.x } else { self.x - width };
        Area {
            left,
            right: left + width,
            top: self.base - size * text::CAPITAL,
            bottom: self.base + size * text::DESCENT,
        }
    }
}

/// Corners of a zone, inside it where it is high enough for text and else above it.
fn zone_corners(zone: Area) -> Vec<Corner> {
    let line = LABEL * 1.3;
    let bases = if zone.height() >= line {
        [
            zone.top + LABEL * text::CAPITAL + 2.5,
            zone.bottom - LABEL * text::DESCENT - 2.0,
        ]
    } else {
        [zone.top - 2.5, zone.bottom + LABEL]
    };
    bases
        .into_iter()
        .flat_map(|base| {
            [false, true].map(|left| Corner {
                base,
                ..Corner::at(zone, left)
            })
        })
        .collect()
}

fn draw_label(
    canvas: &mut Canvas,
    stage: &Stage,
    label: &str,
    corners: &[Corner],
    taken: &mut Vec<Area>,
) {
    let label = wrap::clipped(label, LABEL, Face::Italic, stage.plot.width() - 6.0);
    let width = text::width(&label, LABEL, Face::Italic);
    let areas: Vec<Area> = corners
        .iter()
        .map(|corner| corner.area(width, LABEL))
        .collect();
    let Some(chosen) = freest(&areas, taken, stage.plot) else {
        return;
    };
    let corner = corners[chosen];
    let anchor = if corner.left {
        Anchor::Start
    } else {
        Anchor::End
    };
    canvas.text(
        (corner.x, corner.base),
        &label,
        lettering(LABEL, Face::Italic, anchor),
    );
    taken.push(areas[chosen]);
}

/// The first of the areas that covers least: of what is taken, and of what lies outside the plot.
fn freest(areas: &[Area], taken: &[Area], plot: Area) -> Option<usize> {
    let cost = |area: &Area| {
        let outside = area.width() * area.height() - area.shared(&plot);
        let hidden: f64 = taken.iter().map(|other| area.shared(other)).sum();
        hidden + 3.0 * outside.max(0.0)
    };
    areas
        .iter()
        .map(cost)
        .enumerate()
        // Equal costs keep the earlier place; costs below a hundredth of a square point are none.
        .min_by(|a, b| (a.1 - 0.01).max(0.0).total_cmp(&(b.1 - 0.01).max(0.0)))
        .map(|(i, _)| i)
}

fn draw_name(canvas: &mut Canvas, stage: &Stage, spot: Spot, name: &str, taken: &mut Vec<Area>) {
    if name.trim().is_empty() {
        return;
    }
    let width = text::width(name, NAME, Face::Regular);
    let half = NAME * text::CAPITAL / 2.0;
    // Right of the point first, then around it, then the same further out with a leader.
    let around = |distance: f64| {
        let side = distance + width / 2.0;
        let up = distance + half;
        let slant = distance * 0.75;
        [
            (side, 0.0),
            (slant + width / 2.0, -slant - half),
            (slant + width / 2.0, slant + half),
            (-side, 0.0),
            (-slant - width / 2.0, -slant - half),
            (-slant - width / 2.0, slant + half),
            (0.0, -up),
            (0.0, up),
        ]
    };
    let areas: Vec<Area> = [4.6, 8.0, 12.0, 17.0]
        .into_iter()
        .flat_map(around)
        .map(|(x, y)| Area::around((spot.0 + x, spot.1 + y), width / 2.0, half + 0.6))
        .collect();
    let Some(chosen) = freest(&areas, taken, stage.plot) else {
        return;
    };
    let area = areas[chosen];
    if chosen >= 16 {
        let end = (
            spot.0.clamp(area.left - 1.0, area.right + 1.0),
            spot.1.clamp(area.top, area.bottom),
        );
        canvas.line(&[spot, end], QUIET, 0.4);
    }
    let at = (area.left, area.middle().1 + half);
    canvas.text(at, name, lettering(NAME, Face::Regular, Anchor::Start));
    taken.push(area);
}

#[cfg(test)]
mod tests {
    use super::*;

    const PLOT: Area = Area {
        left: 0.0,
        top: 0.0,
        right: 100.0,
        bottom: 100.0,
    };

    fn square(x: f64, y: f64) -> Area {
        Area::around((x, y), 5.0, 5.0)
    }

    #[test]
    fn the_first_free_place_is_taken() {
        let places = [square(10.0, 10.0), square(30.0, 10.0), square(50.0, 10.0)];
        assert_eq!(freest(&places, &[], PLOT), Some(0));
        assert_eq!(freest(&places, &[square(12.0, 12.0)], PLOT), Some(1));
        assert_eq!(freest(&[], &[], PLOT), None);
    }

    #[test]
    fn a_place_outside_the_plot_is_worse_than_one_on_data() {
        let places = [square(102.0, 10.0), square(30.0, 10.0)];
        assert_eq!(freest(&places, &[square(33.0, 13.0)], PLOT), Some(1));
    }
}
