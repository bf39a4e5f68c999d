//! `[work.NAME]`, `[costs.NAME]` and `[conversion]`: what treatments take, each by the levels of the
//! factor that makes the difference. What all treatments cost alike is no part of a comparison.

use caneplot_plugin::prices::{Conversion, Cost, CostPer, Once, Time, Work};
use caneplot_plugin::request::Quantity;

use super::Reading;
use crate::diagnostic::Diagnostic;
use crate::trial::Written;
use crate::trial::section::{Section, one_line};
use crate::trial::words::{Words, in_words};

/// Keys of `[work.NAME]`.
pub(in crate::trial) const WORK: &[&str] = &["label", "measured", "by", "minutes", "source"];
/// Keys of `[costs.NAME]`.
pub(in crate::trial) const COSTS: &[&str] = &["label", "per", "by", "amounts", "once", "life"];
/// Keys of `[conversion]`.
pub(in crate::trial) const CONVERSION: &[&str] = &["by", "seasons_without_crop", "years"];

/// What a cost is reckoned on.
const PERS: Words<CostPer> = Words {
    what: "what a cost is reckoned on",
    list: &[
        ("ha", CostPer::Hectare),
        ("hectare", CostPer::Hectare),
        ("acre", CostPer::Acre),
        ("vine", CostPer::Vine),
    ],
};

impl Reading<'_> {
    pub(super) fn work(&mut self, root: &Section<'_>) -> Vec<Work> {
        let each = self.each(root, "work");
        each.into_iter()
            .filter_map(|(name, section)| self.one_work(&name, section))
            .collect()
    }

    fn one_work(&mut self, name: &Written<String>, mut section: Section<'_>) -> Option<Work> {
        section.only(WORK, &mut self.faults);
        let time = match (section.speaks_of("measured"), section.speaks_of("minutes")) {
            (true, false) => self.measured(&section),
            (false, true) => {
                let minutes = self.by_level(&section, "minutes", |minutes| minutes >= 0.0);
                let source = section.needed_text(
                    "source",
                    "source = \"assumed: …\", the ground on which these minutes are taken",
                    &mut self.faults,
                );
                minutes.zip(source).map(|(minutes, source)| Time::Assumed {
                    minutes,
                    source: one_line(&source.value),
                })
            }
            (true, true) => {
                let message = format!("{} has minutes both measured and assumed", section.name());
                self.faults.add(
                    &section.header,
                    Diagnostic::error("prices", message).help("keep one of the two"),
                );
                None
            }
            (false, false) => {
                let example = "measured = \"labour\", a response of the trial, or by and minutes with their source";
                section.missing("measured", example, &mut self.faults);
                None
            }
        };
        Some(Work {
            name: name.value.clone(),
            label: self.label(name, &section),
            time: time?,
        })
    }

    fn measured(&mut self, section: &Section<'_>) -> Option<Time> {
        let name = self.response(section, "measured")?;
        let response = self.trial.responses.iter().find(|one| one.name == name)?;
        if response.quantity == Quantity::Labour {
            return Some(Time::Measured(name));
        }
        let span = section.value("measured").map(|value| value.span());
        self.faults.add(
            &span.unwrap_or(section.header.clone()),
            Diagnostic::error("prices", format!("'{name}' does not measure time of work"))
                .help("say is = \"labour\" at the response in trial.toml if it does"),
        );
        None
    }

    pub(super) fn costs(&mut self, root: &Section<'_>) -> Vec<Cost> {
        let each = self.each(root, "costs");
        each.into_iter()
            .filter_map(|(name, section)| self.one_cost(&name, section))
            .collect()
    }

    fn one_cost(&mut self, name: &Written<String>, mut section: Section<'_>) -> Option<Cost> {
        section.only(COSTS, &mut self.faults);
        section.missing(
            "per",
            "per = \"acre\", or \"ha\", \"vine\"",
            &mut self.faults,
        );
        let per = section.word("per", &PERS, &mut self.faults);
        let amounts = self.by_level(&section, "amounts", |_| true);
        let once = self.flag(&section, "once", "once = true");
        let life = self.number_of(
            &section,
            "life",
            "life = 20, the years it is to serve",
            "years, from 1 to 100",
            |years| (1.0..=100.0).contains(&years),
        );
        if once != Some(true)
            && let Some(key) = section.key("life")
        {
            let message = format!("{} has a life and does not come once", section.name());
            self.faults.add(
                &key.span,
                Diagnostic::error("prices", message)
                    .help("add once = true, or take the life out: other costs come every season"),
            );
        }
        Some(Cost {
            name: name.value.clone(),
            label: self.label(name, &section),
            per: per?.value,
            amounts: amounts?,
            once: (once == Some(true)).then_some(Once { life }),
        })
    }

    pub(super) fn conversion(&mut self, root: &Section<'_>) -> Option<Conversion> {
        let mut section = root.section("conversion", &mut self.faults)?;
        section.only(CONVERSION, &mut self.faults);
        let lost = self.by_level(&section, "seasons_without_crop", |seasons| {
            seasons.fract() == 0.0 && (0.0..=20.0).contains(&seasons)
        });
        section.missing(
            "years",
            "years = 20, the years that are looked ahead",
            &mut self.faults,
        );
        let years = self.number_of(
            &section,
            "years",
            "years = 20",
            "whole years, from 1 to 100",
            |years| years.fract() == 0.0 && (1.0..=100.0).contains(&years),
        );
        Some(Conversion {
            lost: lost?,
            years: years? as u32,
        })
    }

    /// What one part of the file asks of another.
    pub(super) fn goes_together(
        &mut self,
        root: &Section<'_>,
        wage: bool,
        interest: bool,
        work: &[Work],
        costs: &[Cost],
    ) {
        if !wage && !work.is_empty() {
            root.missing(
                "labour",
                "a table [labour] with wage = …: work is declared, and nothing says what an hour costs",
                &mut self.faults,
            );
        }
        let lasting = costs
            .iter()
            .any(|cost| cost.once.is_some_and(|once| once.life.is_some()));
        if !interest && (lasting || root.has("conversion")) {
            let Some(section) = root.section("money", &mut self.faults) else {
                return;
            };
            section.missing(
                "interest",
                "interest = 6, in per cent a year: a cost with a life, and a look ahead, cannot be reckoned without",
                &mut self.faults,
            );
        }
    }

    /// Every table inside a table.
    fn each<'a>(&mut self, root: &Section<'a>, key: &str) -> Vec<(Written<String>, Section<'a>)> {
        match root.section(key, &mut self.faults) {
            Some(section) => section.sections(&mut self.faults),
            None => Vec::new(),
        }
    }

    fn label(&mut self, name: &Written<String>, section: &Section<'_>) -> String {
        let written = section.words("label", "label = \"Pruning\"", &mut self.faults);
        written.unwrap_or_else(|| in_words(&name.value))
    }
}
