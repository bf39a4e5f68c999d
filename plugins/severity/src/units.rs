//! Kilograms a vine of what prunings are reported in.

use caneplot_plugin::Refusal;
use caneplot_plugin::request::Response;

/// Kilograms of one unit of a pruning weight.
///
/// # Errors
/// Refuses weights that are not of single vines: what a hectare or a metre gave decides no vine.
pub(crate) fn kilograms_per_vine(prunings: &Response) -> Result<f64, Refusal> {
    let refused = || {
        Refusal::new(format!(
            "'{}' is in {}, and a rule goes by the prunings of a vine",
            prunings.name, prunings.unit
        ))
        .hint("report the pruning weight in kg/vine, lb/vine, g/vine or oz/vine (report_in)")
    };
    match prunings.unit.strip_suffix("/vine") {
        Some("kg") => Ok(1.0),
        Some("g") => Ok(1e-3),
        Some("mg") => Ok(1e-6),
        // International Yard and Pound Agreement, 1959.
        Some("lb") => Ok(0.453_592_37),
        Some("oz") => Ok(0.453_592_37 / 16.0),
        _ => Err(refused()),
    }
}
