//! A picture in at most 256 colours.
//!
//! A drawing has a few flat colours and the soft edges between them. The flat ones are kept exactly;
//! of the edges, the rarest take the nearest colour that is kept.

/// Most colours in a palette of eight bits.
const MOST: usize = 256;

/// Bits of each channel that tell colours apart while they are counted.
const BITS: u32 = 6;

/// A colour.
type Rgb = [u8; 3];

/// Colours that differ by less than can be seen.
struct Shade {
    /// The commonest of them.
    leader: Rgb,
    /// By how many pixels it leads over the others (Boyer and Moore, 1991: the majority of a
    /// sequence in one pass).
    lead: u32,
    /// Pixels of all of them.
    pixels: u32,
    /// Their bucket.
    bucket: usize,
}

/// The palette of opaque RGBA pixels, and the place of each pixel in it.
pub fn reduced(rgba: &[u8]) -> (Vec<Rgb>, Vec<u8>) {
    let mut shades = shades(rgba);
    // The commonest first; equally common ones in a fixed order.
    shades.sort_by_key(|shade| (std::cmp::Reverse(shade.pixels), shade.bucket));
    let palette: Vec<Rgb> = shades.iter().take(MOST).map(|shade| shade.leader).collect();
    let mut slots = vec![0_u8; 1 << (3 * BITS)];
    for (i, shade) in shades.iter().enumerate() {
        let slot = if i < MOST {
            i
        } else {
            nearest(&palette, shade.leader)
        };
        slots[shade.bucket] = slot as u8;
    }
    let mut indices = Vec::with_capacity(rgba.len() / 4);
    for (colour, length) in runs(rgba) {
        let slot = slots[bucket(colour)];
        indices.resize(indices.len() + length as usize, slot);
    }
    (palette, indices)
}

fn shades(rgba: &[u8]) -> Vec<Shade> {
    const FREE: u32 = u32::MAX;
    let mut places = vec![FREE; 1 << (3 * BITS)];
    let mut shades: Vec<Shade> = Vec::new();
    for (colour, length) in runs(rgba) {
        let bucket = bucket(colour);
        let place = &mut places[bucket];
        if *place == FREE {
            *place = shades.len() as u32;
            shades.push(Shade {
                leader: colour,
                lead: length,
                pixels: length,
                bucket,
            });
            continue;
        }
        let shade = &mut shades[*place as usize];
        shade.pixels += length;
        if shade.leader == colour {
            shade.lead += length;
        } else if shade.lead < length {
            shade.leader = colour;
            shade.lead = length - shade.lead;
        } else {
            shade.lead -= length;
        }
    }
    shades
}

fn nearest(palette: &[Rgb], colour: Rgb) -> usize {
    let distance = |other: &Rgb| -> u32 {
        other
            .iter()
            .zip(colour)
            .map(|(a, b)| u32::from(a.abs_diff(b)).pow(2))
            .sum()
    };
    let ranked = palette
        .iter()
        .enumerate()
        .min_by_key(|(_, other)| distance(other));
    ranked.map_or(0, |(i, _)| i)
}

fn bucket([red, green, blue]: Rgb) -> usize {
    let part = |channel: u8| usize::from(channel >> (8 - BITS));
    (part(red) << (2 * BITS)) | (part(green) << BITS) | part(blue)
}

/// Neighbouring pixels of one colour with their number; most of a drawing is paper.
fn runs(rgba: &[u8]) -> impl Iterator<Item = (Rgb, u32)> {
    let mut rest = rgba;
    std::iter::from_fn(move || {
        let first = rest.get(..4)?;
        let length = rest
            .chunks_exact(4)
            .take_while(|pixel| *pixel == first)
            .count();
        rest = &rest[4 * length..];
        Some(([first[0], first[1], first[2]], length as u32))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_flat_colour_keeps_its_exact_value() {
        let mut rgba = Vec::new();
        for i in 0..100_u8 {
            rgba.extend([0, 0x72, 0xb2, 255, 0, 0x72, 0xb2, 255]);
            rgba.extend([255, 255, 255, 255]);
            if i % 3 == 0 {
                rgba.extend([1, 0x73, 0xb3, 255]);
            }
        }
        let (palette, indices) = reduced(&rgba);
        assert_eq!(palette, [[0, 0x72, 0xb2], [255, 255, 255]]);
        assert_eq!(indices.len(), rgba.len() / 4);
        assert_eq!(indices[..4], [0, 0, 1, 0]);
    }

    #[test]
    fn of_too_many_colours_the_rare_ones_take_the_nearest() {
        let mut rgba = Vec::new();
        for i in 0..=255_u8 {
            let (red, green) = (i % 64 * 4, i / 64 * 4);
            rgba.extend([red, green, 0, 255, red, green, 0, 255]);
            rgba.extend([red, green, 90, 255]);
        }
        let (palette, indices) = reduced(&rgba);
        assert_eq!(palette.len(), MOST);
        let distance = |a: &[u8], b: &[u8]| -> f64 {
            let square = |(a, b): (&u8, &u8)| f64::from(a.abs_diff(*b)).powi(2);
            a.iter().zip(b).map(square).sum::<f64>().sqrt()
        };
        // A pixel is at most 4√3 from the leader of its shade, which takes the nearest colour.
        let slack = 2.0 * 4.0 * 3.0_f64.sqrt();
        for (pixel, index) in rgba.chunks_exact(4).zip(indices) {
            let kept = distance(&palette[usize::from(index)], &pixel[..3]);
            let best = palette
                .iter()
                .map(|colour| distance(colour, &pixel[..3]))
                .fold(f64::INFINITY, f64::min);
            assert!(kept <= best + slack, "{pixel:?}");
        }
    }

    #[test]
    fn no_pixels_have_no_colours() {
        assert_eq!(reduced(&[]), (vec![], vec![]));
    }
}
