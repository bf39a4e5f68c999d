//! Text inside a panel: separation letters, names beside points, labels of zones and rules. Each is
//! moved until it covers neither data nor other text.

use caneplot_plugin::findings::Mark;

use super::canvas::{Anchor, Area, Canvas, Lettering, Spot};
use super::marks;
use super::palette::{PAPER, QUIET, TEXT};
use super::stage::Stage;
use super::text::{self, Face};

/// Size of separation letters.
const LETTER: f64 = 8.0;
/// Size of names.
const NAME: f64 = 7.5;
/// Size of labels of zones and rules.
const LABEL: f64 = 7.0;
/// Distance of letters from what they stand over.
const CLEAR: f64 = 2.6;

/// A line of text with the room it takes.
#[derive(Debug, Clone, PartialEq)]
pub struct Placed {
    /// The text.
    pub text: String,
    /// The room it takes.
    pub area: Area,
    /// Whether it is read from bottom to top.
    pub upright: bool,
}

/// What the data of a panel cover, in small rectangles.
pub fn covered(stage: &Stage) -> Vec<Area> {
    let mut areas = Vec::new();
    for mark in &stage.panel.marks {
        match mark {
            Mark::Points {
                x,
                y,
                series,
                faint,
            } => {
                let radius = stage.radius(*faint, x.len());
                let spots = if *faint {
                    stage.spread_spots(x, y, *series)
                } else {
                    x.iter()
                        .zip(y)
                        .map(|(x, y)| stage.spot(*x, *y, *series))
                        .collect()
                };
                areas.extend(
                    spots
                        .into_iter()
                        .map(|spot| Area::around(spot, radius, radius)),
                );
            }
            Mark::Interval {
                x,
                low,
                high,
                series,
            } => {
                for ((x, low), high) in x.iter().zip(low).zip(high) {
                    let ends = [
                        stage.spot(*x, *low, *series),
                        stage.spot(*x, *high, *series),
                    ];
                    areas.push(between(ends, stage.cap(), 0.5));
                }
            }
            Mark::Across {
                low,
                high,
                y,
                series,
            } => {
                for ((low, high), y) in low.iter().zip(high).zip(y) {
                    let ends = [
                        stage.spot(*low, *y, *series),
                        stage.spot(*high, *y, *series),
                    ];
                    areas.push(between(ends, 0.5, stage.cap()));
                }
            }
            Mark::Bar { x, y, series } => {
                let half = stage.bar_width(*series) / 2.0;
                for (x, y) in x.iter().zip(y) {
                    let ends = [stage.spot(*x, *y, *series), stage.spot(*x, 0.0, *series)];
                    areas.push(between(ends, half, 0.0));
                }
            }
            Mark::Line { x, y, series, .. } => {
                let spots: Vec<Spot> = x
                    .iter()
                    .zip(y)
                    .map(|(x, y)| stage.spot(*x, *y, *series))
                    .collect();
                for pair in spots.windows(2) {
                    areas.extend(along(pair[0], pair[1]));
                }
            }
            Mark::Rule { y: Some(y), .. } => {
                let at = stage.spot(0.0, *y, None).1;
                areas.push(Area {
                    top: at - 0.3,
                    bottom: at + 0.3,
                    ..stage.plot
                });
            }
            _ => {}
        }
    }
    areas
}

fn between(ends: [Spot; 2], half_width: f64, half_height: f64) -> Area {
    Area {
        left: ends[0].0.min(ends[1].0) - half_width,
        right: ends[0].0.max(ends[1].0) + half_width,
        top: ends[0].1.min(ends[1].1) - half_height,
        bottom: ends[0].1.max(ends[1].1) + half_height,
    }
}

/// Small squares along a line.
fn along(from: Spot, to: Spot) -> impl Iterator<Item = Area> {
    let length = (to.0 - from.0).abs().max((to.1 - from.1).abs());
    let pieces = (length / 3.0).clamp(1.0, 400.0) as usize;
    (0..=pieces).map(move |i| {
        let part = i as f64 / pieces as f64;
        let spot = (
            from.0 + (to.0 - from.0) * part,
            from.1 + (to.1 - from.1) * part,
        );
        Area::around(spot, 1.0, 1.0)
    })
}

/// The letters of a panel, each above the highest of what it belongs to, moved up where two would
/// touch. They may stand above the plot: the axis is then made longer.
pub fn letters(stage: &Stage) -> Vec<Placed> {
    let upright = letters_upright(stage);
    let mut wanted: Vec<Placed> = Vec::new();
    for mark in &stage.panel.marks {
        let Mark::Letters { x, y, text, series } = mark else {
            continue;
        };
        for ((x, y), text) in x.iter().zip(y).zip(text) {
            if text.trim().is_empty() {
                continue;
            }
            let (across, own) = stage.spot(*x, *y, *series);
            let base = own.min(highest(stage, *x, *series)) - CLEAR;
            let length = text::width(text, LETTER, Face::Regular);
            let height = LETTER * text::CAPITAL;
            let (width, height) = if upright {
                (height, length)
            } else {
                (length, height)
            };
            wanted.push(Placed {
                text: text.clone(),
                area: Area {
                    left: across - width / 2.0,
                    right: across + width / 2.0,
                    top: base - height,
                    bottom: base,
                },
                upright,
            });
        }
    }
    if wanted.is_empty() {
        return wanted;
    }
    let mut taken = covered(stage);
    let mut placed = Vec::with_capacity(wanted.len());
    for mut letter in wanted {
        // Every move goes up and past one rectangle for good, so there are no more moves than
        // rectangles.
        while let Some(top) = taken
            .iter()
            .filter(|area| grown(&letter.area, 0.8).shared(area) > 0.0)
            .map(|area| area.top)
            .min_by(f64::total_cmp)
        {
            let up = letter.area.bottom - (top - 1.4);
            letter.area.top -= up;
            letter.area.bottom -= up;
        }
        taken.push(letter.area);
        placed.push(letter);
    }
    placed
}

/// Whether letters are turned upright, because neighbours are nearer than the longest is wide.
fn letters_upright(stage: &Stage) -> bool {
    let longest = stage
        .panel
        .marks
        .iter()
        .filter_map(|mark| match mark {
            Mark::Letters { text, .. } => Some(text::widest(text, LETTER, Face::Regular)),
            _ => None,
        })
        .fold(0.0, f64::max);
    stage.letter_room().is_some_and(|room| longest > room - 1.5)
}

fn grown(area: &Area, by: f64) -> Area {
    Area {
        left: area.left - by,
        right: area.right + by,
        top: area.top - by,
        bottom: area.bottom + by,
    }
}

/// Top of what stands at a place: of one series, or of all where the letters have none.
fn highest(stage: &Stage, at: f64, series: Option<usize>) -> f64 {
    let mut top = f64::INFINITY;
    for mark in &stage.panel.marks {
        let (x, y, of, rim) = match mark {
            Mark::Points {
                x,
                y,
                series,
                faint,
            } => (x, y, *series, stage.radius(*faint, x.len())),
            Mark::Interval {
                x, high, series, ..
            } => (x, high, *series, 0.5),
            Mark::Bar { x, y, series } => (x, y, *series, 0.0),
            _ => continue,
        };
        if series.is_some() && of.is_some() && of != series {
            continue;
        }
        for (x, y) in x.iter().zip(y).filter(|(x, _)| **x == at) {
            let height = if matches!(mark, Mark::Bar { .. }) {
                y.max(0.0)
            } else {
                *y
            };
            top = top.min(stage.spot(*x, height, of).1 - rim);
        }
    }
    top
}

/// Draws all text inside a panel.
pub fn draw(canvas: &mut Canvas, stage: &Stage) {
    let mut taken = covered(stage);
    let zoned = stage
        .panel
        .marks
        .iter()
        .any(|mark| matches!(mark, Mark::Zone { .. }));
    for letter in letters(stage) {
        // The grid does not run through a letter.
        if !zoned {
            canvas.block(grown(&letter.area, 0.5), PAPER);
        }
        let look = lettering(LETTER, Face::Regular, Anchor::Middle);
        if letter.upright {
            let spot = (letter.area.right, letter.area.bottom);
            let look = Lettering {
                anchor: Anchor::Start,
                upright: true,
                ..look
            };
            canvas.text(spot, &letter.text, look);
        } else {
            canvas.text(
                (letter.area.middle().0, letter.area.bottom),
                &letter.text,
                look,
            );
        }
        taken.push(letter.area);
    }
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
    let label = text::clipped(label, LABEL, Face::Italic, stage.plot.width() - 6.0);
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
            spot.0.clamp(area.left, area.right),
            spot.1.clamp(area.top, area.bottom),
        );
        canvas.line(&[spot, end], QUIET, 0.4);
    }
    let at = (area.left, area.middle().1 + half);
    canvas.text(at, name, lettering(NAME, Face::Regular, Anchor::Start));
    taken.push(area);
}
