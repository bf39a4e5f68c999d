//! Text: the vendored font measured, `^{…}` and `_{…}` read.

use std::sync::OnceLock;

use ab_glyph::{Font, FontRef};

/// A style of the one family.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Face {
    /// Upright.
    Regular,
    /// Panel titles.
    Bold,
    /// Labels of zones and rules.
    Italic,
}

/// The families named in an SVG: the vendored one first, then those with the same or near widths.
pub const FAMILIES: &str = "Liberation Sans, Arial, Helvetica, sans-serif";

/// Liberation Sans 2.1.5, SIL Open Font License 1.1 (`fonts/LICENSE-OFL.txt`).
pub const REGULAR: &[u8] = include_bytes!("../../fonts/LiberationSans-Regular.ttf");
/// The bold style of the same.
pub const BOLD: &[u8] = include_bytes!("../../fonts/LiberationSans-Bold.ttf");
/// The italic style of the same.
pub const ITALIC: &[u8] = include_bytes!("../../fonts/LiberationSans-Italic.ttf");

/// Height of a capital as a share of the size (`sCapHeight` of the vendored font).
pub const CAPITAL: f64 = 0.72;
/// How far letters reach below the baseline, as a share of the size (`hhea` descent).
pub const DESCENT: f64 = 0.212;
/// Distance of two baselines as a share of the size.
pub const LEADING: f64 = 1.15;
/// Size of raised and lowered text as a share of the size.
pub const SMALL: f64 = 0.7;
/// How far raised text stands above the baseline.
pub const RAISED: f64 = 0.36;
/// How far lowered text stands below the baseline.
pub const LOWERED: f64 = 0.16;

/// Where a run of text stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Level {
    /// On the baseline.
    Base,
    /// Raised.
    Above,
    /// Lowered.
    Below,
}

/// Text of one level.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Run {
    /// The characters.
    pub text: String,
    /// Where they stand.
    pub level: Level,
}

/// The text cut into runs. A marker that is never closed is text like any other; a hyphen before a
/// raised or lowered digit is a minus.
pub fn runs(text: &str) -> Vec<Run> {
    let mut runs: Vec<Run> = Vec::new();
    let mut push = |piece: &str, level: Level| {
        if !piece.is_empty() {
            runs.push(Run {
                text: piece.to_owned(),
                level,
            });
        }
    };
    let mut rest = text;
    let mut from = 0;
    while let Some(at) = rest[from..].find(['^', '_']).map(|at| at + from) {
        let marker = &rest[at..];
        let inside = marker
            .get(1..)
            .and_then(|after| after.strip_prefix('{'))
            .and_then(|after| after.split_once('}'));
        match inside {
            Some((inside, after)) => {
                push(&rest[..at], Level::Base);
                let level = if marker.starts_with('^') {
                    Level::Above
                } else {
                    Level::Below
                };
                push(&inside.replace('-', "\u{2212}"), level);
                rest = after;
                from = 0;
            }
            None => from = at + 1,
        }
    }
    push(rest, Level::Base);
    runs
}

/// Text made fit for an SVG: control characters become spaces, and raised or lowered digits that
/// the font lacks become markup.
pub fn cleaned(text: &str) -> String {
    const RAISED_DIGITS: &str = "⁰¹²³⁴⁵⁶⁷⁸⁹";
    const LOWERED_DIGITS: &str = "₀₁₂₃₄₅₆₇₈₉";
    let mut out = String::with_capacity(text.len());
    let mut open: Option<char> = None;
    for character in text.chars() {
        let digit = |digits: &str| {
            digits
                .chars()
                .position(|d| d == character)
                .and_then(|d| char::from_digit(d as u32, 10))
        };
        let (marker, written) = match character {
            '⁻' => (Some('^'), '-'),
            '₋' => (Some('_'), '-'),
            '⁺' => (Some('^'), '+'),
            _ => match (digit(RAISED_DIGITS), digit(LOWERED_DIGITS)) {
                (Some(d), _) => (Some('^'), d),
                (_, Some(d)) => (Some('_'), d),
                _ if character.is_control() || matches!(character, '\u{fffe}' | '\u{ffff}') => {
                    (None, ' ')
                }
                _ => (None, character),
            },
        };
        if marker != open {
            if open.is_some() {
                out.push('}');
            }
            if let Some(marker) = marker {
                out.push(marker);
                out.push('{');
            }
            open = marker;
        }
        out.push(written);
    }
    if open.is_some() {
        out.push('}');
    }
    out
}

/// Width of a line in the unit of `size`.
pub fn width(text: &str, size: f64, face: Face) -> f64 {
    runs(text)
        .iter()
        .map(|run| {
            let scale = if run.level == Level::Base { 1.0 } else { SMALL };
            em_width(&run.text, face) * size * scale
        })
        .sum()
}

/// Width of the widest of several lines.
pub fn widest<S: AsRef<str>>(lines: &[S], size: f64, face: Face) -> f64 {
    lines
        .iter()
        .map(|line| width(line.as_ref(), size, face))
        .fold(0.0, f64::max)
}

fn em_width(text: &str, face: Face) -> f64 {
    let Some(font) = font(face) else {
        // Only a damaged build gets here; half an em is the mean width of a letter.
        return 0.5 * text.chars().count() as f64;
    };
    let em = f64::from(font.units_per_em().unwrap_or(2048.0));
    let mut total = 0.0;
    let mut before = None;
    for character in text.chars() {
        let glyph = font.glyph_id(character);
        if let Some(before) = before {
            total += f64::from(font.kern_unscaled(before, glyph));
        }
        total += f64::from(font.h_advance_unscaled(glyph));
        before = Some(glyph);
    }
    total / em
}

fn font(face: Face) -> Option<&'static FontRef<'static>> {
    static FONTS: OnceLock<[Option<FontRef<'static>>; 3]> = OnceLock::new();
    let fonts = FONTS
        .get_or_init(|| [REGULAR, BOLD, ITALIC].map(|bytes| FontRef::try_from_slice(bytes).ok()));
    match face {
        Face::Regular => fonts[0].as_ref(),
        Face::Bold => fonts[1].as_ref(),
        Face::Italic => fonts[2].as_ref(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn run(text: &str, level: Level) -> Run {
        Run {
            text: text.into(),
            level,
        }
    }

    #[test]
    fn markers_raise_and_lower() {
        assert_eq!(
            runs("Yield (t ha^{-1}) of CO_{2}"),
            [
                run("Yield (t ha", Level::Base),
                run("\u{2212}1", Level::Above),
                run(") of CO", Level::Base),
                run("2", Level::Below)
            ]
        );
    }

    #[test]
    fn an_open_or_bare_marker_is_text() {
        assert_eq!(runs("a_b ^{open"), [run("a_b ^{open", Level::Base)]);
        assert_eq!(runs("x^"), [run("x^", Level::Base)]);
        assert!(runs("").is_empty());
    }

    #[test]
    fn digits_the_font_lacks_become_markup_and_controls_become_spaces() {
        assert_eq!(cleaned("t ha⁻¹, CO₂\u{7}"), "t ha^{-1}, CO_{2} ");
    }

    #[test]
    fn widths_are_those_of_the_font_file() {
        // Advance widths of Arial, which Liberation Sans copies: M 1706, i 455 of 2048 units.
        assert!((width("M", 2048.0, Face::Regular) - 1706.0).abs() < 1e-6);
        assert!((width("i", 2048.0, Face::Regular) - 455.0).abs() < 1e-6);
        assert!(width("m^{M}", 10.0, Face::Regular) < width("mM", 10.0, Face::Regular));
    }
}
