//! A sentence put together from words and numbers, so that no placeholder has to be named by hand.

use crate::findings::{Format, Rank, Statement};
use crate::words::safe;

/// A sentence under construction.
///
/// ```
/// # use caneplot_plugin::{findings::Format, sentence::Sentence};
/// let statement = Sentence::new("Yield levels off at ")
///     .number_in(31.2, Format::Decimals(0), "nodes/vine")
///     .text(".")
///     .statement();
/// assert_eq!(statement.text, "Yield levels off at {a}.");
/// assert_eq!(statement.values["a"].value, 31.2);
/// ```
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Sentence {
    statement: Statement,
}

impl Sentence {
    /// A sentence that begins with these words.
    #[must_use]
    pub fn new(words: &str) -> Self {
        Self::default().text(words)
    }

    /// Adds words; braces in them are literal.
    #[must_use]
    pub fn text(mut self, words: &str) -> Self {
        self.statement.text.push_str(&safe(words));
        self
    }

    /// Adds words whose braces are doubled already, as [`crate::words`] give them.
    #[must_use]
    pub fn literal(mut self, words: &str) -> Self {
        self.statement.text.push_str(words);
        self
    }

    /// Adds a number.
    #[must_use]
    pub fn number(mut self, value: f64, format: Format) -> Self {
        let name = self.next();
        self.statement.text.push_str(&format!("{{{name}}}"));
        self.statement = self.statement.with(&name, value, format);
        self
    }

    /// Adds a number with its unit, or without one where the unit is empty.
    #[must_use]
    pub fn number_in(mut self, value: f64, format: Format, unit: &str) -> Self {
        if unit.is_empty() {
            return self.number(value, format);
        }
        let name = self.next();
        self.statement.text.push_str(&format!("{{{name}}}"));
        self.statement = self.statement.with_unit(&name, value, format, unit);
        self
    }

    /// Adds another sentence or part of one.
    #[must_use]
    pub fn then(mut self, other: Sentence) -> Self {
        // Doubled braces are literal and stay; single ones hold the names to be changed.
        let mut rest = other.statement.text.as_str();
        while let Some(at) = rest.find(['{', '}']) {
            self.statement.text.push_str(&rest[..at]);
            let from = &rest[at..];
            if from.starts_with("{{") || from.starts_with("}}") {
                self.statement.text.push_str(&from[..2]);
                rest = &from[2..];
                continue;
            }
            let end = from.find('}').map_or(from.len(), |end| end + 1);
            let old = from[..end].trim_matches(['{', '}']);
            if let Some(value) = other.statement.values.get(old) {
                let name = self.next();
                self.statement.text.push_str(&format!("{{{name}}}"));
                self.statement.values.insert(name, value.clone());
            }
            rest = &from[end..];
        }
        self.statement.text.push_str(rest);
        self
    }

    /// The next name: a, b … z, a1, b1 …
    fn next(&self) -> String {
        let count = self.statement.values.len();
        let letter = char::from(b'a' + (count % 26) as u8);
        match count / 26 {
            0 => letter.to_string(),
            round => format!("{letter}{round}"),
        }
    }

    /// The statement, of rank [`Rank::Result`].
    #[must_use]
    pub fn statement(self) -> Statement {
        self.statement
    }

    /// The statement with a rank.
    #[must_use]
    pub fn ranked(self, rank: Rank) -> Statement {
        self.statement.rank(rank)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::validate::check_statement;

    #[test]
    fn joined_sentences_keep_their_numbers_and_literal_braces() {
        let first = Sentence::new("at ").number(1.0, Format::Count);
        let second = Sentence::new(" in block {B} from ")
            .number(2.0, Format::Count)
            .text(" to ")
            .number(3.0, Format::Count);
        let statement = first.then(second).statement();
        assert_eq!(statement.text, "at {a} in block {{B}} from {b} to {c}");
        assert_eq!(statement.values["c"].value, 3.0);
        check_statement(&statement, "statement").unwrap();
    }
}
