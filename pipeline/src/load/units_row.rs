//! A row of units under the headings: recognised, checked against the units declared, left out.

use crate::diagnostic::Diagnostic;
use crate::trial::unit::Per;
use crate::trial::{DataFile, Response, Trial, Unit};

use super::opened::Origin;

/// The first row under the headings.
pub struct Row<'a> {
    /// Where it comes from.
    pub origin: &'a Origin,
    /// Its line.
    pub line: usize,
    /// Headings.
    pub headings: &'a [String],
    /// Its cells, trimmed.
    pub cells: &'a [String],
}

/// Whether a row holds units and no record.
///
/// # Errors
/// A unit that is not the one declared, or no unit where the file is said to have such a row.
pub fn holds_units(row: &Row<'_>, data: &DataFile, trial: &Trial) -> Result<bool, Vec<Diagnostic>> {
    if data.units_row == Some(false) {
        return Ok(false);
    }
    let declared = data.units_row == Some(true);
    let measured: Vec<(&Response, &str)> = trial
        .responses
        .iter()
        .chain(&trial.covariates)
        .filter(|response| response.of.is_none())
        .filter_map(|response| Some((response, row.cell(&response.column.value)?)))
        .filter(|(_, text)| data.missing.iter().all(|code| code != text))
        .collect();
    let units: Vec<Option<Unit>> = measured
        .iter()
        .map(|(_, text)| Unit::parse(bare(text)).ok())
        .collect();
    if !declared && (units.is_empty() || units.iter().any(Option::is_none)) {
        return Ok(false);
    }
    let faults: Vec<Diagnostic> = measured
        .iter()
        .zip(&units)
        .filter(|((response, _), unit)| {
            unit.as_ref()
                .is_none_or(|unit| !is_same(unit, &response.unit, trial))
        })
        .map(|((response, text), unit)| row.fault(response, text, unit.is_some(), trial))
        .collect();
    if faults.is_empty() {
        Ok(true)
    } else {
        Err(faults)
    }
}

/// A unit without the brackets people put around it.
fn bare(text: &str) -> &str {
    text.trim_matches(['(', ')', '[', ']']).trim()
}

/// Whether the two are one unit. A sheet of vines often says "kg" where the trial file says
/// "kg/vine": what it is per may be left out, but not be another.
fn is_same(written: &Unit, declared: &Unit, trial: &Trial) -> bool {
    let one = |a: &Unit, b: &Unit| {
        a.factor_to(b, &trial.vineyard)
            .is_ok_and(|factor| factor == 1.0)
    };
    if written.per() == declared.per() {
        return one(written, declared);
    }
    let declared = declared.to_string();
    let above = declared.split('/').next().unwrap_or("");
    written.per() == Per::Nothing && Unit::parse(above).is_ok_and(|above| one(written, &above))
}

impl Row<'_> {
    fn cell(&self, heading: &str) -> Option<&str> {
        let at = self.headings.iter().position(|other| other == heading)?;
        let text = self.cells.get(at)?.as_str();
        (!text.is_empty()).then_some(text)
    }

    fn fault(&self, response: &Response, text: &str, is_unit: bool, trial: &Trial) -> Diagnostic {
        let column = &response.column.value;
        let name = self.origin.name();
        let (message, help) = if is_unit {
            (
                format!(
                    "the row of units of {name} says '{text}' of column '{column}', and the trial file says '{}'",
                    response.unit
                ),
                "correct the one that is wrong".to_owned(),
            )
        } else {
            (
                format!("'{text}' in the row of units of {name} (column '{column}') is no unit"),
                format!(
                    "write {} there, or take units_row out if that row is a record",
                    response.unit
                ),
            )
        };
        Diagnostic::error("units-row", message)
            .at(self.origin.place(Some(self.line), Some(column)))
            .at(trial.place(&response.column.span))
            .help(help)
    }
}
