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

/// How means of a response are written.
#[must_use]
pub fn of_means(response: &Response) -> Format {
    Format::Decimals(response.decimals)
}

/// How standard errors are written: three significant digits of the smallest, and never more than one
/// digit beyond the means.
#[must_use]
pub fn of_errors(response: &Response, errors: impl Iterator<Item = f64>) -> Format {
    let smallest = errors
        .filter(|&error| error > 0.0)
        .fold(f64::INFINITY, f64::min);
    let most = f64::from(response.decimals.saturating_add(1));
    if smallest.is_finite() {
        Format::Decimals((2.0 - smallest.log10().floor()).clamp(0.0, most) as u8)
    } else {
        of_means(response)
    }
}

/// A number in a sentence of a refusal, which has no place for formats.
#[must_use]
pub fn plain(value: f64, decimals: u8) -> String {
    format!("{value:.*}", usize::from(decimals))
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
