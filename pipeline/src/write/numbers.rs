//! The one rule by which a number becomes text, in tables and in sentences.

use caneplot_plugin::findings::{Format, Value};

/// Smallest probability written as itself.
const LEAST_PROBABILITY: f64 = 0.001;

/// A number as it stands in a table cell, with a true minus sign.
///
/// A probability below 0.001 is written `<0.001`, one above 0.999 `>0.999`.
#[must_use]
pub fn cell(value: f64, format: Format) -> String {
    match format {
        Format::Count => signed(format!("{value:.0}")),
        Format::Decimals(decimals) => signed(format!("{value:.*}", usize::from(decimals))),
        Format::Significant(digits) => signed(significant(value, usize::from(digits))),
        Format::Probability => probability(value),
        Format::Percent(decimals) => {
            signed(format!("{:.*} %", usize::from(decimals), value * 100.0))
        }
    }
}

/// A number as it stands in a sentence, its unit behind it; a probability as `P = 0.032`.
#[must_use]
pub fn phrase(value: &Value) -> String {
    let text = cell(value.value, value.format);
    match (value.format, &value.unit) {
        (Format::Probability, _) => match text.chars().next() {
            Some('<' | '>') => format!("P {} {}", &text[..1], &text[1..]),
            _ => format!("P = {text}"),
        },
        (_, Some(unit)) if unit.starts_with('°') && unit.chars().count() == 1 => {
            format!("{text}{unit}")
        }
        // A pH is a number by itself.
        (_, Some(unit)) if !unit.is_empty() && unit != "pH" => format!("{text} {unit}"),
        _ => text,
    }
}

/// A number for a machine: the shortest text that reads back as the same number.
#[must_use]
pub fn exact(value: f64) -> String {
    let shortest = format!("{value}");
    if shortest.trim_start_matches('-').len() <= 20 {
        shortest
    } else {
        format!("{value:e}")
    }
}

fn probability(value: f64) -> String {
    if value < LEAST_PROBABILITY {
        format!("<{LEAST_PROBABILITY}")
    } else if value > 1.0 - LEAST_PROBABILITY {
        format!(">{}", 1.0 - LEAST_PROBABILITY)
    } else {
        format!("{value:.3}")
    }
}

/// So many significant digits, never in powers of ten between 0.0001 and a billion.
fn significant(value: f64, digits: usize) -> String {
    let digits = digits.max(1);
    if value == 0.0 {
        return "0".to_owned();
    }
    // The exponent after rounding: 9.996 to three digits is 10.0, not 9.996's own decade.
    let scientific = format!("{value:.*e}", digits - 1);
    let exponent: i32 = scientific
        .split('e')
        .nth(1)
        .and_then(|text| text.parse().ok())
        .unwrap_or_default();
    if !(-5..9).contains(&exponent) {
        return format!(
            "{}×10{}",
            scientific.split('e').next().unwrap_or(""),
            raised(exponent)
        );
    }
    let decimals = (digits as i32 - 1 - exponent).max(0) as usize;
    format!("{value:.decimals$}")
}

/// A whole number in raised digits.
fn raised(number: i32) -> String {
    number
        .to_string()
        .chars()
        .map(|c| match c {
            '-' => '⁻',
            '1' => '¹',
            '2' => '²',
            '3' => '³',
            _ => c
                .to_digit(10)
                .and_then(|d| char::from_u32(0x2070 + d))
                .unwrap_or(c),
        })
        .collect()
}

/// A hyphen in front of a number becomes a minus sign; minus nothing becomes nothing.
fn signed(text: String) -> String {
    match text.strip_prefix('-') {
        Some(rest) if rest.chars().all(|c| matches!(c, '0' | '.' | ' ' | '%')) => rest.to_owned(),
        Some(rest) => format!("−{rest}"),
        None => text,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_read_as_in_a_journal() {
        for (value, format, text) in [
            (12.0, Format::Count, "12"),
            (-0.04, Format::Decimals(1), "0.0"),
            (-3.25, Format::Decimals(1), "−3.2"),
            (9.996, Format::Significant(3), "10.0"),
            (1234.6, Format::Significant(3), "1235"),
            (0.012345, Format::Significant(3), "0.0123"),
            (0.0, Format::Significant(3), "0"),
            (-1.234e-7, Format::Significant(3), "−1.23×10⁻⁷"),
            (0.0321, Format::Probability, "0.032"),
            (1e-9, Format::Probability, "<0.001"),
            (0.9999, Format::Probability, ">0.999"),
            (0.385, Format::Percent(0), "38 %"),
        ] {
            assert_eq!(cell(value, format), text, "{value} as {format:?}");
        }
    }

    #[test]
    fn a_probability_in_a_sentence_has_its_sign() {
        let value = |value| Value {
            value,
            format: Format::Probability,
            unit: None,
        };
        assert_eq!(phrase(&value(0.2)), "P = 0.200");
        assert_eq!(phrase(&value(0.0002)), "P < 0.001");
    }

    #[test]
    fn a_unit_follows_its_number() {
        let value = Value {
            value: 2.5,
            format: Format::Decimals(1),
            unit: Some("kg/vine".to_owned()),
        };
        assert_eq!(phrase(&value), "2.5 kg/vine");
    }
}
