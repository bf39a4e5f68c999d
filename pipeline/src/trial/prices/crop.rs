//! `[crop]`: what the crop brings, and what bringing it in costs.

use caneplot_plugin::prices::{Crop, Step};
use caneplot_plugin::request::Quantity;
use toml::de::DeValue;

use super::Reading;
use crate::diagnostic::Diagnostic;
use crate::trial::Written;
use crate::trial::section::{Section, word_of};
use crate::trial::words::Words;

/// Keys of `[crop]`.
pub(in crate::trial) const CROP: &[&str] = &[
    "price", "per", "response", "counted", "harvest", "brix", "steps",
];
/// Keys of a step.
pub(in crate::trial) const STEP: &[&str] = &["from", "price"];

/// Weights that prices are of, with their kilograms (pound and short ton exactly, by the
/// international agreement of 1959).
const WEIGHTS: Words<(&str, f64)> = Words {
    what: "a weight that prices are of",
    list: &[
        ("US ton", ("US ton", 907.184_74)),
        ("short ton", ("US ton", 907.184_74)),
        ("tonne", ("tonne", 1000.0)),
        ("t", ("tonne", 1000.0)),
        ("kg", ("kg", 1.0)),
        ("lb", ("lb", 0.453_592_37)),
    ],
};

impl Reading<'_> {
    pub(super) fn crop(&mut self, root: &Section<'_>) -> Option<Crop> {
        let mut section = root.section("crop", &mut self.faults)?;
        section.only(CROP, &mut self.faults);
        let price = "price = 650, or price = { likely = 650, low = 520, high = 780 }";
        section.missing("price", price, &mut self.faults);
        let price = self.amount(&section, "price", price, |value| value > 0.0);
        section.missing(
            "per",
            "per = \"US ton\", or \"tonne\", \"kg\", \"lb\"",
            &mut self.faults,
        );
        let per = self.weight(&section);
        let response = self.response(&section, "response");
        if !section.speaks_of("response") {
            self.one_crop(&section);
        }
        let counted = self.number_of(
            &section,
            "counted",
            "counted = 90, per cent of the trial's crop that a grower can count on",
            "per cent, above 0 and up to 100",
            |share| share > 0.0 && share <= 100.0,
        );
        let harvest = self.amount(&section, "harvest", "harvest = 110", |cost| cost >= 0.0);
        let steps = self.steps(&section);
        let brix = self.brix(&section, steps.is_empty());
        let per = per?.value;
        Some(Crop {
            response,
            price: price?,
            per: per.0.to_owned(),
            per_kg: per.1,
            steps,
            brix,
            counted: counted.map_or(1.0, |share| share / 100.0),
            harvest,
        })
    }

    /// The weight that prices are of; a bare "ton" may be either.
    fn weight(&mut self, section: &Section<'_>) -> Option<Written<(&'static str, f64)>> {
        let written = section.text("per", "per = \"US ton\"", &mut self.faults)?;
        if !matches!(written.value.to_lowercase().as_str(), "ton" | "tons") {
            return word_of(&written, &WEIGHTS, &mut self.faults);
        }
        let message = format!("'{}' may be 2000 lb or 1000 kg", written.value);
        self.faults.add(
            &written.span,
            Diagnostic::error("prices", message)
                .help("write \"US ton\" for 2000 lb, \"tonne\" for 1000 kg"),
        );
        None
    }

    /// Reports a trial that has not exactly one crop.
    fn one_crop(&mut self, section: &Section<'_>) {
        let responses = self.trial.responses.iter();
        let crops = responses.filter(|one| one.quantity == Quantity::Yield);
        let names: Vec<&str> = crops.map(|one| one.name.as_str()).collect();
        if names.len() == 1 {
            return;
        }
        let message = match names.as_slice() {
            [] => "no response of the trial is a yield, so there is nothing to set a price on"
                .to_owned(),
            several => format!("several responses are yields ({})", several.join(", ")),
        };
        self.faults.add(
            &section.header,
            Diagnostic::error("prices", message)
                .help("name the crop: response = \"…\", or say is = \"yield\" in trial.toml"),
        );
    }

    /// Prices by Brix, which must rise.
    fn steps(&mut self, section: &Section<'_>) -> Vec<Step> {
        let example = "steps = [{ from = 21, price = 680 }, { from = 23, price = 720 }]";
        let Some(value) = section.value("steps") else {
            return Vec::new();
        };
        let DeValue::Array(list) = value.get_ref() else {
            section.wrong(
                "steps",
                value,
                "a list of prices by Brix",
                example,
                &mut self.faults,
            );
            return Vec::new();
        };
        let mut steps: Vec<Step> = Vec::new();
        for element in list.iter() {
            let DeValue::Table(table) = element.get_ref() else {
                section.wrong(
                    "steps",
                    element,
                    "a list of prices by Brix",
                    example,
                    &mut self.faults,
                );
                continue;
            };
            let mut inner = Section::new("crop.steps", element.span(), table);
            inner.only(STEP, &mut self.faults);
            inner.missing("from", "from = 21", &mut self.faults);
            inner.missing("price", "price = 680", &mut self.faults);
            let from = self.number_of(&inner, "from", "from = 21", "a Brix from 0 to 60", |brix| {
                (0.0..=60.0).contains(&brix)
            });
            let price = self.number_of(&inner, "price", "price = 680", "above 0", |price| {
                price > 0.0
            });
            let (Some(from), Some(price)) = (from, price) else {
                continue;
            };
            if steps.last().is_some_and(|last| last.from >= from) {
                self.faults.add(
                    &element.span(),
                    Diagnostic::error(
                        "prices",
                        "steps must rise: each from a higher Brix than the one before",
                    )
                    .help(format!("write {example}")),
                );
            }
            steps.push(Step { from, price });
        }
        steps
    }

    /// The response that decides the step: the only one of soluble solids where none is named.
    fn brix(&mut self, section: &Section<'_>, needless: bool) -> Option<String> {
        if section.has("brix") {
            return self.response(section, "brix");
        }
        if needless {
            return None;
        }
        let responses = self.trial.responses.iter();
        let sugars = responses.filter(|one| one.quantity == Quantity::SolubleSolids);
        let names: Vec<String> = sugars.map(|one| one.name.clone()).collect();
        if let [only] = names.as_slice() {
            return Some(only.clone());
        }
        section.missing(
            "brix",
            "brix = \"…\", the response that decides which of the steps is paid",
            &mut self.faults,
        );
        None
    }
}
