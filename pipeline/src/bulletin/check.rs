//! The edits held against the report: names, bands, placeholders, and numbers typed by hand.

use std::collections::BTreeMap;

use caneplot_plugin::request::TrialInfo;

use super::edits::{Band, Edits};
use super::values::{Values, named};
use crate::diagnostic::{Diagnostic, Place, nearest};
use crate::trial::{Unit, Written};

/// Names of the mistakes that only this command can find.
pub const RULES: &[(&str, &str)] = &[
    ("language", "there are messages in the language asked for"),
    ("bulletin-file", "the edits can be read"),
    (
        "bulletin-part",
        "parts left out are parts of a bulletin that may be left out",
    ),
    (
        "bulletin-name",
        "responses, words and bands of the edits name something of the trial",
    ),
    (
        "bulletin-value",
        "names in braces are values the bulletin has",
    ),
    (
        "bulletin-number",
        "results stand in sentences by name, not typed by hand",
    ),
    ("bulletin-results", "the report holds results to tell of"),
    ("bulletin-figure", "the figures can be drawn"),
    ("bulletin-pages", "the text can be set as pages"),
    (
        "bulletin-words",
        "texts of the trial have words in the language asked for",
    ),
    ("bulletin-folder", "the bulletin can be written"),
];

/// Places in a bulletin.toml.
struct Places<'a>(&'a Edits);

impl Places<'_> {
    fn at(&self, fault: Diagnostic, span: &std::ops::Range<usize>) -> Diagnostic {
        match &self.0.source {
            Some(source) => fault.at(Place::Span {
                source: std::sync::Arc::clone(source),
                start: span.start,
                end: span.end,
            }),
            None => fault,
        }
    }

    /// The bytes of a part of a written text, where it stands there letter by letter.
    fn part(&self, text: &Written<String>, part: &str) -> std::ops::Range<usize> {
        let source = self.0.source.as_ref();
        let whole = source.and_then(|source| source.text.get(text.span.clone()));
        match whole.and_then(|whole| whole.find(part)) {
            Some(offset) => {
                let start = text.span.start + offset;
                start..start + part.len()
            }
            None => text.span.clone(),
        }
    }
}

/// The bands of the edits in the units of a trial.
///
/// # Errors
/// Every name that is none of the trial, and every band that is no share and no amount in a unit the
/// response has.
pub fn bands(edits: &Edits, trial: &TrialInfo) -> Result<BTreeMap<String, Band>, Vec<Diagnostic>> {
    let places = Places(edits);
    let mut faults = Vec::new();
    let names: Vec<&str> = measured(trial);
    for written in &edits.responses {
        if !names.contains(&written.value.as_str()) {
            faults.push(places.at(unknown(&written.value, "response", &names), &written.span));
        }
    }
    faults.extend(unknown_words(edits, trial, &places));
    let mut bands = BTreeMap::new();
    for (name, text) in &edits.same {
        if !names.contains(&name.value.as_str()) {
            faults.push(places.at(unknown(&name.value, "response", &names), &name.span));
            continue;
        }
        let unit = unit_of(trial, &name.value);
        match band(&text.value, &unit) {
            Ok(band) => {
                bands.insert(name.value.clone(), band);
            }
            Err(why) => faults.push(places.at(
                Diagnostic::error("bulletin-name", why).help(format!(
                    "write a share such as \"5 %\" or an amount such as \"0.5 {unit}\""
                )),
                &text.span,
            )),
        }
    }
    if faults.is_empty() {
        Ok(bands)
    } else {
        Err(faults)
    }
}

/// Everything measured or reckoned, by its name.
fn measured(trial: &TrialInfo) -> Vec<&str> {
    let responses = trial.responses.iter().map(|one| one.name.as_str());
    let ratios = trial.ratios.iter().map(|one| one.name.as_str());
    responses.chain(ratios).collect()
}

fn unit_of(trial: &TrialInfo, name: &str) -> String {
    let response = trial.responses.iter().find(|one| one.name == name);
    let ratio = trial.ratios.iter().find(|one| one.name == name);
    let unit = response.map(|one| &one.unit).or(ratio.map(|one| &one.unit));
    unit.cloned().unwrap_or_default()
}

fn band(text: &str, unit: &str) -> Result<Band, String> {
    let end = text
        .find(|c: char| !(c.is_ascii_digit() || c == '.'))
        .unwrap_or(text.len());
    let (number, written) = (&text[..end], text[end..].trim());
    let Ok(number) = number.parse::<f64>() else {
        return Err(format!("'{text}' is no band of differences"));
    };
    if number <= 0.0 {
        return Err("a band of differences is wider than nothing".to_owned());
    }
    if written == "%" && number < 100.0 {
        return Ok(Band::Share(number / 100.0));
    }
    let vineyard = crate::trial::Vineyard::default();
    let own = Unit::parse(unit);
    let factor = match (Unit::parse(written), own) {
        (Ok(written), Ok(own)) => written.factor_to(&own, &vineyard).ok(),
        _ => (written == unit).then_some(1.0),
    };
    match factor {
        Some(factor) => Ok(Band::Amount(number * factor)),
        None => Err(format!(
            "'{written}' does not fit what is measured in {unit}"
        )),
    }
}

/// Words given for something the trial has not.
fn unknown_words(edits: &Edits, trial: &TrialInfo, places: &Places) -> Vec<Diagnostic> {
    let mut own: Vec<&str> = measured(trial);
    own.extend(trial.responses.iter().map(|one| one.label.as_str()));
    own.extend(trial.ratios.iter().map(|one| one.label.as_str()));
    for factor in &trial.factors {
        own.extend([factor.label.as_str(), factor.name.as_str()]);
        own.extend(factor.levels.iter().map(|level| level.label.as_str()));
    }
    own.extend(edits.about.iter().map(String::as_str));
    let unknown_word = |(word, text): (&String, &Written<String>)| {
        (!own.contains(&word.as_str()))
            .then(|| places.at(unknown(word, "word of the trial", &own), &text.span))
    };
    edits.words.iter().filter_map(unknown_word).collect()
}

fn unknown(written: &str, what: &str, known: &[&str]) -> Diagnostic {
    let near = nearest(written, known.iter().copied());
    let near = near.map_or(String::new(), |near| {
        format!("write '{near}' if that is meant; ")
    });
    Diagnostic::error(
        "bulletin-name",
        format!("the report has no {what} '{written}'"),
    )
    .help(format!("{near}there are {}", known.join(", ")))
}

/// Placeholders without a value.
#[must_use]
pub fn placeholders(edits: &Edits, values: &Values) -> Vec<Diagnostic> {
    let places = Places(edits);
    let mut faults = Vec::new();
    for text in written(edits) {
        for (name, range) in named(&text.value) {
            if values.get(name).is_some() {
                continue;
            }
            let known = values.all().map(|(name, _)| name);
            let near = nearest(name, known);
            let near = near.map_or(String::new(), |near| {
                format!("write {{{near}}} if that is meant; ")
            });
            let place = places.part(text, &text.value[range]);
            faults.push(
                places.at(
                    Diagnostic::error(
                        "bulletin-value",
                        format!("there is no value named '{name}'"),
                    )
                    .help(format!(
                        "{near}'caneplot bulletin --list-values' lists them all"
                    )),
                    &place,
                ),
            );
        }
    }
    faults
}

/// Every text of the edits that may hold values.
fn written(edits: &Edits) -> impl Iterator<Item = &Written<String>> {
    edits.sentences.iter().flat_map(|(_, texts)| texts)
}

/// Numbers typed by hand that could be results: they stay when the data change.
#[must_use]
pub fn typed_numbers(edits: &Edits) -> Vec<Diagnostic> {
    let places = Places(edits);
    let mut warnings = Vec::new();
    for text in written(edits) {
        for number in results_typed(&text.value) {
            let place = places.part(text, number);
            warnings.push(places.at(
                Diagnostic::warning(
                    "bulletin-number",
                    format!("'{number}' looks like a result and would stay as it is when the data change"),
                )
                .help(
                    "call the value by its name in braces, such as {yield.difference}; 'caneplot \
                     bulletin --list-values' lists them all",
                ),
                &place,
            ));
        }
    }
    warnings
}

/// Units a grower writes behind a result.
const RESULT_UNITS: &[&str] = &[
    "%",
    "kg",
    "g",
    "lb",
    "lbs",
    "oz",
    "t",
    "t/ha",
    "ton",
    "tons",
    "tonnes",
    "toneladas",
    "brix",
    "°brix",
    "min",
    "minutes",
    "minutos",
    "h",
    "hours",
    "horas",
    "$",
    "€",
    "usd",
    "eur",
];

/// Numbers of a sentence that could be results: with decimals, or with a unit of a result behind or
/// a sign of money before them.
fn results_typed(sentence: &str) -> Vec<&str> {
    let mut found = Vec::new();
    let spans = named(sentence);
    let mut at = 0;
    while let Some(start) = sentence[at..]
        .find(|c: char| c.is_ascii_digit())
        .map(|offset| at + offset)
    {
        let number = |c: char| c.is_ascii_digit() || matches!(c, '.' | ',');
        let length = sentence[start..].find(|c: char| !number(c));
        let end = length.map_or(sentence.len(), |length| start + length);
        let digits = sentence[start..end].trim_end_matches(['.', ',']);
        let end = start + digits.len();
        at = end.max(start + 1);
        if spans.iter().any(|(_, span)| span.contains(&start)) {
            continue;
        }
        let behind = sentence[end..].trim_start();
        let unit = behind
            .split(|c: char| c.is_whitespace() || matches!(c, '.' | ',' | ';' | ')'))
            .next()
            .unwrap_or_default()
            .to_lowercase();
        let money = sentence[..start].trim_end().ends_with(['$', '€', '£']);
        let stem = unit.split('/').next().unwrap_or_default();
        let has_unit = [unit.as_str(), stem]
            .iter()
            .any(|one| RESULT_UNITS.contains(one));
        // A telephone number has neither.
        let part_of_more = sentence[..start].ends_with('-') || behind.starts_with('-');
        if (digits.contains(['.', ',']) || has_unit || money) && !part_of_more {
            found.push(digits);
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_that_could_be_results_are_found() {
        for (sentence, wanted) in [
            ("It gave 1.2 more.", vec!["1.2"]),
            ("It gave 3 t/ha more, or 12 %.", vec!["3", "12"]),
            ("Call 555-0100 before 2027.", vec![]),
            ("We saved $40 a row.", vec!["40"]),
            ("Leave 40 nodes.", vec![]),
            ("It gave {yield.48} more.", vec![]),
        ] {
            assert_eq!(results_typed(sentence), wanted, "{sentence}");
        }
    }

    #[test]
    fn a_band_is_a_share_or_an_amount_in_a_fitting_unit() {
        assert_eq!(band("5 %", "t/ha"), Ok(Band::Share(0.05)));
        assert_eq!(band("500 kg/ha", "t/ha"), Ok(Band::Amount(0.5)));
        assert_eq!(band("0.3 Brix", "°Brix"), Ok(Band::Amount(0.3)));
        assert!(band("0.3 m", "°Brix").is_err());
        assert!(band("narrow", "t/ha").is_err());
        assert!(band("0 %", "t/ha").is_err());
    }
}
