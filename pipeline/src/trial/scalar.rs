//! Single values of TOML as texts and numbers.

use toml::de::DeValue;

/// A text, number or date as text.
pub(super) fn scalar_text(value: &DeValue<'_>) -> Option<String> {
    match value {
        DeValue::String(text) => Some(text.to_string()),
        DeValue::Integer(number) if number.radix() == 10 => Some(unsigned(number.as_str())),
        DeValue::Integer(number) => i64::from_str_radix(number.as_str(), number.radix())
            .ok()
            .map(|number| number.to_string()),
        DeValue::Float(number) => Some(unsigned(number.as_str())),
        DeValue::Datetime(date) => Some(date.to_string()),
        DeValue::Boolean(_) | DeValue::Array(_) | DeValue::Table(_) => None,
    }
}

/// A number without the plus sign that no data file writes.
fn unsigned(number: &str) -> String {
    number.strip_prefix('+').unwrap_or(number).to_owned()
}

/// A finite number.
pub(super) fn number(value: &DeValue<'_>) -> Option<f64> {
    match value {
        DeValue::Integer(_) | DeValue::Float(_) => scalar_text(value)?
            .parse::<f64>()
            .ok()
            .filter(|number| number.is_finite()),
        _ => None,
    }
}

/// The type of a value, with its article.
pub(super) fn type_in_words(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "a text",
        DeValue::Integer(_) | DeValue::Float(_) => "a number",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}
