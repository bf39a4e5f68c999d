//! Names of factors, levels and responses as they read inside a sentence.

use crate::findings::{Format, Rank, Statement};
use crate::request::{Factor, Level, Response, TrialInfo};

/// Text that may stand in a statement: braces there mean a number.
#[must_use]
pub fn safe(text: &str) -> String {
    text.replace('{', "{{").replace('}', "}}")
}

/// A name as it stands inside a sentence: "Yield" becomes "yield", "pH" and "TA" stay.
#[must_use]
pub fn inside(name: &str) -> String {
    // "Yield, per planted space" would break the sentence; brackets do not.
    if let Some((head, rest)) = name.split_once(", per ") {
        return format!("{} (per {})", inside(head), safe(rest));
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
    if let Some((head, rest)) = name.split_once(", per ") {
        return format!("{} (per {})", beginning(head), safe(rest));
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

/// What an analysis that adjusts for no covariate says where the trial declares some, because means
/// elsewhere may be adjusted: "… not adjusted for crop of 2021 …".
#[must_use]
pub fn unadjusted(trial: &TrialInfo) -> Option<Statement> {
    let names = trial.covariates.iter();
    let names: Vec<String> = names.map(|one| safe(&inside(&one.label))).collect();
    (!names.is_empty()).then(|| {
        Statement::new(format!(
            "These are values as recorded, not adjusted for {}: they may differ a little from adjusted means elsewhere in the report.",
            list(&names)
        ))
        .rank(Rank::Detail)
    })
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
