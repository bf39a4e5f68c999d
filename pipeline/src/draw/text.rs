//! Text: the vendored font measured, `^{…}` and `_{…}` read, lines wrapped.

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

/// Lines of a wrapped text.
#[derive(Debug, Clone, PartialEq)]
pub struct Wrapped {
    /// The lines, at least one.
    pub lines: Vec<String>,
    /// Whether all lines keep within the width asked for.
    pub fits: bool,
}

/// The text on at most `most` lines, broken so that the widest line is as narrow as the number of
/// lines needed allows.
pub fn wrap(text: &str, size: f64, face: Face, room: f64, most: usize) -> Wrapped {
    let words: Vec<Word> = words(text)
        .into_iter()
        .map(|text| Word {
            full: width(&text, size, face),
            visible: width(text.trim_end(), size, face),
            text,
        })
        .collect();
    let filled = fill(&words, room);
    let needed = filled.len().clamp(1, most.max(1));
    // Many lines (a foot) are filled in order; a few (a label) are balanced.
    let lines = if filled.len() == needed && needed > 3 {
        filled
    } else {
        // The narrowest room that keeps the text on the lines needed, found by halving.
        let (mut low, mut high) = (0.0, words.iter().map(|word| word.full).sum::<f64>());
        for _ in 0..24 {
            let middle = f64::midpoint(low, high);
            if fill(&words, middle).len() <= needed {
                high = middle;
            } else {
                low = middle;
            }
        }
        fill(&words, high)
    };
    let fits = lines.len() <= most && widest(&lines, size, face) <= room + SLACK;
    Wrapped { lines, fits }
}

/// Widths that differ by less than this, in points, are equal.
const SLACK: f64 = 1e-6;

struct Word {
    text: String,
    /// Width with the space behind it.
    full: f64,
    /// Width without.
    visible: f64,
}

/// Words with the space or hyphen behind them; markers keep their inside together.
fn words(text: &str) -> Vec<String> {
    let mut words = vec![String::new()];
    let mut inside = false;
    let mut before = ' ';
    for character in text.chars() {
        match character {
            '{' if matches!(before, '^' | '_') => inside = true,
            '}' => inside = false,
            _ => {}
        }
        let breaks = match before {
            ' ' => character != ' ',
            '-' | '/' | '–' => character.is_alphabetic(),
            _ => false,
        };
        if breaks && !inside && words.last().is_some_and(|word| !word.is_empty()) {
            words.push(String::new());
        }
        if let Some(word) = words.last_mut() {
            word.push(character);
        }
        before = character;
    }
    words
}

/// Words put on lines of that width, as many on each as fit.
fn fill(words: &[Word], room: f64) -> Vec<String> {
    let mut lines = vec![String::new()];
    let mut used = 0.0;
    for word in words {
        let last = lines.len() - 1;
        if lines[last].is_empty() || used + word.visible <= room + SLACK {
            lines[last].push_str(&word.text);
            used += word.full;
        } else {
            lines.push(word.text.clone());
            used = word.full;
        }
    }
    for line in &mut lines {
        line.truncate(line.trim_end().len());
    }
    lines
}

/// The line cut to the width with an ellipsis, or as it is where it fits.
pub fn clipped(text: &str, size: f64, face: Face, room: f64) -> String {
    if width(text, size, face) <= room {
        return text.to_owned();
    }
    // A cut inside a marker would leave it open, so the markers go first.
    let plain: String = runs(text).into_iter().map(|run| run.text).collect();
    let mut used = width("…", size, face);
    let mut kept = String::new();
    for character in plain.chars() {
        used += width(character.encode_utf8(&mut [0; 4]), size, face);
        if used > room {
            break;
        }
        kept.push(character);
    }
    kept.trim_end().to_owned() + "…"
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

    #[test]
    fn wrapping_balances_two_lines_and_says_when_it_fails() {
        let text = "hand pruned to two buds";
        let room = width(text, 8.0, Face::Regular) * 0.7;
        let wrapped = wrap(text, 8.0, Face::Regular, room, 2);
        assert_eq!(wrapped.lines, ["hand pruned", "to two buds"]);
        assert!(wrapped.fits);
        assert!(!wrap("unbreakable", 8.0, Face::Regular, 5.0, 2).fits);
        assert_eq!(wrap("", 8.0, Face::Regular, 5.0, 2).lines, [""]);
    }

    #[test]
    fn words_break_behind_a_hyphen_but_never_inside_a_marker() {
        assert_eq!(words("pre-pruned to"), ["pre-", "pruned ", "to"]);
        assert_eq!(words("ha^{-1 x} y"), ["ha^{-1 x} ", "y"]);
        assert_eq!(words("2021-2024"), ["2021-2024"]);
    }

    #[test]
    fn clipping_ends_in_an_ellipsis_within_the_room() {
        let cut = clipped("a very long label", 8.0, Face::Regular, 30.0);
        assert!(
            cut.ends_with('…') && width(&cut, 8.0, Face::Regular) <= 30.0,
            "{cut}"
        );
    }
}
