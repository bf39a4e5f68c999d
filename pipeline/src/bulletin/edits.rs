//! What the writer of a bulletin decides: `bulletin.toml`, read by `trial/resolve/bulletin.rs`.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::amounts::First;
use crate::diagnostic::Source;
use crate::trial::Written;

/// File of the edits in a trial folder.
pub const EDITS_FILE: &str = "bulletin.toml";

/// A part of the bulletin.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Part {
    /// The question of the trial.
    Question,
    /// The answer.
    Answer,
    /// Why it matters.
    Why,
    /// What was done.
    Done,
    /// The table.
    Table,
    /// The figures.
    Figures,
    /// Balance ratios beside published ranges.
    Balance,
    /// Money.
    Money,
    /// What the trial does not tell.
    Limits,
    /// Before you change your pruning.
    Cautions,
    /// Who to ask.
    Ask,
    /// Words used.
    Glossary,
}

/// Parts and their names in the edits, in the order of the bulletin.
pub const PARTS: &[(&str, Part)] = &[
    ("question", Part::Question),
    ("answer", Part::Answer),
    ("why", Part::Why),
    ("done", Part::Done),
    ("table", Part::Table),
    ("figures", Part::Figures),
    ("balance", Part::Balance),
    ("money", Part::Money),
    ("limits", Part::Limits),
    ("cautions", Part::Cautions),
    ("ask", Part::Ask),
    ("glossary", Part::Glossary),
];

/// Parts no edit can take out: what was found, how far it goes, and what it may do to a reader who
/// follows it.
pub const KEPT: &[Part] = &[Part::Answer, Part::Limits, Part::Cautions];

/// A band of differences that count as none.
#[derive(Debug, Clone, PartialEq)]
pub enum Band {
    /// A share of the value of the treatment held against, from 0 to 1.
    Share(f64),
    /// An amount in the unit of the report.
    Amount(f64),
}

/// What the writer decides.
#[derive(Debug, Clone, Default)]
pub struct Edits {
    /// The file, where there is one.
    pub source: Option<Arc<Source>>,
    /// Title, where it is not the trial's.
    pub title: Option<String>,
    /// Question, where it is not the trial's.
    pub question: Option<String>,
    /// Whom it is for.
    pub audience: Option<String>,
    /// Units that come first.
    pub first: First,
    /// What is spoken of, the main one first; empty: the usual.
    pub responses: Vec<Written<String>>,
    /// Parts left out.
    pub left_out: Vec<Part>,
    /// Bands of differences that count as none, by response, as written.
    pub same: Vec<(Written<String>, Written<String>)>,
    /// The same as they are understood in a report.
    pub bands: BTreeMap<String, Band>,
    /// Sentences added at the end of a part.
    pub sentences: Vec<(Part, Vec<Written<String>>)>,
    /// Words explained, beside the program's own.
    pub glossary: Vec<(String, Written<String>)>,
    /// The trial's own words in other words or another language.
    pub words: BTreeMap<String, Written<String>>,
    /// Names and texts of the facts of the site, which words may be given for too.
    pub about: Vec<String>,
    /// Whether the trial's own texts are in the language of the bulletin.
    pub own_language: bool,
}

impl Edits {
    /// The writer's words for something of the trial.
    #[must_use]
    pub fn word(&self, own: &str) -> Option<&str> {
        self.words.get(own).map(|word| word.value.as_str())
    }

    /// The writer's words, or the trial's own.
    #[must_use]
    pub fn worded<'a>(&'a self, own: &'a str) -> &'a str {
        self.word(own).unwrap_or(own)
    }

    /// Whether a part is in the bulletin.
    #[must_use]
    pub fn has(&self, part: Part) -> bool {
        KEPT.contains(&part) || !self.left_out.contains(&part)
    }

    /// The sentences added to a part.
    pub fn added(&self, part: Part) -> impl Iterator<Item = &Written<String>> {
        let of_it = self.sentences.iter().filter(move |(of, _)| *of == part);
        of_it.flat_map(|(_, sentences)| sentences)
    }
}
