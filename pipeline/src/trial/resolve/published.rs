//! The file of a published table: its source, and the means of each response with their error.

use std::path::Path;
use std::sync::Arc;

use toml::de::DeValue;

use crate::compare::published::{Published, PublishedError, PublishedResponse};
use crate::diagnostic::{Diagnostic, Source};
use crate::trial::faults::Faults;
use crate::trial::file;
use crate::trial::scalar::number;
use crate::trial::section::{Section, one_line};
use crate::trial::{Unit, Written};

/// Keys of `[source]`.
const SOURCE: &[&str] = &["citation", "table"];

/// Keys of `[responses.NAME]`.
const RESPONSE: &[&str] = &[
    "unit",
    "factor",
    "factors",
    "means",
    "standard_error",
    "standard_errors",
    "sed",
    "lsd",
    "level",
    "cv",
    "df",
    "plots",
];

/// The keys of which one says how large the error is.
const ERRORS: [&str; 5] = ["sed", "lsd", "standard_error", "standard_errors", "cv"];

/// The text of the file, without a byte order mark.
///
/// # Errors
/// The file cannot be read or is not UTF-8.
pub fn source(path: &Path) -> Result<Arc<Source>, Diagnostic> {
    let help = "give the path of a file; trials/COMPARING.md shows one";
    file::other(path, "published-file", "the published table", help)
}

/// The published table of a text.
///
/// # Errors
/// Every mistake of the file, in the order of the file.
pub fn read(source: Arc<Source>) -> Result<Published, Vec<Diagnostic>> {
    let mut faults = Faults::new(Arc::clone(&source));
    match read_into(&source, &mut faults) {
        Some(published) if faults.is_empty() => Ok(published),
        _ => Err(faults
            .into_sorted()
            .into_iter()
            .map(|fault| fault.about("the published table"))
            .collect()),
    }
}

fn read_into(source: &Arc<Source>, faults: &mut Faults) -> Option<Published> {
    let document = file::tables(source, faults)?;
    let mut root = Section::new("", 0..0, document.get_ref());
    root.only(&["source", "responses"], faults);
    if !root.has("source") {
        let example = "[source] with citation = \"Author (year). Title. Journal\"";
        root.missing("source", example, faults);
    }
    if !root.has("responses") {
        let example =
            "[responses.yield] with unit = \"kg/vine\" and means = { 12 = 3.1, 24 = 4.2 }";
        root.missing("responses", example, faults);
    }
    let (citation, table) = match root.section("source", faults) {
        Some(mut section) => {
            section.only(SOURCE, faults);
            let example = "citation = \"Author (year). Title. Journal\"";
            let citation = section.needed_text("citation", example, faults);
            let table = section.words("table", "table = \"Table 2\"", faults);
            (citation.map(|text| one_line(&text.value)), table)
        }
        None => (None, None),
    };
    let mut responses = Vec::new();
    if let Some(section) = root.section("responses", faults) {
        for (name, section) in section.sections(faults) {
            responses.extend(response(name, section, faults));
        }
    }
    Some(Published {
        source: Arc::clone(source),
        citation: citation?,
        table,
        responses,
    })
}

fn response(
    name: Written<String>,
    mut section: Section<'_>,
    faults: &mut Faults,
) -> Option<PublishedResponse> {
    section.only(RESPONSE, faults);
    let unit = unit(&section, faults);
    let factors = factors(&section, faults);
    if !section.has("means") {
        section.missing("means", "means = { 12 = 3.1, 24 = 4.2 }", faults);
    }
    let means = numbers(&section, "means", factors.len(), faults);
    if let (Some(means), Some(key)) = (&means, section.key("means"))
        && means.len() < 2
    {
        faults.add(
            &key.span,
            Diagnostic::error("published-number", "there are fewer than two means")
                .help("give the mean of each treatment: means = { 12 = 3.1, 24 = 4.2 }"),
        );
    }
    let df = above_zero(&section, "df", "df = 12", faults);
    let plots = above_zero(&section, "plots", "plots = 5", faults);
    let error = error(&section, means.as_deref().unwrap_or_default(), faults);
    Some(PublishedResponse {
        name,
        unit: unit?,
        factors,
        means: means?,
        error,
        df,
        plots,
    })
}

fn unit(section: &Section<'_>, faults: &mut Faults) -> Option<Written<Unit>> {
    let written = section.needed_text("unit", "unit = \"kg/vine\"", faults)?;
    match Unit::parse(&written.value) {
        Ok(value) => Some(Written {
            value,
            span: written.span,
        }),
        Err(error) => {
            faults.add(
                &written.span,
                Diagnostic::error("unit", error.to_string()).help(error.help()),
            );
            None
        }
    }
}

fn factors(section: &Section<'_>, faults: &mut Faults) -> Vec<Written<String>> {
    if let (Some(key), true) = (section.key("factors"), section.has("factor")) {
        faults.add(
            &key.span,
            Diagnostic::error("published-name", "factor and factors are both written")
                .help("keep factors where the treatments are combinations, else factor"),
        );
    }
    if section.has("factors") {
        let example = "factors = [\"system\", \"nodes\"]";
        return section
            .texts("factors", example, faults)
            .unwrap_or_default();
    }
    let one = section.text("factor", "factor = \"nodes\"", faults);
    one.into_iter().collect()
}

/// Numbers by treatment.
fn numbers(
    section: &Section<'_>,
    key: &str,
    factors: usize,
    faults: &mut Faults,
) -> Option<Vec<(Written<Vec<String>>, f64)>> {
    let table = section.section(key, faults)?;
    let mut found = Vec::new();
    for entry in table.entries() {
        let levels: Vec<String> = match factors {
            // A level may have a comma in its name where it stands alone.
            0 | 1 => vec![entry.key.value.trim().to_owned()],
            _ => entry
                .key
                .value
                .split(',')
                .map(|level| level.trim().to_owned())
                .collect(),
        };
        if factors > 1 && levels.len() != factors {
            faults.add(
                &entry.key.span,
                Diagnostic::error(
                    "published-name",
                    format!("'{}' does not name a level of each of {factors} factors", entry.key.value),
                )
                .help("write the levels in the order of factors with a comma between: \"cane, 24\" = 3.1"),
            );
        }
        match number(entry.value.get_ref()) {
            Some(number) => found.push((
                Written {
                    value: levels,
                    span: entry.key.span,
                },
                number,
            )),
            None => {
                let example = format!("{} = 3.1", entry.key.value);
                table.wrong(&entry.key.value, entry.value, "a number", &example, faults);
            }
        }
    }
    Some(found)
}

/// A number above 0, where the key is written.
fn above_zero(section: &Section<'_>, key: &str, example: &str, faults: &mut Faults) -> Option<f64> {
    let value = section.value(key)?;
    if !matches!(value.get_ref(), DeValue::Integer(_) | DeValue::Float(_)) {
        section.wrong(key, value, "a number", example, faults);
        return None;
    }
    let found = number(value.get_ref()).filter(|number| *number > 0.0);
    if found.is_none() {
        faults.add(
            &value.span(),
            Diagnostic::error("published-number", format!("{key} must be above 0"))
                .help(format!("write it as the paper gives it, as in {example}")),
        );
    }
    found
}

/// The error of a response: one of the ways papers give it.
fn error(
    section: &Section<'_>,
    means: &[(Written<Vec<String>>, f64)],
    faults: &mut Faults,
) -> Option<PublishedError> {
    let given: Vec<Written<String>> = ERRORS.iter().filter_map(|key| section.key(key)).collect();
    for further in given.iter().skip(1) {
        faults.add(
            &further.span,
            Diagnostic::error(
                "published-error",
                format!(
                    "{} and {} both say how large the error is",
                    given[0].value, further.value
                ),
            )
            .help(format!(
                "keep the one nearest to a difference, in the order {}",
                ERRORS.join(", ")
            )),
        );
    }
    let first = given.first()?;
    if let (Some(key), true) = (section.key("level"), first.value != "lsd") {
        faults.add(
            &key.span,
            Diagnostic::error(
                "published-error",
                "level says at which level an lsd is, and there is none",
            )
            .help("take level out, or give the lsd"),
        );
    }
    let needs = |key: &str, example: &str, faults: &mut Faults| {
        if !section.has(key) {
            section.missing(
                key,
                &format!("{example}, without which {} cannot be used", first.value),
                faults,
            );
        }
    };
    match first.value.as_str() {
        "sed" => above_zero(section, "sed", "sed = 0.31", faults).map(PublishedError::Difference),
        "lsd" => {
            needs("df", "df = 12", faults);
            needs("level", "level = 0.05", faults);
            let value = above_zero(section, "lsd", "lsd = 0.65", faults);
            let level = above_zero(section, "level", "level = 0.05", faults);
            if let (Some(level), Some(key)) = (level, section.key("level"))
                && level > 0.5
            {
                faults.add(
                    &key.span,
                    Diagnostic::error("published-number", format!("a level of {level} is none"))
                        .help("write it as a share: level = 0.05"),
                );
            }
            Some(PublishedError::Least {
                value: value?,
                level: level?,
            })
        }
        "standard_error" => {
            let one = above_zero(section, "standard_error", "standard_error = 0.22", faults)?;
            Some(PublishedError::Means(vec![one; means.len()]))
        }
        "standard_errors" => errors(section, means, faults).map(PublishedError::Means),
        _ => {
            needs("plots", "plots = 5", faults);
            let percent = above_zero(section, "cv", "cv = 8.5", faults)?;
            Some(PublishedError::Variation(percent / 100.0))
        }
    }
}

/// The standard error of each mean.
fn errors(
    section: &Section<'_>,
    means: &[(Written<Vec<String>>, f64)],
    faults: &mut Faults,
) -> Option<Vec<f64>> {
    let factors = means.first().map_or(1, |(levels, _)| levels.value.len());
    let given = numbers(section, "standard_errors", factors, faults)?;
    for (levels, error) in &given {
        if *error <= 0.0 {
            faults.add(
                &levels.span,
                Diagnostic::error("published-number", "a standard error must be above 0")
                    .help("write it as the paper gives it"),
            );
        }
        if means.iter().all(|(mean, _)| mean.value != levels.value) {
            faults.add(
                &levels.span,
                Diagnostic::error(
                    "published-name",
                    format!(
                        "'{}' has a standard error and no mean",
                        levels.value.join(", ")
                    ),
                )
                .help("name it as it stands in means"),
            );
        }
    }
    let mut found = Vec::new();
    for (levels, _) in means {
        match given.iter().find(|(other, _)| other.value == levels.value) {
            Some((_, error)) => found.push(*error),
            None => faults.add(
                &levels.span,
                Diagnostic::error(
                    "published-error",
                    format!("'{}' has no standard error", levels.value.join(", ")),
                )
                .help("add it to standard_errors, or take the mean out"),
            ),
        }
    }
    Some(found)
}
