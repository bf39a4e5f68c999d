//! Separation letters: above the highest of what they belong to, and clear of everything else.

use caneplot_plugin::findings::Mark;

use super::canvas::{Anchor, Area, Canvas, Lettering};
use super::covered::covered;
use super::palette::{PAPER, TEXT};
use super::stage::Stage;
use super::text::{self, Face};

/// Size of separation letters.
const LETTER: f64 = 8.0;
/// Distance of letters from what they stand over.
const CLEAR: f64 = 2.6;

/// Letters with the room it takes.
#[derive(Debug, Clone, PartialEq)]
pub struct Placed {
    /// The text.
    pub text: String,
    /// The room it takes.
    pub area: Area,
    /// Whether it is read from bottom to top.
    pub upright: bool,
}

/// Draws the letters of a panel; the result is the room they take.
pub fn draw(canvas: &mut Canvas, stage: &Stage) -> Vec<Area> {
    let mut areas = Vec::new();
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
        let look = Lettering {
            size: LETTER,
            face: Face::Regular,
            colour: TEXT,
            anchor: Anchor::Middle,
            upright: false,
        };
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
        areas.push(letter.area);
    }
    areas
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
