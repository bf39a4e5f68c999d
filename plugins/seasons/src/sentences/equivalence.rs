//! Equivalence with the control, in words that promise no more than was shown.

use caneplot_numerics::equivalence::Verdict;
use caneplot_plugin::findings::{Format, Rank, Statement};
use caneplot_plugin::words;

use crate::compare::Judged;
use crate::margin::Margin;
use crate::measures::digits;
use crate::study::Study;

/// The verdicts of a factor together where there are several, each in its own sentence, and seasons
/// that speak for themselves.
pub(super) fn of(study: &Study<'_>, judged: &[Judged]) -> Vec<Statement> {
    let over_all = || judged.iter().filter(|row| row.season.is_none());
    let mut factors: Vec<usize> = over_all().map(|row| row.factor).collect();
    factors.dedup();
    let mut all = Vec::new();
    for factor in factors {
        let rows: Vec<&Judged> = over_all().filter(|row| row.factor == factor).collect();
        if rows.len() > 1 {
            all.push(together(study, &rows));
            let each = rows
                .iter()
                .map(|row| sentence(study, row).rank(Rank::Detail));
            all.extend(each);
        } else {
            all.extend(rows.iter().map(|row| sentence(study, row)));
        }
    }
    all.extend(by_season(study, judged));
    all
}

/// Which treatments are equivalent, which different, and of which the trial cannot tell.
fn together(study: &Study<'_>, rows: &[&Judged]) -> Statement {
    let named = |wanted: &dyn Fn(Verdict) -> bool| -> Vec<&str> {
        let chosen = rows.iter().filter(|row| wanted(row.found.verdict));
        chosen.map(|row| row.words.as_str()).collect()
    };
    let is = |names: &[&str]| if names.len() == 1 { "is" } else { "are" };
    let mut parts = Vec::new();
    let same = named(&|verdict| matches!(verdict, Verdict::Equivalent { .. }));
    if !same.is_empty() {
        parts.push(format!(
            "{} {} equivalent to it",
            words::list(&same),
            is(&same)
        ));
    }
    let other = named(&|verdict| matches!(verdict, Verdict::Different { .. }));
    if !other.is_empty() {
        parts.push(format!(
            "{} {} clearly different",
            words::list(&other),
            is(&other)
        ));
    }
    let open = named(&|verdict| verdict == Verdict::Undecided);
    if !open.is_empty() {
        parts.push(format!("the trial cannot tell for {}", words::list(&open)));
    }
    let row = rows[0];
    let statement = Statement::new(format!(
        "In mean {} over {} seasons, within {{margin}}{} of the control, {}: {}.",
        study.name(),
        study.seasons.len(),
        share_words(study),
        row.control,
        words::list(&parts)
    ));
    put(study, row, statement, "margin", row.margin)
}

/// " (10 % of the control's mean)", where the margin is a share.
fn share_words(study: &Study<'_>) -> String {
    match study.planner.options.margin(&study.response().name) {
        Some(Margin::Share(share)) => format!(" ({} of the control's mean)", words::percent(share)),
        _ => String::new(),
    }
}

/// Puts a number of the response into a sentence, as fine as the interval allows.
fn put(study: &Study<'_>, row: &Judged, made: Statement, name: &str, value: f64) -> Statement {
    let error = 0.25 * (row.found.high - row.found.low);
    let format = digits(Some(error), study.response().decimals.saturating_add(1));
    if study.unit().is_empty() {
        made.with(name, value, format)
    } else {
        made.with_unit(name, value, format, study.unit())
    }
}

fn sentence(study: &Study<'_>, row: &Judged) -> Statement {
    let (name, treatment, control) = (study.name(), &row.words, &row.control);
    let share = share_words(study);
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
    numbers.into_iter().fold(statement, |made, (name, value)| {
        put(study, row, made, name, value)
    })
}

/// Where the effect of a factor clearly changed with the season, which seasons were equivalent.
fn by_season(study: &Study<'_>, judged: &[Judged]) -> Vec<Statement> {
    let calendar = study.planner.calendar;
    let over_all = judged.iter().filter(|row| row.season.is_none());
    over_all
        .filter_map(|whole| {
            let own = |row: &&Judged| {
                row.season.is_some() && row.factor == whole.factor && row.words == whole.words
            };
            let seasons: Vec<&Judged> = judged.iter().filter(own).collect();
            let same = |row: &Judged| matches!(row.found.verdict, Verdict::Equivalent { .. });
            let held: Vec<String> = seasons
                .iter()
                .filter(|row| same(row))
                .filter_map(|row| row.season)
                .map(|season| words::safe(calendar.label(season)))
                .collect();
            if seasons.is_empty() || (held.is_empty() && !same(whole)) {
                return None;
            }
            let when = if held.is_empty() {
                "in no single season".to_owned()
            } else {
                format!("in {}", words::list(&held))
            };
            let text = format!(
                "The difference changed with the season; taken alone, {} was shown to be equivalent to the control {when}.",
                whole.words
            );
            Some(Statement::new(text).rank(Rank::Detail))
        })
        .collect()
}
