//! `[responses.NAME]`: what was measured, in which column and unit.

use caneplot_plugin::request::Quantity;

use super::measures::measure;
use super::names;
use crate::diagnostic::Diagnostic;
use crate::trial::faults::Faults;
use crate::trial::keys;
use crate::trial::scalar::number;
use crate::trial::section::Section;
use crate::trial::unit::{Dimension, Per};
use crate::trial::words::{QUANTITIES, in_words, told_by};
use crate::trial::{Response, Unit, Vineyard, Written};

/// The responses of a trial.
#[derive(Default)]
pub(super) struct Responses {
    /// All, in the order written.
    pub(super) all: Vec<Response>,
    /// Names of those whose unit is wrong, of which no ratio can be looked at.
    pub(super) unclear: Vec<String>,
}

/// The responses of a trial.
pub(super) fn responses(root: &Section<'_>, vineyard: &Vineyard, faults: &mut Faults) -> Responses {
    let example = "[responses.yield] with column = \"crop_kg\" and unit = \"kg/vine\"";
    let Some(all) = root.section("responses", faults) else {
        if !root.has("responses") {
            root.missing("responses", example, faults);
        }
        return Responses::default();
    };
    if all.entries().is_empty() {
        all.missing("a response", example, faults);
    }
    let mut responses = Responses::default();
    for (key, mut section) in all.sections(faults) {
        section.only(keys::RESPONSE, faults);
        let (response, clear) = response(key, &section, vineyard, faults);
        if !clear {
            responses.unclear.push(response.name.clone());
        }
        responses.all.push(response);
    }
    responses
}

/// A response, and whether its unit is clear.
fn response(
    key: Written<String>,
    section: &Section<'_>,
    vineyard: &Vineyard,
    faults: &mut Faults,
) -> (Response, bool) {
    names::is_usable(&key, "response", faults);
    let column = section
        .text("column", "column = \"crop_kg\"", faults)
        .unwrap_or_else(|| key.clone());
    let of = section.text("of", "of = \"buds_left\"", faults);
    if let Some(of) = &of
        && of.value == column.value
    {
        faults.add(
            &of.span,
            Diagnostic::error("count", "the count and its total are one column")
                .help("column holds the count, of the total it was counted out of"),
        );
    }
    let quantity = quantity(&key, &column, section, faults);
    let unit = match &of {
        Some(_) => share(section, quantity, faults),
        None => unit(section, quantity, faults),
    };
    let report_unit = report_unit(section, unit.as_ref(), of.is_some(), vineyard, faults);
    let label = section.words("label", "label = \"Yield\"", faults);
    let clear = unit.is_some();
    let response = Response {
        label: label.unwrap_or_else(|| in_words(&key.value)),
        column,
        of,
        unit: unit.unwrap_or_else(Unit::percent),
        report_unit,
        quantity,
        possible: possible(section, faults),
        name: key.value,
        span: key.span,
    };
    (response, clear)
}

/// What a response measures: as `is` says, or as its name tells.
fn quantity(
    key: &Written<String>,
    column: &Written<String>,
    section: &Section<'_>,
    faults: &mut Faults,
) -> Quantity {
    if section.has("is") {
        return section
            .word("is", &QUANTITIES, faults)
            .map(|word| word.value)
            .unwrap_or_default();
    }
    let told = told_by(&key.value);
    if told != Quantity::Other {
        return told;
    }
    // Prunings taken for something else would be put into the wrong season without a word.
    let both = format!("{} {}", key.value, column.value).to_lowercase();
    let winter = ["prun", "cane", "wood"]
        .into_iter()
        .find(|part| both.contains(part));
    if let Some(part) = winter {
        faults.add(
            &key.span,
            Diagnostic::error(
                "quantity",
                format!(
                    "'{}' sounds like a record of winter ('{part}'), but does not say what it \
                     measures",
                    key.value
                ),
            )
            .help(
                "add is = \"pruning weight\", \"cane count\" or \"nodes left\" if it is one of \
                 these, else another quantity or is = \"other\"",
            ),
        );
    }
    told
}

pub(super) fn unit(section: &Section<'_>, quantity: Quantity, faults: &mut Faults) -> Option<Unit> {
    let measure = measure(quantity);
    let example = measure.example;
    let written = section.needed_text("unit", &format!("unit = \"{example}\""), faults)?;
    let unit = parsed(&written, faults)?;
    if !(measure.fits)(&unit) {
        let help = match (unit.dimension(), unit.per(), quantity) {
            (Dimension::Mass, Per::Nothing, Quantity::Yield | Quantity::PruningWeight) => format!(
                "write \"{unit}/vine\" if each number is one vine's or a mean of vines, \
                 \"{unit}/plot\" if it is a whole plot's"
            ),
            _ => format!(
                "write a unit such as \"{example}\", or is = \"other\" if it measures something else"
            ),
        };
        faults.add(
            &written.span,
            Diagnostic::error(
                "unit",
                format!(
                    "{} is {}, and the {} of {} is {}",
                    unit,
                    unit.measured(),
                    QUANTITIES.word(quantity),
                    section.name(),
                    measure.wanted
                ),
            )
            .help(help),
        );
        return None;
    }
    Some(unit)
}

fn parsed(written: &Written<String>, faults: &mut Faults) -> Option<Unit> {
    Unit::parse(&written.value)
        .map_err(|fault| {
            faults.add(
                &written.span,
                Diagnostic::error("unit", fault.to_string()).help(fault.help()),
            );
        })
        .ok()
}

/// The unit of a count out of a count.
fn share(section: &Section<'_>, quantity: Quantity, faults: &mut Faults) -> Option<Unit> {
    for key in ["unit", "report_in"] {
        if let Some(key) = section.key(key) {
            faults.add(
                &key.span,
                Diagnostic::error(
                    "count",
                    format!(
                        "{} is a count out of a count, reported in per cent: it has no {}",
                        section.name(),
                        key.value
                    ),
                )
                .help(format!("take {} out", key.value)),
            );
        }
    }
    let sensible = matches!(
        quantity,
        Quantity::BudBreak | Quantity::BudSurvival | Quantity::Other
    );
    if let (false, Some(of)) = (sensible, section.key("of")) {
        faults.add(
            &of.span,
            Diagnostic::error(
                "count",
                format!("a {} is not a share of a total", QUANTITIES.word(quantity)),
            )
            .help(
                "take of out, or say what the share is: is = \"bud break\", \"bud survival\" or \
                 \"other\"",
            ),
        );
    }
    Some(Unit::percent())
}

pub(super) fn report_unit(
    section: &Section<'_>,
    unit: Option<&Unit>,
    is_share: bool,
    vineyard: &Vineyard,
    faults: &mut Faults,
) -> Option<Unit> {
    if is_share {
        return None;
    }
    let written = section.text("report_in", "report_in = \"t/ha\"", faults)?;
    let wanted = parsed(&written, faults)?;
    if let Err(fault) = unit?.factor_to(&wanted, vineyard) {
        faults.add(
            &written.span,
            Diagnostic::error("unit", fault.to_string()).help(fault.help()),
        );
        return None;
    }
    Some(wanted)
}

pub(super) fn possible(section: &Section<'_>, faults: &mut Faults) -> Option<(f64, f64)> {
    let value = section.value("possible")?;
    let example = "possible = [0, 30]";
    let numbers: Option<Vec<f64>> = value.get_ref().as_array().and_then(|list| {
        list.iter()
            .map(|element| number(element.get_ref()))
            .collect()
    });
    match numbers.as_deref() {
        Some(&[low, high]) if low < high => Some((low, high)),
        Some(&[low, high]) => {
            faults.add(
                &value.span(),
                Diagnostic::error(
                    "possible",
                    format!("nothing is possible from {low} to {high}"),
                )
                .help("write the lower number first"),
            );
            None
        }
        _ => {
            section.wrong("possible", value, "a list of two numbers", example, faults);
            None
        }
    }
}
