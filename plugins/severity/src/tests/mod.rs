//! Calls made by hand.

mod numbers;
mod rules;

use caneplot_plugin::findings::Findings;
use caneplot_plugin::{Analysis, validate};
use caneplot_readings::testing::{Made, text};

/// The findings, valid, and everything in them as text.
fn findings(made: &Made) -> (Findings, String) {
    let findings = crate::Severity.analyse(&made.call()).expect("findings");
    validate::check(&findings).expect("valid findings");
    let shown = text(&findings);
    (findings, shown)
}
