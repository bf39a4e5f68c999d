//! Labels for the posts of the plots: ten to a page that fits A4 and US Letter, cut along the dashes.

use super::super::records::Shown;
use super::super::{Layout, Plot};
use super::map::fitted;
use super::sheets;
use crate::draw::canvas::{Anchor, Area, Canvas, Lettering};
use crate::draw::palette;
use crate::draw::text::{self, Face};
use crate::draw::{pdf, svg};

/// The page: as wide as A4 and as high as US Letter, without their margins.
const WIDTH: f64 = 575.0;
/// Height of the page in points.
const HEIGHT: f64 = 770.0;
const ACROSS: usize = 2;
const DOWN: usize = 5;

/// The labels of a layout.
///
/// # Errors
/// What a renderer said.
pub fn pdf(layout: &Layout) -> Result<Vec<u8>, String> {
    let title = format!("Plot labels: {}", layout.plan.title);
    let pages: Result<Vec<pdf::Page>, String> = layout
        .plots
        .chunks(ACROSS * DOWN)
        .map(|plots| {
            Ok(pdf::Page {
                svg: page(layout, plots, &title)?,
                width: WIDTH,
                height: HEIGHT,
            })
        })
        .collect();
    pdf::document(&title, &pages?)
}

fn page(layout: &Layout, plots: &[Plot], title: &str) -> Result<String, String> {
    let mut raw = String::new();
    let mut canvas = Canvas::new(&mut raw, WIDTH, HEIGHT);
    let (wide, high) = (WIDTH / ACROSS as f64, HEIGHT / DOWN as f64);
    for (at, plot) in plots.iter().enumerate() {
        let (left, top) = (wide * (at % ACROSS) as f64, high * (at / ACROSS) as f64);
        let area = Area {
            left,
            top,
            right: left + wide,
            bottom: top + high,
        };
        label(&mut canvas, layout, plot, area);
    }
    for column in 0..=ACROSS {
        let x = (wide * column as f64).clamp(0.5, WIDTH - 0.5);
        canvas.dashes(&[(x, 0.0), (x, HEIGHT)], palette::GRID, 0.7, (4.0, 4.0));
    }
    for row in 0..=DOWN {
        let y = (high * row as f64).clamp(0.5, HEIGHT - 0.5);
        canvas.dashes(&[(0.0, y), (WIDTH, y)], palette::GRID, 0.7, (4.0, 4.0));
    }
    canvas.finish()?;
    let words = "Labels for the posts of the plots";
    Ok(svg::finished(&raw, WIDTH, HEIGHT, title, words))
}

fn label(canvas: &mut Canvas<'_>, layout: &Layout, plot: &Plot, area: Area) {
    let mut line = |spot: (f64, f64), words: &str, size: f64, face: Face, anchor: Anchor| {
        let look = Lettering {
            size,
            face,
            colour: palette::TEXT,
            anchor,
            upright: false,
        };
        canvas.text(spot, &text::cleaned(words), look);
    };
    let room = area.width() - 36.0;
    let left = area.left + 18.0;
    let title = fitted(&layout.plan.title, 9.0, Face::Regular, room);
    line(
        (left, area.top + 24.0),
        &title,
        9.0,
        Face::Regular,
        Anchor::Start,
    );
    let number = plot.number.to_string();
    line(
        (left, area.top + 84.0),
        &number,
        58.0,
        Face::Bold,
        Anchor::Start,
    );
    let place = sheets::place(layout, plot).join(" ");
    let right = area.right - 18.0;
    line(
        (right, area.top + 84.0),
        &place,
        30.0,
        Face::Regular,
        Anchor::End,
    );
    let row = layout.field.rows[plot.site.row].number;
    let vines = format!("Row {row}, vines {}", sheets::span(&plot.site.vines));
    let vines = fitted(&vines, 13.0, Face::Regular, room);
    line(
        (left, area.top + 110.0),
        &vines,
        13.0,
        Face::Regular,
        Anchor::Start,
    );
    let foot = if layout.plan.records.treatments_on.contains(&Shown::Labels) {
        layout.plan.words(&plot.treatment)
    } else {
        match (plot.site.before.as_slice(), plot.site.behind.as_slice()) {
            ([], []) => String::new(),
            (before, behind) => {
                let all: Vec<u32> = before.iter().chain(behind).copied().collect();
                format!("Buffers {}", sheets::span(&all))
            }
        }
    };
    let foot = fitted(&foot, 12.0, Face::Bold, room);
    line(
        (left, area.top + 132.0),
        &foot,
        12.0,
        Face::Bold,
        Anchor::Start,
    );
}
