//! `bulletin.toml`: what the writer of a grower bulletin decides. Only what the file alone can tell is
//! judged here; `bulletin/check.rs` holds it against the report.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

use crate::bulletin::amounts::First;
use crate::bulletin::edits::{Edits, KEPT, PARTS, Part};
use crate::diagnostic::{Diagnostic, Place, nearest};
use crate::messages::LANGUAGES;
use crate::trial::Written;
use crate::trial::faults::Faults;
use crate::trial::file;
use crate::trial::section::{Section, one_line};
use crate::trial::words::Words;

/// Keys of the whole file; a language of [`LANGUAGES`] has a table of its own besides.
const KEYS: &[&str] = &[
    "title",
    "question",
    "audience",
    "units",
    "written_in",
    "responses",
    "leave_out",
    "same_within",
    "sentences",
    "glossary",
    "words",
];

/// Keys of the table of a language.
const TRANSLATED: &[&str] = &[
    "title",
    "question",
    "audience",
    "sentences",
    "glossary",
    "words",
];

const UNITS: Words<First> = Words {
    what: "a choice of units",
    list: &[("metric", First::Metric), ("us", First::Us)],
};

/// What is told of texts that the language asked for lacks.
pub type Untranslated = Vec<String>;

/// The edits of a file for a bulletin in a language ("en"), and the texts of the file that have no
/// words in that language and are used as they are.
///
/// # Errors
/// Every mistake of the file, in the order of the file.
pub fn read(path: &Path, language: &str) -> Result<(Edits, Untranslated), Vec<Diagnostic>> {
    let source = super::plan::source(path).map_err(|_| {
        let place = Place::whole(path);
        vec![
            Diagnostic::error(
                "bulletin-file",
                "the edits cannot be read as a text in UTF-8",
            )
            .at(place)
            .help("give the path of a bulletin.toml; trials/README.md explains its keys"),
        ]
    })?;
    let mut faults = Faults::new(Arc::clone(&source));
    let found = file::tables(&source, &mut faults).map(|document| {
        let mut root = Section::new("", 0..0, document.get_ref());
        let mut known = KEYS.to_vec();
        known.extend(LANGUAGES.iter().map(|(code, _)| *code));
        root.only(&known, &mut faults);
        edits(&root, language, &mut faults)
    });
    match found {
        Some((mut edits, untranslated)) if faults.is_empty() => {
            edits.source = Some(source);
            Ok((edits, untranslated))
        }
        _ => Err(faults
            .into_sorted()
            .into_iter()
            .map(|fault| fault.about("bulletin.toml"))
            .collect()),
    }
}

fn edits(root: &Section<'_>, language: &str, faults: &mut Faults) -> (Edits, Untranslated) {
    let mut edits = Edits {
        first: root
            .word("units", &UNITS, faults)
            .map(|found| found.value)
            .unwrap_or_default(),
        responses: root
            .texts("responses", "responses = [\"yield\", \"brix\"]", faults)
            .unwrap_or_default(),
        left_out: left_out(root, faults),
        same: same(root, faults),
        ..Edits::default()
    };
    let own = root
        .text("written_in", "written_in = \"en\"", faults)
        .map_or_else(|| "en".to_owned(), |found| found.value);
    if !LANGUAGES.iter().any(|(code, _)| *code == own)
        && let Some(value) = root.value("written_in")
    {
        let codes: Vec<&str> = LANGUAGES.iter().map(|(code, _)| *code).collect();
        faults.add(
            &value.span(),
            Diagnostic::error("unknown-word", format!("there are no messages in '{own}'"))
                .help(format!("write one of {}", codes.join(", "))),
        );
    }
    let base = texts(root, faults);
    let mut asked = Texts::default();
    // Every language is read, so that a mistake in one shows whichever is asked for.
    for (code, _) in LANGUAGES {
        let Some(mut section) = root.section(code, faults) else {
            continue;
        };
        section.only(TRANSLATED, faults);
        let found = texts(&section, faults);
        if *code == language {
            asked = found;
        }
    }
    let mut untranslated = Vec::new();
    if own != language {
        untranslated = base.lacking(&asked);
    }
    let texts = base.overlaid(asked);
    edits.title = texts.title;
    edits.question = texts.question;
    edits.audience = texts.audience;
    edits.sentences = texts.sentences;
    edits.glossary = texts.glossary;
    edits.words = texts.words;
    edits.own_language = own == language;
    (edits, untranslated)
}

/// The texts that have another wording in another language.
#[derive(Default)]
struct Texts {
    title: Option<String>,
    question: Option<String>,
    audience: Option<String>,
    sentences: Vec<(Part, Vec<Written<String>>)>,
    glossary: Vec<(String, Written<String>)>,
    words: BTreeMap<String, Written<String>>,
}

impl Texts {
    /// Texts that have no words in another language.
    fn lacking(&self, other: &Texts) -> Vec<String> {
        let mut lacking = Vec::new();
        for (own, theirs) in [
            (&self.title, &other.title),
            (&self.question, &other.question),
            (&self.audience, &other.audience),
        ] {
            lacking.extend(own.iter().filter(|_| theirs.is_none()).cloned());
        }
        for (part, sentences) in &self.sentences {
            if !other.sentences.iter().any(|(known, _)| known == part) {
                lacking.extend(sentences.iter().map(|one| one.value.clone()));
            }
        }
        if other.glossary.is_empty() {
            lacking.extend(self.glossary.iter().map(|(term, _)| term.clone()));
        }
        lacking
    }

    /// These, and those of another language where it has some.
    fn overlaid(mut self, other: Texts) -> Texts {
        self.title = other.title.or(self.title);
        self.question = other.question.or(self.question);
        self.audience = other.audience.or(self.audience);
        for (part, sentences) in other.sentences {
            self.sentences.retain(|(known, _)| *known != part);
            self.sentences.push((part, sentences));
        }
        if !other.glossary.is_empty() {
            self.glossary = other.glossary;
        }
        self.words.extend(other.words);
        self
    }
}

fn texts(section: &Section<'_>, faults: &mut Faults) -> Texts {
    Texts {
        title: section.words("title", "title = \"How many nodes to leave\"", faults),
        question: section.words("question", "question = \"How many nodes?\"", faults),
        audience: section.words("audience", "audience = \"growers in the valley\"", faults),
        sentences: sentences(section, faults),
        glossary: pairs(section, "glossary", faults),
        words: pairs(section, "words", faults).into_iter().collect(),
    }
}

/// A table of texts by their keys, in the order written.
fn pairs(section: &Section<'_>, key: &str, faults: &mut Faults) -> Vec<(String, Written<String>)> {
    let Some(inner) = section.section(key, faults) else {
        return Vec::new();
    };
    let mut found = Vec::new();
    for entry in inner.entries() {
        let name = entry.key.value;
        if let Some(mut text) = inner.text(&name, &format!("\"{name}\" = \"words\""), faults) {
            text.value = one_line(&text.value);
            found.push((name, text));
        }
    }
    found
}

fn sentences(section: &Section<'_>, faults: &mut Faults) -> Vec<(Part, Vec<Written<String>>)> {
    let Some(mut inner) = section.section("sentences", faults) else {
        return Vec::new();
    };
    let known: Vec<&str> = PARTS.iter().map(|(name, _)| *name).collect();
    inner.only(&known, faults);
    let mut found = Vec::new();
    for (name, part) in PARTS {
        let example = format!("{name} = [\"A sentence.\"]");
        if let Some(mut texts) = inner.texts(name, &example, faults) {
            for text in &mut texts {
                text.value = one_line(&text.value);
            }
            found.push((*part, texts));
        }
    }
    found
}

fn left_out(root: &Section<'_>, faults: &mut Faults) -> Vec<Part> {
    let written = root.texts("leave_out", "leave_out = [\"glossary\"]", faults);
    let mut parts = Vec::new();
    for one in written.unwrap_or_default() {
        match PARTS.iter().find(|(name, _)| *name == one.value) {
            Some((name, part)) if KEPT.contains(part) => faults.add(
                &one.span,
                Diagnostic::error(
                    "bulletin-part",
                    format!("'{name}' cannot be left out of a bulletin"),
                )
                .help(
                    "take it out of the list: a reader must see what was found, how far it goes \
                     and what to beware of",
                ),
            ),
            Some((_, part)) => parts.push(*part),
            None => {
                let names = PARTS
                    .iter()
                    .filter(|(_, part)| !KEPT.contains(part))
                    .map(|(name, _)| *name);
                let names: Vec<&str> = names.collect();
                let near = nearest(&one.value, names.iter().copied());
                let near = near.map_or(String::new(), |near| {
                    format!("write \"{near}\" if that is meant; ")
                });
                faults.add(
                    &one.span,
                    Diagnostic::error(
                        "bulletin-part",
                        format!("a bulletin has no part named '{}'", one.value),
                    )
                    .help(format!("{near}parts to leave out: {}", names.join(", "))),
                );
            }
        }
    }
    parts
}

fn same(root: &Section<'_>, faults: &mut Faults) -> Vec<(Written<String>, Written<String>)> {
    let Some(inner) = root.section("same_within", faults) else {
        return Vec::new();
    };
    let mut found = Vec::new();
    for entry in inner.entries() {
        let example = format!("{} = \"5 %\"", entry.key.value);
        if let Some(text) = inner.text(&entry.key.value, &example, faults) {
            found.push((entry.key, text));
        }
    }
    found
}
