//! What there is to tell: the right choice of factors, the things measured, treatments in words.

use caneplot_plugin::estimates::Estimates;
use caneplot_plugin::request::{Factor, Level};

use super::edits::{Band, Edits};
use super::topic::{self, Topic};
use super::{Field, answer};
use crate::earlier::EarlierReport;
use crate::messages::{Language, Said};

/// Everything a bulletin is written from.
#[derive(Debug)]
pub struct Story<'a> {
    /// The report.
    pub report: &'a EarlierReport,
    /// What the writer decided.
    pub edits: &'a Edits,
    /// The language of the page.
    pub language: &'a Language,
    /// Plots, blocks and vines.
    pub field: &'a Field,
    /// Factors to speak of: each by itself, or all together where the effect of one depends on the
    /// others.
    pub focuses: Vec<Focus<'a>>,
    /// Whether the effect of a factor clearly depends on the others; `None` with one factor, or where
    /// the report has no test of it.
    pub depends: Option<bool>,
    /// Names spoken of, the main one first.
    pub names: Vec<String>,
}

/// Factors spoken of together, and what was measured on their levels.
#[derive(Debug)]
pub struct Focus<'a> {
    /// The factors.
    pub factors: Vec<&'a Factor>,
    /// Things measured, the main one first.
    pub topics: Vec<Topic<'a>>,
}

impl<'a> Story<'a> {
    /// What a report has to tell.
    #[must_use]
    pub fn new(
        report: &'a EarlierReport,
        edits: &'a Edits,
        language: &'a Language,
        field: &'a Field,
    ) -> Self {
        let names = match edits.responses.as_slice() {
            [] => topic::usual(&report.trial),
            written => written.iter().map(|one| one.value.clone()).collect(),
        };
        let factors: Vec<&Factor> = report.trial.factors.iter().collect();
        let together = |names: &[String]| -> Option<&'a Estimates> {
            let wanted = || factors.iter().map(|factor| factor.name.as_str());
            names.iter().find_map(|name| {
                let all = report
                    .speaking(name)
                    .into_iter()
                    .map(|found| found.estimates);
                all.filter(|one| one.season.is_none())
                    .find(|one| one.factors.iter().map(String::as_str).eq(wanted()))
            })
        };
        let depends = together(&names).and_then(|found| {
            let test = found.interaction_test.as_ref()?;
            Some(test.p < 1.0 - found.level)
        });
        let sets: Vec<Vec<&Factor>> = match depends {
            Some(true) => vec![factors],
            _ => factors.iter().map(|factor| vec![*factor]).collect(),
        };
        let focuses = sets
            .into_iter()
            .map(|factors| Focus {
                topics: {
                    let wanted: Vec<&str> =
                        factors.iter().map(|factor| factor.name.as_str()).collect();
                    names
                        .iter()
                        .filter_map(|name| topic::topic(report, name, &wanted, edits, language))
                        .collect()
                },
                factors,
            })
            .filter(|focus| !focus.topics.is_empty())
            .collect();
        Self {
            report,
            edits,
            language,
            field,
            focuses,
            depends,
            names,
        }
    }

    /// The band of differences in a response that count as none, where the writer declared one.
    #[must_use]
    pub fn band(&self, name: &str) -> Option<&Band> {
        self.edits.bands.get(name)
    }

    /// How many seasons the trial ran.
    #[must_use]
    pub fn seasons(&self) -> usize {
        self.report.trial.seasons.len().max(1)
    }

    /// The main thing measured of the first focus, and its focus.
    #[must_use]
    pub fn main(&self) -> Option<(&Focus<'a>, &Topic<'a>)> {
        let focus = self.focuses.first()?;
        Some((focus, focus.topics.first()?))
    }

    /// A factor's level in a sentence: "48 nodes a vine", "cane-pruned".
    #[must_use]
    pub fn level(&self, factor: &Factor, level: &Level) -> String {
        if let Some(own) = self.edits.word(&level.label) {
            return own.to_owned();
        }
        match (level.value, factor.unit.as_deref()) {
            (Some(_), Some("nodes/vine" | "buds/vine")) => self
                .language
                .say("treatment-nodes", &[("n", level.name.as_str().into())]),
            (Some(_), Some(unit)) => self.language.say(
                "treatment-quantity",
                &[("n", level.name.as_str().into()), ("unit", unit.into())],
            ),
            (Some(_), None) => self.language.say(
                "treatment-number",
                &[
                    ("label", self.edits.worded(&factor.label).into()),
                    ("n", level.name.as_str().into()),
                ],
            ),
            (None, _) => level.label.clone(),
        }
    }

    /// A treatment in a sentence: its levels joined.
    #[must_use]
    pub fn treatment(&self, factors: &[&Factor], of: &Estimates, at: usize) -> String {
        let Some(treatment) = of.treatments.get(at) else {
            return String::new();
        };
        let levels = factors.iter().zip(&treatment.levels);
        let words: Vec<String> = levels
            .map(|(factor, name)| {
                let level = factor.levels.iter().find(|level| &level.name == name);
                level.map_or_else(|| name.clone(), |level| self.level(factor, level))
            })
            .collect();
        let joined = words.into_iter().reduce(|first, second| {
            let both: [(&str, Said); 2] = [("first", first.into()), ("second", second.into())];
            self.language.say("treatments-together", &both)
        });
        joined.unwrap_or_default()
    }

    /// A treatment that follows another of the same kind: only its number, where it is one.
    #[must_use]
    pub fn other_treatment(&self, factors: &[&Factor], of: &Estimates, at: usize) -> String {
        if let ([factor], Some(treatment)) = (factors, of.treatments.get(at))
            && factor.is_numeric()
            && let [name] = treatment.levels.as_slice()
        {
            return name.clone();
        }
        self.treatment(factors, of, at)
    }

    /// The control's place among the treatments of estimates, where every factor has one.
    #[must_use]
    pub fn control(&self, factors: &[&Factor], of: &Estimates) -> Option<usize> {
        let wanted: Option<Vec<&String>> = factors
            .iter()
            .map(|factor| factor.control.as_ref())
            .collect();
        let wanted = wanted?;
        of.treatments
            .iter()
            .position(|one| one.levels.iter().eq(wanted.iter().copied()))
    }

    /// All answers, the main one first: one a focus.
    #[must_use]
    pub fn answers(&self) -> Vec<answer::Answer<'_>> {
        self.focuses
            .iter()
            .filter_map(|focus| answer::answer(self, focus, focus.topics.first()?))
            .collect()
    }
}
