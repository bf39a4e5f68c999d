//! `[ratios]`: one response over another; unit and index are known from the two.

use caneplot_plugin::request::{Index, Quantity};

use super::names;
use super::responses::Responses;
use crate::diagnostic::{Diagnostic, nearest};
use crate::trial::faults::Faults;
use crate::trial::keys;
use crate::trial::section::Section;
use crate::trial::unit::{Quotient, UnitError};
use crate::trial::words::in_words;
use crate::trial::{Ratio, Response, Unit, Vineyard, Written};

const EXAMPLE: &str = "yield_to_pruning = { of = \"yield\", per = \"pruning_weight\" }";

/// The ratios of a trial.
pub(super) fn ratios(
    root: &Section<'_>,
    responses: &Responses,
    vineyard: &Vineyard,
    faults: &mut Faults,
) -> Vec<Ratio> {
    let Some(all) = root.section("ratios", faults) else {
        return Vec::new();
    };
    let sections = all.sections(faults);
    sections
        .into_iter()
        .filter_map(|(key, mut section)| {
            section.only(keys::RATIO, faults);
            ratio(key, &section, responses, vineyard, faults)
        })
        .collect()
}

fn ratio(
    key: Written<String>,
    section: &Section<'_>,
    responses: &Responses,
    vineyard: &Vineyard,
    faults: &mut Faults,
) -> Option<Ratio> {
    names::is_usable(&key, "ratio", faults);
    let label = section.words("label", "label = \"Crop load\"", faults);
    let of = section.needed_text("of", EXAMPLE, faults);
    let per = section.needed_text("per", EXAMPLE, faults);
    let above = of.as_ref().map(|of| response(of, &responses.all, faults));
    let below = per
        .as_ref()
        .map(|per| response(per, &responses.all, faults));
    let wished = wished(section, faults);
    let (of, per, above, below) = (of?, per?, above??, below??);
    if above.name == below.name {
        faults.add(
            &per.span,
            Diagnostic::error("ratio", format!("'{}' over itself is always 1", per.value))
                .help("name two different responses"),
        );
        return None;
    }
    if responses.unclear.contains(&above.name) || responses.unclear.contains(&below.name) {
        return None;
    }
    let quotient = match quotient(above, below, wished.as_ref(), vineyard) {
        Ok(quotient) => quotient,
        Err(fault) => {
            let at = section.value("unit").map_or(key.span, |value| value.span());
            faults.add(
                &at,
                Diagnostic::error("unit", fault.to_string()).help(fault.help()),
            );
            return None;
        }
    };
    Some(Ratio {
        label: label.unwrap_or_else(|| in_words(&key.value)),
        name: key.value,
        of,
        per,
        unit: quotient.unit,
        scale: quotient.scale,
        index: index(above.quantity, below.quantity),
    })
}

fn wished(section: &Section<'_>, faults: &mut Faults) -> Option<Unit> {
    let written = section.text("unit", "unit = \"kg/kg\"", faults)?;
    Unit::parse(&written.value)
        .map_err(|fault| {
            faults.add(
                &written.span,
                Diagnostic::error("unit", fault.to_string()).help(fault.help()),
            );
        })
        .ok()
}

fn response<'a>(
    name: &Written<String>,
    responses: &'a [Response],
    faults: &mut Faults,
) -> Option<&'a Response> {
    let found = responses
        .iter()
        .find(|response| response.name == name.value);
    // Without any response that is what is reported, not every ratio.
    if found.is_none() && !responses.is_empty() {
        let names: Vec<&str> = responses
            .iter()
            .map(|response| response.name.as_str())
            .collect();
        let help = match nearest(&name.value, names.iter().copied()) {
            Some(near) => format!("write \"{near}\" if that is meant"),
            None => format!("the responses are {}", names.join(", ")),
        };
        faults.add(
            &name.span,
            Diagnostic::error("ratio", format!("there is no response '{}'", name.value)).help(help),
        );
    }
    found
}

/// Unit and scale of the ratio of two responses, in the units they are reported in.
fn quotient(
    above: &Response,
    below: &Response,
    wished: Option<&Unit>,
    vineyard: &Vineyard,
) -> Result<Quotient, UnitError> {
    let reported = |response: &'_ Response| {
        response
            .report_unit
            .clone()
            .unwrap_or_else(|| response.unit.clone())
    };
    let (above, below) = (reported(above), reported(below));
    match wished {
        Some(wished) => above.over_in(&below, wished, vineyard),
        None => above.over(&below, vineyard),
    }
}

/// The index of the trade that one quantity over another is.
fn index(above: Quantity, below: Quantity) -> Option<Index> {
    match (above, below) {
        (Quantity::Yield, Quantity::PruningWeight) => Some(Index::YieldToPruningWeight),
        (Quantity::LeafArea, Quantity::Yield) => Some(Index::LeafAreaToFruit),
        (Quantity::Yield, Quantity::ClusterCount) => Some(Index::MeanClusterWeight),
        (Quantity::PruningWeight, Quantity::CaneCount) => Some(Index::MeanCaneWeight),
        _ => None,
    }
}
