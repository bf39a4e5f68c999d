//! What the reader must know to use the tables.

use caneplot_numerics::evenness::FEWEST;
use caneplot_plugin::findings::{Rank, Statement};
use caneplot_plugin::{Refusal, words};
use caneplot_readings::{Occasion, Register};

use crate::compare::Comparison;
use crate::spread::Spread;
use crate::vines::Vines;

/// Most plots named in one sentence.
const NAMED: usize = 6;

pub(crate) fn of_spread(spread: &Spread<'_>) -> Vec<Statement> {
    let label = words::inside(&spread.response().label);
    let mut all = vec![format!(
        "The plot is the unit: its vines give one number, the logarithm of their variance in {label}, and treatments are tested against the differences between plots treated alike. That number holds the differences between vines and the error of measuring them; only the first is evenness."
    )];
    if spread.variation {
        all.push("Where a treatment has a larger mean its spread is often larger too; the coefficient of variation (spread over mean, plot by plot) sets the one against the other.".to_owned());
    }
    let (fewest, most) = spread.vines.numbers();
    if fewest < most {
        let weighted = spread.sets.iter().any(|set| set.overall.weighted);
        let how = if weighted {
            "plots count by what their number of vines can tell"
        } else {
            "every plot counts once"
        };
        all.push(format!(
            "Plots hold from {fewest} to {most} vines with a value; {how}."
        ));
    } else {
        all.push(format!(
            "Every plot holds {fewest} vines with a value{}.",
            if fewest < 5 {
                ", which tells little about its spread; differences must be large to show"
            } else {
                ""
            }
        ));
    }
    if !spread.single.is_empty() {
        all.push(format!(
            "Left out, because one vine has no spread: {}.",
            safe_list(&spread.single)
        ));
    }
    if !spread.same.is_empty() {
        all.push(format!(
            "All vines have the same value in {}. A variance of 0 has no logarithm, so {} left out of the spread, which makes the treatment look less even than it was; the distances from the median keep {}.",
            safe_list(&spread.same),
            if spread.same.len() == 1 { "this plot is" } else { "these are" },
            if spread.same.len() == 1 { "it" } else { "them" },
        ));
    }
    all.extend(left_out(spread.register, &spread.overall));
    all.extend(seasons(spread.register, &spread.overall));
    let first = spread.sets.iter().map(|set| &set.overall);
    all.extend(about(&first.collect::<Vec<_>>()));
    all.extend(spread.failed.iter().map(|why| {
        format!(
            "One comparison is not made: {}.",
            words::safe(why.trim_end_matches('.'))
        )
    }));
    details(all)
}

pub(crate) fn of_course(
    register: &Register<'_>,
    vines: &Vines<'_>,
    overall: &Occasion,
    comparisons: &[&Comparison<'_>],
    failed: &[Refusal],
) -> Vec<Statement> {
    let mut all = vec![
        "Days are interpolated between the dates of single vines, plot by plot, and the plot is the unit of every test.".to_owned(),
    ];
    let few = vines.named(register, |dates| dates.len() < FEWEST);
    if !few.is_empty() {
        all.push(format!(
            "Left out, because a tenth of fewer than {FEWEST} vines is less than one: {}.",
            safe_list(&few)
        ));
    }
    let (fewest, most) = vines.numbers();
    all.push(if fewest == most {
        format!("Every plot holds {fewest} vines with a date.")
    } else {
        format!("Plots hold from {fewest} to {most} vines with a date; every plot counts once.")
    });
    all.extend(left_out(register, overall));
    all.extend(seasons(register, overall));
    all.extend(about(comparisons));
    all.extend(failed.iter().map(|refusal| {
        format!(
            "One comparison is not made: {}.",
            words::safe(refusal.message.trim_end_matches('.'))
        )
    }));
    details(all)
}

fn details(all: Vec<String>) -> Vec<Statement> {
    all.into_iter()
        .map(|text| Statement::new(text).rank(Rank::Detail))
        .collect()
}

fn safe_list(names: &[String]) -> String {
    words::safe(&words::shortened(names, NAMED))
}

/// Plots that lack a season, or have nothing at all.
fn left_out(register: &Register<'_>, overall: &Occasion) -> Option<String> {
    let names: Vec<String> = overall
        .left_out
        .iter()
        .map(|&plot| register.words(plot))
        .collect();
    let (subject, over) = match (names.len(), overall.seasons.len()) {
        (0, _) => return None,
        (1, seasons) => ("it has no such number", seasons > 1),
        (_, seasons) => ("they have no such number", seasons > 1),
    };
    let when = if over { " in every season" } else { "" };
    Some(format!(
        "Not in the means, because {subject}{when}: {}.",
        safe_list(&names)
    ))
}

fn seasons(register: &Register<'_>, overall: &Occasion) -> Option<String> {
    match overall.seasons.len() {
        1 if register.seasons() == 1 => {
            Some("These are results of one season; evenness changes with the year.".to_owned())
        }
        1 => Some(format!(
            "Only {} has values of single vines.",
            words::safe(register.season(overall.seasons[0]))
        )),
        seasons => {
            let absent: Vec<&str> = (0..register.seasons())
                .filter(|season| !overall.seasons.contains(season))
                .map(|season| register.season(season))
                .collect();
            let left_out = if absent.is_empty() {
                String::new()
            } else {
                format!(
                    " There are no values of single vines in {}.",
                    words::safe(&words::list(&absent))
                )
            };
            Some(format!(
                "Over the {seasons} seasons the mean of a plot is analysed, so that a plot counts once.{left_out}"
            ))
        }
    }
}

/// Controls that are none, and sets that are not complete.
fn about(comparisons: &[&Comparison<'_>]) -> Vec<String> {
    let mut all: Vec<String> = comparisons
        .iter()
        .flat_map(|comparison| {
            let treatments = &comparison.treatments;
            [treatments.control_note(), treatments.margin_note()]
        })
        .flatten()
        .collect();
    if comparisons
        .iter()
        .any(|comparison| !comparison.complete && !comparison.weighted)
    {
        all.push("The set is not complete, so means are adjusted for the plots that are missing by least squares.".to_owned());
    }
    all
}
