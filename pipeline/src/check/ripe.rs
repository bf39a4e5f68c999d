//! Fruit that was not ripe, or no fruit at all: Brix, pH and acidity outside what grapes have between
//! the beginning of ripening and a late harvest.

use caneplot_plugin::request::Quantity;

use super::suspects::{Suspect, brief, warnings};
use super::{Facts, Numbers, PRACTICE, Rule, ranges};
use crate::decimal::nearest_f64;
use crate::diagnostic::{Diagnostic, Severity};
use crate::trial::Unit;
use crate::trial::checks::Threshold;

/// Soluble solids out of the range of ripening.
pub const RIPE_BRIX: Rule = Rule {
    name: "ripe-brix",
    severity: Severity::Warning,
    source: PRACTICE,
    summary: "Brix outside the range of ripening grapes",
    threshold: Some(Threshold::RipeBrix),
    look: |facts| {
        look(
            facts,
            &RIPE_BRIX,
            Quantity::SolubleSolids,
            Threshold::RipeBrix,
        )
    },
};

/// pH out of the range of ripening.
pub const RIPE_PH: Rule = Rule {
    name: "ripe-ph",
    severity: Severity::Warning,
    source: PRACTICE,
    summary: "pH outside the range of ripening grapes",
    threshold: Some(Threshold::RipePh),
    look: |facts| look(facts, &RIPE_PH, Quantity::Ph, Threshold::RipePh),
};

/// Acidity out of the range of ripening.
pub const RIPE_ACIDITY: Rule = Rule {
    name: "ripe-acidity",
    severity: Severity::Warning,
    source: PRACTICE,
    summary: "titratable acidity outside the range of ripening grapes",
    threshold: Some(Threshold::RipeAcidity),
    look: |facts| {
        look(
            facts,
            &RIPE_ACIDITY,
            Quantity::TitratableAcidity,
            Threshold::RipeAcidity,
        )
    },
};

fn look(facts: &Facts, rule: &Rule, quantity: Quantity, threshold: Threshold) -> Vec<Diagnostic> {
    let Some(range) = facts.trial.checks.range(threshold) else {
        return Vec::new();
    };
    let columns = facts.columns().into_iter();
    columns
        .filter(|numbers| {
            // A range declared for the response says more than the usual one.
            numbers.response.quantity == quantity && numbers.response.possible.is_none()
        })
        .flat_map(|numbers| of_column(facts, rule, &numbers, quantity, range))
        .collect()
}

fn of_column(
    facts: &Facts,
    rule: &Rule,
    numbers: &Numbers,
    quantity: Quantity,
    (low, high): (f64, f64),
) -> Vec<Diagnostic> {
    let unit = &numbers.response.unit;
    // The range of acidity is in g/L; Brix and pH have one unit.
    let factor = Unit::parse("g/L")
        .and_then(|litre| unit.factor_to(&litre, &facts.trial.vineyard))
        .unwrap_or(1.0);
    let impossible = ranges::impossible(numbers);
    let values = numbers.part.values.iter().enumerate();
    let suspects: Vec<Suspect> = values
        .filter_map(|(row, value)| {
            let value = value.filter(|value| !impossible(value))?;
            let measured = factor * nearest_f64(value);
            (measured < low || measured > high).then(|| Suspect {
                row,
                says: format!(
                    "lies outside {} to {}, the {} of ripening grapes",
                    brief(low / factor),
                    brief(high / factor),
                    match quantity {
                        Quantity::SolubleSolids => "Brix",
                        Quantity::Ph => "pH",
                        _ => "acidity",
                    }
                ),
            })
        })
        .collect();
    warnings(
        facts,
        rule,
        numbers,
        &suspects,
        "look the value up; if the fruit was so, widen the range in [checks]",
    )
}
