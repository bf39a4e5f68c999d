//! Text inside XML.

/// A text fit for an element or an attribute.
pub fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\n' | '\t' => out.push(' '),
            _ if letter.is_control() || matches!(letter, '\u{fffe}' | '\u{ffff}') => {}
            _ => out.push(letter),
        }
    }
    out
}
