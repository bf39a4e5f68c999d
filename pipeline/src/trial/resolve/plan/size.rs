//! `[size]`: what `caneplot size` is to reckon with, so that it need not be typed again.

use serde_json::Value as Json;
use toml::de::DeValue;

use crate::plan::Wanted;
use crate::trial::faults::Faults;
use crate::trial::scalar::{number, scalar_text};
use crate::trial::section::Section;

/// What a key holds.
#[derive(Debug, Clone, Copy)]
enum Holds {
    /// Words.
    Text,
    /// A number, or a share of the mean in %.
    Amount,
    /// A number.
    Number,
    /// A whole number above 0.
    Whole,
}

/// The keys, which are the options of the command with underscores.
const KEYS: [(&str, Holds, &str); 20] = [
    ("difference", Holds::Amount, "difference = \"10 %\""),
    ("mean", Holds::Number, "mean = 4.2"),
    ("unit", Holds::Text, "unit = \"kg/vine\""),
    ("response", Holds::Text, "response = \"yield\""),
    ("from", Holds::Text, "from = \"../reports/earlier\""),
    ("between_plots", Holds::Amount, "between_plots = \"8 %\""),
    ("between_vines", Holds::Amount, "between_vines = \"20 %\""),
    ("within_seasons", Holds::Amount, "within_seasons = \"6 %\""),
    (
        "vines_within_seasons",
        Holds::Amount,
        "vines_within_seasons = \"5 %\"",
    ),
    (
        "between_whole_plots",
        Holds::Amount,
        "between_whole_plots = \"5 %\"",
    ),
    (
        "between_sub_plots",
        Holds::Amount,
        "between_sub_plots = \"5 %\"",
    ),
    (
        "between_row_strips",
        Holds::Amount,
        "between_row_strips = \"5 %\"",
    ),
    (
        "between_cross_strips",
        Holds::Amount,
        "between_cross_strips = \"5 %\"",
    ),
    (
        "treatments_by_season",
        Holds::Amount,
        "treatments_by_season = \"4 %\"",
    ),
    ("loss", Holds::Number, "loss = 0.05"),
    ("price_plot", Holds::Number, "price_plot = 40"),
    ("price_vine", Holds::Number, "price_vine = 6"),
    ("wanted", Holds::Number, "wanted = 0.8"),
    ("level", Holds::Number, "level = 0.05"),
    ("draws", Holds::Whole, "draws = 2000"),
];

/// What is written, in the order of the keys.
pub(super) fn wanted(root: &Section<'_>, faults: &mut Faults) -> Vec<Wanted> {
    let Some(mut section) = root.section("size", faults) else {
        return Vec::new();
    };
    section.only(&KEYS.map(|(key, ..)| key), faults);
    let mut found = Vec::new();
    for (key, holds, example) in KEYS {
        let Some(value) = section.value(key) else {
            continue;
        };
        let inner = value.get_ref();
        let (read, words) = match holds {
            Holds::Text => (text(inner), "a text"),
            Holds::Amount => (amount(inner), "a number, or a text such as \"10 %\""),
            Holds::Number => (number(inner).map(Json::from), "a number"),
            Holds::Whole => (whole(inner), "a whole number above 0"),
        };
        match read {
            Some(read) => found.push(Wanted {
                name: key,
                value: read,
                span: value.span(),
            }),
            None => section.wrong(key, value, words, example, faults),
        }
    }
    found
}

fn text(value: &DeValue<'_>) -> Option<Json> {
    match value {
        DeValue::String(text) => Some(Json::from(text.as_ref())),
        _ => None,
    }
}

fn amount(value: &DeValue<'_>) -> Option<Json> {
    match value {
        DeValue::String(_) | DeValue::Integer(_) | DeValue::Float(_) => {
            scalar_text(value).map(Json::from)
        }
        _ => None,
    }
}

fn whole(value: &DeValue<'_>) -> Option<Json> {
    match value {
        DeValue::Integer(_) => {
            let number: u64 = scalar_text(value)?.parse().ok()?;
            (number > 0).then(|| Json::from(number))
        }
        _ => None,
    }
}
