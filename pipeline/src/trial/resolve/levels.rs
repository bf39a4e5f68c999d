//! The levels of a factor: as they stand in the data, in words, and the canopy they make.

use std::collections::HashMap;

use caneplot_plugin::request::Canopy;
use toml::de::DeValue;

use super::balanced::rule_levels;
use crate::diagnostic::{Diagnostic, nearest};
use crate::trial::faults::Faults;
use crate::trial::scalar::{number, scalar_text};
use crate::trial::section::{Section, one_line, word_of};
use crate::trial::words::CANOPIES;
use crate::trial::{Level, Written};

/// The levels of a factor in the order written; none where one of them is wrong.
pub(super) fn levels(section: &Section<'_>, faults: &mut Faults) -> Vec<Level> {
    let example = "levels = [12, 24, 36] or levels = [\"spur\", \"cane\"]";
    let Some(value) = section.value("levels") else {
        section.missing("levels", example, faults);
        return Vec::new();
    };
    let DeValue::Array(list) = value.get_ref() else {
        section.wrong("levels", value, "a list", example, faults);
        return Vec::new();
    };
    let mut levels: Vec<Level> = Vec::new();
    let mut all_right = true;
    for element in list.iter() {
        let inner = element.get_ref();
        let is_number = inner.is_integer() || inner.is_float();
        let quantity = number(inner);
        let name = match scalar_text(inner).map(|text| text.trim().to_owned()) {
            Some(name) if !name.is_empty() && (!is_number || quantity.is_some()) => name,
            _ => {
                section.wrong(
                    "levels",
                    element,
                    "a list of numbers or texts",
                    example,
                    faults,
                );
                all_right = false;
                continue;
            }
        };
        let level = Level {
            label: name.clone(),
            name,
            value: quantity,
            canopy: None,
            rule: None,
            span: element.span(),
        };
        if let Some(first) = levels.iter().find(|other| same(other, &level)) {
            let fault = if first.name == level.name {
                format!("level '{}' is listed twice", level.name)
            } else {
                format!(
                    "levels '{}' and '{}' cannot be told apart",
                    first.name, level.name
                )
            };
            let first = faults.place(&first.span);
            faults.add(
                &level.span,
                Diagnostic::error("levels", fault)
                    .at(first)
                    .help("list every level once"),
            );
            continue;
        }
        levels.push(level);
    }
    if list.len() < 2 {
        faults.add(
            &value.span(),
            Diagnostic::error(
                "levels",
                format!(
                    "{} has fewer than two levels: there is nothing to compare",
                    section.name()
                ),
            )
            .help(format!("list all levels, as in {example}")),
        );
    }
    if !all_right {
        levels.clear();
    }
    label_levels(section, &mut levels, faults);
    rule_levels(section, &mut levels, faults);
    levels
}

/// Whether two levels could not be told apart in the data.
fn same(one: &Level, other: &Level) -> bool {
    match (one.value, other.value) {
        (Some(a), Some(b)) => a == b,
        _ => one.name.to_lowercase() == other.name.to_lowercase(),
    }
}

/// Adds `labels` and `canopies` to the levels they name.
fn label_levels(section: &Section<'_>, levels: &mut [Level], faults: &mut Faults) {
    for (name, text) in by_level(section, "labels", levels, faults) {
        if let Some(level) = levels.iter_mut().find(|level| level.name == name) {
            level.label = one_line(&text.value);
        }
    }
    let canopies: HashMap<String, Canopy> = by_level(section, "canopies", levels, faults)
        .into_iter()
        .filter_map(|(name, text)| Some((name, word_of(&text, &CANOPIES, faults)?.value)))
        .collect();
    for level in levels {
        level.canopy = canopies.get(&level.name).copied();
    }
}

/// The texts of a table whose keys are levels.
fn by_level(
    section: &Section<'_>,
    key: &str,
    levels: &[Level],
    faults: &mut Faults,
) -> Vec<(String, Written<String>)> {
    let Some(table) = section.section(key, faults) else {
        return Vec::new();
    };
    let mut texts = Vec::new();
    for entry in table.entries() {
        let name = entry.key.value.clone();
        if !levels.iter().any(|level| level.name == name) {
            not_a_level(&entry.key, levels, faults);
            continue;
        }
        if let Some(text) = table.text(&name, &format!("{name} = \"...\""), faults) {
            texts.push((name, text));
        }
    }
    texts
}

/// Reports a text that is none of the levels.
pub(super) fn not_a_level(written: &Written<String>, levels: &[Level], faults: &mut Faults) {
    // With the levels themselves wrong, whether this is one of them cannot be said.
    if levels.is_empty() {
        return;
    }
    let names: Vec<&str> = levels.iter().map(|level| level.name.as_str()).collect();
    let help = match nearest(&written.value, names.iter().copied()) {
        Some(near) => format!(
            "write {near} if that is meant; levels: {}",
            names.join(", ")
        ),
        None => format!("the levels are {}", names.join(", ")),
    };
    faults.add(
        &written.span,
        Diagnostic::error(
            "levels",
            format!("'{}' is not one of the levels", written.value),
        )
        .help(help),
    );
}
