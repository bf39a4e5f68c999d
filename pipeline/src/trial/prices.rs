//! prices.toml: what a trial's results are worth. It stands beside trial.toml and is read with it;
//! without it nothing is said about money, and no figure is ever made up.
//!
//! `amounts.rs` reads sums with their bounds, one or by the levels of a factor; `crop.rs` what the
//! crop brings, `costs.rs` work, costs and what changing over takes.

use std::fs;
use std::io;
use std::sync::Arc;

use caneplot_plugin::prices::{Area, Prices};
use toml::de::DeValue;

use super::Trial;
use super::faults::Faults;
use super::file;
use super::scalar::number;
use super::section::{Section, one_line};
use super::words::Words;
use crate::diagnostic::{Diagnostic, Place, Source};
use crate::hash;

mod amounts;
mod costs;
mod crop;
#[cfg(test)]
mod tests;

/// Name of the file.
pub const PRICES_FILE: &str = "prices.toml";

/// Tables of the file.
pub(super) const TABLES: &[&str] = &["money", "crop", "labour", "work", "costs", "conversion"];
/// Keys of `[money]`.
pub(super) const MONEY: &[&str] = &["currency", "year", "source", "interest", "area"];
/// Keys of `[labour]`.
pub(super) const LABOUR: &[&str] = &["wage"];

/// Areas to speak of.
const AREAS: Words<Area> = Words {
    what: "an area to speak of",
    list: &[
        ("ha", Area::Hectare),
        ("hectare", Area::Hectare),
        ("acre", Area::Acre),
    ],
};

/// The file of a trial.
#[derive(Debug, Clone)]
pub struct PricesFile {
    /// What it says.
    pub prices: Prices,
    /// SHA-256 of its bytes.
    pub sha256: String,
    /// How many there are.
    pub bytes: u64,
}

/// What a reader of a part of the file needs.
struct Reading<'a> {
    trial: &'a Trial,
    faults: Faults,
}

/// The prices of a trial; `None` where its folder has no such file.
///
/// # Errors
/// Every mistake of the file, in its order.
pub fn read(trial: &Trial) -> Result<Option<PricesFile>, Vec<Diagnostic>> {
    let path = trial.folder.join(PRICES_FILE);
    let bytes = match fs::read(&path) {
        Ok(bytes) => bytes,
        Err(fault) if fault.kind() == io::ErrorKind::NotFound => return Ok(None),
        Err(fault) => {
            let message = format!("{PRICES_FILE} cannot be read: {fault}");
            let place = Place::Cell {
                path,
                line: None,
                column: None,
                sheet: None,
            };
            return Err(vec![
                Diagnostic::error("prices", message)
                    .at(place)
                    .help("look at the file's permissions"),
            ]);
        }
    };
    let source = file::text_of(path, &bytes).map_err(|fault| vec![fault])?;
    Ok(Some(PricesFile {
        prices: parsed(trial, &source)?,
        sha256: hash::sha256(&bytes),
        bytes: bytes.len() as u64,
    }))
}

/// What a text says.
fn parsed(trial: &Trial, source: &Arc<Source>) -> Result<Prices, Vec<Diagnostic>> {
    let mut reading = Reading {
        trial,
        faults: Faults::new(Arc::clone(source)),
    };
    let Some(document) = file::tables(source, &mut reading.faults) else {
        return Err(reading.faults.into_sorted());
    };
    let mut root = Section::of_file(PRICES_FILE, document.get_ref());
    root.only(TABLES, &mut reading.faults);
    root.missing(
        "money",
        "a table [money] with currency, year and source",
        &mut reading.faults,
    );
    root.missing(
        "crop",
        "a table [crop] with the price of the crop",
        &mut reading.faults,
    );

    let money = reading.money(&root);
    let crop = reading.crop(&root);
    let wage = reading.wage(&root);
    let work = reading.work(&root);
    let costs = reading.costs(&root);
    let conversion = reading.conversion(&root);
    let interest = money.as_ref().and_then(|money| money.interest);
    reading.goes_together(&root, wage.is_some(), interest.is_some(), &work, &costs);

    match (money, crop) {
        (Some(money), Some(crop)) if reading.faults.is_empty() => Ok(Prices {
            currency: money.currency,
            year: money.year,
            source: money.source,
            area: money.area,
            interest,
            crop,
            wage,
            work,
            costs,
            conversion,
        }),
        _ => Err(reading.faults.into_sorted()),
    }
}

/// `[money]`.
struct Money {
    currency: String,
    year: u16,
    source: String,
    interest: Option<f64>,
    area: Area,
}

impl Reading<'_> {
    fn money(&mut self, root: &Section<'_>) -> Option<Money> {
        let faults = &mut self.faults;
        let mut section = root.section("money", faults)?;
        section.only(MONEY, faults);
        let currency = section.needed_text("currency", "currency = \"USD\"", faults);
        let source = section.needed_text(
            "source",
            "source = \"…\", where the figures come from, such as a budget of the extension service",
            faults,
        );
        section.missing("year", "year = 2025, the year the prices are of", faults);
        let year = self.number_of(&section, "year", "year = 2025", "a year", |year| {
            year.fract() == 0.0 && (1900.0..=2200.0).contains(&year)
        });
        let interest = self.number_of(
            &section,
            "interest",
            "interest = 6, in per cent a year",
            "per cent a year, from 0 to 100",
            |rate| (0.0..=100.0).contains(&rate),
        );
        let area = section.word("area", &AREAS, &mut self.faults);
        let feet = self.trial.vineyard.written_in.as_deref() == Some("ft");
        let usual = if feet { Area::Acre } else { Area::Hectare };
        Some(Money {
            currency: one_line(&currency?.value),
            year: year? as u16,
            source: one_line(&source?.value),
            interest: interest.map(|rate| rate / 100.0),
            area: area.map_or(usual, |area| area.value),
        })
    }

    fn wage(&mut self, root: &Section<'_>) -> Option<caneplot_plugin::prices::Amount> {
        let mut section = root.section("labour", &mut self.faults)?;
        section.only(LABOUR, &mut self.faults);
        let example = "wage = 18, for an hour of work with all that goes with it";
        section.missing("wage", example, &mut self.faults);
        self.amount(&section, "wage", example, |value| value > 0.0)
    }

    /// A number that must make sense, where the key is written.
    fn number_of(
        &mut self,
        section: &Section<'_>,
        key: &str,
        example: &str,
        wanted: &str,
        fits: impl Fn(f64) -> bool,
    ) -> Option<f64> {
        let value = section.value(key)?;
        match number(value.get_ref()) {
            Some(found) if fits(found) => Some(found),
            Some(_) => {
                let message = format!("'{key}' of {} must be {wanted}", section.name());
                self.faults.add(
                    &value.span(),
                    Diagnostic::error("prices", message).help(format!("write {example}")),
                );
                None
            }
            None => {
                section.wrong(key, value, "a number", example, &mut self.faults);
                None
            }
        }
    }

    /// True or false, where the key is written.
    fn flag(&mut self, section: &Section<'_>, key: &str, example: &str) -> Option<bool> {
        let value = section.value(key)?;
        if let DeValue::Boolean(flag) = value.get_ref() {
            return Some(*flag);
        }
        section.wrong(key, value, "true or false", example, &mut self.faults);
        None
    }
}
