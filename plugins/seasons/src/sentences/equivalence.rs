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
        let mut own: Vec<Statement> = rows.iter().map(|row| sentence(study, row)).collect();
        if rows.len() > 1 {
            for statement in &mut own {
                statement.rank = Rank::Detail;
            }
            own.insert(0, together(study, &rows));
        }
        let first = own.remove(0);
        all.push(with_caution(study, factor, first));
        all.extend(own);
    }
    all.extend(by_season(study, judged));
    all
}

/// For which treatments the trial shows equivalence, for which a difference, and for which neither.
fn together(study: &Study<'_>, rows: &[&Judged]) -> Statement {
    let named = |wanted: &dyn Fn(Verdict) -> bool| {
        let chosen = rows.iter().filter(|row| wanted(row.found.verdict));
        let names: Vec<&str> = chosen.map(|row| row.words.as_str()).collect();
        (!names.is_empty()).then(|| words::list(&names))
    };
    let parts = [
        named(&|verdict| matches!(verdict, Verdict::Equivalent { .. }))
            .map(|names| format!("equivalent for {names}")),
        named(&|verdict| matches!(verdict, Verdict::Different { .. }))
            .map(|names| format!("clearly different for {names}")),
        named(&|verdict| verdict == Verdict::Undecided)
            .map(|names| format!("for {names} the trial cannot tell")),
    ];
    let parts: Vec<String> = parts.into_iter().flatten().collect();
    let row = rows[0];
    let statement = Statement::new(format!(
        "Mean {} over {} seasons against the control, {} (margin {{margin}}{}): {}.",
        study.name(),
        study.seasons.len(),
        row.control,
        share_words(study).map_or_else(String::new, |share| format!(", {share}")),
        parts.join("; ")
    ));
    put(study, row, statement, "margin", row.margin)
}

/// Adds to a sentence about all seasons that they differed, where they clearly did.
fn with_caution(study: &Study<'_>, factor: usize, mut statement: Statement) -> Statement {
    let Ok(whole) = &study.whole else {
        return statement;
    };
    let mut factors = whole.analysed.factors();
    let term = factors.find(|&at| whole.analysed.planned.terms[at].factors == [factor]);
    match term.and_then(|term| whole.with_season[term]) {
        Some(test) if study.clear(Some(test)) => {
            statement
                .text
                .push_str(" The effect changed with the season ({season}).");
            statement.with("season", test.p, Format::Probability)
        }
        _ => statement,
    }
}

/// "10 % of the control's mean", where the margin is a share.
fn share_words(study: &Study<'_>) -> Option<String> {
    match study.planner.options.margin(&study.response().name)? {
        Margin::Share(share) => Some(format!("{} of the control's mean", words::percent(share))),
        Margin::Amount(_) => None,
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
    let share = share_words(study).map_or_else(String::new, |share| format!(" ({share})"));
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
