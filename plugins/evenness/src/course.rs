//! Dates of a stage vine by vine (bud break, or another): from which day to which a plot came to it,
//! by treatment.

use caneplot_numerics::contrasts::Test;
use caneplot_numerics::evenness::{Course, FEWEST};
use caneplot_plugin::findings::{Column, Format, Rank, Section, Statement, Table};
use caneplot_plugin::{Call, Refusal, words};
use caneplot_readings::{Occasion, Register, occasions, refusal, sets};

use crate::compare::{Comparison, half_width};
use crate::figure::{self, Shown};
use crate::methods::Used;
use crate::options::Options;
use crate::vines::Vines;
use crate::{notes, title};

/// Columns of a plot: days from a tenth to nine tenths, then the three days, centred.
const DAYS: usize = 0;
const TENTH: usize = 1;
const HALF: usize = 2;
const NINE_TENTHS: usize = 3;

/// Most combinations of several factors that are compared one by one.
const MOST_COMBINATIONS: usize = 8;
/// How a day or a number of days is written.
const DAY: Format = Format::Decimals(1);

pub(crate) fn section(
    call: &Call,
    register: &Register<'_>,
    vines: &Vines<'_>,
    options: &Options,
    rank: Rank,
    used: &mut Used,
) -> Result<Section, Refusal> {
    let occasions = occasions(&vines.records(|dates| {
        let course = Course::of(dates)?;
        Some(vec![
            course.days(),
            course.tenth,
            course.half,
            course.nine_tenths,
        ])
    }));
    let Some((first, rest)) = occasions.split_first() else {
        return Err(Refusal::new(format!(
            "no plot has {FEWEST} vines with a date, and with fewer a tenth of them is less than one vine"
        ))
        .column(&vines.response.name)
        .hint("record five vines or more in every plot"));
    };
    if first.plots.is_empty() {
        return Err(crate::never_complete(register, first));
    }
    let compared = |occasion: &Occasion, factors: &[usize]| {
        let columns: Vec<&[f64]> = occasion.columns.iter().map(Vec::as_slice).collect();
        Comparison::of(call, register, occasion, &columns, None, factors)
    };
    let (mut found, mut failed) = (Vec::new(), Vec::new());
    for factors in sets(&call.request.trial, MOST_COMBINATIONS) {
        match compared(first, &factors) {
            Ok(comparison) => found.push((factors, comparison)),
            Err(error) => failed.push(refusal(&error)),
        }
    }
    if found.is_empty() {
        return Err(failed
            .into_iter()
            .next()
            .unwrap_or_else(|| Refusal::new("no treatments can be compared")));
    }
    used.note_course(found.iter().map(|(_, comparison)| comparison));
    let (mut statements, mut tables) = (Vec::new(), Vec::new());
    let several = found.len() > 1;
    for (place, (_, comparison)) in found.iter().enumerate() {
        let rank = if place == 0 { rank } else { Rank::Result };
        statements.push(duration(vines, comparison, options.alpha()).rank(rank));
        statements.extend(middle(vines, comparison, options.alpha()));
        tables.push(table(vines, comparison, first, options.level, several));
    }
    tables.extend(tests(found.iter().map(|(_, comparison)| comparison)));
    for occasion in rest {
        let Some(season) = occasion.season else {
            continue;
        };
        for (factors, _) in &found {
            if let Ok(comparison) = compared(occasion, factors) {
                let name = register.season(season);
                let mut table = table(vines, &comparison, occasion, options.level, several);
                table.id = format!("{}-{}", table.id, words::id(name));
                table.title = format!("{}, {name}", table.title);
                tables.push(table);
            }
        }
    }
    let comparisons: Vec<&Comparison<'_>> = found.iter().map(|(_, found)| found).collect();
    let shown = Shown {
        values: &first.columns[DAYS],
        column: DAYS,
        back: |days| days,
        level: options.level,
        axis: "Days from 10 % to 90 % of the vines".to_owned(),
        id: "days",
        caption: format!(
            "Days that {} took within a plot, from a tenth to nine tenths of its vines",
            words::inside(&vines.response.label)
        ),
        alt: alt(comparisons[0]),
        comparisons,
    };
    Ok(Section {
        id: words::id(&vines.response.name),
        title: title(vines.response),
        response: Some(vines.response.name.clone()),
        statements,
        tables,
        figures: vec![figure::figure(&shown)],
        notes: notes::of_course(register, vines, first, &shown.comparisons, &failed),
        estimates: Vec::new(),
    })
}

/// How long the stage took.
fn duration(vines: &Vines<'_>, comparison: &Comparison<'_>, alpha: f64) -> Statement {
    let treatments = &comparison.treatments;
    let days = |at: &usize| comparison.means[*at].values[DAYS];
    let by_days = |a: &usize, b: &usize| days(a).total_cmp(&days(b));
    // A set has two treatments at least.
    let least = (0..treatments.count()).min_by(by_days).unwrap_or(0);
    let most = (0..treatments.count()).max_by(by_days).unwrap_or(0);
    let test = comparison.tests[DAYS];
    let label = words::inside(&vines.response.label);
    let text = match test {
        Some(test) if test.p < alpha => format!(
            "Within plots {label} was most even with {}, taking {{low}} days from 10 % to 90 % of the vines, and least even with {}, taking {{high}} ({{p}}).",
            treatments.words(least),
            treatments.words(most)
        ),
        Some(_) => format!(
            "No clear difference between treatments in how long {label} took within plots: from {{low}} days (10 % to 90 % of the vines) with {} to {{high}} with {}, {{p}}.",
            treatments.words(least),
            treatments.words(most)
        ),
        None => format!(
            "Within plots {label} took from {{low}} days (10 % to 90 % of the vines) with {} to {{high}} with {}.",
            treatments.words(least),
            treatments.words(most)
        ),
    };
    let statement =
        Statement::new(text)
            .with("low", days(&least), DAY)
            .with("high", days(&most), DAY);
    with_p(statement, test)
}

fn with_p(statement: Statement, test: Option<Test>) -> Statement {
    match test {
        Some(test) => statement.with("p", test.p, Format::Probability),
        None => statement,
    }
}

/// Whether half of the vines came earlier somewhere.
fn middle(vines: &Vines<'_>, comparison: &Comparison<'_>, alpha: f64) -> Option<Statement> {
    let test = comparison.tests[HALF]?;
    let treatments = &comparison.treatments;
    let day = |at: &usize| comparison.means[*at].values[HALF];
    let by_day = |a: &usize, b: &usize| day(a).total_cmp(&day(b));
    let first = (0..treatments.count()).min_by(by_day)?;
    let last = (0..treatments.count()).max_by(by_day)?;
    let label = words::beginning(&vines.response.label);
    let offset = vines.response.offset;
    let text = if test.p < alpha {
        format!(
            "{label} of half the vines came first with {}, on day {{first}}, and last with {}, {{later}} days later ({{p}}).",
            treatments.words(first),
            treatments.words(last)
        )
    } else {
        format!(
            "{label} of half the vines came on much the same day everywhere: from day {{first}} with {} to {{later}} days later with {} ({{p}}).",
            treatments.words(first),
            treatments.words(last)
        )
    };
    Some(
        Statement::new(text)
            .with("first", offset + day(&first), DAY)
            .with("later", day(&last) - day(&first), DAY)
            .with("p", test.p, Format::Probability),
    )
}

fn table(
    vines: &Vines<'_>,
    comparison: &Comparison<'_>,
    occasion: &Occasion,
    level: f64,
    several: bool,
) -> Table {
    let treatments = &comparison.treatments;
    let offset = vines.response.offset;
    let all = 0..treatments.count();
    let day = |name: &str, column: usize| {
        let values = comparison
            .means
            .iter()
            .map(|mean| Some(offset + mean.values[column]));
        Column::number(name, values.collect(), DAY).in_unit("day")
    };
    let days = |name: &str, value: &dyn Fn(usize) -> Option<f64>| {
        Column::number(name, all.clone().map(value).collect(), DAY).in_unit("days")
    };
    let limit = |at: usize, sign: f64| {
        let mean = &comparison.means[at];
        Some(mean.values[DAYS] + sign * half_width(mean, DAYS, level)?)
    };
    let apart = |at: usize, sign: f64| {
        let difference = comparison.differences[at].as_ref()?;
        let half = if sign == 0.0 {
            0.0
        } else {
            sign * half_width(difference, DAYS, level)?
        };
        Some(difference.values[DAYS] + half)
    };
    let labels = all.clone().map(|at| treatments.label(at));
    let plots = treatments
        .compared
        .plots
        .iter()
        .map(|&n| i64::try_from(n).ok());
    let mut first = Column::text(&treatments.heading(), labels);
    first.unit = treatments.unit().map(str::to_owned);
    Table {
        id: if several {
            format!("course-{}", treatments.id())
        } else {
            "course".to_owned()
        },
        title: format!(
            "Course of {} within plots by {}{}",
            words::inside(&vines.response.label),
            words::inside(&treatments.heading()),
            match (occasion.season, occasion.seasons.len()) {
                (None, seasons) if seasons > 1 => format!(", means of {seasons} seasons"),
                _ => String::new(),
            }
        ),
        columns: vec![
            first,
            Column::count("Plots", plots.collect()),
            day("10 % of vines", TENTH),
            day("Half", HALF),
            day("90 %", NINE_TENTHS),
            days("10 % to 90 %", &|at| {
                Some(comparison.means[at].values[DAYS])
            }),
            days("Lower limit", &|at| limit(at, -1.0)),
            days("Upper limit", &|at| limit(at, 1.0)),
            days("Difference from the control", &|at| apart(at, 0.0)),
            days("Difference, lower limit", &|at| apart(at, -1.0)),
            days("Difference, upper limit", &|at| apart(at, 1.0)),
        ],
        notes: vec![format!(
            "Limits are {} intervals, each holding by itself. The control is {}.",
            words::percent(level),
            treatments.words(treatments.control)
        )],
        ..Table::default()
    }
}

/// F tests of the days the stage took and of the day of half the vines.
fn tests<'a, 'b: 'a>(comparisons: impl Iterator<Item = &'a Comparison<'b>>) -> Option<Table> {
    let rows: Vec<(String, &str, Test)> = comparisons
        .flat_map(|comparison| {
            [
                ("Days from 10 % to 90 %", comparison.tests[DAYS]),
                ("Day of half the vines", comparison.tests[HALF]),
            ]
            .into_iter()
            .filter_map(|(measure, test)| Some((comparison.treatments.heading(), measure, test?)))
        })
        .collect();
    (!rows.is_empty())
        .then(|| crate::spread_tables::tests_table("Tests with plots as units", &rows))
}

fn alt(comparison: &Comparison<'_>) -> String {
    let each: Vec<String> = comparison
        .means
        .iter()
        .enumerate()
        .map(|(at, mean)| {
            format!(
                "{} {:.1}",
                comparison.treatments.label(at),
                mean.values[DAYS]
            )
        })
        .collect();
    format!("Days from 10 % to 90 % of the vines: {}.", each.join("; "))
}
