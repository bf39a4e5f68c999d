//! A reader of our own PDFs that is just good enough to find a sentence: compressed streams, text in
//! brackets, glyphs by the font's own table of what they mean (ISO 32000-1, 7.3.4.2 and 9.10.3).

use std::collections::BTreeMap;

/// The text of a PDF, read once with the table of each of its fonts: what is set in that font reads
/// well, all else does not.
pub fn texts(pdf: &[u8]) -> Vec<String> {
    let streams = streams(pdf);
    let holds = |stream: &[u8], mark: &[u8]| stream.windows(mark.len()).any(|part| part == mark);
    let fonts: Vec<BTreeMap<u16, char>> = streams
        .iter()
        .filter(|stream| holds(stream, b"begincmap"))
        .map(|stream| meanings(&String::from_utf8_lossy(stream)))
        .collect();
    let glyphs: Vec<u16> = streams
        .iter()
        .filter(|stream| holds(stream, b"TJ") && holds(stream, b"BT"))
        .flat_map(|stream| glyphs(stream))
        .collect();
    fonts
        .iter()
        .map(|font| glyphs.iter().filter_map(|glyph| font.get(glyph)).collect())
        .collect()
}

fn streams(pdf: &[u8]) -> Vec<Vec<u8>> {
    let mark = b"stream\n";
    let mut found = Vec::new();
    for at in 0..pdf.len().saturating_sub(mark.len()) {
        let begins = pdf[at..].starts_with(mark) && !pdf[..at].ends_with(b"end");
        if begins
            && let Ok(plain) = miniz_oxide::inflate::decompress_to_vec_zlib(&pdf[at + mark.len()..])
        {
            found.push(plain);
        }
    }
    found
}

/// Lines such as `<0001> <004E>`.
fn meanings(table: &str) -> BTreeMap<u16, char> {
    let number = |text: &str| {
        let hex = text.trim().strip_prefix('<')?.strip_suffix('>')?;
        u16::from_str_radix(hex, 16).ok()
    };
    table
        .lines()
        .filter_map(|line| {
            let (glyph, meaning) = line.split_once("> <")?;
            let glyph = number(&format!("{glyph}>"))?;
            let meaning = number(&format!("<{meaning}"))?;
            Some((glyph, char::from_u32(u32::from(meaning))?))
        })
        .collect()
}

/// Glyphs, two bytes each, of all text in round brackets.
fn glyphs(content: &[u8]) -> Vec<u16> {
    let mut found = Vec::new();
    let mut bytes = Vec::new();
    let mut at = 0;
    let mut inside = false;
    while at < content.len() {
        match (inside, content[at]) {
            (false, b'(') => inside = true,
            (true, b')') => {
                inside = false;
                // A name of a language has brackets too, and may have an odd number of letters.
                let pairs = bytes.chunks_exact(2);
                found.extend(pairs.map(|pair| u16::from_be_bytes([pair[0], pair[1]])));
                bytes.clear();
            }
            (true, b'\\') => {
                at += 1;
                let octal: String = content[at..]
                    .iter()
                    .take(3)
                    .take_while(|byte| (b'0'..=b'7').contains(byte))
                    .map(|byte| char::from(*byte))
                    .collect();
                if octal.is_empty() {
                    bytes.push(match content[at] {
                        b'n' => b'\n',
                        b'r' => b'\r',
                        b't' => b'\t',
                        b'b' => 8,
                        b'f' => 12,
                        other => other,
                    });
                } else {
                    bytes.push(u8::from_str_radix(&octal, 8).unwrap());
                    at += octal.len() - 1;
                }
            }
            (true, byte) => bytes.push(byte),
            (false, _) => {}
        }
        at += 1;
    }
    found
}
