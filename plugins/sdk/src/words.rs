//! Names of factors, levels and responses as they read inside a sentence.

use crate::request::{Factor, Level};

/// Text that may stand in a statement: braces there mean a number.
#[must_use]
pub fn safe(text: &str) -> String {
    text.replace('{', "{{").replace('}', "}}")
}

/// A name as it stands inside a sentence: "Yield" becomes "yield", "pH" and "TA" stay.
#[must_use]
pub fn inside(name: &str) -> String {
    let mut letters = name.chars();
    match (letters.next(), letters.next()) {
        (Some(first), Some(second))
            if first.is_uppercase() && second.is_lowercase() && !name.starts_with("Brix") =>
        {
            let rest = &name[first.len_utf8()..];
            safe(&format!("{}{rest}", first.to_lowercase()))
        }
        _ => safe(name),
    }
}

/// A name as it begins a sentence: "yield" becomes "Yield", "pH" stays.
#[must_use]
pub fn beginning(name: &str) -> String {
    let mut letters = name.chars();
    match (letters.next(), letters.next()) {
        (Some(first), Some(second)) if first.is_lowercase() && !second.is_uppercase() => {
            let rest = &name[first.len_utf8()..];
            safe(&format!("{}{rest}", first.to_uppercase()))
        }
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
pub fn list<S: AsRef<str>>(phrases: &[S]) -> String {
    match phrases {
        [] => String::new(),
        [one] => one.as_ref().to_owned(),
        [rest @ .., last] => {
            let rest: Vec<&str> = rest.iter().map(AsRef::as_ref).collect();
            format!("{} and {}", rest.join(", "), last.as_ref())
        }
    }
}

/// The first phrases as a list, and how many more there are: "a, b, c and 4 more".
#[must_use]
pub fn shortened<S: AsRef<str>>(phrases: &[S], most: usize) -> String {
    if phrases.len() <= most {
        return list(phrases);
    }
    let shown: Vec<&str> = phrases[..most].iter().map(AsRef::as_ref).collect();
    format!("{} and {} more", shown.join(", "), phrases.len() - most)
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

/// A share as a percentage without needless zeros: "95 %", "99.9 %".
#[must_use]
pub fn percent(share: f64) -> String {
    format!("{} %", (share * 1e6).round() / 1e4)
}

/// A name made fit for an id: `a-z0-9_-` only.
#[must_use]
pub fn id(name: &str) -> String {
    let fit = |c: char| match c.to_ascii_lowercase() {
        c if c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_' || c == '-' => c,
        _ => '-',
    };
    name.chars().map(fit).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_keep_their_capitals_where_they_mean_something() {
        assert_eq!(inside("Yield"), "yield");
        assert_eq!(inside("pH"), "pH");
        assert_eq!(inside("TA"), "TA");
        assert_eq!(inside("Brix"), "Brix");
        assert_eq!(beginning("yield"), "Yield");
        assert_eq!(beginning("pH"), "pH");
        assert_eq!(inside("{x}"), "{{x}}");
    }

    #[test]
    fn lists_end_in_and() {
        assert_eq!(list::<&str>(&[]), "");
        assert_eq!(list(&["a"]), "a");
        assert_eq!(list(&["a", "b", "c"]), "a, b and c");
        assert_eq!(shortened(&["a", "b", "c"], 3), "a, b and c");
        assert_eq!(shortened(&["a", "b", "c", "d"], 2), "a, b and 2 more");
    }

    #[test]
    fn percentages_and_ids_are_plain() {
        assert_eq!(percent(0.95), "95 %");
        assert_eq!(percent(0.999), "99.9 %");
        assert_eq!(id("Yield, per space"), "yield--per-space");
        assert_eq!(counted(1, "plot"), "1 plot");
    }
}
