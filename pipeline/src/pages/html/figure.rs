//! A drawing inside the page.

use std::fmt::Write as _;

/// Writes an SVG as an element of the page, described by `alt`.
///
/// Its own title and description give way to `alt`, which is the same text: a browser would show
/// the title wherever the pointer rests. Names inside it get the figure's number, because names are
/// unique in a page and not in a drawing only.
///
/// # Errors
/// What is wrong with it.
pub fn inline(svg: &str, alt: &str, number: usize, out: &mut String) -> Result<(), &'static str> {
    let start = svg.find("<svg").ok_or("it has no <svg> element")?;
    let after = &svg[start..];
    let head_end = after.find('>').ok_or("its <svg> element is never closed")?;
    let (head, rest) = (&after[..head_end], &after[head_end + 1..]);
    let end = rest
        .rfind("</svg>")
        .ok_or("its <svg> element is never closed")?;
    out.push_str("<svg class=\"drawing\" role=\"img\" aria-label=\"");
    super::escape(alt, out);
    out.push('"');
    for name in ["viewBox", "font-family", "stroke-linejoin"] {
        if let Some(value) = attribute(head, name) {
            let _ = write!(out, " {name}=\"{value}\"");
        }
    }
    // The style of the page makes the size on a screen from it.
    if let Some(width) = attribute(head, "width") {
        let _ = write!(out, " style=\"--w:{width}\"");
    }
    out.push('>');
    let body = without_leading(without_leading(&rest[..end], "title"), "desc");
    renamed(body, number, out);
    out.push_str("</svg>");
    Ok(())
}

/// Value of an attribute in the text of a start tag.
fn attribute<'a>(tag: &'a str, name: &str) -> Option<&'a str> {
    let begin = format!(" {name}=\"");
    let at = tag.find(&begin)? + begin.len();
    tag[at..].split_once('"').map(|(value, _)| value)
}

/// A drawing without its own title or description, if it begins with one.
fn without_leading<'a>(body: &'a str, name: &str) -> &'a str {
    let text = body.trim_start();
    match text.strip_prefix(&format!("<{name}>")) {
        Some(inner) => inner
            .split_once(&format!("</{name}>"))
            .map_or(text, |(_, after)| after),
        None => text,
    }
}

/// The drawing with its names, and what refers to them, marked with the figure's number.
fn renamed(body: &str, number: usize, out: &mut String) {
    const PLACES: [&str; 3] = [" id=\"", "url(#", "href=\"#"];
    let mut rest = body;
    loop {
        let next = PLACES
            .iter()
            .filter_map(|place| rest.find(place).map(|at| at + place.len()))
            .min();
        let Some(at) = next else { break };
        out.push_str(&rest[..at]);
        let _ = write!(out, "f{number}.");
        rest = &rest[at..];
    }
    out.push_str(rest);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_inside_a_drawing_become_its_own() {
        let svg = "<?xml version=\"1.0\"?>\n<svg width=\"100.0pt\" viewBox=\"0 0 10 10\">\n\
                   <title>t</title>\n<desc>d</desc>\n<g id=\"a\"><use href=\"#a\"/></g>\
                   <rect fill=\"url(#a)\"/>\n</svg>\n";
        let mut out = String::new();
        inline(svg, "5 < 6", 3, &mut out).unwrap();
        assert_eq!(
            out,
            "<svg class=\"drawing\" role=\"img\" aria-label=\"5 &lt; 6\" viewBox=\"0 0 10 10\" \
             style=\"--w:100.0pt\">\n<g id=\"f3.a\"><use href=\"#f3.a\"/></g>\
             <rect fill=\"url(#f3.a)\"/>\n</svg>"
        );
    }

    #[test]
    fn what_is_no_drawing_is_refused() {
        assert!(inline("<p>", "", 1, &mut String::new()).is_err());
    }
}
