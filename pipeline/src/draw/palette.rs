//! Colours and what tells series apart without colour.

/// A colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Colour(pub u8, pub u8, pub u8);

/// Marks without a series.
pub const INK: Colour = Colour(0x1a, 0x1a, 0x1a);
/// Text.
pub const TEXT: Colour = Colour(0x1a, 0x1a, 0x1a);
/// Text of lesser weight: the foot, labels of zones and rules.
pub const QUIET: Colour = Colour(0x4d, 0x4d, 0x4d);
/// Spines and ticks.
pub const SPINE: Colour = Colour(0x33, 0x33, 0x33);
/// Lines of the grid.
pub const GRID: Colour = Colour(0xe2, 0xe2, 0xe2);
/// Columns without a series.
pub const COLUMN: Colour = Colour(0x80, 0x80, 0x80);
/// Published zones.
pub const ZONE: Colour = Colour(0xf0, 0xec, 0xdc);
/// The page.
pub const PAPER: Colour = Colour(0xff, 0xff, 0xff);

/// The palette of Okabe & Ito (2008), "Color Universal Design", in an order in which the first three
/// also differ in lightness; yellow is left out because it is too pale on paper.
const SERIES: [Colour; 7] = [
    Colour(0x00, 0x72, 0xb2),
    Colour(0xe6, 0x9f, 0x00),
    Colour(0x00, 0x9e, 0x73),
    Colour(0xd5, 0x5e, 0x00),
    Colour(0x56, 0xb4, 0xe9),
    Colour(0xcc, 0x79, 0xa7),
    Colour(0x00, 0x00, 0x00),
];

/// Shape of a point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// A disc.
    Circle,
    /// A square.
    Square,
    /// A triangle on its base.
    Triangle,
    /// A square on its corner.
    Diamond,
    /// A triangle on its tip.
    Wedge,
    /// An upright cross.
    Cross,
    /// A regular pentagon.
    Pentagon,
}

const SHAPES: [Shape; 7] = [
    Shape::Circle,
    Shape::Square,
    Shape::Triangle,
    Shape::Diamond,
    Shape::Wedge,
    Shape::Cross,
    Shape::Pentagon,
];

/// White lines over a column, so that columns differ in grey print.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hatch {
    /// None.
    Plain,
    /// Rising to the right.
    Rising,
    /// Falling to the right.
    Falling,
    /// Lying.
    Lying,
}

/// How one series looks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Look {
    /// Its colour.
    pub colour: Colour,
    /// Its points.
    pub shape: Shape,
    /// Whether its points are outlines only: from the eighth series on.
    pub hollow: bool,
    /// Its columns.
    pub hatch: Hatch,
}

/// The look of a series; without one, black discs.
pub fn look(series: Option<usize>) -> Look {
    let Some(index) = series else {
        return Look {
            colour: INK,
            shape: Shape::Circle,
            hollow: false,
            hatch: Hatch::Plain,
        };
    };
    Look {
        colour: SERIES[index % SERIES.len()],
        shape: SHAPES[index % SHAPES.len()],
        hollow: (index / SHAPES.len()) % 2 == 1,
        hatch: [Hatch::Plain, Hatch::Rising, Hatch::Lying, Hatch::Falling][index % 4],
    }
}

/// One hue from pale to dark in even steps of lightness (CIE L* 96, 88, … 32): OKLab (Ottosson,
/// 2020) at hue 250°, chroma rising from 0.012 to 0.115, turned into sRGB.
const RAMP: [Colour; 9] = [
    Colour(0xee, 0xf4, 0xfc),
    Colour(0xca, 0xdf, 0xf6),
    Colour(0xa7, 0xca, 0xef),
    Colour(0x86, 0xb5, 0xe5),
    Colour(0x68, 0x9f, 0xd8),
    Colour(0x4d, 0x8a, 0xc7),
    Colour(0x36, 0x75, 0xb2),
    Colour(0x20, 0x61, 0x9c),
    Colour(0x03, 0x4d, 0x87),
];

/// Amounts below and above zero: orange, grey at zero, blue, in even steps of lightness (CIE L* 88,
/// 81, … 32), so that grey print keeps their order and those who confuse red and green tell the
/// sides apart: OKLab (Ottosson, 2020) at hues 68° and 250°, chroma up to 0.095 and 0.115, turned
/// into sRGB.
const TWO_SIDED: [Colour; 9] = [
    Colour(0xff, 0xd5, 0xa5),
    Colour(0xf4, 0xbf, 0x87),
    Colour(0xdc, 0xad, 0x7c),
    Colour(0xbb, 0x9e, 0x7f),
    Colour(0x91, 0x91, 0x91),
    Colour(0x68, 0x81, 0x9c),
    Colour(0x47, 0x70, 0x9a),
    Colour(0x26, 0x5f, 0x94),
    Colour(0x03, 0x4d, 0x87),
];

/// The shade for a share from 0 (pale) to 1 (dark).
pub fn shade(share: f64) -> Colour {
    between(&RAMP, share)
}

/// The shade for a share from 0 (the lowest) through 0.5 (zero) to 1 (as far above zero).
pub fn two_sided(share: f64) -> Colour {
    between(&TWO_SIDED, share)
}

fn between(ramp: &[Colour; 9], share: f64) -> Colour {
    let place = share.clamp(0.0, 1.0) * (ramp.len() - 1) as f64;
    let below = (place.floor() as usize).min(ramp.len() - 2);
    let part = place - below as f64;
    let mixed = |a: u8, b: u8| (f64::from(a) + (f64::from(b) - f64::from(a)) * part).round() as u8;
    let (a, b) = (ramp[below], ramp[below + 1]);
    Colour(mixed(a.0, b.0), mixed(a.1, b.1), mixed(a.2, b.2))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Lightness L* (CIE 1976) of an sRGB colour.
    fn lightness(colour: Colour) -> f64 {
        let linear = |c: u8| {
            let c = f64::from(c) / 255.0;
            if c <= 0.04045 {
                c / 12.92
            } else {
                ((c + 0.055) / 1.055).powf(2.4)
            }
        };
        let y = 0.2126 * linear(colour.0) + 0.7152 * linear(colour.1) + 0.0722 * linear(colour.2);
        116.0 * y.cbrt() - 16.0
    }

    #[test]
    fn the_ramp_darkens_evenly() {
        let steps: Vec<f64> = (0..=32)
            .map(|i| lightness(shade(f64::from(i) / 32.0)))
            .collect();
        for pair in steps.windows(2) {
            assert!((pair[0] - pair[1] - 2.0).abs() < 0.6, "{steps:?}");
        }
    }

    #[test]
    fn amounts_around_zero_darken_evenly_and_their_sides_differ_in_hue() {
        let steps: Vec<f64> = (0..=32)
            .map(|i| lightness(two_sided(f64::from(i) / 32.0)))
            .collect();
        for pair in steps.windows(2) {
            assert!((pair[0] - pair[1] - 1.75).abs() < 0.6, "{steps:?}");
        }
        for i in 1..=8 {
            let away = f64::from(i) / 16.0;
            let (below, above) = (two_sided(0.5 - away), two_sided(0.5 + away));
            assert!(
                below.0 > below.2 && above.2 > above.0,
                "{below:?} {above:?}"
            );
        }
    }

    #[test]
    fn the_first_fourteen_series_all_look_different() {
        for a in 0..14 {
            for b in 0..a {
                assert_ne!(look(Some(a)), look(Some(b)));
            }
        }
    }

    #[test]
    fn the_first_three_series_differ_in_grey() {
        let [a, b, c] = [0, 1, 2].map(|series| lightness(look(Some(series)).colour));
        for gap in [a - b, b - c, c - a] {
            assert!(gap.abs() > 10.0, "{a} {b} {c}");
        }
    }
}
