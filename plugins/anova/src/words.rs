//! Names of factors, levels and responses as they read inside a sentence.

use caneplot_plugin::findings::Format;
use caneplot_plugin::request::{Factor, Level, Response};

/// Text that may stand in a statement: braces there mean a number.
pub(crate) fn safe(text: &str) -> String {
    text.replace('{', "{{").replace('}', "}}")
}

/// A name as it stands inside a sentence: "Yield" becomes "yield", "pH" and "TA" stay.
pub(crate) fn inside(name: &str) -> String {
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
pub(crate) fn beginning(name: &str) -> String {
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
pub(crate) fn level(factor: &Factor, level: &Level) -> String {
    match (&factor.unit, level.value) {
        (Some(unit), Some(_)) => safe(&format!("{} {unit}", level.name)),
        (None, Some(_)) => format!("{} {}", inside(&factor.label), safe(&level.name)),
        _ => safe(&level.label),
    }
}

/// An axis title: "Yield (kg/vine)".
pub(crate) fn axis(label: &str, unit: &str) -> String {
    if unit.is_empty() {
        label.to_owned()
    } else {
        format!("{label} ({unit})")
    }
}

/// Phrases as a list: "a, b and c".
pub(crate) fn list(phrases: &[String]) -> String {
    match phrases {
        [] => String::new(),
        [one] => one.clone(),
        [rest @ .., last] => format!("{} and {last}", rest.join(", ")),
    }
}

/// "3 plots", "1 plot".
pub(crate) fn counted(count: usize, noun: &str) -> String {
    if count == 1 {
        format!("1 {noun}")
    } else {
        format!("{count} {noun}s")
    }
}

/// How means of a response are written.
pub(crate) fn of_means(response: &Response) -> Format {
    Format::Decimals(response.decimals)
}

/// How standard errors are written: three significant digits of the smallest, and never more than one
/// digit beyond the means.
pub(crate) fn of_errors(response: &Response, errors: impl Iterator<Item = f64>) -> Format {
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
pub(crate) fn plain(value: f64, decimals: u8) -> String {
    format!("{value:.*}", usize::from(decimals))
}
