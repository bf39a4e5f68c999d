//! What came out, in plain sentences, the most important first.

use caneplot_numerics::curves::Shape;
use caneplot_plugin::findings::{Format, Rank, Statement};
use caneplot_plugin::sentence::Sentence;

use crate::place::Event;
use crate::result::{disagreeing, main};
use crate::study::{Fitted, Group, Study};
use crate::voice::shape_words;
use crate::{equation, place, spend};

/// The sentences of a study.
pub(crate) fn of(study: &Study<'_>) -> Vec<Statement> {
    let level = study.options.level;
    let differing: Vec<&Group> = study
        .groups
        .iter()
        .filter(|group| group.differs(level) && group.fitted().count() > 1)
        .collect();
    let mut all: Vec<Statement> = Vec::new();
    for group in &differing {
        all.push(member_by_member(study, group));
        if group.seasons {
            all.extend(later(study));
        }
    }
    match &study.overall {
        Ok(fitted) => {
            let alone = differing.is_empty();
            let first = if alone {
                main(study, fitted)
            } else {
                Sentence::new(&format!("Taking all together, {} ", study.it()))
                    .then(study.course(fitted))
                    .text(".")
            };
            all.push(first.then(tendency(study, fitted)).statement());
            all.extend(gain(study, fitted).filter(|_| alone));
            all.push(equation::statement(study, fitted));
            all.extend(rivals(study, fitted, alone));
            // The first season is no guide to what will pay where seasons differ.
            let seasons_differ = differing.iter().any(|group| group.seasons);
            match study.later.as_ref().filter(|_| seasons_differ) {
                Some(later) => all.extend(spend::statements(
                    study,
                    &later.fitted,
                    "For the seasons after the first: at",
                )),
                None => all.extend(spend::statements(study, fitted, "At")),
            }
        }
        Err(reason) => {
            let seasons = study.season_group().filter(|group| !group.differs(level));
            all.extend(seasons.and_then(|group| one_by_one(study, group)));
            all.push(
                Sentence::new(&format!(
                    "There is no curve of {} over {}{}: {reason}.",
                    study.response_name(),
                    study.factor_name(),
                    if study.seasons > 1 {
                        " for all seasons together"
                    } else {
                        ""
                    }
                ))
                .statement(),
            );
        }
    }
    if study.any_curve() {
        let steady = study.groups.iter().filter(|group| !group.differs(level));
        all.extend(steady.filter_map(|group| parallel(study, group)));
        if let Some(first) = all.first_mut() {
            first.rank = Rank::Headline;
        }
    }
    all
}

/// Says so where only the trend is clear and not the differences between all levels.
fn tendency(study: &Study<'_>, fitted: &Fitted) -> Sentence {
    match fitted.levels.any_difference().p {
        Some(p) if p >= study.options.level && fitted.fit.curve.shape != Shape::Flat => {
            Sentence::new(" Only the trend over the levels is clear; level by level the differences are not (")
                .number(p, Format::Probability)
                .text(").")
        }
        _ => Sentence::default(),
    }
}

/// The seasons after the first together.
fn later(study: &Study<'_>) -> Option<Statement> {
    let later = study.later.as_ref()?;
    let p = later.test.whole?.p?;
    let alike = if p < study.options.level {
        "and they differ among themselves too ("
    } else {
        "with no clear difference among them ("
    };
    Some(
        Sentence::new(&format!(
            "In the seasons after the first ({}), taken together, {} ",
            caneplot_plugin::words::list(&later.seasons),
            study.it()
        ))
        .then(study.course(&later.fitted))
        .text(&format!(", {alike}"))
        .number(p, Format::Probability)
        .text(").")
        .statement(),
    )
}

/// The seasons one by one, where there is no curve over them.
fn one_by_one(study: &Study<'_>, group: &Group) -> Option<Statement> {
    let mut sentence = Sentence::new(&format!(
        "{} over {}",
        study.response_first(),
        study.factor_name()
    ));
    let it = study.it();
    let mut any = false;
    for (name, fitted) in group.fitted() {
        sentence = sentence
            .text(if any { "; " } else { ": " })
            .text(&format!("in {name} {it} "))
            .then(study.course(fitted));
        any = true;
    }
    any.then(|| sentence.text(".").statement())
}

/// What was gained up to the spot, and the height there.
fn gain(study: &Study<'_>, fitted: &Fitted) -> Option<Statement> {
    let spot = fitted.spot.as_ref().ok()?;
    let (low, high) = fitted.levels.range();
    let format = study.of_amounts(fitted);
    let digits = study.of_means();
    let end = spot.at.clamp(low, high);
    let at = fitted.levels.height(&fitted.fit, end);
    let half = fitted.half_width(at.unit_variance);
    let offset = study.response.offset;
    let start = study.height(
        Sentence::new("At ")
            .number_in(end, format, study.unit())
            .text(" the curve stands at "),
        at.value,
    );
    let start = study.interval(
        start,
        offset + at.value - half,
        offset + at.value + half,
        digits,
    );
    let change = fitted.levels.change(&fitted.fit, low, end);
    let half = fitted.half_width(change.unit_variance);
    let more = if change.value >= 0.0 { "more" } else { "less" };
    let sign = if change.value >= 0.0 { 1.0 } else { -1.0 };
    let start = study.gain(start.text(", "), change.value.abs());
    Some(
        study
            .interval(
                start.text(&format!(" {more} than at ")).number(low, format),
                sign * change.value - half,
                sign * change.value + half,
                digits,
            )
            .text(".")
            .statement(),
    )
}

/// Other shapes that fit about as well, except those the headline has told of.
fn rivals(study: &Study<'_>, fitted: &Fitted, headline: bool) -> Option<Statement> {
    let told: Vec<Shape> = match &fitted.spot {
        Ok(spot) if headline && matches!(spot.event, Event::Join | Event::NearlyLevel) => {
            disagreeing(study, fitted, spot)
                .into_iter()
                .map(|(shape, _)| shape)
                .collect()
        }
        _ => Vec::new(),
    };
    if fitted.fit.curve.shape == Shape::Flat {
        return None;
    }
    let mut parts: Vec<Sentence> = Vec::new();
    let rest = fitted
        .comparison
        .rivals()
        .filter(|(rival, _)| rival.shape != Shape::Flat && !told.contains(&rival.shape));
    for (rival, fit) in rest {
        let part = Sentence::new(shape_words(rival.shape))
            .text(" (AICc ")
            .number(rival.above_best.unwrap_or(0.0), Format::Decimals(1))
            .text(" above the smallest");
        let part = match place::of(&fitted.levels, fit, study.options.level) {
            Ok(spot) => {
                let what = match spot.event {
                    Event::Join => "; level from ",
                    Event::Highest => "; highest at ",
                    Event::Lowest => "; lowest at ",
                    Event::NearlyLevel => "; nearly level from ",
                };
                part.text(what).then(study.spot(fitted, &spot))
            }
            Err(_) => part,
        };
        parts.push(part.text(")"));
    }
    let (first, rest) = parts.split_first()?;
    let chosen = shape_words(fitted.fit.curve.shape);
    let mut sentence = Sentence::new(&format!(
        "The shape is not certain: besides {chosen}, which is used here, the means are described about as well by "
    ))
    .then(first.clone());
    for (at, part) in rest.iter().enumerate() {
        let joint = if at + 1 == rest.len() { " and " } else { ", " };
        sentence = sentence.text(joint).then(part.clone());
    }
    Some(sentence.text(".").statement())
}

/// Curves that differ: each by itself.
fn member_by_member(study: &Study<'_>, group: &Group) -> Statement {
    let verb = if group.seasons {
        "changed with the season".to_owned()
    } else {
        format!(
            "differed between levels of {}",
            crate::voice::undoubled(&caneplot_plugin::words::inside(&group.noun))
        )
    };
    let mut sentence = Sentence::new(&format!(
        "How {} {} {} {verb}",
        study.response_name(),
        study.follows(),
        study.factor_name()
    ));
    if let Some(p) = group.test.whole.and_then(|line| line.p) {
        sentence = sentence.text(" (").number(p, Format::Probability).text(")");
    }
    let it = study.it();
    for (at, (name, fitted)) in group.fitted().enumerate() {
        let lead = if group.seasons {
            format!("in {name} {it} ")
        } else {
            format!("with {name} {it} ")
        };
        sentence = sentence
            .text(if at == 0 { ": " } else { "; " })
            .text(&lead)
            .then(study.course(fitted));
    }
    sentence.text(".").statement()
}

/// Curves that do not clearly differ.
fn parallel(study: &Study<'_>, group: &Group) -> Option<Statement> {
    let p = group.test.whole?.p?;
    let what = if group.seasons {
        "seasons".to_owned()
    } else {
        format!(
            "levels of {}",
            crate::voice::undoubled(&caneplot_plugin::words::inside(&group.noun))
        )
    };
    Some(
        Sentence::new(&format!(
            "No clear sign that {what} differ in how {} {} {} (",
            study.response_name(),
            study.follows(),
            study.factor_name()
        ))
        .number(p, Format::Probability)
        .text("): their curves may be read as running parallel.")
        .statement(),
    )
}
