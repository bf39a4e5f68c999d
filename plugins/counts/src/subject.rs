//! What of a response can be analysed as counts, plot by plot.

use std::collections::BTreeSet;

use caneplot_numerics::names;
use caneplot_plugin::request::{Quantity, Response};
use caneplot_plugin::{Call, Refusal, Table};

use crate::lost;
use crate::options::Options;
use crate::rates::rates;
use crate::vines::{numbers, sums, whole};
use crate::words::{Words, listed, literal, some_of};

/// What a count stands against.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A count out of a total.
    Share,
    /// A count for so many vines.
    PerVine,
    /// A count of a plot.
    PerPlot,
    /// A count that may exceed the nodes it is set against.
    PerNode,
}

impl Kind {
    /// What one unit of the size is, for a rate.
    #[must_use]
    pub fn unit(self) -> &'static str {
        match self {
            Kind::Share | Kind::PerNode => "node",
            Kind::PerVine => "vine",
            Kind::PerPlot => "plot",
        }
    }
}

/// The count of one plot and season.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Record {
    /// Row of the table of plots.
    pub row: usize,
    /// The count.
    pub count: f64,
    /// The total, or the vines or nodes it was counted on.
    pub size: f64,
    /// Vines it was counted on, where known.
    pub vines: Option<f64>,
}

/// A response ready to be analysed.
#[derive(Debug, Clone)]
pub struct Subject<'a> {
    /// The response.
    pub response: &'a Response,
    /// What the counts stand against.
    pub kind: Kind,
    /// The counts.
    pub records: Vec<Record>,
    /// Sentences on what was left out or reckoned back.
    pub left_out: Vec<String>,
    /// Words for it.
    pub words: Words,
}

/// Responses to look at, in the order of the trial.
///
/// # Errors
/// For a name that is no response of the trial.
pub fn chosen<'a>(call: &'a Call, options: &Options) -> Result<Vec<&'a Response>, Refusal> {
    let all = &call.request.trial.responses;
    if let Some(names) = &options.responses {
        return names
            .iter()
            .map(|name| {
                all.iter()
                    .find(|response| response.name == *name)
                    .ok_or_else(|| {
                        Refusal::new(format!("the trial has no response '{name}'"))
                            .hint("take a name from the responses of the trial file")
                    })
            })
            .collect();
    }
    Ok(all.iter().filter(|response| is_count(response)).collect())
}

fn is_count(response: &Response) -> bool {
    let counted = matches!(
        response.quantity,
        Quantity::ClusterCount | Quantity::ShootCount
    );
    let declared = response.derived.is_none() && (response.counts.is_some() || counted);
    declared || response.is_of_the_stand()
}

/// The name of a plot in words, with its season.
#[must_use]
pub fn plot_words(plots: &Table, row: usize) -> String {
    let word = |key: &str| plots.texts(key).ok().and_then(|words| words[row].clone());
    let name = word("plot").unwrap_or_else(|| (row + 1).to_string());
    let block = word("block");
    let places = block.as_deref().map(|block| ("block", block));
    let words = names::plot(&name, places.into_iter());
    match word("season") {
        Some(season) => format!("{words} in {season}"),
        None => words,
    }
}

/// A response as counts, or the sentence that says why it cannot be.
///
/// # Errors
/// The sentence in the inner result; a refusal where the tables are not as declared.
pub fn subject<'a>(
    call: &Call,
    response: &'a Response,
    options: &Options,
) -> Result<Result<Subject<'a>, String>, Refusal> {
    let plots = call.table("plots")?;
    let words = Words::of(response);
    let mut subject = Subject {
        response,
        kind: Kind::Share,
        records: Vec::new(),
        left_out: Vec::new(),
        words,
    };
    let fault = match &response.counts {
        Some(columns) => shares(call, plots, columns, options, &mut subject)?,
        None => rates(call, plots, &mut subject)?,
    };
    if let Some(sentence) = fault {
        return Ok(Err(sentence));
    }
    if subject.records.is_empty() {
        return Ok(Err(format!(
            "{}: no plot has a count. Add the records if they exist, or leave the response out of trial.toml.",
            capital_label(response)
        )));
    }
    if subject.records.iter().all(|record| record.count == 0.0) {
        if response.is_of_the_stand() {
            return Ok(Err(lost::none(&subject)));
        }
        return Ok(Err(format!(
            "{}: every count is 0, so there is nothing to compare. If nothing was counted, leave the cells empty instead of writing 0.",
            capital_label(response)
        )));
    }
    let full = subject.kind == Kind::Share
        && subject
            .records
            .iter()
            .all(|record| record.count == record.size);
    if full {
        return Ok(Err(format!(
            "{}: every count equals its total (100 %), so there is nothing to compare. Check that the columns of the count and of the total are not the same.",
            capital_label(response)
        )));
    }
    Ok(Ok(subject))
}

/// Notes the plots that were left out.
pub fn left_out(subject: &mut Subject, why: &str, plots: &Table, rows: &[usize]) {
    if !rows.is_empty() {
        let names: Vec<String> = rows.iter().map(|row| plot_words(plots, *row)).collect();
        subject
            .left_out
            .push(format!("{why}: {}.", literal(&some_of(&names, 6))));
    }
}

/// Notes the plots without a count; seasons in which nothing was counted as such.
pub fn uncounted(subject: &mut Subject, plots: &Table, rows: &[usize]) {
    let seasons = plots.texts("season").ok();
    let of = |row: usize| seasons.and_then(|seasons| seasons[row].as_deref());
    let counted: BTreeSet<_> = subject.records.iter().map(|one| of(one.row)).collect();
    let (single, whole): (Vec<usize>, Vec<usize>) =
        rows.iter().partition(|row| counted.contains(&of(**row)));
    let without: BTreeSet<_> = whole.into_iter().filter_map(of).collect();
    if !without.is_empty() {
        let without: Vec<&str> = without.into_iter().collect();
        subject.left_out.push(format!(
            "Nothing was counted in {}.",
            literal(&listed(&without))
        ));
    }
    left_out(
        subject,
        "Left out because no count was recorded",
        plots,
        &single,
    );
}

fn shares(
    call: &Call,
    plots: &Table,
    (count, total): &(String, String),
    options: &Options,
    subject: &mut Subject,
) -> Result<Option<String>, Refusal> {
    let response = subject.response;
    let (counts, totals) = (numbers(plots, count, None)?, numbers(plots, total, None)?);
    let vines = sums(call, response)?;
    let (mut missing, mut empty, mut above) = (Vec::new(), Vec::new(), Vec::new());
    for row in 0..plots.rows {
        let (Some(count), Some(total)) = (counts[row], totals[row]) else {
            missing.push(row);
            continue;
        };
        if total == 0.0 {
            empty.push(row);
            continue;
        }
        for value in [count, total] {
            if whole(value).is_none_or(|value| value < 0.0) {
                return Ok(Some(format!(
                    "{}: {} holds {value}, which is not a count: counts are whole numbers from 0 up.",
                    capital_label(response),
                    literal(&plot_words(plots, row)),
                )));
            }
        }
        if count > total {
            above.push(row);
        }
        subject.records.push(Record {
            row,
            count: count.round(),
            size: total.round(),
            vines: vines
                .as_ref()
                .map(|sums| sums[row].vines)
                .filter(|vines| *vines > 0.0),
        });
    }
    // Vines lost are one value a plot, not one a season.
    if !response.is_of_the_stand() {
        uncounted(subject, plots, &missing);
    }
    left_out(subject, "Left out because the total is 0", plots, &empty);
    if above.is_empty() {
        return Ok(None);
    }
    if options.apparent {
        subject.kind = Kind::PerNode;
        subject.words.items = "shoots".to_owned();
        subject.words.counted = "Shoots".to_owned();
        return Ok(None);
    }
    let names: Vec<String> = above.iter().map(|row| plot_words(plots, *row)).collect();
    Ok(Some(format!(
        "{}: the count exceeds its total in {} (that is above 100 %), so it is no proportion: shoots that do not come from a counted node are among those counted. Set apparent = true to analyse it as a rate, shoots for each node, with the log of the nodes as an offset.",
        capital_label(response),
        literal(&some_of(&names, 4)),
    )))
}

/// The label with a capital, as literal text.
pub fn capital_label(response: &Response) -> String {
    literal(&crate::words::capital(&response.label))
}
