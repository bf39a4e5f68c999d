//! What a reader must know to use the curve: cautions, and what was left out.

use caneplot_numerics::curves::Shape;
use caneplot_plugin::findings::{Format, Rank, Statement};
use caneplot_plugin::request::Role;
use caneplot_plugin::sentence::Sentence;

use crate::study::{Fitted, Group, Study};

/// The notes of a study.
pub(crate) fn of(study: &Study<'_>) -> Vec<Statement> {
    let mut all: Vec<Sentence> = Vec::new();
    if let Some(group) = study.season_group() {
        all.extend(first_season(study, group));
    }
    let differs = |group: &Group| group.differs(study.options.level);
    if study.overall.is_ok() && study.groups.iter().any(differs) {
        all.push(Sentence::new(
            "Where curves differ, the curve over all sums them up for these seasons and treatments only and should not be quoted alone.",
        ));
    }
    if let Ok(fitted) = &study.overall {
        all.extend(lack_of_fit(study, fitted));
        all.extend(pieces(fitted));
        let (low, high) = fitted.levels.range();
        let format = study.of_amounts(fitted);
        all.push(
            Sentence::new("The curve holds from ")
                .number(low, format)
                .text(" to ")
                .number_in(high, format, study.unit())
                .text("; it says nothing about amounts outside what was tested."),
        );
        if fitted.levels.count() < Shape::LinePlateau.levels_needed() {
            all.push(Sentence::new(
                "With three levels a smooth bend cannot be told from a sharp one: only a straight line and a quadratic are compared. A fourth level would show where the response levels off.",
            ));
        }
    }
    all.extend(study.left_out.iter().map(|text| Sentence::new(text)));
    if is_nodes(study) && study.any_curve() {
        all.push(Sentence::new(
            "Nodes left in a winter make the shoots of the season after it, but how fruitful their buds are was settled in the season before: the crop of a season answers both to its own pruning and to last year's canopy.",
        ));
    }
    if matches!(study.factor.role, Role::SubPlot | Role::SubSubPlot) && study.overall.is_ok() {
        all.push(Sentence::new(
            "Standard errors and bands take the larger units (whole plots) as they were in this trial: they are for comparing amounts, not for the height of the curve elsewhere.",
        ));
    }
    if study.response.counts.is_some() && study.any_curve() {
        all.push(Sentence::new(
            "These are percentages of counts with equal weight for every plot; near 0 or 100 a curve can run outside what is possible.",
        ));
    }
    all.into_iter()
        .map(|sentence| sentence.ranked(Rank::Detail))
        .collect()
}

/// Whether the amount is of nodes or buds.
fn is_nodes(study: &Study<'_>) -> bool {
    let words = format!(
        "{} {} {}",
        study.factor.name,
        study.factor.label,
        study.unit()
    )
    .to_lowercase();
    ["node", "bud"].iter().any(|word| words.contains(word))
}

/// The first season overstates what lasts.
fn first_season(study: &Study<'_>, group: &Group) -> Option<Sentence> {
    if !group.differs(study.options.level) {
        return None;
    }
    let (name, first) = group.members.first()?;
    let first = first.as_ref().ok()?.change();
    let later: Vec<f64> = group.fitted().skip(1).map(|(_, it)| it.change()).collect();
    if later.is_empty() {
        return None;
    }
    let mean = later.iter().sum::<f64>() / later.len() as f64;
    if first.abs() <= mean.abs() {
        return None;
    }
    let start = Sentence::new(&format!(
        "In {name}, the first season, the curve changed by "
    ));
    let start = study
        .gain(start, first)
        .text(" from the lowest to the highest level, in the later seasons by ");
    Some(study.gain(start, mean).text(
        " on average. The first season after a change of pruning often overstates it, because vines still carry the reserves and buds of the old treatment: the later seasons are the better guide.",
    ))
}

fn lack_of_fit(study: &Study<'_>, fitted: &Fitted) -> Option<Sentence> {
    let line = fitted.levels.lack_of_fit(&fitted.fit)?;
    let p = line.p?;
    let start = if p < study.options.level {
        "Even the chosen curve leaves more of the level means than chance would (lack of fit "
    } else {
        "The chosen curve leaves no more of the level means than chance would (lack of fit "
    };
    let end = if p < study.options.level {
        "): its intervals are too narrow, and the level means are the safer result."
    } else {
        ")."
    };
    Some(
        Sentence::new(start)
            .number(p, Format::Probability)
            .text(end),
    )
}

fn pieces(fitted: &Fitted) -> Option<Sentence> {
    let spot = fitted.spot.as_ref().ok()?;
    (spot.pieces > 1).then(|| {
        Sentence::new("The interval of the place is in ")
            .number(spot.pieces as f64, Format::Count)
            .text(" pieces with gaps between them; its outer ends are given.")
    })
}
