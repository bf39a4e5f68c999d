//! Sums: a number, or what is likely with its bounds; one, or one for each level of a factor.

use caneplot_plugin::prices::{Amount, ByLevel};
use toml::Spanned;
use toml::de::DeValue;

use super::Reading;
use crate::diagnostic::{Diagnostic, nearest};
use crate::trial::scalar::number;
use crate::trial::section::Section;
use crate::trial::{Factor, Written};

/// Keys of a sum with bounds.
pub(in crate::trial) const AMOUNT: &[&str] = &["likely", "low", "high"];

impl<'t> Reading<'t> {
    /// A sum, where the key is written.
    pub(super) fn amount(
        &mut self,
        section: &Section<'_>,
        key: &str,
        example: &str,
        fits: impl Fn(f64) -> bool,
    ) -> Option<Amount> {
        let value = section.value(key)?;
        self.amount_of(section, key, value, example, &fits)
    }

    fn amount_of(
        &mut self,
        section: &Section<'_>,
        key: &str,
        value: &Spanned<DeValue<'_>>,
        example: &str,
        fits: &impl Fn(f64) -> bool,
    ) -> Option<Amount> {
        let DeValue::Table(table) = value.get_ref() else {
            let Some(likely) = number(value.get_ref()) else {
                let wanted = "a number, or { likely = …, low = …, high = … }";
                section.wrong(key, value, wanted, example, &mut self.faults);
                return None;
            };
            return self
                .fitting(section, key, value, likely, example, fits)
                .map(|likely| Amount {
                    likely,
                    bounds: None,
                });
        };
        let path = format!("{}.{key}", section.path);
        let mut inner = Section::new(path, value.span(), table);
        inner.only(AMOUNT, &mut self.faults);
        let mut one = |name: &str| {
            inner.missing(name, &format!("{name} = 100"), &mut self.faults);
            let value = inner.value(name)?;
            match number(value.get_ref()) {
                Some(found) => self.fitting(&inner, name, value, found, example, fits),
                None => {
                    inner.wrong(
                        name,
                        value,
                        "a number",
                        "{ likely = 650, low = 520, high = 780 }",
                        &mut self.faults,
                    );
                    None
                }
            }
        };
        let (likely, low, high) = (one("likely"), one("low"), one("high"));
        let (likely, low, high) = (likely?, low?, high?);
        if !(low <= likely && likely <= high) {
            let message = format!(
                "{}: {likely} is likely and does not lie between {low} and {high}",
                inner.name()
            );
            self.faults.add(
                &value.span(),
                Diagnostic::error("prices", message)
                    .help("low is the lowest that is thought possible, high the highest"),
            );
            return None;
        }
        Some(Amount {
            likely,
            bounds: Some((low, high)),
        })
    }

    fn fitting(
        &mut self,
        section: &Section<'_>,
        key: &str,
        value: &Spanned<DeValue<'_>>,
        found: f64,
        example: &str,
        fits: &impl Fn(f64) -> bool,
    ) -> Option<f64> {
        if fits(found) {
            return Some(found);
        }
        let message = format!("{found} makes no sense as '{key}' of {}", section.name());
        self.faults.add(
            &value.span(),
            Diagnostic::error("prices", message).help(format!("write {example}")),
        );
        None
    }

    /// Amounts by the levels of the factor that `by` names; `key` holds them.
    pub(super) fn by_level(
        &mut self,
        section: &Section<'_>,
        key: &str,
        fits: impl Fn(f64) -> bool,
    ) -> Option<ByLevel> {
        let factor = self.factor(section)?;
        let example = example(key, factor);
        section.missing(key, &example, &mut self.faults);
        let value = section.value(key)?;
        let DeValue::Table(table) = value.get_ref() else {
            let wanted = format!("a table with an amount for each level of {}", factor.name);
            section.wrong(key, value, &wanted, &example, &mut self.faults);
            return None;
        };
        let mut inner = Section::new(format!("{}.{key}", section.path), value.span(), table);
        let names: Vec<&str> = factor.levels.iter().map(|one| one.name.as_str()).collect();
        inner.only(&names, &mut self.faults);
        let mut amounts = Vec::new();
        for name in &names {
            inner.missing(
                name,
                &format!(
                    "{name} = 0 if it costs nothing there: every level of {} has its amount",
                    factor.name
                ),
                &mut self.faults,
            );
            if let Some(value) = inner.value(name) {
                let found = self.amount_of(&inner, name, value, &format!("{name} = 0"), &fits);
                amounts.extend(found.map(|found| ((*name).to_owned(), found)));
            }
        }
        (amounts.len() == names.len()).then(|| ByLevel {
            factor: factor.name.clone(),
            amounts,
        })
    }

    /// The factor that `by` names; the only one of the trial where nothing is said.
    fn factor(&mut self, section: &Section<'_>) -> Option<&'t Factor> {
        let trial = self.trial;
        let names = || trial.factors.iter().map(|factor| factor.name.as_str());
        let listed: Vec<&str> = names().collect();
        if let ([only], false) = (trial.factors.as_slice(), section.speaks_of("by")) {
            return Some(only);
        }
        let example = format!("by = \"{}\"", listed.first().unwrap_or(&""));
        let Written { value, span } = section.needed_text("by", &example, &mut self.faults)?;
        let found = trial.factors.iter().find(|factor| factor.name == value);
        if found.is_none() {
            let near = nearest(&value, names()).map_or(String::new(), |near| {
                format!("write \"{near}\" if that is meant; ")
            });
            self.faults.add(
                &span,
                Diagnostic::error("prices", format!("the trial has no factor '{value}'"))
                    .help(format!("{near}it has {}", listed.join(", "))),
            );
        }
        found
    }

    /// A response that a key names.
    pub(super) fn response(&mut self, section: &Section<'_>, key: &str) -> Option<String> {
        let names: Vec<&str> = self
            .trial
            .responses
            .iter()
            .map(|one| one.name.as_str())
            .collect();
        let example = format!("{key} = \"{}\"", names.first().unwrap_or(&""));
        let Written { value, span } = section.text(key, &example, &mut self.faults)?;
        if names.contains(&value.as_str()) {
            return Some(value);
        }
        let near = nearest(&value, names.iter().copied()).map_or(String::new(), |near| {
            format!("write \"{near}\" if that is meant; ")
        });
        self.faults.add(
            &span,
            Diagnostic::error("prices", format!("the trial has no response '{value}'"))
                .help(format!("{near}it has {}", names.join(", "))),
        );
        None
    }
}

/// "amounts = { HT = 0, SC = 0 }".
fn example(key: &str, factor: &Factor) -> String {
    let levels: Vec<String> = factor
        .levels
        .iter()
        .map(|level| format!("{} = 0", level.name))
        .collect();
    format!("{key} = {{ {} }}", levels.join(", "))
}
