//! The same SVG as a page of a PDF: shapes stay shapes, text stays text in the vendored font.
//!
//! Only what our own drawings hold is carried over: paths with plain colours and text without
//! decoration. No date is written, and nothing depends on the machine.

use std::collections::BTreeMap;

use krilla::SerializeSettings;
use krilla::color::rgb;
use krilla::geom::{PathBuilder, Point, Transform};
use krilla::metadata::Metadata;
use krilla::num::NormalizedF32;
use krilla::page::PageSettings;
use krilla::paint::{Fill, FillRule, LineCap, LineJoin, Stroke, StrokeDash};
use krilla::surface::Surface;
use krilla::text::{Font, GlyphId, KrillaGlyph};
use resvg::tiny_skia::{self, PathSegment};
use resvg::usvg::{self, Node, fontdb};

use super::raster;

/// A drawing for a page.
#[derive(Debug, Clone)]
pub struct Page {
    /// The SVG.
    pub svg: String,
    /// Width in points.
    pub width: f64,
    /// Height in points.
    pub height: f64,
}

/// A PDF of drawings, one a page.
///
/// # Errors
/// What the parser or the writer said.
pub fn document(title: &str, pages: &[Page]) -> Result<Vec<u8>, String> {
    let mut document = krilla::Document::new_with(SerializeSettings {
        enable_tagging: false,
        ..SerializeSettings::default()
    });
    let creator = format!("caneplot {}", env!("CARGO_PKG_VERSION"));
    document.set_metadata(
        Metadata::new()
            .title(title.to_owned())
            .creator(creator)
            .language("en".to_owned()),
    );
    for page in pages {
        let tree = raster::tree(&page.svg)?;
        let size = PageSettings::from_wh(page.width as f32, page.height as f32)
            .ok_or_else(|| format!("a page of {} by {} points", page.width, page.height))?;
        let mut sheet = document.start_page_with(size);
        let mut surface = sheet.surface();
        // The tree's own size is in pixels of 1/96 inch whatever the unit of the root was.
        let scale = page.width as f32 / tree.size().width();
        surface.push_transform(&Transform::from_scale(scale, scale));
        let mut fonts = Fonts::default();
        group(tree.root(), &tree, &mut fonts, &mut surface);
        surface.pop();
        surface.finish();
        sheet.finish();
    }
    document.finish().map_err(|error| format!("{error:?}"))
}

/// Faces of the vendored font as krilla knows them.
#[derive(Default)]
struct Fonts(BTreeMap<String, Option<Font>>);

impl Fonts {
    fn face(&mut self, id: fontdb::ID, tree: &usvg::Tree) -> Option<Font> {
        let name = tree.fontdb().face(id)?.post_script_name.clone();
        self.0
            .entry(name)
            .or_insert_with(|| {
                let bytes = tree.fontdb().with_face_data(id, |data, _| data.to_vec())?;
                Font::new(bytes.into(), 0)
            })
            .clone()
    }
}

fn group(group: &usvg::Group, tree: &usvg::Tree, fonts: &mut Fonts, surface: &mut Surface<'_>) {
    for node in group.children() {
        match node {
            Node::Group(inner) => self::group(inner, tree, fonts, surface),
            Node::Path(path) if path.is_visible() => shape(path, surface),
            Node::Text(text) => writing(text, tree, fonts, surface),
            Node::Path(_) | Node::Image(_) => {}
        }
    }
}

fn transform(from: tiny_skia::Transform) -> Transform {
    Transform::from_row(from.sx, from.ky, from.kx, from.sy, from.tx, from.ty)
}

fn colour(paint: &usvg::Paint) -> rgb::Color {
    match paint {
        usvg::Paint::Color(colour) => rgb::Color::new(colour.red, colour.green, colour.blue),
        // Our drawings have no gradients.
        _ => rgb::Color::new(0, 0, 0),
    }
}

fn share(opacity: f32) -> NormalizedF32 {
    NormalizedF32::new(opacity.clamp(0.0, 1.0)).unwrap_or(NormalizedF32::ONE)
}

fn fill(fill: &usvg::Fill) -> Fill {
    Fill {
        paint: colour(fill.paint()).into(),
        opacity: share(fill.opacity().get()),
        rule: match fill.rule() {
            usvg::FillRule::NonZero => FillRule::NonZero,
            usvg::FillRule::EvenOdd => FillRule::EvenOdd,
        },
    }
}

fn stroke(stroke: &usvg::Stroke) -> Stroke {
    Stroke {
        paint: colour(stroke.paint()).into(),
        width: stroke.width().get(),
        miter_limit: stroke.miterlimit().get(),
        line_cap: LineCap::Butt,
        line_join: LineJoin::Round,
        opacity: share(stroke.opacity().get()),
        dash: stroke.dasharray().map(|dashes| StrokeDash {
            array: dashes.to_vec(),
            offset: stroke.dashoffset(),
        }),
    }
}

fn shape(path: &usvg::Path, surface: &mut Surface<'_>) {
    let mut outline = PathBuilder::new();
    for segment in path.data().segments() {
        match segment {
            PathSegment::MoveTo(to) => outline.move_to(to.x, to.y),
            PathSegment::LineTo(to) => outline.line_to(to.x, to.y),
            PathSegment::QuadTo(by, to) => outline.quad_to(by.x, by.y, to.x, to.y),
            PathSegment::CubicTo(by, and, to) => {
                outline.cubic_to(by.x, by.y, and.x, and.y, to.x, to.y);
            }
            PathSegment::Close => outline.close(),
        }
    }
    let Some(outline) = outline.finish() else {
        return;
    };
    surface.push_transform(&transform(path.abs_transform()));
    surface.set_fill(path.fill().map(fill));
    surface.set_stroke(path.stroke().map(stroke));
    surface.draw_path(&outline);
    surface.pop();
}

fn writing(text: &usvg::Text, tree: &usvg::Tree, fonts: &mut Fonts, surface: &mut Surface<'_>) {
    for span in text.layouted() {
        surface.set_fill(span.fill.as_ref().map(fill));
        surface.set_stroke(None);
        for glyph in &span.positioned_glyphs {
            let Some(font) = fonts.face(glyph.font, tree) else {
                continue;
            };
            // The glyph's own transform brings a glyph as large as its font's units to its place.
            let place = text.abs_transform().pre_concat(glyph.transform());
            let units = font.units_per_em();
            surface.push_transform(&transform(place));
            let id = GlyphId::new(glyph.id.0);
            let one = KrillaGlyph::new(id, 1.0, 0.0, 0.0, 0.0, 0..glyph.text.len(), None);
            surface.draw_glyphs(
                Point::from_xy(0.0, 0.0),
                &[one],
                font,
                &glyph.text,
                units,
                false,
            );
            surface.pop();
        }
    }
}
