//! Plots in words.

use caneplot_numerics::design::Sheet;
pub use caneplot_numerics::names::plot;

/// The plot of a value of a sheet.
///
/// # Panics
/// Where the sheet has no such value.
#[must_use]
pub fn plot_of(sheet: &Sheet, unit: usize) -> String {
    let places = [
        ("block", &sheet.block),
        ("row", &sheet.row),
        ("column", &sheet.column),
    ];
    let known = places.iter().filter_map(|(place, classifier)| {
        let classifier = classifier.as_ref()?;
        Some((*place, classifier.levels[classifier.codes[unit]].as_str()))
    });
    plot(&sheet.plot.levels[sheet.plot.codes[unit]], known)
}
