//! What a grower reads first: the effect in plain words with its numbers.

use caneplot_plugin::findings::{Format, Rank, Statement};
use caneplot_plugin::words::inside;

use crate::frame::{Frame, level_words};
use crate::levels::{LevelMean, Levels};
use crate::model::{Modelled, TermTest};
use crate::section::{Set, Subjected, season_words};
use crate::subject::Kind;
use crate::tables::{mean_format, step_words};
use crate::words::{capital, listed, literal};

/// The statements of a response, the headline first.
#[must_use]
pub fn statements(subjected: &Subjected) -> Vec<Statement> {
    let Some((set, model, levels)) = subjected.main() else {
        return Vec::new();
    };
    let mut found = Vec::new();
    let mains: Vec<&TermTest> = model
        .tests
        .iter()
        .filter(|test| test.term.of.len() == 1 && !has_season(set, test))
        .collect();
    let headline = mains
        .iter()
        .copied()
        .min_by(|a, b| a.probability.total_cmp(&b.probability));
    for test in headline
        .into_iter()
        .chain(mains.iter().copied().filter(|test| Some(*test) != headline))
    {
        found.extend(effect(subjected, set, levels, test));
    }
    if let Some(first) = found.first_mut() {
        first.rank = Rank::Headline;
    }
    found.extend(interactions(subjected, set, model));
    found.extend(trends(subjected, set, levels));
    found.extend(per_vine(subjected, set, levels));
    if found.is_empty() {
        found.extend(combinations_only(subjected, set));
    }
    found
}

/// What is said where so many combinations are empty that no factor is tested by itself.
fn combinations_only(subjected: &Subjected, set: &Set) -> Option<Statement> {
    let factors: Vec<String> = set
        .frame
        .dimensions
        .iter()
        .filter(|dimension| dimension.factor.is_some())
        .map(|dimension| inside(&dimension.label))
        .collect();
    (!set.frame.is_complete()).then(|| {
        Statement::new(format!(
            "{}: not every combination of {} has a count, so what one of them does cannot be told from what the others do and nothing is tested. The table gives the means of the combinations there are; to test them, declare one factor whose levels are these combinations.",
            literal(&capital(&subjected.subject.response.label)),
            listed(&factors)
        ))
    })
}

fn has_season(set: &Set, test: &TermTest) -> bool {
    test.term.has_season(&set.frame)
}

fn means_of(levels: &Levels, dimension: usize) -> Vec<&LevelMean> {
    let alone = |mean: &&LevelMean| {
        mean.levels
            .iter()
            .enumerate()
            .all(|(at, level)| level.is_some() == (at == dimension))
    };
    levels.means.iter().filter(alone).collect()
}

/// The two means to name: for a quantity those of its ends, else the lowest and the highest.
fn extremes<'a>(
    frame: &Frame,
    dimension: usize,
    means: &[&'a LevelMean],
) -> Option<(&'a LevelMean, &'a LevelMean)> {
    let level = |mean: &LevelMean| mean.levels[dimension].unwrap_or(0);
    let key = |mean: &LevelMean| match &frame.dimensions[dimension].values {
        Some(values) => values[level(mean)],
        None => mean.mean,
    };
    let low = means
        .iter()
        .copied()
        .min_by(|a, b| key(a).total_cmp(&key(b)))?;
    let high = means
        .iter()
        .copied()
        .max_by(|a, b| key(a).total_cmp(&key(b)))?;
    Some((low, high))
}

/// "over all seasons (2021, 2022)" or "in 2021" or nothing.
fn when(set: &Set) -> String {
    match (&set.label, set.seasons) {
        (Some(_), true) => format!(" over the seasons {}", season_words(set)),
        (Some(season), false) => format!(" in {}", literal(season)),
        (None, _) => String::new(),
    }
}

fn effect(subjected: &Subjected, set: &Set, levels: &Levels, test: &TermTest) -> Option<Statement> {
    let dimension = test.term.of[0];
    let means = means_of(levels, dimension);
    let (low, high) = extremes(&set.frame, dimension, &means)?;
    let described = &set.frame.dimensions[dimension];
    let place = |mean: &LevelMean| level_words(described, mean.levels[dimension].unwrap_or(0));
    let (first, second) = (place(low), place(high));
    let factor = literal(&described.label.to_lowercase());
    let label = literal(&subjected.subject.response.label.to_lowercase());
    let words = &subjected.subject.words;
    let kind = subjected.subject.kind;
    let when = when(set);
    let clear = test.probability < subjected.level;
    let text = match (clear, kind, words.did) {
        (true, Kind::Share, Some(did)) => format!(
            "Of the {} counted{when}, {{low}} {did} at {first} and {{high}} at {second}; differences between levels of {factor} are clear ({{p}}).",
            words.items
        ),
        (true, Kind::Share, None) => format!(
            "{}{when} was {{low}} at {first} and {{high}} at {second}; differences between levels of {factor} are clear ({{p}}).",
            capital(&label)
        ),
        (true, rate, _) => format!(
            "There were {{low}} {} per {} at {first} and {{high}} at {second}{when}; differences between levels of {factor} are clear ({{p}}).",
            words.items,
            rate.unit()
        ),
        (false, Kind::Share, Some(did)) => format!(
            "No clear difference in {label} between levels of {factor}{when} ({{p}}): {{low}} of the {} {did} at {first} and {{high}} at {second}.",
            words.items
        ),
        (false, Kind::Share, None) => format!(
            "No clear difference in {label} between levels of {factor}{when} ({{p}}): {{low}} at {first} and {{high}} at {second}."
        ),
        (false, rate, _) => format!(
            "No clear difference in {label} between levels of {factor}{when} ({{p}}): {{low}} {} per {} at {first} and {{high}} at {second}.",
            words.items,
            rate.unit()
        ),
    };
    // Losses gather in blocks: what a typical block lost is not what was lost.
    let shown = |mean: &LevelMean| {
        if subjected.subject.response.is_of_the_stand() {
            mean.counted / mean.size
        } else {
            mean.mean
        }
    };
    let (low, high) = (shown(low), shown(high));
    let format = match kind {
        Kind::Share => share_format(low, high),
        other => mean_format(other, high.max(low)),
    };
    Some(
        Statement::new(text)
            .with("low", low, format)
            .with("high", high, format)
            .with("p", test.probability, Format::Probability),
    )
}

/// Whole per cent where that tells two shares apart.
fn share_format(a: f64, b: f64) -> Format {
    let near = (a - b).abs() < 0.02 || [a, b].iter().any(|share| !(0.01..=0.99).contains(share));
    Format::Percent(u8::from(near))
}

/// Interactions that are clear; for those with the season, that it should be read by season.
fn interactions(subjected: &Subjected, set: &Set, model: &Modelled) -> Vec<Statement> {
    let crossed = model.tests.iter().filter(|test| test.term.of.len() > 1);
    let mut found = Vec::new();
    for test in crossed.filter(|test| test.probability < subjected.level) {
        let factors: Vec<String> = test
            .term
            .of
            .iter()
            .filter(|at| set.frame.dimensions[**at].factor.is_some())
            .map(|at| literal(&set.frame.dimensions[*at].label.to_lowercase()))
            .collect();
        let factors = factors.join(" and ");
        let text = if has_season(set, test) {
            format!(
                "What {factors} did changed from season to season ({{p}}), so read the table season by season."
            )
        } else {
            format!(
                "What one of {factors} did depends on the other ({{p}}), so read their combinations."
            )
        };
        found.push(Statement::new(text).with("p", test.probability, Format::Probability));
    }
    found
}

fn trends(subjected: &Subjected, set: &Set, levels: &Levels) -> Vec<Statement> {
    let mut found = Vec::new();
    let what = if subjected.is_share() {
        "the odds"
    } else {
        "the rate"
    };
    for trend in &levels.trends {
        let dimension = &set.frame.dimensions[trend.dimension];
        let step = literal(&step_words(dimension, trend.step));
        if trend.probability >= subjected.level {
            found.push(
                Statement::new(format!(
                    "There is no clear trend of {what} with {} ({{p}}).",
                    literal(&dimension.label.to_lowercase())
                ))
                .with("p", trend.probability, Format::Probability),
            );
            continue;
        }
        let sentence = match (subjected.is_share(), trend.ratio < 1.0) {
            (true, true) => "the odds fall to {ratio} times what they were",
            (true, false) => "the odds rise to {ratio} times what they were",
            (false, true) => "the rate falls to {ratio} times what it was",
            (false, false) => "the rate rises to {ratio} times what it was",
        };
        found.push(
            Statement::new(format!(
                "For each {step} more, {sentence} (interval {{low}} to {{high}}, {{p}})."
            ))
            .with("ratio", trend.ratio, Format::Decimals(2))
            .with("low", trend.low, Format::Decimals(2))
            .with("high", trend.high, Format::Decimals(2))
            .with("p", trend.probability, Format::Probability),
        );
        if let Some(bend) = trend.curvature.filter(|p| *p < subjected.level) {
            found.push(
                Statement::new(
                    "That line is only a summary: the levels depart from it ({p}), so read the means.",
                )
                .with("p", bend, Format::Probability),
            );
        }
    }
    found
}

/// Broken or living buds a vine at the levels named in the headline: a smaller share of more nodes
/// may still be more shoots.
fn per_vine(subjected: &Subjected, set: &Set, levels: &Levels) -> Option<Statement> {
    if !subjected.is_share() {
        return None;
    }
    let dimension = set
        .frame
        .dimensions
        .iter()
        .position(|dimension| dimension.factor.is_some())?;
    let (low, high) = extremes(&set.frame, dimension, &means_of(levels, dimension))?;
    let described = &set.frame.dimensions[dimension];
    let place = |mean: &LevelMean| level_words(described, mean.levels[dimension].unwrap_or(0));
    let words = &subjected.subject.words;
    Some(
        Statement::new(format!(
            "Counted for a living vine, {{low}} {} {} at {} and {{high}} at {}.",
            words.items,
            words.did.unwrap_or("were counted"),
            place(low),
            place(high)
        ))
        .with("low", low.counted / low.vines?, Format::Decimals(1))
        .with("high", high.counted / high.vines?, Format::Decimals(1)),
    )
}
