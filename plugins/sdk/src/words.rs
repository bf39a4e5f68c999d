//! Names of factors, levels and responses as they read inside a sentence.

use crate::findings::Format;
use crate::request::{Factor, Level, Response};

/// Text that may stand in a statement: braces there mean a number.
#[must_use]
pub fn safe(text: &str) -> String {
    text.replace('{', "{{").replace('}', "}}")
}

/// A name as it stands inside a sentence: "Yield" becomes "yield", "pH" and "TA" stay.
#[must_use]
pub fn inside(name: &str) -> String {
    // "Yield, per planted space" would break the sentence; brackets do not.
    if let Some((head, rest)) = name.split_once(", ") {
        return format!("{} ({})", inside(head), safe(rest));
    }
    let mut letters = name.chars();
    let (first, second) = (letters.next(), letters.next());
    match (first, second) {
        (Some(first), Some(second)) if first.is_uppercase() && second.is_lowercase() => {
            if name.starts_with("Brix") {
                return safe(name);
            }
            safe(&format!(
                "{}{}",
                first.to_lowercase(),
                &name[first.len_utf8()..]
            ))
        }
        _ => safe(name),
    }
}

/// A name as it begins a sentence.
#[must_use]
pub fn beginning(name: &str) -> String {
    if let Some((head, rest)) = name.split_once(", ") {
        return format!("{} ({})", beginning(head), safe(rest));
    }
    let mut letters = name.chars();
    match (letters.next(), letters.next()) {
        // pH keeps its small letter.
        (Some(first), Some(second)) if first.is_lowercase() && !second.is_uppercase() => safe(
            &format!("{}{}", first.to_uppercase(), &name[first.len_utf8()..]),
        ),
        _ => safe(name),
    }
}

/// A level in a sentence: "48 nodes/vine", "cane pruning".
#[must_use]
pub fn level(factor: &Factor, level: &Level) -> String {
    match (&factor.unit, level.value) {
        (Some(unit), Some(_)) => safe(&format!("{} {unit}", level.name)),
        (None, Some(_)) => format!("{} {}", inside(&factor.label), safe(&level.name)),
        _ => safe(&level.label),
    }
}

/// An axis title: "Yield (kg/vine)".
#[must_use]
pub fn axis(label: &str, unit: &str) -> String {
    if unit.is_empty() {
        label.to_owned()
    } else {
        format!("{label} ({unit})")
    }
}

/// Phrases as a list: "a, b and c".
#[must_use]
pub fn list(phrases: &[String]) -> String {
    match phrases {
        [] => String::new(),
        [one] => one.clone(),
        [rest @ .., last] => format!("{} and {last}", rest.join(", ")),
    }
}

/// "3 plots", "1 plot".
#[must_use]
pub fn counted(count: usize, noun: &str) -> String {
    if count == 1 {
        format!("1 {noun}")
    } else {
        format!("{count} {noun}s")
    }
}

/// The unit as it is printed: none where it only repeats the label, as in "pH (pH)".
#[must_use]
pub fn unit(response: &Response) -> &str {
    if response.unit.eq_ignore_ascii_case(&response.label) {
        ""
    } else {
        &response.unit
    }
}

/// "was", or "were" for a label in the plural, such as "Clusters".
#[must_use]
pub fn was(label: &str) -> &'static str {
    let head = label.split([',', '(']).next().unwrap_or(label).trim_end();
    if head.ends_with('s') && !head.ends_with("ss") {
        "were"
    } else {
        "was"
    }
}

/// A number in a sentence of a refusal, which has no place for formats.
#[must_use]
pub fn plain(value: f64, decimals: u8) -> String {
    format!("{value:.*}", usize::from(decimals))
}

/// Decimals of a mean: one more than the first digit of the smallest standard error, and never more
/// than the data allow.
#[must_use]
pub fn decimals(response: &Response, errors: impl Iterator<Item = f64>) -> u8 {
    match smallest(errors) {
        Some(error) => {
            let wanted = 1.0 - error.log10().floor();
            wanted.clamp(0.0, f64::from(response.decimals)) as u8
        }
        None => response.decimals,
    }
}

/// How standard errors are written beside means of so many decimals: three significant digits of the
/// smallest, and never more than one digit beyond the means.
#[must_use]
pub fn of_errors(decimals: u8, errors: impl Iterator<Item = f64>) -> Format {
    Format::Decimals(match smallest(errors) {
        Some(error) => (2.0 - error.log10().floor()).clamp(0.0, f64::from(decimals) + 1.0) as u8,
        None => decimals,
    })
}

fn smallest(errors: impl Iterator<Item = f64>) -> Option<f64> {
    errors
        .filter(|&error| error > 0.0)
        .reduce(f64::min)
        .filter(|error| error.is_finite())
}

/// A name made fit for an id or a file name.
#[must_use]
pub fn id(name: &str) -> String {
    let fit = |c: char| {
        let c = c.to_ascii_lowercase();
        if c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_' || c == '-' {
            c
        } else {
            '-'
        }
    };
    name.chars().map(fit).collect()
}
