//! The blocks as one HTML file: styles, script and figures inside it, nothing to load.
//!
//! The page forbids itself every connection (its content security policy), reads without its
//! script, and gets sorting, copying and the values under the pointer by it.

mod blocks;
mod contents;
mod figure;
mod table;

use super::{Document, Kind, PagesError, Prepared};

const STYLE: &str = include_str!("page.css");
const SCRIPT: &str = include_str!("page.js");

/// The whole page.
///
/// # Errors
/// [`PagesError`] where a figure is missing or is no SVG.
pub fn page(document: &Document, prepared: &Prepared) -> Result<String, PagesError> {
    let words = prepared.words;
    let mut writer = blocks::Writer::new(document, words);
    writer.blocks(&prepared.blocks)?;
    let kind = match document.kind {
        Kind::Report => "report",
        Kind::Bulletin => "bulletin",
    };
    let mut out = String::with_capacity(writer.out.len() + STYLE.len() + SCRIPT.len() + 8192);
    out.push_str("<!DOCTYPE html>\n<html lang=\"");
    escape(document.language, &mut out);
    out.push_str("\">\n<head>\n<meta charset=\"utf-8\"/>\n");
    out.push_str(
        "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>\n\
         <meta name=\"color-scheme\" content=\"light dark\"/>\n\
         <meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; \
         style-src 'unsafe-inline'; script-src 'unsafe-inline'; img-src data:\"/>\n\
         <link rel=\"icon\" href=\"data:,\"/>\n<title>",
    );
    escape(document.title, &mut out);
    out.push_str("</title>\n<style>\n");
    out.push_str(STYLE);
    out.push_str("</style>\n</head>\n<body class=\"");
    out.push_str(kind);
    out.push('"');
    for (name, text) in [
        ("copy", words.copy),
        ("copied", words.copied),
        ("by-hand", words.by_hand),
        ("close", words.close),
    ] {
        out.push_str(&format!(" data-{name}=\""));
        escape(text, &mut out);
        out.push('"');
    }
    out.push_str(">\n<a class=\"skip\" href=\"#text\">");
    escape(words.skip, &mut out);
    out.push_str("</a>\n<div class=\"sheet\">\n");
    contents::write(&prepared.blocks, document.kind, words, &mut out);
    out.push_str("<main id=\"text\" tabindex=\"-1\">\n");
    out.push_str(&writer.out);
    out.push_str("</main>\n</div>\n<script>\n");
    out.push_str(SCRIPT);
    out.push_str("</script>\n</body>\n</html>\n");
    Ok(out)
}

/// Text made safe inside an element or an attribute.
pub fn escape(text: &str, out: &mut String) {
    for character in text.chars() {
        match character {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\n' | '\t' => out.push(character),
            _ if character.is_control() => out.push(' '),
            _ => out.push(character),
        }
    }
}
