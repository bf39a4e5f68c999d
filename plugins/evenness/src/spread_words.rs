//! What came out about the spread, in sentences.

use caneplot_plugin::findings::{Format, Rank, Statement};
use caneplot_plugin::words;

use crate::compare::half_width;
use crate::spread::{LOG, RELATIVE, Set, Spread};

/// Most treatments that get a sentence of their own.
const MOST: usize = 8;
/// How a spread is written.
pub(crate) const SPREAD: Format = Format::Significant(3);
/// How a ratio is written.
pub(crate) const RATIO: Format = Format::Decimals(2);

/// The sentences; the first has the rank given.
pub(crate) fn of(spread: &Spread<'_>, first: Rank) -> Vec<Statement> {
    let mut all = Vec::new();
    for (place, set) in spread.sets.iter().enumerate() {
        let rank = if place == 0 { first } else { Rank::Result };
        all.push(main(spread, set).rank(rank));
        all.extend(medians(spread, set));
        all.extend(ratios(spread, set));
    }
    all
}

/// The spread of each treatment, back from the logarithm.
pub(crate) fn spreads(set: &Set<'_>) -> Vec<f64> {
    let back = |mean: &caneplot_numerics::contrasts::Estimate| (mean.values[LOG] / 2.0).exp();
    set.overall.means.iter().map(back).collect()
}

/// Places of the least and the largest of some values; a set has two treatments at least.
fn ends(values: &[f64]) -> (usize, usize) {
    let by_size = |a: &usize, b: &usize| values[*a].total_cmp(&values[*b]);
    (
        (0..values.len()).min_by(by_size).unwrap_or(0),
        (0..values.len()).max_by(by_size).unwrap_or(0),
    )
}

fn main(spread: &Spread<'_>, set: &Set<'_>) -> Statement {
    let treatments = &set.overall.treatments;
    let found = spreads(set);
    let (least, most) = ends(&found);
    let test = set.overall.tests[LOG];
    let clear = test.is_some_and(|test| test.p < spread.alpha);
    let label = words::inside(&spread.response().label);
    let text = if clear {
        format!(
            "The vines of a plot were most alike in {label} with {} (spread, the standard deviation between vines, {{low}}) and least alike with {} ({{high}}; {{p}}).",
            treatments.words(least),
            treatments.words(most)
        )
    } else {
        // Without a test (combinations, or an error of exactly 0) nothing is claimed.
        let (start, p) = match test {
            Some(_) => (
                format!(
                    "No clear difference between treatments in how alike the vines of a plot were in {label}: the"
                ),
                ", {p}",
            ),
            None => (format!("In {label} the"), ""),
        };
        format!(
            "{start} spread (standard deviation between vines) ran from {{low}} with {} to {{high}} with {}{p}.",
            treatments.words(least),
            treatments.words(most)
        )
    };
    let statement = with_unit(Statement::new(text), spread, "low", found[least]);
    let statement = with_unit(statement, spread, "high", found[most]);
    let statement = match test {
        Some(test) => statement.with("p", test.p, Format::Probability),
        None => statement,
    };
    against_mean(spread, set, clear, statement)
}

/// Adds what is left of a difference when the spread is set against the mean: a treatment that crops
/// more differs more between vines without being less even.
fn against_mean(
    spread: &Spread<'_>,
    set: &Set<'_>,
    clear: bool,
    statement: Statement,
) -> Statement {
    let Some(test) = set.overall.tests.get(RELATIVE).copied().flatten() else {
        return statement;
    };
    let shares = set
        .overall
        .means
        .iter()
        .map(|mean| mean.values[RELATIVE].exp());
    let shares: Vec<f64> = shares.collect();
    let (least, most) = ends(&shares);
    let (low, high) = ends(&spreads(set));
    let treatments = &set.overall.treatments;
    let more = match (clear, test.p < spread.alpha) {
        (false, false) => return statement,
        (true, false) => " Set against the mean the treatments did not differ clearly: coefficients of variation from {least} to {most} ({relative}).".to_owned(),
        (true, true) => format!(
            " Set against the mean {}: coefficients of variation from {{least}} with {} to {{most}} with {} ({{relative}}).",
            if least == low && most == high {
                "they differed too"
            } else if least == high {
                "it is the other way round"
            } else {
                "they differed in another order"
            },
            treatments.words(least),
            treatments.words(most)
        ),
        (false, true) => format!(
            " Set against the mean the treatments did differ: coefficients of variation from {{least}} with {} to {{most}} with {} ({{relative}}).",
            treatments.words(least),
            treatments.words(most)
        ),
    };
    Statement {
        text: format!("{}{more}", statement.text),
        ..statement
    }
    .with("least", shares[least], Format::Percent(1))
    .with("most", shares[most], Format::Percent(1))
    .with("relative", test.p, Format::Probability)
}

fn with_unit(statement: Statement, spread: &Spread<'_>, name: &str, value: f64) -> Statement {
    match spread.response().unit.as_str() {
        "" => statement.with(name, value, SPREAD),
        unit => statement.with_unit(name, value, SPREAD, unit),
    }
}

/// Whether distances from medians say the same.
fn medians(spread: &Spread<'_>, set: &Set<'_>) -> Option<Statement> {
    let (log, medians) = (set.overall.tests[LOG]?, set.medians?);
    let clear = |p: f64| p < spread.alpha;
    let text = match (clear(log.p), clear(medians.p)) {
        (true, true) => {
            "Distances of vines from the median of their plot, which single odd vines move less, say the same ({p})."
        }
        (false, false) => {
            "Distances of vines from the median of their plot, which single odd vines move less, show no clear difference either ({p})."
        }
        (true, false) => {
            "Distances of vines from the median of their plot, which single odd vines move less, show no clear difference ({p}): a few odd vines may have made it."
        }
        (false, true) => {
            "Distances of vines from the median of their plot, which single odd vines move less, do differ between treatments ({p}): the two measures disagree, so neither settles it."
        }
    };
    Some(Statement::new(text).with("p", medians.p, Format::Probability))
}

/// Each treatment against the control, where the treatments differ clearly or only intervals tell.
fn ratios(spread: &Spread<'_>, set: &Set<'_>) -> Vec<Statement> {
    let treatments = &set.overall.treatments;
    let level = words::percent(spread.level);
    let label = words::inside(&spread.response().label);
    let one = |treatment: usize| {
        let difference = set.overall.differences[treatment].as_ref()?;
        let half = half_width(difference, LOG, spread.level)?;
        let value = difference.values[LOG];
        let ends = [value - half, value, value + half].map(|log| (log / 2.0).exp());
        let verb = if ends[2] < 1.0 {
            "vines were more alike in"
        } else if ends[0] > 1.0 {
            "vines differed more in"
        } else {
            "vines were not clearly more or less alike in"
        };
        Some(
            Statement::new(format!(
                "With {} {verb} {label} than with {}: the spread was {{ratio}} times as large ({level} interval {{low}} to {{high}}).",
                treatments.words(treatment),
                treatments.words(treatments.control)
            ))
            .with("ratio", ends[1], RATIO)
            .with("low", ends[0], RATIO)
            .with("high", ends[2], RATIO)
            .rank(Rank::Detail),
        )
    };
    (0..treatments.count()).filter_map(one).take(MOST).collect()
}
