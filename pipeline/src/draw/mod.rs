//! Figures: from a description in a plugin's findings to an SVG and the same drawing as a PNG.
//!
//! ```text
//! check      refuses what has no place on a sheet         error
//! frame      lays out sheet, legend, panels and axes      ends reach axis ticks titles legend
//! furniture  draws grid, spines, ticks and titles
//! marks      draws data; stage places and spreads it      spread symbols palette cells
//! labels     letters, names and labels clear of the data  letters covered
//! tips       the words a viewer shows where the reader points
//! text       the font measured, markup read               wording wrap
//! canvas     plotters' SVG backend, ten units to a point
//! svg        one pass: raised text, title, description
//! raster     the same SVG as a PNG                         reduce
//! pdf        the same SVG as a page of a PDF
//! ```
//!
//! No clock, no chance, no system font and no hash order: the same figure gives the same bytes.

mod axis;
pub(crate) mod canvas;
mod cells;
mod check;
mod covered;
mod ends;
mod error;
mod frame;
mod furniture;
mod labels;
mod legend;
mod letters;
mod marks;
pub(crate) mod palette;
pub(crate) mod pdf;
pub(crate) mod raster;
mod reach;
mod reduce;
#[cfg(test)]
mod samples;
mod spread;
mod stage;
pub(crate) mod svg;
mod symbols;
#[cfg(test)]
mod tests;
pub(crate) mod text;
mod ticks;
mod tips;
mod titles;
mod wording;
pub(crate) mod wrap;

use caneplot_plugin::findings::{Figure, Mark};

pub use error::{DrawError, MarkPlace};
pub use raster::RESOLUTION;

use canvas::Canvas;
use frame::Plan;
use stage::Stage;

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
    let plan = frame::plan(figure, frame::millimetres(figure.width))?;
    let svg = svg_of(figure, &plan)?;
    let png = raster::png(&svg, plan.width, plan.height, RESOLUTION)
        .map_err(|message| failed(figure, message))?;
    Ok(Drawing { svg, png })
}

/// A figure drawn for a page of a journal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ForPrint {
    /// The drawing with its text as text, in points.
    pub svg: String,
    /// The same as a page of a PDF.
    pub pdf: Vec<u8>,
    /// The same in pixels.
    pub png: Vec<u8>,
}

/// Draws a figure again for a page: as wide as asked (its own width without that), its text as large
/// as ever, and a PNG of so many pixels an inch.
///
/// # Errors
/// As [`draw`].
pub fn for_print(figure: &Figure, width_mm: Option<f64>, dpi: f64) -> Result<ForPrint, DrawError> {
    check::check(figure)?;
    let figure = &wording::legible(figure);
    let width_mm = width_mm.unwrap_or_else(|| frame::millimetres(figure.width));
    let plan = frame::plan(figure, width_mm)?;
    let svg = svg_of(figure, &plan)?;
    let stop = |message| failed(figure, message);
    let png = raster::png(&svg, plan.width, plan.height, dpi).map_err(stop)?;
    let page = pdf::Page {
        svg: svg.clone(),
        width: plan.width,
        height: plan.height,
    };
    let (title, _) = spoken(figure);
    let pdf = pdf::document(title, &[page]).map_err(stop)?;
    Ok(ForPrint { svg, pdf, png })
}

fn failed(figure: &Figure, message: String) -> DrawError {
    DrawError::Render {
        figure: figure.id.clone(),
        message,
    }
}

/// The drawing of a figure that is laid out.
fn svg_of(figure: &Figure, plan: &Plan) -> Result<String, DrawError> {
    let mut raw = String::new();
    draw_sheet(figure, plan, &mut raw).map_err(|message| failed(figure, message))?;
    let (title, description) = spoken(figure);
    Ok(svg::finished(
        &raw,
        plan.width,
        plan.height,
        title,
        description,
    ))
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
        key.draw(&mut canvas, (plan.left, *top), plan.width - plan.left);
    }
    for (panel, planned) in figure.panels.iter().zip(&plan.panels) {
        let stage = Stage::new(figure, panel, planned.plot, &planned.x, &planned.y);
        marks::draw_zones(&mut canvas, &stage);
        furniture::draw_grid(&mut canvas, &stage);
        furniture::draw_axes(&mut canvas, planned);
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
            furniture::draw_spines(&mut canvas, planned);
            furniture::draw_zero(&mut canvas, &stage);
        }
        labels::draw(&mut canvas, &stage);
        furniture::draw_titles(&mut canvas, planned);
    }
    furniture::draw_foot(&mut canvas, plan);
    canvas.finish()
}

fn fills_to_the_spine(mark: &Mark) -> bool {
    matches!(mark, Mark::Bar { .. } | Mark::Cells { .. })
}
