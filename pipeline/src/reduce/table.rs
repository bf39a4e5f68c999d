//! Sums to the records of an ordinary file: one a group, in the order people count.

use std::cmp::Ordering;
use std::sync::Arc;

use super::layout::Layout;
use super::plan::{Plan, Value};
use super::tally::{Sums, Tally};
use super::{COUNTED, Summarised};
use crate::decimal::{exact, natural};
use crate::diagnostic::Diagnostic;
use crate::load::columns::Use;
use crate::load::opened::{Body, Cell, Opened};
use crate::trial::How;

/// Puts the summaries into a file that has its headings.
///
/// # Errors
/// A sum that is no decimal any more.
pub(super) fn fill(
    opened: &mut Opened,
    plan: &Plan,
    tally: Tally,
    layouts: Vec<Layout>,
) -> Result<(), Diagnostic> {
    let mut order: Vec<usize> = (0..tally.names.len()).collect();
    order.sort_by(|a, b| by_name(&tally.names[*a], &tally.names[*b]));
    let mut columns: Vec<Vec<Cell>> = vec![Vec::new(); opened.headings.len()];
    let mut decimals = Vec::new();
    for (heading, cells) in opened.headings.iter().zip(&mut columns) {
        if let Some(key) = plan.keys.iter().position(|key| key.heading == *heading) {
            *cells = order
                .iter()
                .map(|group| Some(tally.names[*group][key].clone()))
                .collect();
        } else if let Some(at) = plan
            .values
            .iter()
            .position(|value| value.heading == *heading)
        {
            let (value, sums) = (&plan.values[at], &tally.sums[at]);
            let numbers: Vec<Option<f64>> = order
                .iter()
                .map(|group| number(plan.how, sums, *group))
                .collect();
            *cells = numbers
                .iter()
                .map(|number| number.map(|number| text(number, value)).transpose())
                .collect::<Result<_, _>>()?;
            decimals.push((heading.clone(), shown(plan.how, &numbers)));
        } else if heading == COUNTED {
            let records = order
                .iter()
                .map(|group| Some(tally.records[*group].to_string()));
            *cells = records.collect();
        }
    }
    let names = order.iter().map(|group| named(plan, &tally.names[*group]));
    opened.origin.summary = Some(Arc::new(Summarised {
        names: names.collect(),
        decimals,
        inputs: layouts
            .into_iter()
            .flat_map(|layout| layout.inputs)
            .collect(),
    }));
    if opened
        .origin
        .summary
        .as_ref()
        .is_some_and(|summary| summary.inputs.is_empty())
    {
        let text = format!("{:?} {columns:?}", opened.headings);
        opened.sha256 = crate::hash::sha256(text.as_bytes());
        opened.bytes = text.len() as u64;
    }
    opened.lines = (1..=order.len()).collect();
    opened.body = Body::Cells(columns);
    Ok(())
}

fn by_name(a: &[String], b: &[String]) -> Ordering {
    let pairs = a.iter().zip(b).map(|(a, b)| natural(a, b));
    pairs.fold(Ordering::Equal, Ordering::then)
}

/// The summary of a group; `None` where it has no value.
fn number(how: How, sums: &Sums, group: usize) -> Option<f64> {
    let count = sums.counts[group];
    match how {
        How::Count => Some(count as f64),
        _ if count == 0 => None,
        How::Sum => Some(sums.sum(group)),
        How::Mean => Some(sums.sum(group) / count as f64),
    }
}

/// Digits of a summary: as many as a double is sure of.
const DIGITS: usize = 15;

/// A summary as text, with the digits a double is sure of and no zeros after them.
fn text(number: f64, value: &Value) -> Result<String, Diagnostic> {
    let written = format!("{number:.*e}", DIGITS - 1);
    // What is smaller than a decimal can be is written with as many decimals as one has.
    exact(&written)
        .or_else(|_| exact(&format!("{number:.27}")))
        .map(|decimal| decimal.normalize().to_string())
        .map_err(|error| {
            Diagnostic::error(
                "too-large",
                format!(
                    "{number} in the summary of column '{}' has {error}",
                    value.heading
                ),
            )
            .help("write the numbers in a larger unit")
        })
}

/// Decimals that are worth printing: four digits of the largest summary.
fn shown(how: How, numbers: &[Option<f64>]) -> u32 {
    let largest = numbers
        .iter()
        .flatten()
        .fold(0.0_f64, |most, number| most.max(number.abs()));
    if how == How::Count || largest == 0.0 {
        return 0;
    }
    (3.0 - largest.log10().floor()).clamp(0.0, 12.0) as u32
}

/// A summary in words: "mean of plot 101 of block B1 in 2024".
fn named(plan: &Plan, names: &[String]) -> String {
    let name = |wanted: fn(Use) -> bool| {
        let at = plan.keys.iter().position(|key| wanted(key.what));
        at.map(|at| names[at].as_str())
    };
    let mut words = plan.how.word().to_owned();
    for (what, name) in [
        ("vine", name(|what| what == Use::Vine)),
        ("plot", name(|what| what == Use::Plot)),
        ("block", name(|what| what == Use::Block)),
    ] {
        if let Some(name) = name {
            words.push_str(&format!(" of {what} {name}"));
        }
    }
    if let Some(season) = name(|what| what == Use::Season) {
        words.push_str(&format!(" in {season}"));
    }
    words
}
