//! The same SVG as a PNG: usvg and resvg with the vendored font only.
//!
//! tiny-skia, which fills the pixels, picks its vector instructions when it is compiled and not when
//! it runs, and nothing here needs a sine, so one program gives the same bytes on every machine that
//! runs it.

use std::sync::{Arc, OnceLock};

use resvg::tiny_skia::{Color, Pixmap, Transform};
use resvg::usvg::{self, fontdb};

use super::reduce::reduced;
use super::text;

/// Pixels in an inch: a figure 85 mm wide is 669 pixels wide, sharp on a screen of twice the usual
/// density and readable in print; journals that want more take the SVG.
pub const RESOLUTION: f64 = 200.0;

/// Points in an inch.
const POINTS_PER_INCH: f64 = 72.0;

/// Effort of the compression: beyond this, files shrink by a twentieth and time doubles.
const DEFLATE: u8 = 3;

/// The byte before a row of pixels that are written as they are.
const UNFILTERED: u8 = 0;

/// The PNG of an SVG of that many points, so many pixels an inch.
///
/// # Errors
/// What the parser, the renderer or the encoder said.
pub fn png(svg: &str, width: f64, height: f64, dpi: f64) -> Result<Vec<u8>, String> {
    let tree = tree(svg)?;
    let pixels = |points: f64| (points * dpi / POINTS_PER_INCH).ceil().max(1.0) as u32;
    let (across, down) = (pixels(width), pixels(height));
    let mut pixmap = Pixmap::new(across, down).ok_or_else(|| {
        format!("a picture of {across} by {down} pixels does not fit into memory")
    })?;
    pixmap.fill(Color::WHITE);
    // The tree's own size is in pixels of 1/96 inch whatever the unit of the root was.
    let scale = (width * dpi / POINTS_PER_INCH) as f32 / tree.size().width();
    resvg::render(
        &tree,
        Transform::from_scale(scale, scale),
        &mut pixmap.as_mut(),
    );
    encoded(pixmap.data(), (across, down), dpi).map_err(|error| error.to_string())
}

/// An SVG read, its text laid out with the vendored font.
///
/// # Errors
/// What the parser said.
pub fn tree(svg: &str) -> Result<usvg::Tree, String> {
    let options = usvg::Options {
        fontdb: fonts(),
        font_family: "Liberation Sans".to_owned(),
        languages: Vec::new(),
        ..usvg::Options::default()
    };
    usvg::Tree::from_str(svg, &options).map_err(|error| error.to_string())
}

fn fonts() -> Arc<fontdb::Database> {
    static FONTS: OnceLock<Arc<fontdb::Database>> = OnceLock::new();
    FONTS
        .get_or_init(|| {
            let mut fonts = fontdb::Database::new();
            for bytes in [text::REGULAR, text::BOLD, text::ITALIC] {
                fonts.load_font_source(fontdb::Source::Binary(Arc::new(bytes)));
            }
            Arc::new(fonts)
        })
        .clone()
}

/// Opaque RGBA pixels as a PNG of at most 256 colours.
fn encoded(
    rgba: &[u8],
    (width, height): (u32, u32),
    dpi: f64,
) -> Result<Vec<u8>, png::EncodingError> {
    let (colours, indices) = reduced(rgba);
    let mut out = Vec::new();
    let mut encoder = png::Encoder::new(&mut out, width, height);
    let metre = (dpi / 0.0254).round() as u32;
    encoder.set_pixel_dims(Some(png::PixelDimensions {
        xppu: metre,
        yppu: metre,
        unit: png::Unit::Meter,
    }));
    encoder.set_color(png::ColorType::Indexed);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_palette(colours.concat());
    let mut writer = encoder.write_header()?;
    // Compressed here, not by the encoder: which library that uses depends on what else is in the
    // build, and some choose their code by the processor, so that bytes would differ.
    let mut rows = Vec::with_capacity(indices.len() + height as usize);
    for row in indices.chunks(width as usize) {
        rows.push(UNFILTERED);
        rows.extend_from_slice(row);
    }
    writer.write_chunk(
        png::chunk::IDAT,
        &miniz_oxide::deflate::compress_to_vec_zlib(&rows, DEFLATE),
    )?;
    // Ends the file.
    drop(writer);
    Ok(out)
}
