//! Lines of text broken or cut to a width.

use super::text::{Face, runs, widest, width};

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
