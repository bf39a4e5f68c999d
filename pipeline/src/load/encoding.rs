//! Bytes to text, whatever encoding they came in.
//!
//! A byte order mark decides; without one, zero bytes at every other place are UTF-16 and valid
//! UTF-8 is UTF-8. What is left is one of the older encodings of a byte a letter, told by which
//! letters follow each other (crate `chardetng`), and said in a note.

use chardetng::{EncodingDetector, Iso2022JpDetection, Utf8Detection};
use encoding_rs::{Encoding, UTF_8, UTF_16BE, UTF_16LE};

/// A text and the encoding it was in.
#[derive(Debug, PartialEq, Eq)]
pub struct Decoded {
    /// The text without its byte order mark.
    pub text: String,
    /// Name of the encoding where it is not UTF-8.
    pub from: Option<&'static str>,
}

/// Why bytes are no text.
#[derive(Debug, PartialEq, Eq)]
pub enum NoText {
    /// A workbook or another packed file.
    Packed,
    /// Bytes that are no letters in the encoding found; its name and the line of the first.
    Broken(&'static str, usize),
    /// Zero bytes inside the text, on this line.
    Zero(usize),
}

/// How many bytes tell the encoding of a file.
const SAMPLE: usize = 1 << 20;

/// The text that bytes hold.
///
/// # Errors
/// [`NoText`] where they hold none.
pub fn decoded(bytes: Vec<u8>) -> Result<Decoded, NoText> {
    if bytes.starts_with(b"PK\x03\x04") || bytes.starts_with(b"\xd0\xcf\x11\xe0") {
        return Err(NoText::Packed);
    }
    let encoding = told(&bytes);
    let text = if encoding == UTF_8 {
        match String::from_utf8(bytes) {
            Ok(mut text) => {
                if text.starts_with('\u{feff}') {
                    text.drain(..'\u{feff}'.len_utf8());
                }
                text
            }
            Err(error) => {
                let valid = error.utf8_error().valid_up_to();
                let before = &error.as_bytes()[..valid];
                return Err(NoText::Broken(UTF_8.name(), lines(before)));
            }
        }
    } else {
        let (text, broken) = encoding.decode_with_bom_removal(&bytes);
        if broken {
            let before = text.split('\u{fffd}').next().unwrap_or("");
            return Err(NoText::Broken(encoding.name(), lines(before.as_bytes())));
        }
        text.into_owned()
    };
    match text.find('\0') {
        Some(at) => Err(NoText::Zero(lines(&text.as_bytes()[..at]))),
        None => Ok(Decoded {
            text,
            from: (encoding != UTF_8).then(|| encoding.name()),
        }),
    }
}

/// Line that the byte after these stands on.
fn lines(before: &[u8]) -> usize {
    before.iter().filter(|byte| **byte == b'\n').count() + 1
}

fn told(bytes: &[u8]) -> &'static Encoding {
    if let Some((encoding, _)) = Encoding::for_bom(bytes) {
        return encoding;
    }
    let sample = &bytes[..bytes.len().min(SAMPLE)];
    let zeros = |from: usize| {
        let every = sample.iter().skip(from).step_by(2);
        every.filter(|byte| **byte == 0).count() * 4 > sample.len()
    };
    // Headings, digits and separators are ASCII: one byte of each pair is zero.
    if zeros(1) {
        return UTF_16LE;
    }
    if zeros(0) {
        return UTF_16BE;
    }
    match std::str::from_utf8(bytes) {
        Ok(_) => return UTF_8,
        // Letters of UTF-8 before the byte that is none: two encodings in one file.
        Err(error) if !bytes[..error.valid_up_to()].is_ascii() => return UTF_8,
        Err(_) => {}
    }
    let mut detector = EncodingDetector::new(Iso2022JpDetection::Deny);
    detector.feed(bytes, true);
    detector.guess(None, Utf8Detection::Deny)
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "parcelle,c\u{e9}page,r\u{e9}colte\n1,Gew\u{fc}rztraminer,3.1\n";

    fn utf16(text: &str, little: bool) -> Vec<u8> {
        let pair = |unit: u16| {
            if little {
                unit.to_le_bytes()
            } else {
                unit.to_be_bytes()
            }
        };
        text.encode_utf16().flat_map(pair).collect()
    }

    #[test]
    fn every_usual_encoding_gives_the_same_text() {
        let latin: Vec<u8> = TEXT.chars().map(|letter| letter as u8).collect();
        let marked = format!("\u{feff}{TEXT}");
        for (bytes, from) in [
            (TEXT.as_bytes().to_vec(), None),
            (marked.as_bytes().to_vec(), None),
            (latin, Some("windows-1252")),
            (utf16(&marked, true), Some("UTF-16LE")),
            (utf16(&marked, false), Some("UTF-16BE")),
            (utf16(TEXT, true), Some("UTF-16LE")),
            (utf16(TEXT, false), Some("UTF-16BE")),
        ] {
            let decoded = decoded(bytes).unwrap();
            assert_eq!((decoded.text.as_str(), decoded.from), (TEXT, from));
        }
    }

    #[test]
    fn what_is_no_text_is_refused() {
        assert_eq!(decoded(b"PK\x03\x04abc".to_vec()), Err(NoText::Packed));
        assert_eq!(
            decoded(b"plot,kg,block,more\n1,\x002\n".to_vec()),
            Err(NoText::Zero(2))
        );
        let mixed = [TEXT.as_bytes(), b"2,Ros\xe9,3\n"].concat();
        assert_eq!(decoded(mixed), Err(NoText::Broken("UTF-8", 3)));
        let odd = [utf16("\u{feff}plot\n1", true), vec![b'x']].concat();
        assert_eq!(decoded(odd), Err(NoText::Broken("UTF-16LE", 2)));
    }
}
