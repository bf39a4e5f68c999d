//! The one pass over what plotters wrote: raised and lowered text, a size in points, a title and a
//! description for screen readers, and no attribute that only repeats a default.

use std::fmt::Write;

use super::canvas::UNITS;
use super::text::{self, Level};

/// In front of the words of a mark whose shapes follow; no text of a figure holds it.
pub const OPENING: &str = "\u{1}";
/// After the last shape of a mark.
pub const CLOSING: &str = "\u{2}";

/// The finished document.
///
/// `raw` is the text of plotters' SVG backend: one element a line, a text element on three.
pub fn finished(raw: &str, width: f64, height: f64, title: &str, description: &str) -> String {
    let mut svg = String::with_capacity(raw.len());
    let mut lines = raw.lines();
    while let Some(line) = lines.next() {
        match line.split_once(' ') {
            Some(("<svg", _)) => {
                // Writing to a string cannot fail.
                let _ = write!(
                    svg,
                    "<svg xmlns=\"http://www.w3.org/2000/svg\" role=\"img\" width=\"{width:.1}pt\" \
                     height=\"{height:.1}pt\" viewBox=\"0 0 {:.0} {:.0}\" font-family=\"{}\" \
                     stroke-linejoin=\"round\">\n<title>{}</title>\n<desc>{}</desc>\n",
                    width * UNITS,
                    height * UNITS,
                    text::FAMILIES,
                    escaped(title),
                    escaped(description)
                );
            }
            Some(("<text", attributes)) => {
                let content = lines.next().unwrap_or_default();
                let _closing = lines.next();
                match content.strip_prefix(OPENING) {
                    // Already escaped, as all text that plotters writes.
                    Some(words) => {
                        let _ = write!(svg, "<g>\n<title>{words}</title>\n");
                    }
                    None if content == CLOSING => svg.push_str("</g>\n"),
                    None => write_text(&mut svg, attributes, content),
                }
            }
            Some((tag, attributes)) => write_shape(&mut svg, tag, attributes),
            None => {
                svg.push_str(line);
                svg.push('\n');
            }
        }
    }
    svg
}

/// Name and value pairs of a line such as `x="1" y="2">`.
fn attributes(written: &str) -> impl Iterator<Item = (&str, &str)> {
    let mut rest = written;
    std::iter::from_fn(move || {
        let (name, after) = rest.split_once("=\"")?;
        let (value, after) = after.split_once('"')?;
        rest = after;
        Some((name.trim_start(), value))
    })
}

fn write_shape(svg: &mut String, tag: &str, written: &str) {
    svg.push_str(tag);
    let filled = attributes(written).any(|(name, value)| name == "fill" && value != "none")
        && tag != "<line";
    for (name, value) in attributes(written) {
        match (name, value) {
            ("opacity", "1") | ("stroke", "none") => {}
            // As opacity of the paint, not of the element: a viewer need not set up a layer for it.
            ("opacity", _) if filled => push(svg, "fill-opacity", value),
            ("opacity", _) => push(svg, "stroke-opacity", value),
            ("stroke-width", _) if filled => {}
            _ => push(svg, name, value.trim_end()),
        }
    }
    svg.push_str("/>\n");
}

fn write_text(svg: &mut String, written: &str, content: &str) {
    svg.push_str("<text");
    let mut size = 0.0;
    for (name, value) in attributes(written) {
        match (name, value) {
            // Text is set by its baseline, and the family stands at the root.
            ("dy" | "font-family", _) | ("text-anchor", "start") | ("opacity", "1") => {}
            ("font-size", _) => {
                size = value.parse().unwrap_or(0.0);
                push(svg, name, &number(size));
            }
            ("transform", _) => push(svg, name, &quarter_turn(value)),
            _ => push(svg, name, value),
        }
    }
    svg.push('>');
    let mut shift = 0.0;
    for run in text::runs(content) {
        let (level, share) = match run.level {
            Level::Base => (0.0, 1.0),
            Level::Above => (-text::RAISED, text::SMALL),
            Level::Below => (text::LOWERED, text::SMALL),
        };
        let target = level * size;
        if target == shift && run.level == Level::Base {
            svg.push_str(&run.text);
        } else {
            let _ = write!(
                svg,
                "<tspan dy=\"{}\" font-size=\"{}\">{}</tspan>",
                number(target - shift),
                number(size * share),
                run.text
            );
        }
        shift = target;
    }
    svg.push_str("</text>\n");
}

/// plotters' quarter turn in whole numbers: a reader that works out sines may get the last bit of
/// them otherwise on another machine.
fn quarter_turn(written: &str) -> String {
    let place = written
        .strip_prefix("rotate(270, ")
        .and_then(|rest| rest.strip_suffix(')'))
        .and_then(|rest| rest.split_once(", "));
    match place.map(|(x, y)| (x.parse::<i64>(), y.parse::<i64>())) {
        Some((Ok(x), Ok(y))) => format!("matrix(0 -1 1 0 {} {})", x - y, x + y),
        _ => written.to_owned(),
    }
}

fn push(svg: &mut String, name: &str, value: &str) {
    let _ = write!(svg, " {name}=\"{value}\"");
}

/// A number with at most one decimal.
fn number(value: f64) -> String {
    let written = format!("{value:.1}");
    written
        .strip_suffix(".0")
        .map_or(written.clone(), str::to_owned)
}

fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for character in text.chars() {
        match character {
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '&' => out.push_str("&amp;"),
            _ if character.is_control() || matches!(character, '\u{fffe}' | '\u{ffff}') => {
                out.push(' ');
            }
            _ => out.push(character),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn raised_text_returns_to_the_baseline() {
        let mut svg = String::new();
        write_text(
            &mut svg,
            "x=\"5\" y=\"6\" dy=\"-0.5ex\" text-anchor=\"start\" font-size=\"80.00000000000001\" opacity=\"1\" fill=\"#000000\">",
            "t ha^{-1} or more",
        );
        assert_eq!(
            svg,
            "<text x=\"5\" y=\"6\" font-size=\"80\" fill=\"#000000\">t ha\
             <tspan dy=\"-28.8\" font-size=\"56\">\u{2212}1</tspan>\
             <tspan dy=\"28.8\" font-size=\"80\"> or more</tspan></text>\n"
        );
    }

    #[test]
    fn a_quarter_turn_keeps_its_place() {
        // (x, y) goes to (y + 50 - 80, -x + 50 + 80), so that (50, 80) stays where it is.
        assert_eq!(
            quarter_turn("rotate(270, 50, 80)"),
            "matrix(0 -1 1 0 -30 130)"
        );
        assert_eq!(quarter_turn("rotate(90, 1, 2)"), "rotate(90, 1, 2)");
    }

    #[test]
    fn opacity_belongs_to_the_paint() {
        let mut svg = String::new();
        write_shape(
            &mut svg,
            "<circle",
            "cx=\"1\" r=\"2\" opacity=\"0.3\" fill=\"#000000\" stroke=\"none\" stroke-width=\"0\"/>",
        );
        write_shape(
            &mut svg,
            "<polyline",
            "fill=\"none\" opacity=\"0.5\" stroke=\"#000000\" points=\"1,2 \"/>",
        );
        assert_eq!(
            svg,
            "<circle cx=\"1\" r=\"2\" fill-opacity=\"0.3\" fill=\"#000000\"/>\n\
             <polyline fill=\"none\" stroke-opacity=\"0.5\" stroke=\"#000000\" points=\"1,2\"/>\n"
        );
    }

    #[test]
    fn titles_are_escaped() {
        let svg = finished(
            "<svg width=\"1\">\n</svg>\n",
            1.0,
            1.0,
            "a < b & c",
            "\u{0}d",
        );
        assert!(svg.contains("<title>a &lt; b &amp; c</title>\n<desc> d</desc>"));
        assert!(svg.ends_with("</svg>\n"));
    }
}
