//! `[covariates.NAME]`: what was recorded on plots before the treatments began.

use super::{names, responses};
use crate::trial::faults::Faults;
use crate::trial::keys;
use crate::trial::section::Section;
use crate::trial::words::{QUANTITIES, in_words, told_by};
use crate::trial::{Response, Unit, Vineyard, Written};

/// The covariates of a trial; none where the file declares none.
pub(super) fn covariates(
    root: &Section<'_>,
    vineyard: &Vineyard,
    faults: &mut Faults,
) -> Vec<Response> {
    let Some(all) = root.section("covariates", faults) else {
        return Vec::new();
    };
    if all.entries().is_empty() {
        let example =
            "[covariates.prunings_before] with column = \"prunings_2020\" and unit = \"kg/vine\"";
        all.missing("a covariate", example, faults);
    }
    let mut covariates = Vec::new();
    for (key, mut section) in all.sections(faults) {
        section.only(keys::COVARIATE, faults);
        covariates.push(covariate(key, &section, vineyard, faults));
    }
    covariates
}

fn covariate(
    key: Written<String>,
    section: &Section<'_>,
    vineyard: &Vineyard,
    faults: &mut Faults,
) -> Response {
    names::is_usable(&key, "covariate", faults);
    let column = section
        .text("column", "column = \"prunings_2020\"", faults)
        .unwrap_or_else(|| key.clone());
    // No season hangs on what a covariate measures, so a name that does not tell it may stand.
    let quantity = match section.has("is") {
        true => section
            .word("is", &QUANTITIES, faults)
            .map(|word| word.value)
            .unwrap_or_default(),
        false => told_by(&key.value),
    };
    let unit = responses::unit(section, quantity, faults);
    let report_unit = responses::report_unit(section, unit.as_ref(), false, vineyard, faults);
    let label = section.words("label", "label = \"Prunings before the trial\"", faults);
    Response {
        label: label.unwrap_or_else(|| in_words(&key.value)),
        column,
        of: None,
        unit: unit.unwrap_or_else(Unit::percent),
        report_unit,
        quantity,
        possible: responses::possible(section, faults),
        name: key.value,
        span: key.span,
    }
}
