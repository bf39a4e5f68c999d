//! The sheet a figure is drawn on: plotters' SVG backend, spoken to in points.
//!
//! plotters has whole-number coordinates, so one point is ten of its units. Text is always set by
//! its baseline; [`super::svg`] takes out the vertical shift that plotters adds.

use plotters::coord::Shift;
use plotters::element::DashedPathElement;
use plotters::prelude::{
    Circle, DrawingArea, FontFamily, FontStyle, FontTransform, IntoDrawingArea, PathElement,
    Polygon, RGBColor, Rectangle, SVGBackend, ShapeStyle, Text,
};
use plotters::style::text_anchor::{HPos, Pos, VPos};
use plotters::style::{Color, FontDesc, TextStyle};

use super::palette::Colour;
use super::svg;
use super::text::{self, Face};

/// Units of plotters in a point.
pub const UNITS: f64 = 10.0;

/// plotters writes its font size divided by this into an SVG.
const FONT_RATIO: f64 = 1.24;

/// A place on the sheet in points, from the top left.
pub type Spot = (f64, f64);

/// A rectangle on the sheet in points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Area {
    /// Left edge.
    pub left: f64,
    /// Top edge.
    pub top: f64,
    /// Right edge.
    pub right: f64,
    /// Bottom edge.
    pub bottom: f64,
}

impl Area {
    /// The rectangle around a centre.
    pub fn around((x, y): Spot, half_width: f64, half_height: f64) -> Self {
        Self {
            left: x - half_width,
            top: y - half_height,
            right: x + half_width,
            bottom: y + half_height,
        }
    }

    /// Its width.
    pub fn width(&self) -> f64 {
        self.right - self.left
    }

    /// Its height.
    pub fn height(&self) -> f64 {
        self.bottom - self.top
    }

    /// Its middle.
    pub fn middle(&self) -> Spot {
        (
            f64::midpoint(self.left, self.right),
            f64::midpoint(self.top, self.bottom),
        )
    }

    /// The size of the part shared with another rectangle, in square points.
    pub fn shared(&self, other: &Area) -> f64 {
        let across = self.right.min(other.right) - self.left.max(other.left);
        let down = self.bottom.min(other.bottom) - self.top.max(other.top);
        across.max(0.0) * down.max(0.0)
    }
}

/// A colour with its opacity from 0 to 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ink {
    /// The colour.
    pub colour: Colour,
    /// Its opacity.
    pub opacity: f64,
}

impl From<Colour> for Ink {
    fn from(colour: Colour) -> Self {
        Self {
            colour,
            opacity: 1.0,
        }
    }
}

/// Where a line of text stands relative to its spot.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// It begins there.
    Start,
    /// Its middle is there.
    Middle,
    /// It ends there.
    End,
}

/// How a line of text looks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lettering {
    /// Size in points.
    pub size: f64,
    /// Style.
    pub face: Face,
    /// Colour.
    pub colour: Colour,
    /// Side that the spot holds.
    pub anchor: Anchor,
    /// Whether it is read from bottom to top.
    pub upright: bool,
}

/// The sheet.
pub struct Canvas<'a> {
    area: DrawingArea<SVGBackend<'a>, Shift>,
    failure: Option<String>,
}

impl<'a> Canvas<'a> {
    /// An empty sheet of that many points that writes into `svg`.
    pub fn new(svg: &'a mut String, width: f64, height: f64) -> Self {
        let size = (units(width).unsigned_abs(), units(height).unsigned_abs());
        Self {
            area: SVGBackend::with_string(svg, size).into_drawing_area(),
            failure: None,
        }
    }

    /// Closes the document.
    ///
    /// # Errors
    /// What plotters said about the first element that it refused.
    pub fn finish(mut self) -> Result<(), String> {
        let closed = self.area.present();
        self.keep(closed);
        self.failure.map_or(Ok(()), Err)
    }

    fn keep<E: std::fmt::Display>(&mut self, outcome: Result<(), E>) {
        if let (Err(error), None) = (outcome, &self.failure) {
            self.failure = Some(error.to_string());
        }
    }

    /// A line through spots.
    pub fn line(&mut self, spots: &[Spot], ink: impl Into<Ink>, thickness: f64) {
        let path = PathElement::new(pixels(spots), style(ink.into(), thickness));
        let outcome = self.area.draw(&path);
        self.keep(outcome);
    }

    /// A dashed line through spots.
    pub fn dashes(
        &mut self,
        spots: &[Spot],
        ink: impl Into<Ink>,
        thickness: f64,
        dash: (f64, f64),
    ) {
        let path = DashedPathElement::new(
            pixels(spots),
            units(dash.0),
            units(dash.1),
            style(ink.into(), thickness),
        );
        let outcome = self.area.draw(&path);
        self.keep(outcome);
    }

    /// A filled outline.
    pub fn polygon(&mut self, spots: &[Spot], ink: impl Into<Ink>) {
        let polygon = Polygon::new(pixels(spots), style(ink.into(), 0.0).filled());
        let outcome = self.area.draw(&polygon);
        self.keep(outcome);
    }

    /// A filled rectangle.
    pub fn block(&mut self, area: Area, ink: impl Into<Ink>) {
        let corners = [
            pixel((area.left, area.top)),
            pixel((area.right, area.bottom)),
        ];
        let block = Rectangle::new(corners, style(ink.into(), 0.0).filled());
        let outcome = self.area.draw(&block);
        self.keep(outcome);
    }

    /// A disc.
    pub fn disc(&mut self, centre: Spot, radius: f64, ink: impl Into<Ink>) {
        let disc = Circle::new(
            pixel(centre),
            units(radius),
            style(ink.into(), 0.0).filled(),
        );
        let outcome = self.area.draw(&disc);
        self.keep(outcome);
    }

    /// A mark of one or more shapes: a viewer shows the words where the reader points at it.
    pub fn told(&mut self, words: &str, draw: impl FnOnce(&mut Self)) {
        self.sign(&format!("{}{words}", svg::OPENING));
        draw(self);
        self.sign(svg::CLOSING);
    }

    /// A sign for [`svg::finished`], which plotters takes for text.
    fn sign(&mut self, sign: &str) {
        let style = TextStyle::from(FontDesc::new(
            FontFamily::Name(text::FAMILIES),
            UNITS,
            FontStyle::Normal,
        ));
        let outcome = self.area.draw(&Text::new(sign.to_owned(), (0, 0), style));
        self.keep(outcome);
    }

    /// One line of text with its baseline at the spot.
    pub fn text(&mut self, spot: Spot, text: &str, look: Lettering) {
        if text.trim().is_empty() {
            return;
        }
        let face = match look.face {
            Face::Regular => FontStyle::Normal,
            Face::Bold => FontStyle::Bold,
            Face::Italic => FontStyle::Italic,
        };
        let side = match look.anchor {
            Anchor::Start => HPos::Left,
            Anchor::Middle => HPos::Center,
            Anchor::End => HPos::Right,
        };
        let turn = if look.upright {
            FontTransform::Rotate270
        } else {
            FontTransform::None
        };
        let font = FontDesc::new(
            FontFamily::Name(text::FAMILIES),
            look.size * UNITS * FONT_RATIO,
            face,
        )
        .transform(turn);
        let colour = rgb(look.colour);
        let style = TextStyle::from(font)
            .color(&colour)
            .pos(Pos::new(side, VPos::Bottom));
        let element = Text::new(text.to_owned(), pixel(spot), style);
        let outcome = self.area.draw(&element);
        self.keep(outcome);
    }
}

/// Points as whole units; the size of a sheet is bounded long before the clamp.
fn units(points: f64) -> i32 {
    (points * UNITS).round().clamp(-1e6, 1e6) as i32
}

fn pixel((x, y): Spot) -> (i32, i32) {
    (units(x), units(y))
}

fn pixels(spots: &[Spot]) -> Vec<(i32, i32)> {
    spots.iter().copied().map(pixel).collect()
}

fn rgb(colour: Colour) -> RGBColor {
    RGBColor(colour.0, colour.1, colour.2)
}

fn style(ink: Ink, thickness: f64) -> ShapeStyle {
    rgb(ink.colour)
        .mix(ink.opacity)
        .stroke_width(units(thickness).unsigned_abs())
}
