//! `[analyses]`: which plugins are asked for, their options kept as written. Whether a plugin has
//! such an option is known from its manifest, later.

use serde_json::{Map, Number, Value as Json};
use toml::Spanned;
use toml::de::DeValue;

use crate::diagnostic::Diagnostic;
use crate::trial::faults::Faults;
use crate::trial::scalar::scalar_text;
use crate::trial::section::Section;
use crate::trial::{Analysis, Written};

/// The analyses asked for; `None` where the file leaves the choice to the program.
pub(super) fn analyses(root: &Section<'_>, faults: &mut Faults) -> Option<Vec<Analysis>> {
    let all = root.section("analyses", faults)?;
    let sections = all.sections(faults);
    Some(
        sections
            .into_iter()
            .map(|(name, section)| Analysis {
                name,
                options: section
                    .entries()
                    .into_iter()
                    .filter_map(|entry| {
                        let value = json(entry.value, faults)?;
                        Some((
                            entry.key,
                            Written {
                                value,
                                span: entry.value.span(),
                            },
                        ))
                    })
                    .collect(),
            })
            .collect(),
    )
}

/// A value as JSON, in which dates are texts.
fn json(value: &Spanned<DeValue<'_>>, faults: &mut Faults) -> Option<Json> {
    match value.get_ref() {
        DeValue::Boolean(flag) => Some(Json::Bool(*flag)),
        DeValue::Integer(_) | DeValue::Float(_) => {
            let number = json_number(value.get_ref());
            if number.is_none() {
                faults.add(
                    &value.span(),
                    Diagnostic::error("wrong-type", "an option cannot be such a number")
                        .help("write a finite number"),
                );
            }
            number.map(Json::Number)
        }
        DeValue::String(_) | DeValue::Datetime(_) => scalar_text(value.get_ref()).map(Json::String),
        DeValue::Array(list) => {
            let values: Vec<Json> = list
                .iter()
                .filter_map(|element| json(element, faults))
                .collect();
            Some(Json::Array(values))
        }
        DeValue::Table(table) => {
            let inner = Section::new("analyses", value.span(), table);
            let values: Map<String, Json> = inner
                .entries()
                .into_iter()
                .filter_map(|entry| Some((entry.key.value, json(entry.value, faults)?)))
                .collect();
            Some(Json::Object(values))
        }
    }
}

fn json_number(value: &DeValue<'_>) -> Option<Number> {
    let text = scalar_text(value)?;
    match value {
        DeValue::Integer(_) => text.parse::<i64>().ok().map(Number::from),
        _ => text.parse::<f64>().ok().and_then(Number::from_f64),
    }
}
