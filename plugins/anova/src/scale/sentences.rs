//! The other scale in words: why it was taken, what came out there, and what its means are.

use caneplot_numerics::transform::{Profile, Ratio, Scale};
use caneplot_plugin::findings::{Format, Rank, Statement};

use super::Other;
use crate::checks::Doubts;
use crate::sentences::{Numbers, subject};
use crate::study::Study;
use crate::words::{beginning, inside, list, safe, shortened, was};

/// More plots than this are not named one by one.
const MOST_NAMED: usize = 6;

/// Says which plots keep a response from another scale.
pub(super) fn not_positive(study: &Study<'_>, units: &[usize]) -> Statement {
    let design = &study.planned.design;
    let plots = design.layout.strata()[design.plots].cells.of_unit();
    let season = design.season.map(|at| &design.layout.classifiers()[at]);
    let mut names: Vec<String> = units
        .iter()
        .map(|&unit| {
            let plot = &study.planned.plot_names[plots[unit]];
            match season {
                Some(season) => format!("{plot} in {}", season.levels[season.codes[unit]]),
                None => plot.clone(),
            }
        })
        .map(|name| safe(&name))
        .collect();
    names.dedup();
    Statement::new(format!(
        "{} cannot be analysed on another scale: logarithms, roots and reciprocals need values above 0, and {} {} 0 or less.",
        beginning(&study.response.label),
        shortened(&names, MOST_NAMED),
        if names.len() == 1 { "has" } else { "have" }
    ))
}

/// Puts the interval of the power into a statement: "powers from {low} to {high}".
fn powers(profile: &Profile) -> String {
    match (profile.low, profile.high) {
        (Some(_), Some(_)) => "powers from {low} to {high} fit (Box-Cox; likeliest {best})",
        (Some(_), None) => "powers of {low} and above fit (Box-Cox; likeliest {best})",
        (None, Some(_)) => "powers up to {high} fit (Box-Cox; likeliest {best})",
        (None, None) => "powers of any size fit (Box-Cox; likeliest {best})",
    }
    .to_owned()
}

fn with_powers(statement: Statement, profile: &Profile) -> Statement {
    let two = Format::Decimals(2);
    let mut statement = statement.with("best", profile.best, two);
    if let Some(low) = profile.low {
        statement = statement.with("low", low, two);
    }
    if let Some(high) = profile.high {
        statement = statement.with("high", high, two);
    }
    statement
}

/// Why no other scale is offered although a check is positive.
pub(super) fn no_other(study: &Study<'_>, doubts: Doubts, profile: &Profile) -> Statement {
    let why = beginning(&list(&doubts.words()));
    let text = if profile.inside.contains(&Scale::Measured) {
        format!(
            "{why}; {}, and as the values as measured (power 1) are among them, no other scale is offered.",
            powers(profile)
        )
    } else {
        format!(
            "{why}: {}, none of which people can read (1, ½, 0 or −1). The analysis of {} as measured stands with that caution.",
            powers(profile),
            inside(&study.response.label)
        )
    };
    with_powers(Statement::new(text), profile).rank(Rank::Detail)
}

/// What came out on the other scale, why it was taken first.
pub(super) fn results(other: &Other<'_, '_>, doubts: Doubts, profile: &Profile) -> Vec<Statement> {
    let mut all = vec![opening(other, doubts, profile)];
    for factor in 0..other.study.trial.factors.len() {
        all.extend(effect(other, factor));
    }
    all.push(agreement(other));
    all
}

fn opening(other: &Other<'_, '_>, doubts: Doubts, profile: &Profile) -> Statement {
    let name = inside(&other.study.response.label);
    let text = if doubts.any() {
        format!(
            "Because {}, {name} {} also analysed on the {}: {}. {}",
            list(&doubts.words()),
            was(&other.study.response.label),
            other.words(),
            powers(profile),
            mended(other)
        )
    } else {
        format!(
            "As the option asks, {name} {} also analysed on the {}; {}.",
            was(&other.study.response.label),
            other.words(),
            powers(profile)
        )
    };
    with_powers(Statement::new(text), profile)
}

/// What the checks say on the other scale.
fn mended(other: &Other<'_, '_>) -> String {
    match Doubts::of(&other.there).words() {
        left if left.is_empty() => "There the checks find nothing amiss.".to_owned(),
        left => format!("Even there {}.", list(&left)),
    }
}

/// One factor on the other scale: a ratio where differences are ratios, else the ends brought back.
fn effect(other: &Other<'_, '_>, factor: usize) -> Option<Statement> {
    let there = &other.there;
    let term = there.term(&[factor], false)?;
    let p = there.line(term).p?;
    let order = there.by_mean(term);
    let (mut first, mut second) = (*order.first()?, *order.last()?);
    if let Some(control) = there.control(factor) {
        // The level farthest from the control is the news.
        let size = |cell: &usize| there.difference(term, *cell, control).abs();
        first = [first, second]
            .into_iter()
            .max_by(|a, b| size(a).total_cmp(&size(b)))?;
        second = control;
    }
    let (a, b) = (
        there.level_words(factor, first),
        there.level_words(factor, second),
    );
    let level = inside(&there.factor(factor).label);
    let verdict = if there.clear(term) {
        String::new()
    } else {
        format!("no clear difference between levels of {level}; ")
    };
    let name = subject(other.study);
    let scale = other.words();
    if !other.ratios() {
        let numbers = Numbers(other.study);
        let (high, low) = (
            other.brought_back(term, first)?.median?,
            other.brought_back(term, second)?.median?,
        );
        let statement = Statement::new(format!(
            "On the {scale}: {verdict}the median brought back is {{a}} with {a} and {{b}} with {b} ({{p}})."
        ));
        let statement = numbers.put(statement, "a", high);
        let statement = numbers.put(statement, "b", low);
        return Some(statement.with("p", p, Format::Probability));
    }
    let difference = there.difference_of(term, first, second)?;
    let ratio = Ratio::of_difference(difference.value, there.half_width(&difference)?);
    let three = Format::Decimals(2);
    Some(
        Statement::new(format!(
            "On the {scale}: {verdict}{} {} {{ratio}} times as high with {a} as with {b} ({} interval of the ratio {{low}} to {{high}}; all levels {{p}}).",
            inside(&name),
            was(&other.study.response.label),
            there.options.confidence_words()
        ))
        .with("ratio", ratio.ratio, three)
        .with("low", ratio.low, three)
        .with("high", ratio.high, three)
        .with("p", p, Format::Probability),
    )
}

/// Whether the two scales agree on what is clear.
fn agreement(other: &Other<'_, '_>) -> Statement {
    let (here, there) = (other.study, &other.there);
    let layout = &here.planned.design.layout;
    let apart: Vec<usize> = (0..layout.terms().len())
        .filter(|&term| here.clear(term) != there.clear(term))
        .collect();
    if apart.is_empty() {
        return Statement::new(format!(
            "Both scales call the same terms clear, so the choice between them does not decide what is said of {}.",
            inside(&here.response.label)
        ));
    }
    let mut parts = Vec::new();
    let mut numbers = Vec::new();
    for term in apart {
        let (Some(before), Some(after)) = (here.line(term).p, there.line(term).p) else {
            continue;
        };
        parts.push(format!(
            "{} ({{here{term}}} as measured, {{there{term}}} on the {})",
            safe(&layout.term_name(term)),
            other.words()
        ));
        numbers.push((format!("here{term}"), before));
        numbers.push((format!("there{term}"), after));
    }
    let text = format!(
        "What is clear hangs on the scale for {}: do not build on it without more data.",
        list(&parts)
    );
    numbers
        .into_iter()
        .fold(Statement::new(text), |statement, (name, p)| {
            statement.with(&name, p, Format::Probability)
        })
}

/// What the means brought back are, and what they are not.
pub(super) fn notes(other: &Other<'_, '_>) -> Vec<Statement> {
    let single = if other.study.planned.design.vines.is_some() {
        "vines"
    } else {
        "plots"
    };
    let variance = other.variance_of_values();
    let statement = match other.scale {
        Scale::Measured => return Vec::new(),
        Scale::Log => {
            Statement::new(format!(
                "Means brought back from the log scale are medians: half the {single} treated alike lie below. The mean of many such {single} is higher by {{more}}, exp(s²/2) with s² = {{variance}} the variance between single values treated alike on the log scale; crop sums need that mean. Differences on the log scale are ratios."
            ))
            .with("more", (0.5 * variance).exp_m1(), Format::Percent(1))
        }
        Scale::Root => {
            Statement::new(format!(
                "Means brought back from the square-root scale are medians: half the {single} treated alike lie below. The mean of many such {single} is higher by s² = {{variance}}{}, the variance between single values treated alike on that scale; differences there have no unit of their own and are not brought back.",
                match other.study.unit() {
                    "" => String::new(),
                    unit => format!(" {}", safe(unit)),
                }
            ))
        }
        Scale::Reciprocal => {
            Statement::new(format!(
                "Means brought back from the reciprocal scale are medians: half the {single} treated alike lie below, and their arithmetic mean is higher by an amount that scale cannot tell (variance between single values treated alike {{variance}} there). Letters and tests are about the scale analysed; differences there are not brought back."
            ))
        }
    };
    vec![
        statement
            .with("variance", variance, Format::Significant(3))
            .rank(Rank::Detail),
    ]
}
