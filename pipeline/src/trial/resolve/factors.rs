//! `[factors.NAME]`: what was varied, where it was applied, its levels.

use caneplot_plugin::request::Role;

use super::design::roles;
use super::levels::{levels, not_a_level};
use super::names;
use crate::diagnostic::Diagnostic;
use crate::trial::faults::Faults;
use crate::trial::keys;
use crate::trial::scalar::{number, scalar_text};
use crate::trial::section::Section;
use crate::trial::words::{KINDS, ROLES, in_words};
use crate::trial::{Design, Factor, Level, Unit, Written};

/// The factors of a trial.
pub(super) fn factors(
    root: &Section<'_>,
    design: &Option<Design>,
    faults: &mut Faults,
) -> Vec<Factor> {
    let example = "[factors.nodes] with levels = [12, 24, 36]";
    let Some(all) = root.section("factors", faults) else {
        if !root.has("factors") {
            root.missing("factors", example, faults);
        }
        return Vec::new();
    };
    let sections = all.sections(faults);
    if all.entries().is_empty() {
        all.missing("a factor", example, faults);
    }
    let factors: Vec<Factor> = sections
        .into_iter()
        .map(|(key, mut section)| {
            section.only(keys::FACTOR, faults);
            factor(key, &section, design, faults)
        })
        .collect();
    if let Some(design) = design {
        roles_are_filled(&all, &factors, design, faults);
    }
    factors
}

fn factor(
    key: Written<String>,
    section: &Section<'_>,
    design: &Option<Design>,
    faults: &mut Faults,
) -> Factor {
    names::is_usable(&key, "factor", faults);
    let levels = levels(section, faults);
    let unit = unit(section, &levels, faults);
    let label = section.words("label", "label = \"Nodes left\"", faults);
    let column = section.text("column", "column = \"nodes\"", faults);
    Factor {
        label: label.unwrap_or_else(|| in_words(&key.value)),
        column: column.unwrap_or_else(|| key.clone()),
        role: role(section, design, faults),
        control: control(section, &levels, faults),
        levels,
        unit,
        name: key.value,
        span: key.span,
    }
}

fn role(section: &Section<'_>, design: &Option<Design>, faults: &mut Faults) -> Role {
    let allowed = design.as_ref().map(|design| roles(design.kind));
    let list = |roles: &[Role]| {
        let words: Vec<String> = roles
            .iter()
            .map(|role| format!("role = \"{}\"", ROLES.word(*role)))
            .collect();
        words.join(" or ")
    };
    if !section.has("role") {
        return match allowed {
            Some([only]) => *only,
            Some(several) => {
                section.missing("role", &list(several), faults);
                Role::default()
            }
            None => Role::default(),
        };
    }
    let Some(role) = section.word("role", &ROLES, faults) else {
        return Role::default();
    };
    if let (Some(allowed), Some(design)) = (allowed, design)
        && !allowed.contains(&role.value)
    {
        faults.add(
            &role.span,
            Diagnostic::error(
                "design",
                format!(
                    "a {} design has no {}",
                    KINDS.word(design.kind),
                    match role.value {
                        Role::Treatment => "role 'treatment'".to_owned(),
                        other => format!("{}s", ROLES.word(other)),
                    }
                ),
            )
            .help(format!(
                "write {}, or another kind in [design]",
                list(allowed)
            )),
        );
    }
    role.value
}

/// Reports roles of the design that no factor has.
fn roles_are_filled(all: &Section<'_>, factors: &[Factor], design: &Design, faults: &mut Faults) {
    // A factor whose role is missing or wrong is reported itself.
    let required = roles(design.kind);
    let unclear = factors
        .iter()
        .any(|factor| !required.contains(&factor.role));
    if unclear || factors.is_empty() {
        return;
    }
    for role in required {
        if factors.iter().any(|factor| factor.role == *role) {
            continue;
        }
        let at = factors
            .first()
            .map_or_else(|| all.header.clone(), |factor| factor.span.clone());
        faults.add(
            &at,
            Diagnostic::error(
                "design",
                format!(
                    "a {} design needs a factor applied to {}s, and there is none",
                    KINDS.word(design.kind),
                    ROLES.word(*role)
                ),
            )
            .help(format!(
                "give the factor applied there role = \"{}\", or declare the kind that was laid out",
                ROLES.word(*role)
            )),
        );
    }
}

fn control(
    section: &Section<'_>,
    levels: &[Level],
    faults: &mut Faults,
) -> Option<Written<String>> {
    let value = section.value("control")?;
    let Some(text) = scalar_text(value.get_ref()) else {
        section.wrong(
            "control",
            value,
            "one of the levels",
            "control = 24",
            faults,
        );
        return None;
    };
    let quantity = number(value.get_ref());
    let written = Written {
        value: text.trim().to_owned(),
        span: value.span(),
    };
    let level = levels.iter().find(|level| {
        level.name == written.value || (quantity.is_some() && level.value == quantity)
    });
    match level {
        Some(level) => Some(Written {
            value: level.name.clone(),
            span: written.span,
        }),
        None => {
            not_a_level(&written, levels, faults);
            None
        }
    }
}

fn unit(section: &Section<'_>, levels: &[Level], faults: &mut Faults) -> Option<String> {
    let written = section.text("unit", "unit = \"nodes/vine\"", faults)?;
    match Unit::parse(&written.value) {
        Err(fault) => {
            faults.add(
                &written.span,
                Diagnostic::error("unit", fault.to_string()).help(fault.help()),
            );
            None
        }
        Ok(_) if !levels.is_empty() && levels.iter().all(|level| level.value.is_none()) => {
            faults.add(
                &written.span,
                Diagnostic::error("unit", "the levels are names, which have no unit")
                    .help("take unit out, or write the levels as numbers without quotes"),
            );
            None
        }
        Ok(unit) => Some(unit.to_string()),
    }
}
