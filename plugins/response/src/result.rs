//! The main sentence of a curve: where it levels off or turns, or that it does not.

use caneplot_numerics::curves::Shape;
use caneplot_plugin::findings::Format;
use caneplot_plugin::sentence::Sentence;

use crate::place::{self, Event, Nowhere, Spot};
use crate::study::{Fitted, Study};
use crate::voice::{shape_words, steepness};

/// The result over all seasons and other factors.
pub(crate) fn main(study: &Study<'_>, fitted: &Fitted) -> Sentence {
    let scope = if study.seasons > 1 {
        ", mean of the seasons"
    } else {
        ""
    };
    match (&fitted.spot, fitted.fit.curve.shape) {
        (_, Shape::Flat) => flat(study, fitted, scope),
        (Ok(spot), _) if matches!(spot.event, Event::Join | Event::NearlyLevel) => {
            levelling(study, fitted, spot, scope)
        }
        (Ok(spot), _) => turning(study, fitted, spot, scope),
        (Err(_), Shape::Line) => straight(study, fitted, scope),
        (Err(why), _) => placeless(study, fitted, *why, scope),
    }
}

fn turning(study: &Study<'_>, fitted: &Fitted, spot: &Spot, scope: &str) -> Sentence {
    let at = fitted.levels.height(&fitted.fit, spot.at);
    let word = if spot.event == Event::Highest {
        "highest"
    } else {
        "lowest"
    };
    let start = Sentence::new(&format!(
        "{} {} {word} at ",
        study.response_first(),
        study.was()
    ))
    .then(study.spot(fitted, spot))
    .text(", where the curve is at ");
    study.height(start, at.value).text(&format!("{scope}."))
}

fn straight(study: &Study<'_>, fitted: &Fitted, scope: &str) -> Sentence {
    let (low, high) = fitted.levels.range();
    let format = study.of_amounts(fitted);
    let slope = fitted.levels.first_parameter(&fitted.fit);
    let step = 10_f64.powf((high - low).log10().floor());
    let half = fitted.half_width(slope.unit_variance);
    let (verb, sign) = if slope.value >= 0.0 {
        ("rose", 1.0)
    } else {
        ("fell", -1.0)
    };
    let value = step * slope.value * sign;
    let digits = Format::Significant(3);
    let start = Sentence::new(&format!("{} {verb} by ", study.response_first()))
        .number_in(value, digits, study.y())
        .text(" for every ")
        .number_in(step, Study::as_typed(step), study.unit());
    study
        .interval(start, value - step * half, value + step * half, digits)
        .text(&format!("{scope}, all the way from "))
        .number(low, format)
        .text(" to ")
        .number_in(high, format, study.unit())
        .text(if could_level_off(study, fitted) {
            ": whether it levels off or turns inside that range, the trial cannot tell."
        } else {
            ": no sign of levelling off inside that range."
        })
}

/// Whether a shape with a place inside the range describes the means about as well.
fn could_level_off(study: &Study<'_>, fitted: &Fitted) -> bool {
    let level = study.options.level;
    fitted
        .comparison
        .rivals()
        .any(|(_, fit)| place::of(&fitted.levels, fit, level).is_ok())
}

/// A bend without a place.
fn placeless(study: &Study<'_>, fitted: &Fitted, why: Nowhere, scope: &str) -> Sentence {
    let (low, high) = fitted.levels.range();
    let format = study.of_amounts(fitted);
    let tail = match why {
        Nowhere::StillChanging => {
            ", ever more slowly, but not to a level yet at the highest amount tested."
        }
        Nowhere::Outside | Nowhere::Unclear | Nowhere::Straight => {
            ": the trial cannot tell where it turns or levels off."
        }
    };
    let bend = match why {
        Nowhere::StillChanging => "",
        _ => steepness(fitted),
    };
    let verb = if fitted.change() >= 0.0 {
        "rose"
    } else {
        "fell"
    };
    let start = Sentence::new(&format!("{} {verb} by ", study.response_first()));
    study
        .gain(start, fitted.change().abs())
        .text(" from ")
        .number(low, format)
        .text(" to ")
        .number_in(high, format, study.unit())
        .text(&format!("{scope}{bend}{tail}"))
}

fn flat(study: &Study<'_>, fitted: &Fitted, scope: &str) -> Sentence {
    let (low, high) = fitted.levels.range();
    let format = study.of_amounts(fitted);
    let start = Sentence::new(&format!(
        "{} did not clearly change with {} between ",
        study.response_first(),
        study.factor_name()
    ))
    .number(low, format)
    .text(" and ")
    .number_in(high, format, study.unit());
    let start = match fitted.levels.any_difference().p {
        Some(p) => start.text(" (").number(p, Format::Probability).text(")"),
        None => start,
    };
    let start = study.height(start.text(": mean "), fitted.height(low));
    // What the trial leaves open: the change along a straight line.
    match fitted.levels.fit(Shape::Line) {
        Ok(line) => {
            let change = fitted.levels.change(&line, low, high);
            let half = fitted.half_width(change.unit_variance);
            let digits = study.of_means();
            start
                .text(&format!(
                    "{scope}. A straight change over the whole range could still lie anywhere from "
                ))
                .number(change.value - half, digits)
                .text(" to ")
                .number_in(change.value + half, digits, study.y())
                .text(&format!(" ({}).", study.options.confidence()))
        }
        Err(_) => start.text(&format!("{scope}.")),
    }
}

/// Shapes that fit about as well and level off or turn somewhere else.
pub(crate) fn disagreeing<'a>(
    study: &Study<'_>,
    fitted: &'a Fitted,
    spot: &'a Spot,
) -> Vec<(Shape, Spot)> {
    fitted
        .comparison
        .rivals()
        .filter_map(|(rival, fit)| {
            let other = place::of(&fitted.levels, fit, study.options.level).ok()?;
            let apart = !spot.allows(other.at) || !other.allows(spot.at);
            apart.then_some((rival.shape, other))
        })
        .collect()
}

/// A curve that levels off.
fn levelling(study: &Study<'_>, fitted: &Fitted, spot: &Spot, scope: &str) -> Sentence {
    let name = study.response_first();
    let rising = fitted.change() >= 0.0;
    let format = study.of_amounts(fitted);
    let others = disagreeing(study, fitted, spot);
    if !others.is_empty() {
        let spots = || others.iter().map(|(_, spot)| spot).chain([spot]);
        let low = spots().map(|spot| spot.low).collect::<Option<Vec<_>>>();
        let high = spots().map(|spot| spot.high).collect::<Option<Vec<_>>>();
        let start = Sentence::new(&format!("{name} levelled off"));
        let start = match (low, high) {
            (Some(low), Some(high)) => start
                .text(" somewhere between ")
                .number(low.into_iter().fold(f64::INFINITY, f64::min), format)
                .text(" and ")
                .number_in(
                    high.into_iter().fold(f64::NEG_INFINITY, f64::max),
                    format,
                    study.unit(),
                ),
            _ => start.text(", but the trial cannot tell where"),
        };
        let mut sentence = start
            .text(&format!("{scope}: at "))
            .then(study.spot(fitted, spot))
            .text(&format!(" along {}", shape_words(fitted.fit.curve.shape)));
        for (shape, other) in &others {
            sentence = sentence
                .text(", at ")
                .then(study.spot(fitted, other))
                .text(&format!(" along {}", shape_words(*shape)));
        }
        return sentence.text(", and the trial cannot tell these apart.");
    }
    if spot.interval().is_none() && !(spot.or_below && spot.high.is_some()) {
        let verb = if rising { "rose" } else { "fell" };
        return Sentence::new(&format!(
            "{name} {verb} and then levelled off{scope}, but the trial cannot tell exactly where: "
        ))
        .then(study.spot(fitted, spot))
        .text(".");
    }
    let verb = match spot.event {
        Event::NearlyLevel => format!("{} nearly level from", study.was()),
        _ => "levelled off at".to_owned(),
    };
    let on = match spot.event {
        Event::NearlyLevel => " on",
        _ => "",
    };
    Sentence::new(&format!("{name} {verb} "))
        .then(study.spot(fitted, spot))
        .text(&format!("{on}{scope}; {}.", study.more_words(rising)))
}
