//! The design in the words of a methods section.

use std::collections::BTreeSet;

use caneplot_plugin::request::{DesignKind, Factor, Role, TrialInfo};
use polars::frame::DataFrame;

/// Distinct texts of a column, in no particular order; empty where there is no such column.
#[must_use]
pub fn distinct(frame: &DataFrame, column: &str) -> BTreeSet<String> {
    let Ok(column) = frame.column(column) else {
        return BTreeSet::new();
    };
    let Ok(texts) = column.str() else {
        return BTreeSet::new();
    };
    texts.iter().flatten().map(str::to_owned).collect()
}

/// The design in two or three sentences.
#[must_use]
pub fn design(info: &TrialInfo, plots: &DataFrame) -> String {
    let plot_count = distinct(plots, "plot").len();
    let blocks = distinct(plots, "block").len();
    let kind = match info.design.kind {
        DesignKind::CompletelyRandomised => "A completely randomised trial".to_owned(),
        DesignKind::RandomisedBlock => format!("A randomised block trial in {blocks} blocks"),
        DesignKind::LatinSquare => {
            format!(
                "A Latin square of {0} rows and {0} columns",
                distinct(plots, "row").len()
            )
        }
        DesignKind::SplitPlot => format!("A split-plot trial in {blocks} blocks"),
        DesignKind::StripPlot => format!("A strip-plot trial in {blocks} blocks"),
        DesignKind::SplitSplitPlot => format!("A split-split-plot trial in {blocks} blocks"),
    };
    let mut text = format!("{kind}, {plot_count} plots in all. ");
    for factor in &info.factors {
        text.push_str(&factor_words(factor));
    }
    let seasons = match info.seasons.as_slice() {
        [] => "The trial was recorded in one season".to_owned(),
        [one] => format!("The trial was recorded in one season, {one}"),
        [first, .., last] => format!(
            "The same plots were recorded in {} seasons, {first} to {last}",
            info.seasons.len()
        ),
    };
    text.push_str(&seasons);
    text.push_str(&match vines_per_plot(plots) {
        Some((low, high)) if low == high => format!(", on {low} vines in each plot"),
        Some((low, high)) => format!(", on {low} to {high} vines in each plot"),
        None => String::new(),
    });
    text.push_str(". The plot is the unit that treatments were given to");
    text.push_str(if info.design.vine {
        "; vines of one plot are samples of it, not replicates."
    } else {
        "."
    });
    text
}

/// Fewest and most planted spaces in a plot.
fn vines_per_plot(plots: &DataFrame) -> Option<(i64, i64)> {
    let planted = plots.column("vines_planted").ok()?;
    // A plot without a record in some season has no spaces there.
    let planted = planted.i64().ok()?;
    let spaces = || planted.iter().flatten().filter(|count| *count > 0);
    Some((spaces().min()?, spaces().max()?))
}

fn factor_words(factor: &Factor) -> String {
    let place = match factor.role {
        Role::Treatment => "",
        Role::WholePlot => " (on whole plots)",
        Role::SubPlot => " (on sub plots)",
        Role::SubSubPlot => " (on sub-sub plots)",
        Role::RowStrip => " (on strips along the rows)",
        Role::CrossStrip => " (on strips across the rows)",
    };
    let levels: Vec<&str> = factor
        .levels
        .iter()
        .map(|level| level.label.as_str())
        .collect();
    let unit = factor
        .unit
        .as_ref()
        .map_or(String::new(), |unit| format!(" {unit}"));
    let control = factor.control.as_ref().map_or(String::new(), |control| {
        let label = factor.levels.iter().find(|level| &level.name == control);
        format!(
            ", of which {} is the control",
            label.map_or(control.as_str(), |l| &l.label)
        )
    });
    format!(
        "{}{place}: {} levels, {}{unit}{control}. ",
        factor.label,
        levels.len(),
        listed(&levels)
    )
}

/// "a", "a and b", "a, b and c".
#[must_use]
pub fn listed<S: AsRef<str>>(items: &[S]) -> String {
    match items {
        [] => String::new(),
        [one] => one.as_ref().to_owned(),
        [rest @ .., last] => {
            let rest: Vec<&str> = rest.iter().map(AsRef::as_ref).collect();
            format!("{} and {}", rest.join(", "), last.as_ref())
        }
    }
}
