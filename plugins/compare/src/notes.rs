//! What the reader must know to use the numbers.

use caneplot_plugin::findings::{Format, Statement};
use caneplot_plugin::sentence::Sentence;

use crate::asked::{Error, Source};
use crate::study::Study;

/// Trials below which a variance between them is hardly known.
const FEW: usize = 5;

pub(crate) fn notes(study: &Study) -> Vec<Statement> {
    let mut found = Vec::new();
    let over = study.pairs.iter().filter_map(|pair| pair.over.as_ref());
    if let Some(over) = over.max_by_key(|over| over.trials.len()) {
        found.push(match over.trials.len() {
            2 => Statement::new(
                "Two trials say very little about how much sites differ: the interval of their average rests on 1 degree of freedom and is wide for that reason, and no range for a new site can be given. Read the two trials beside each other rather than their average.",
            ),
            n if n < FEW => Sentence::new("")
                .number(n as f64, Format::Count)
                .text(" trials say little about how much sites differ; the variance between them, and the range for a new site most of all, are rough.")
                .statement(),
            _ => Statement::new(
                "The average is that of sites like these. Trials that were never reported, perhaps because they found little, are not in it.",
            ),
        });
    }
    if study.pairs.len() > 1 {
        found.push(
            Sentence::new("Each interval and each P stands by itself: of ")
                .number(study.pairs.len() as f64, Format::Count)
                .text(" differences one may look clear by chance sooner than a single one would.")
                .statement(),
        );
    }
    found.push(Statement::new(
        "Trials count as independent: other plots, other vines. Two runs on the same vines are not; then a change is known better than is said here, and an average worse.",
    ));
    found.extend(published(study));
    found
}

fn published(study: &Study) -> Vec<Statement> {
    let mut found = Vec::new();
    for trial in &study.question.trials {
        let Source::Published(table) = &trial.source else {
            continue;
        };
        match &table.error {
            None => found.push(Statement::new(
                "The published table gives no error for these means; without one a reader cannot tell a change from chance.",
            )),
            Some(Error::Least { .. }) => found.push(Statement::new(
                "The standard error of a published difference is the least significant difference over its t. A difference that allows for many comparisons is larger and must not be entered as one.",
            )),
            Some(Error::Variation(_)) => found.push(Statement::new(
                "The published error comes from a coefficient of variation, the mean of the table and the plots of a treatment, which is as exact as these were rounded.",
            )),
            Some(Error::Means(_)) => found.push(Statement::new(
                "The standard error of a published difference is made from those of two means as if nothing were common to them; where blocks are in them it is too large.",
            )),
            Some(Error::Difference(_)) => {}
        }
        if table.error.is_some() && table.df.is_none() {
            found.push(Statement::new(
                "The published table gives no error df: its error counts as known, which makes intervals a little too narrow.",
            ));
        }
    }
    found
}
