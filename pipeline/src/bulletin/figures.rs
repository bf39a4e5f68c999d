//! Two pictures that read at arm's length: described here from the results, drawn by `draw`. They are
//! drawn one column wide and set across the page, so that their type is twice as large.

use std::fmt::Write as _;

use caneplot_plugin::estimates::Estimates;
use caneplot_plugin::findings::{Axis, Figure, Mark, Panel, Scale, Width};
use caneplot_plugin::request::Factor;

use super::story::Story;
use super::topic::{self, Topic};
use super::verdict::changes_with_season;
use crate::draw::{self, DrawError, Drawing};
use crate::messages::Said;
use crate::write::markdown::escaped;

/// A figure of the bulletin.
#[derive(Debug)]
pub struct Drawn {
    /// Name of its files, without folder and ending.
    pub stem: &'static str,
    /// Its description.
    pub figure: Figure,
    /// As drawn.
    pub drawing: Drawing,
}

/// The part of the bulletin.
pub(super) fn body(drawn: &[Drawn]) -> String {
    let mut out = String::new();
    for one in drawn {
        let _ = writeln!(
            out,
            "![{}](figures/{}.png)\n\n*{}*\n",
            escaped(&one.figure.alt),
            one.stem,
            escaped(&one.figure.caption)
        );
    }
    out
}

/// Both figures.
///
/// # Errors
/// One cannot be drawn.
pub fn drawn(story: &Story) -> Result<Vec<Drawn>, DrawError> {
    let described = described(story);
    let drawn = described.into_iter().map(|(stem, figure)| {
        Ok(Drawn {
            stem,
            drawing: draw::draw(&figure)?,
            figure,
        })
    });
    drawn.collect()
}

/// Their descriptions: the means of the main thing measured, and each of its seasons where they
/// differ or nothing else was measured, else the means of the second thing.
#[must_use]
pub fn described(story: &Story) -> Vec<(&'static str, Figure)> {
    let Some((focus, main)) = story.main() else {
        return Vec::new();
    };
    let answer = story.answers().first().map(|one| one.sentence(story));
    let mut figures = vec![("answer", means(story, main, answer.as_deref()))];
    let changing = story.focuses.iter().find_map(|focus| {
        let topic = focus.topics.first()?;
        let known = topic.years.len() > 1;
        (known && changes_with_season(topic.over)).then_some((focus, topic))
    });
    if let Some((focus, topic)) = changing {
        figures.push(("seasons", seasons(story, &focus.factors, topic)));
    } else if let Some(second) = focus.topics.get(1) {
        figures.push(("beside", means(story, second, None)));
    } else if main.years.len() > 1 {
        figures.push(("seasons", seasons(story, &focus.factors, main)));
    }
    figures
}

/// Means of all treatments of the trial, each mix of levels by itself where there are several
/// factors.
fn means(story: &Story, topic: &Topic, finding: Option<&str>) -> Figure {
    let factors: Vec<&Factor> = story.report.trial.factors.iter().collect();
    let names: Vec<&str> = factors.iter().map(|one| one.name.as_str()).collect();
    let (edits, language) = (story.edits, story.language);
    let whole = topic::topic(story.report, topic.name, &names, edits, language);
    let (factors, of) = match &whole {
        Some(whole) => (factors, whole.over),
        None => (known_factors(&factors, topic.over), topic.over),
    };
    let panel = match factors.as_slice() {
        [first, rest @ ..] => grouped(story, topic, of, first, rest),
        [] => Panel::default(),
    };
    let (panel, series) = panel_and_series(panel, story, &factors, of);
    let alt = alt(story, topic, &factors, of, finding);
    let caption = language.say("figure-means", &[("what", (&topic.heading).into())]);
    Figure {
        id: format!("bulletin-{}", topic.name),
        caption: with_unit_note(story, topic, caption),
        alt,
        foot: None,
        width: Width::Single,
        panels: vec![panel],
        columns: 1,
        series_title: None,
        series,
    }
}

/// The factors of some estimates.
fn known_factors<'a>(factors: &[&'a Factor], of: &Estimates) -> Vec<&'a Factor> {
    let named = |name: &String| factors.iter().find(|one| &one.name == name).copied();
    of.factors.iter().filter_map(named).collect()
}

fn panel_and_series(
    panel: Panel,
    story: &Story,
    factors: &[&Factor],
    of: &Estimates,
) -> (Panel, Vec<String>) {
    let rest = factors.get(1..).unwrap_or_default();
    if rest.is_empty() {
        return (panel, Vec::new());
    }
    (panel, others(story, rest, of))
}

/// The mixes of all factors but the first, in the order of the trial.
fn mixes(of: &Estimates) -> Vec<&[String]> {
    let mut mixes: Vec<&[String]> = Vec::new();
    for treatment in &of.treatments {
        let rest = treatment.levels.get(1..).unwrap_or_default();
        if !mixes.contains(&rest) {
            mixes.push(rest);
        }
    }
    mixes
}

fn others(story: &Story, rest: &[&Factor], of: &Estimates) -> Vec<String> {
    let name = |mix: &&[String]| {
        let words: Vec<String> = rest
            .iter()
            .zip(mix.iter())
            .map(|(factor, name)| {
                let level = factor.levels.iter().find(|level| &level.name == name);
                level.map_or_else(|| name.clone(), |level| story.level(factor, level))
            })
            .collect();
        words.join(", ")
    };
    mixes(of).iter().map(name).collect()
}

/// Means over the levels of the first factor, a series for each mix of the others.
fn grouped(
    story: &Story,
    topic: &Topic,
    of: &Estimates,
    first: &Factor,
    rest: &[&Factor],
) -> Panel {
    let scale = topic.shown.first.factor;
    let mut marks = Vec::new();
    let alone = rest.is_empty();
    let graded = first.is_numeric();
    for (at, mix) in mixes(of).into_iter().enumerate() {
        let mut line = Line::default();
        for (place, level) in first.levels.iter().enumerate() {
            let wanted = |one: &&caneplot_plugin::estimates::Treatment| {
                one.levels.first() == Some(&level.name)
                    && one.levels.get(1..).unwrap_or_default() == mix
            };
            if let Some(found) = of.treatments.iter().find(wanted) {
                let x = level.value.filter(|_| graded).unwrap_or(place as f64);
                line.add(x, scale, found);
            }
        }
        marks.extend(line.marks((!alone).then_some(at), graded));
    }
    let labels = || first.levels.iter().map(|level| story.level(first, level));
    Panel {
        title: None,
        x: Axis {
            title: story.edits.worded(&first.label).to_owned(),
            scale: match graded {
                true => Scale::Linear {
                    from: None,
                    to: None,
                    ticks: first
                        .levels
                        .iter()
                        .filter_map(|level| level.value)
                        .collect(),
                },
                false => Scale::Category {
                    labels: labels().collect(),
                },
            },
        },
        y: amounts(topic),
        marks,
    }
}

/// The seasons of each treatment of a focus, joined by lines.
fn seasons(story: &Story, factors: &[&Factor], topic: &Topic) -> Figure {
    let scale = topic.shown.first.factor;
    let mut marks = Vec::new();
    let of = topic.over;
    let count = of.treatments.len();
    for (at, treatment) in of.treatments.iter().enumerate() {
        let mut line = Line::default();
        for (place, year) in topic.years.iter().enumerate() {
            let same = year
                .treatments
                .iter()
                .find(|one| one.levels == treatment.levels);
            if let Some(found) = same {
                // Side by side, so that bars of one season do not lie over each other.
                let aside = (at as f64 - (count as f64 - 1.0) / 2.0) * 0.5 / count as f64;
                line.add(place as f64 + aside, scale, found);
            }
        }
        marks.extend(line.marks(Some(at), true));
    }
    let labels: Vec<String> = topic
        .years
        .iter()
        .filter_map(|year| year.season.clone())
        .collect();
    let language = story.language;
    let caption = language.say("figure-years", &[("what", (&topic.heading).into())]);
    Figure {
        id: format!("bulletin-{}-seasons", topic.name),
        caption: with_unit_note(story, topic, caption),
        alt: alt_of_seasons(story, factors, topic),
        foot: None,
        width: Width::Single,
        panels: vec![Panel {
            title: None,
            x: Axis {
                title: language.text("figure-season"),
                scale: Scale::Category { labels },
            },
            y: amounts(topic),
            marks,
        }],
        columns: 1,
        series: (0..count)
            .map(|at| story.treatment(factors, of, at))
            .collect(),
        series_title: None,
    }
}

/// Means along one line, with their likely ranges.
#[derive(Default)]
struct Line {
    x: Vec<f64>,
    y: Vec<f64>,
    bars: Vec<(f64, f64, f64)>,
}

impl Line {
    fn add(&mut self, x: f64, scale: f64, of: &caneplot_plugin::estimates::Treatment) {
        self.x.push(x);
        self.y.push(of.value * scale);
        if let (Some(low), Some(high)) = (of.low, of.high) {
            self.bars.push((x, low * scale, high * scale));
        }
    }

    fn marks(self, series: Option<usize>, joined: bool) -> Vec<Mark> {
        let mut marks = Vec::new();
        if joined && self.x.len() > 1 {
            marks.push(Mark::Line {
                x: self.x.clone(),
                y: self.y.clone(),
                series,
                dashed: false,
            });
        }
        marks.push(Mark::Interval {
            x: self.bars.iter().map(|bar| bar.0).collect(),
            low: self.bars.iter().map(|bar| bar.1).collect(),
            high: self.bars.iter().map(|bar| bar.2).collect(),
            series,
        });
        marks.push(Mark::Points {
            x: self.x,
            y: self.y,
            series,
            faint: false,
        });
        marks
    }
}

fn amounts(topic: &Topic) -> Axis {
    Axis {
        title: caneplot_plugin::words::axis(&topic.heading, &topic.shown.first.unit),
        scale: Scale::default(),
    }
}

/// What one of the first unit is in the second.
fn with_unit_note(story: &Story, topic: &Topic, caption: String) -> String {
    let Some(second) = &topic.shown.second else {
        return caption;
    };
    let (first, language) = (&topic.shown.first, story.language);
    let one = |number: String, unit: &str| format!("{number} {unit}");
    let values: [(&str, Said); 2] = [
        ("one", one(language.number(1.0, 0), &first.unit).into()),
        (
            "other",
            one(
                language.number(second.factor / first.factor, 2),
                &second.unit,
            )
            .into(),
        ),
    ];
    format!("{caption} {}", language.say("figure-unit-note", &values))
}

fn alt(
    story: &Story,
    topic: &Topic,
    factors: &[&Factor],
    of: &Estimates,
    finding: Option<&str>,
) -> String {
    let language = story.language;
    let values: Vec<String> = (0..of.treatments.len())
        .map(|at| {
            let amount = topic.shown.amount(of.treatments[at].value, language);
            language.say(
                "figure-alt-value",
                &[
                    ("treatment", story.treatment(factors, of, at).into()),
                    ("amount", amount.into()),
                ],
            )
        })
        .collect();
    let said = language.say(
        "figure-alt",
        &[
            ("what", (&topic.heading).into()),
            ("values", values.join("; ").into()),
        ],
    );
    match finding {
        Some(finding) => format!("{finding} {said}"),
        None => said,
    }
}

fn alt_of_seasons(story: &Story, factors: &[&Factor], topic: &Topic) -> String {
    let all = topic.years.iter().filter_map(|year| {
        let season = year.season.as_deref()?;
        Some(format!(
            "{season}. {}",
            alt(story, topic, factors, year, None)
        ))
    });
    all.collect::<Vec<_>>().join(" ")
}
