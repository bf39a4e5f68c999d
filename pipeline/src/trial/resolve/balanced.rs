//! `[factors.NAME.rules]`: levels that are rules of balanced pruning.

use caneplot_plugin::balanced::{Light, PruningRule};
use toml::de::DeValue;

use super::levels::not_a_level;
use crate::balanced::Line;
use crate::diagnostic::Diagnostic;
use crate::trial::faults::Faults;
use crate::trial::keys;
use crate::trial::scalar::number;
use crate::trial::section::Section;
use crate::trial::words::LIGHTS;
use crate::trial::{Level, Written};

const EXAMPLE: &str = "rule = \"20 + 10 per lb\"";
const LIGHT: &str =
    "light = \"as one unit\", \"in proportion\" or \"on the line\", or a number of nodes";

/// Gives the levels that `rules` names their rule; one without a label of its own is labelled by it.
pub(super) fn rule_levels(section: &Section<'_>, levels: &mut [Level], faults: &mut Faults) {
    let Some(table) = section.section("rules", faults) else {
        return;
    };
    let labelled = section.section("labels", faults);
    for (name, section) in table.sections(faults) {
        let Some(level) = levels.iter_mut().find(|level| level.name == name.value) else {
            not_a_level(&name, levels, faults);
            continue;
        };
        if level.value.is_some() {
            let fault = format!("level {} is a number and cannot be a rule too", level.name);
            let help =
                "put the levels that are rules in quotes, as in levels = [\"20+10\", \"30+10\"]";
            faults.add(&name.span, Diagnostic::error("levels", fault).help(help));
            continue;
        }
        level.rule = rule(section, faults);
        let has_label = labelled
            .as_ref()
            .is_some_and(|labels| labels.has(&name.value));
        if let (Some(rule), false) = (&level.rule, has_label) {
            level.label.clone_from(&rule.words);
        }
    }
}

fn rule(mut section: Section<'_>, faults: &mut Faults) -> Option<PruningRule> {
    section.only(keys::RULE, faults);
    let written = section.needed_text("rule", EXAMPLE, faults)?;
    let line = line(&written, faults)?;
    let light = light(&section, &line, faults);
    let (least, most) = (
        nodes(&section, "least", "least = 15", faults),
        nodes(&section, "most", "most = 60", faults),
    );
    if let (Some(least), Some(most), Some(value)) = (least, most, section.value("most"))
        && least > most
    {
        faults.add(
            &value.span(),
            Diagnostic::error("rule", format!("at least {least} nodes and at most {most}"))
                .help("write the smaller number as least, the larger as most"),
        );
    }
    Some(line.rule(light?, least, most))
}

fn line(written: &Written<String>, faults: &mut Faults) -> Option<Line> {
    Line::parse(&written.value)
        .map_err(|fault| {
            faults.add(
                &written.span,
                Diagnostic::error("rule", fault.to_string()).help(fault.help()),
            );
        })
        .ok()
}

/// What vines below one unit get: rules disagree, so a rule of two numbers must say.
fn light(section: &Section<'_>, line: &Line, faults: &mut Faults) -> Option<Light> {
    let Some(value) = section.value("light") else {
        if line.is_ratio {
            return Some(Light::InProportion);
        }
        section.missing("light", LIGHT, faults);
        return None;
    };
    match value.get_ref() {
        DeValue::String(_) => Some(section.word("light", &LIGHTS, faults)?.value),
        _ => nodes(section, "light", LIGHT, faults).map(Light::Nodes),
    }
}

fn nodes(section: &Section<'_>, key: &str, example: &str, faults: &mut Faults) -> Option<f64> {
    let value = section.value(key)?;
    let nodes = number(value.get_ref()).filter(|nodes| *nodes >= 0.0);
    if nodes.is_none() {
        section.wrong(key, value, "a number of nodes from 0 up", example, faults);
    }
    nodes
}
