//! Sums over the vines of a plot.

use std::collections::BTreeMap;

use caneplot_plugin::request::Response;
use caneplot_plugin::{Call, Data, Refusal, Table};

/// What the vines of a plot and season add up to.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Sum {
    /// Sum of the values.
    pub value: f64,
    /// Vines with a value.
    pub vines: f64,
    /// A value that is not whole, where there is one.
    pub broken: Option<f64>,
}

/// Values farther than this from a whole number are no counts; centring costs less.
pub(crate) const WHOLE: f64 = 1e-6;

/// The nearest whole number, if a value is as good as whole.
#[must_use]
pub fn whole(value: f64) -> Option<f64> {
    let near = value.round();
    ((value - near).abs() < WHOLE).then_some(near)
}

/// The columns that tell plots and seasons apart.
const KEYS: [&str; 5] = ["block", "row", "column", "plot", "season"];

/// The place of each row of a table: plot and season.
///
/// # Errors
/// Where a key column is not of words.
pub fn places(table: &Table) -> Result<Vec<Vec<String>>, Refusal> {
    let mut places = vec![Vec::new(); table.rows];
    for key in KEYS.iter().filter(|key| table.has(key)) {
        for (place, word) in places.iter_mut().zip(table.texts(key)?) {
            place.push(word.clone().unwrap_or_default());
        }
    }
    Ok(places)
}

/// The sums of a response over the vines, one a row of `plots`; `None` without the table of vines.
/// For a count out of a count only the number of vines is of use.
///
/// # Errors
/// Where columns are missing or of the wrong kind.
pub fn sums(call: &Call, response: &Response) -> Result<Option<Vec<Sum>>, Refusal> {
    let Ok(vines) = call.table("vines") else {
        return Ok(None);
    };
    let column = match &response.counts {
        Some((_, total)) if vines.has(total) => total,
        _ => &response.name,
    };
    if !response.on_vines || !vines.has(column) {
        return Ok(None);
    }
    let values = numbers(
        vines,
        column,
        response.counts.is_none().then_some(response.offset),
    )?;
    let mut by_place: BTreeMap<Vec<String>, Sum> = BTreeMap::new();
    for (place, value) in places(vines)?.into_iter().zip(values) {
        let Some(value) = value else { continue };
        let sum = by_place.entry(place).or_default();
        sum.vines += 1.0;
        match whole(value) {
            Some(value) => sum.value += value,
            None => sum.broken = sum.broken.or(Some(value)),
        }
    }
    let plots = places(call.table("plots")?)?;
    Ok(Some(
        plots
            .into_iter()
            .map(|place| by_place.get(&place).copied().unwrap_or_default())
            .collect(),
    ))
}

/// A column as numbers with its offset added.
///
/// # Errors
/// Where it is missing or holds neither numbers nor whole numbers.
pub fn numbers(
    table: &Table,
    column: &str,
    offset: Option<f64>,
) -> Result<Vec<Option<f64>>, Refusal> {
    let is_whole = table
        .columns
        .iter()
        .any(|(name, data)| name == column && matches!(data, Data::Whole(_)));
    let offset = offset.unwrap_or(0.0);
    if is_whole {
        let values = table.whole(column)?.iter();
        return Ok(values
            .map(|value| value.map(|value| value as f64 + offset))
            .collect());
    }
    let values = table.numbers(column)?.iter();
    Ok(values
        .map(|value| value.map(|value| value + offset))
        .collect())
}
