//! Plots in words.

use caneplot_numerics::design::Sheet;

/// A plot with the places that tell it from others of its name: "plot 3 of block B1".
#[must_use]
pub fn plot<'a>(name: &str, places: impl Iterator<Item = (&'a str, &'a str)>) -> String {
    let places: Vec<String> = places
        .map(|(place, value)| format!("{place} {value}"))
        .collect();
    if places.is_empty() {
        format!("plot {name}")
    } else {
        format!("plot {name} of {}", places.join(", "))
    }
}

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
