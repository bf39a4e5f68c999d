//! Equivalence with the control, in words that promise no more than was shown.

use caneplot_numerics::equivalence::Verdict;
use caneplot_plugin::findings::{Format, Rank, Statement};
use caneplot_plugin::words;

use crate::compare::Judged;
use crate::margin::Margin;
use crate::measures::digits;
use crate::study::Study;

/// A sentence a treatment over all seasons, and one where seasons speak differently.
pub(super) fn of(study: &Study<'_>, judged: &[Judged]) -> Vec<Statement> {
    let mut all: Vec<Statement> = judged
        .iter()
        .filter(|row| row.season.is_none())
        .map(|row| sentence(study, row))
        .collect();
    // What was shown comes before what the trial cannot tell.
    all.sort_by_key(|statement| statement.text.starts_with("The trial cannot"));
    all.extend(by_season(study, judged));
    all
}

fn sentence(study: &Study<'_>, row: &Judged) -> Statement {
    let (name, treatment, control) = (study.name(), &row.words, &row.control);
    let share = match study.planner.options.margin(&study.response().name) {
        Some(Margin::Share(share)) => format!(" ({} of the control's mean)", words::percent(share)),
        _ => String::new(),
    };
    let interval = format!(
        "{} interval {{low}} to {{high}}",
        study.planner.options.equivalence_confidence()
    );
    let mean = format!("mean {name} over {} seasons", study.seasons.len());
    let (text, p) = match row.found.verdict {
        Verdict::Equivalent { different } => (
            format!(
                "{} and the control, {control}, are equivalent in {mean} within {{margin}}{share}: a difference of {{d}} from the control ({interval}; {{p}}){}.",
                words::beginning(treatment),
                if different { ", small but clear" } else { "" }
            ),
            row.found.p,
        ),
        Verdict::Different { beyond } => (
            format!(
                "{} and the control, {control}, are clearly different in {mean}: {{d}} {} ({interval}; {{p}}), {} the margin of {{margin}}{share}.",
                words::beginning(treatment),
                if row.difference >= 0.0 {
                    "higher"
                } else {
                    "lower"
                },
                if beyond {
                    "beyond"
                } else {
                    "which may or may not exceed"
                }
            ),
            row.found.difference_p,
        ),
        Verdict::Undecided => (
            format!(
                "The trial cannot tell whether {treatment} and the control, {control}, are equivalent in {mean} within {{margin}}{share}: the difference was {{d}} ({interval}), and the test of equivalence has {{p}}."
            ),
            row.found.p,
        ),
    };
    let error = 0.25 * (row.found.high - row.found.low);
    let format = digits(Some(error), study.response().decimals.saturating_add(1));
    // What is called lower is given without its sign, its interval turned round with it.
    let turned = matches!(row.found.verdict, Verdict::Different { .. }) && row.difference < 0.0;
    let (d, low, high) = if turned {
        (-row.difference, -row.found.high, -row.found.low)
    } else {
        (row.difference, row.found.low, row.found.high)
    };
    let numbers = [
        ("margin", row.margin),
        ("d", d),
        ("low", low),
        ("high", high),
    ];
    let statement = Statement::new(text).with("p", p, Format::Probability);
    numbers
        .into_iter()
        .fold(statement, |statement, (name, value)| {
            if study.unit().is_empty() {
                statement.with(name, value, format)
            } else {
                statement.with_unit(name, value, format, study.unit())
            }
        })
}

/// Where the effect of a factor clearly changed with the season, which seasons were equivalent.
fn by_season(study: &Study<'_>, judged: &[Judged]) -> Vec<Statement> {
    let calendar = study.planner.calendar;
    let mut seen: Vec<(usize, &str)> = Vec::new();
    for row in judged.iter().filter(|row| row.season.is_some()) {
        if !seen.contains(&(row.factor, row.words.as_str())) {
            seen.push((row.factor, &row.words));
        }
    }
    seen.into_iter()
        .map(|(factor, treatment)| {
            let held: Vec<String> = judged
                .iter()
                .filter(|row| row.factor == factor && row.words == treatment)
                .filter(|row| matches!(row.found.verdict, Verdict::Equivalent { .. }))
                .filter_map(|row| row.season)
                .map(|season| words::safe(calendar.label(season)))
                .collect();
            let when = if held.is_empty() { "in no single season".to_owned() } else { format!("in {}", words::list(&held)) };
            Statement::new(format!(
                "The difference changed with the season; taken alone, {treatment} was shown to be equivalent to the control {when}."
            ))
            .rank(Rank::Detail)
        })
        .collect()
}
