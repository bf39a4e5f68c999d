//! The same SVG as a PNG: usvg and resvg with the vendored font only, then a palette of few colours.
//!
//! tiny-skia, which fills the pixels, picks its vector instructions when it is compiled and not when
//! it runs, so one program gives the same bytes on every x86-64 machine.

use std::sync::{Arc, OnceLock};

use resvg::tiny_skia::{Color, Pixmap, Transform};
use resvg::usvg::{self, fontdb};

use super::text;

/// Pixels in an inch: a figure 85 mm wide is 669 pixels wide, sharp on a screen of twice the usual
/// density and readable in print; journals that want more take the SVG.
pub const RESOLUTION: f64 = 200.0;

/// Points in an inch.
const POINTS_PER_INCH: f64 = 72.0;

/// Most colours in a palette of eight bits.
const MOST_COLOURS: usize = 256;

/// Bits kept of each channel when pixels are put into buckets, the finest that is few enough first.
const FINENESS: [u32; 2] = [5, 4];

/// Effort of the compression: beyond this, files shrink by a twentieth and time doubles.
const DEFLATE: u8 = 3;

/// The PNG of an SVG of that many points.
///
/// # Errors
/// What the parser, the renderer or the encoder said.
pub fn png(svg: &str, width: f64, height: f64) -> Result<Vec<u8>, String> {
    let options = usvg::Options {
        fontdb: fonts(),
        font_family: "Liberation Sans".to_owned(),
        languages: Vec::new(),
        ..usvg::Options::default()
    };
    let tree = usvg::Tree::from_str(svg, &options).map_err(|error| error.to_string())?;
    let pixels = |points: f64| (points * RESOLUTION / POINTS_PER_INCH).ceil().max(1.0) as u32;
    let (across, down) = (pixels(width), pixels(height));
    let mut pixmap = Pixmap::new(across, down).ok_or_else(|| {
        format!("a picture of {across} by {down} pixels does not fit into memory")
    })?;
    pixmap.fill(Color::WHITE);
    // The tree's own size is in pixels of 1/96 inch whatever the unit of the root was.
    let scale = (width * RESOLUTION / POINTS_PER_INCH) as f32 / tree.size().width();
    resvg::render(
        &tree,
        Transform::from_scale(scale, scale),
        &mut pixmap.as_mut(),
    );
    encoded(pixmap.data(), across, down).map_err(|error| error.to_string())
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

/// Opaque RGBA pixels as a PNG: with a palette where few colours are enough, else as they are.
fn encoded(rgba: &[u8], width: u32, height: u32) -> Result<Vec<u8>, png::EncodingError> {
    let mut out = Vec::new();
    let mut encoder = png::Encoder::new(&mut out, width, height);
    let metre = (RESOLUTION / 0.0254).round() as u32;
    encoder.set_pixel_dims(Some(png::PixelDimensions {
        xppu: metre,
        yppu: metre,
        unit: png::Unit::Meter,
    }));
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_deflate_compression(png::DeflateCompression::Level(DEFLATE));
    let data: Vec<u8> = match FINENESS.into_iter().find_map(|bits| palette(rgba, bits)) {
        Some(Palette {
            colours,
            slots,
            bits,
        }) => {
            encoder.set_color(png::ColorType::Indexed);
            encoder.set_palette(colours.concat());
            encoder.set_filter(png::Filter::NoFilter);
            rgba.chunks_exact(4)
                .map(|pixel| slots[bucket(pixel, bits)] as u8)
                .collect()
        }
        None => {
            encoder.set_color(png::ColorType::Rgb);
            encoder.set_filter(png::Filter::Up);
            rgba.chunks_exact(4)
                .flat_map(|pixel| [pixel[0], pixel[1], pixel[2]])
                .collect()
        }
    };
    let mut writer = encoder.write_header()?;
    writer.write_image_data(&data)?;
    writer.finish()?;
    Ok(out)
}

struct Palette {
    colours: Vec<[u8; 3]>,
    /// Slot of each bucket.
    slots: Vec<u16>,
    /// Bits of each channel that make a bucket.
    bits: u32,
}

fn bucket(pixel: &[u8], bits: u32) -> usize {
    let part = |channel: u8| usize::from(channel >> (8 - bits));
    (part(pixel[0]) << (2 * bits)) | (part(pixel[1]) << bits) | part(pixel[2])
}

/// One colour for each bucket in use, if those are few enough. Flat colours stay exact, because the
/// commonest colour of a bucket stands for it; only the soft edges of shapes and letters move, by
/// less than the width of a bucket.
fn palette(rgba: &[u8], bits: u32) -> Option<Palette> {
    const FREE: u16 = u16::MAX;
    let mut slots = vec![FREE; 1 << (3 * bits)];
    // For each slot the leading colour and its lead over the others seen (Boyer and Moore, 1991:
    // the majority of a sequence in one pass).
    let mut leaders: Vec<([u8; 3], u32)> = Vec::new();
    for pixel in rgba.chunks_exact(4) {
        let slot = &mut slots[bucket(pixel, bits)];
        let colour = [pixel[0], pixel[1], pixel[2]];
        if *slot == FREE {
            if leaders.len() == MOST_COLOURS {
                return None;
            }
            *slot = leaders.len() as u16;
            leaders.push((colour, 1));
            continue;
        }
        let (leader, lead) = &mut leaders[usize::from(*slot)];
        if *leader == colour {
            *lead += 1;
        } else if *lead == 0 {
            (*leader, *lead) = (colour, 1);
        } else {
            *lead -= 1;
        }
    }
    Some(Palette {
        colours: leaders.into_iter().map(|(colour, _)| colour).collect(),
        slots,
        bits,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_flat_colour_keeps_its_exact_value() {
        let mut rgba = Vec::new();
        for i in 0..100_u8 {
            rgba.extend([0, 0x72, 0xb2, 255]);
            rgba.extend([255, 255, 255, 255]);
            if i % 3 == 0 {
                rgba.extend([1, 0x73, 0xb3, 255]);
            }
        }
        let palette = palette(&rgba, 5).unwrap();
        assert_eq!(palette.colours, [[0, 0x72, 0xb2], [255, 255, 255]]);
    }

    #[test]
    fn too_many_colours_are_kept_as_they_are() {
        let rgba: Vec<u8> = (0..4096_u32)
            .flat_map(|i| {
                [
                    (i >> 8 << 4) as u8,
                    (i >> 4 << 4) as u8,
                    (i << 4) as u8,
                    255,
                ]
            })
            .collect();
        assert!(palette(&rgba, 4).is_none());
        let bytes = encoded(&rgba, 64, 64).unwrap();
        assert!(bytes.starts_with(b"\x89PNG"));
    }
}
