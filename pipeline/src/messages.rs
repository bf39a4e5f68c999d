//! The catalogue of what the program says in several languages, and numbers as each language
//! writes them.
//!
//! The messages stand in `pipeline/messages/<language>/*.ftl` in the Fluent syntax and are part of
//! the program. English is complete; another language has every message of the parts it is offered
//! for, and a test holds the two together.

use std::str::FromStr;

use fluent_bundle::{FluentArgs, FluentBundle, FluentResource, FluentValue};
use icu_decimal::DecimalFormatter;
use icu_decimal::input::Decimal;
use icu_locale_core::Locale;
use unic_langid::LanguageIdentifier;

use crate::diagnostic::{Diagnostic, nearest};

/// Languages there are, with their messages.
pub const LANGUAGES: &[(&str, &str)] = &[
    ("en", include_str!("../messages/en/bulletin.ftl")),
    ("es", include_str!("../messages/es/bulletin.ftl")),
];

/// Spoken kinds of a language that write numbers otherwise than the language alone.
const KINDS: &[&str] = &["en-US", "en-GB", "es-ES", "es-MX", "es-US"];

/// A value in a message.
#[derive(Debug, Clone)]
pub enum Said {
    /// Text, a written number among them.
    Text(String),
    /// A count, which can choose between singular and plural.
    Count(usize),
}

impl From<&str> for Said {
    fn from(text: &str) -> Self {
        Said::Text(text.to_owned())
    }
}

impl From<String> for Said {
    fn from(text: String) -> Self {
        Said::Text(text)
    }
}

impl From<&String> for Said {
    fn from(text: &String) -> Self {
        Said::Text(text.clone())
    }
}

impl From<usize> for Said {
    fn from(count: usize) -> Self {
        Said::Count(count)
    }
}

/// A language: its messages and its numbers.
pub struct Language {
    tag: String,
    code: &'static str,
    bundle: FluentBundle<FluentResource>,
    numbers: DecimalFormatter,
}

impl std::fmt::Debug for Language {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Language").field("tag", &self.tag).finish()
    }
}

impl Language {
    /// The language of a tag such as "en", "es" or "es-MX".
    ///
    /// # Errors
    /// There is no such language here.
    pub fn new(tag: &str) -> Result<Self, Diagnostic> {
        let unknown = || {
            let known: Vec<&str> = LANGUAGES.iter().map(|(code, _)| *code).collect();
            let all = known.iter().copied().chain(KINDS.iter().copied());
            let all: Vec<&str> = all.collect();
            let near = nearest(tag, all.iter().copied());
            let near = near.map_or(String::new(), |near| format!("did you mean {near}? "));
            Diagnostic::error("language", format!("there are no messages in '{tag}'"))
                .help(format!("{near}there are {}", all.join(", ")))
        };
        let &(code, text) = LANGUAGES
            .iter()
            .find(|(code, _)| tag == *code || (KINDS.contains(&tag) && tag.starts_with(code)))
            .ok_or_else(unknown)?;
        let spoken = LanguageIdentifier::from_str(tag).map_err(|_| unknown())?;
        let locale = Locale::from_str(tag).map_err(|_| unknown())?;
        let numbers =
            DecimalFormatter::try_new(locale.into(), Default::default()).map_err(|_| unknown())?;
        let mut bundle = FluentBundle::new(vec![spoken]);
        // Marks around what is filled in serve scripts written from the right.
        bundle.set_use_isolating(false);
        // A test reads every catalogue, so that neither step can fail here.
        if let Ok(resource) = FluentResource::try_new(text.to_owned()) {
            let _ = bundle.add_resource(resource);
        }
        Ok(Self {
            tag: tag.to_owned(),
            code,
            bundle,
            numbers,
        })
    }

    /// The tag it was asked for by, such as "es-MX".
    #[must_use]
    pub fn tag(&self) -> &str {
        &self.tag
    }

    /// The language alone, such as "es".
    #[must_use]
    pub fn code(&self) -> &'static str {
        self.code
    }

    /// A message without anything to fill in.
    #[must_use]
    pub fn text(&self, id: &str) -> String {
        self.say(id, &[])
    }

    /// Whether there is such a message.
    #[must_use]
    pub fn has(&self, id: &str) -> bool {
        self.bundle.has_message(id)
    }

    /// A message with its values.
    #[must_use]
    pub fn say(&self, id: &str, values: &[(&str, Said)]) -> String {
        let Some(pattern) = self.bundle.get_message(id).and_then(|found| found.value()) else {
            return id.to_owned();
        };
        let mut args = FluentArgs::new();
        for (name, value) in values {
            let value = match value {
                Said::Text(text) => FluentValue::from(text.as_str()),
                Said::Count(count) => FluentValue::from(*count as f64),
            };
            args.set(*name, value);
        }
        let mut errors = Vec::new();
        let said = self
            .bundle
            .format_pattern(pattern, Some(&args), &mut errors);
        debug_assert!(errors.is_empty(), "{id}: {errors:?}");
        said.into_owned()
    }

    /// A number with so many decimals and a true minus sign.
    #[must_use]
    pub fn number(&self, value: f64, decimals: u8) -> String {
        let text = format!("{value:.*}", usize::from(decimals));
        let text = match text.strip_prefix('-') {
            // Minus nothing is nothing.
            Some(rest) if rest.chars().all(|c| matches!(c, '0' | '.')) => rest.to_owned(),
            _ => text,
        };
        match Decimal::from_str(&text) {
            Ok(decimal) => self.numbers.format(&decimal).to_string().replace('-', "−"),
            // Not a finite number: none comes out of an analysis.
            Err(_) => text,
        }
    }

    /// Phrases as a list: "a, b and c".
    #[must_use]
    pub fn list<S: AsRef<str>>(&self, phrases: &[S]) -> String {
        let and = if self.code == "es" { "y" } else { "and" };
        match phrases {
            [] => String::new(),
            [one] => one.as_ref().to_owned(),
            [rest @ .., last] => {
                let rest: Vec<&str> = rest.iter().map(AsRef::as_ref).collect();
                let last = last.as_ref();
                // "e" before the sound of i.
                let sounds = last.to_lowercase();
                let i = sounds.starts_with('i')
                    || (sounds.starts_with("hi") && !sounds.starts_with("hie"));
                let and = if self.code == "es" && i { "e" } else { and };
                format!("{} {and} {last}", rest.join(", "))
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use std::collections::{BTreeMap, BTreeSet};

    use super::*;

    /// Ids of a catalogue with the values each names.
    fn messages(text: &str) -> BTreeMap<String, BTreeSet<String>> {
        let mut found = BTreeMap::new();
        let mut id = String::new();
        for line in text.lines().filter(|line| !line.starts_with('#')) {
            if let Some((name, _)) = line.split_once(" =")
                && !line.starts_with(' ')
            {
                id = name.to_owned();
                assert!(
                    found.insert(id.clone(), BTreeSet::new()).is_none(),
                    "{id} stands twice"
                );
            }
            for part in line.split('$').skip(1) {
                let name = part
                    .chars()
                    .take_while(|c| c.is_ascii_alphanumeric())
                    .collect();
                found.get_mut(&id).unwrap().insert(name);
            }
        }
        found
    }

    #[test]
    fn every_catalogue_is_read_without_an_error() {
        for (code, text) in LANGUAGES {
            let read = FluentResource::try_new((*text).to_owned());
            assert!(read.is_ok(), "{code}: {:?}", read.err());
        }
    }

    #[test]
    fn every_language_has_every_message_with_the_same_values() {
        let english = messages(LANGUAGES[0].1);
        for (code, text) in &LANGUAGES[1..] {
            let other = messages(text);
            for (id, values) in &english {
                assert_eq!(other.get(id), Some(values), "{code}: {id}");
            }
            for id in other.keys() {
                assert!(english.contains_key(id), "{code}: {id} is not used");
            }
        }
    }

    #[test]
    fn every_message_is_used_and_every_one_used_is_there() {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/src/bulletin");
        let mut source = String::new();
        for entry in std::fs::read_dir(folder).unwrap() {
            source.push_str(&std::fs::read_to_string(entry.unwrap().path()).unwrap());
        }
        let english = messages(LANGUAGES[0].1);
        for id in english.keys() {
            assert!(source.contains(&format!("\"{id}\"")), "{id} is not used");
        }
        for call in [".text(\"", ".say(\"", ".say(\n            \""] {
            for part in source.split(call).skip(1) {
                let id = part.split('"').next().unwrap();
                assert!(english.contains_key(id), "{id} is not there");
            }
        }
    }

    #[test]
    fn numbers_are_written_as_the_language_writes_them() {
        // Unicode CLDR 48: decimal comma in Spain, point in Mexico and the United States.
        for (tag, value, decimals, text) in [
            ("en", 1234.56, 1, "1,234.6"),
            ("es", 1234.56, 1, "1234,6"),
            ("es", 12345.0, 0, "12.345"),
            ("es-MX", 0.5, 1, "0.5"),
            ("es-US", 0.5, 2, "0.50"),
            ("en", -0.04, 1, "0.0"),
            ("es", -1.25, 2, "−1,25"),
        ] {
            assert_eq!(Language::new(tag).unwrap().number(value, decimals), text);
        }
    }

    #[test]
    fn an_unknown_language_is_an_error_that_names_those_there_are() {
        let error = Language::new("esp").unwrap_err();
        assert!(error.help.unwrap().contains("did you mean es?"));
    }

    #[test]
    fn lists_end_as_the_language_ends_them() {
        let spanish = Language::new("es").unwrap();
        assert_eq!(spanish.list(&["a", "b"]), "a y b");
        assert_eq!(spanish.list(&["Malbec", "Isabella"]), "Malbec e Isabella");
        assert_eq!(
            Language::new("en").unwrap().list(&["a", "b", "c"]),
            "a, b and c"
        );
    }
}
