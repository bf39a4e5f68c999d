//! Citation keys to numbers: the first work cited is [1].

use std::collections::BTreeMap;

use caneplot_plugin::findings::Reference;

use super::markdown::escaped;

/// The references of a report, numbered as they are cited.
#[derive(Debug, Default)]
pub struct Citations {
    texts: BTreeMap<String, String>,
    order: Vec<String>,
}

impl Citations {
    /// Knows these references; the first text given for a key stays.
    pub fn know(&mut self, references: &[Reference]) {
        for reference in references {
            self.texts
                .entry(reference.key.clone())
                .or_insert_with(|| reference.text.clone());
        }
    }

    /// Plain text as Markdown, `[@key]` and `[@key; @key]` as numbers.
    pub fn cited(&mut self, text: &str) -> String {
        let mut out = String::new();
        let mut rest = text;
        while let Some(at) = rest.find("[@") {
            let Some(end) = rest[at..].find(']') else {
                break;
            };
            out.push_str(&escaped(&rest[..at]));
            let numbers: Vec<String> = rest[at + 1..at + end]
                .split(';')
                .map(|key| self.number(key.trim().trim_start_matches('@')))
                .collect();
            out.push_str(&format!("[{}]", numbers.join(", ")));
            rest = &rest[at + end + 1..];
        }
        out.push_str(&escaped(rest));
        out
    }

    /// The list: those cited in order, then those only known.
    #[must_use]
    pub fn list(&self) -> Vec<String> {
        let uncited = self.texts.keys().filter(|key| !self.order.contains(key));
        self.order
            .iter()
            .chain(uncited)
            .map(|key| self.texts.get(key).cloned().unwrap_or_else(|| key.clone()))
            .collect()
    }

    fn number(&mut self, key: &str) -> String {
        let at = self
            .order
            .iter()
            .position(|known| known == key)
            .unwrap_or_else(|| {
                self.order.push(key.to_owned());
                self.order.len() - 1
            });
        (at + 1).to_string()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn works_are_numbered_as_they_are_cited() {
        let mut citations = Citations::default();
        let work = |key: &str| Reference {
            key: key.into(),
            text: format!("{key}, whole"),
        };
        citations.know(&[work("a-1"), work("b-2"), work("c-3")]);
        assert_eq!(
            citations.cited("See [@b-2] and [@a-1; @b-2]_"),
            "See [1] and [2, 1]\\_"
        );
        assert_eq!(citations.list(), ["b-2, whole", "a-1, whole", "c-3, whole"]);
    }
}
