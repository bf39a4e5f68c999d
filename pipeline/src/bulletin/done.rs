//! What was done, in a grower's words.

use caneplot_plugin::request::{Factor, Role};

use super::page::{list, paragraph};
use super::story::Story;
use crate::messages::Said;
use crate::write::markdown::escaped;

/// Facts of the site with words of their own, in the order in which growers ask for them.
const FACTS: [&str; 6] = [
    "site",
    "variety",
    "rootstock",
    "soil",
    "training",
    "planted",
];

/// The part of the bulletin.
pub(super) fn body(story: &Story) -> String {
    let language = story.language;
    let mut lines: Vec<String> = facts(story);
    lines.extend(story.report.trial.factors.iter().map(|factor| {
        let levels: Vec<String> = factor
            .levels
            .iter()
            .map(|level| story.level(factor, level))
            .collect();
        let mut values: Vec<(&str, Said)> = vec![
            ("factor", factor_name(story, factor).into()),
            ("levels", language.list(&levels).into()),
        ];
        let control = factor.control.as_ref();
        let control = control.and_then(|name| factor.levels.iter().find(|one| &one.name == name));
        escaped(&match control {
            Some(control) => {
                values.push(("control", story.level(factor, control).into()));
                language.say("done-ways-control", &values)
            }
            None => language.say("done-ways", &values),
        })
    }));
    let mut sentences = vec![plots(story)];
    sentences.extend(vines(story));
    sentences.extend(seasons(story));
    sentences.extend(spacing(story));
    let sentences: Vec<String> = sentences
        .into_iter()
        .filter(|one| !one.is_empty())
        .collect();
    format!("{}{}", list(&lines), paragraph(&sentences.join(" ")))
}

/// A factor's label in the writer's words, or the trial's.
pub(super) fn factor_name(story: &Story, factor: &Factor) -> String {
    story.edits.worded(&factor.label).to_owned()
}

fn facts(story: &Story) -> Vec<String> {
    let language = story.language;
    let message = |name: &str| match name {
        "site" => Some("about-site"),
        "variety" => Some("about-variety"),
        "rootstock" => Some("about-rootstock"),
        "soil" => Some("about-soil"),
        "training" => Some("about-training"),
        "planted" => Some("about-planted"),
        _ => None,
    };
    let place = |name: &String| {
        let known = FACTS.iter().position(|fact| fact == name);
        known.unwrap_or(FACTS.len())
    };
    let mut about: Vec<&(String, String)> = story.report.about.iter().collect();
    about.sort_by_key(|(name, _)| place(name));
    about
        .iter()
        .map(|(name, text)| {
            let name = match message(name) {
                Some(message) => language.text(message),
                None => story.edits.worded(name).to_owned(),
            };
            let text = story.edits.worded(text);
            let values: [(&str, Said); 2] = [("name", name.into()), ("text", text.into())];
            escaped(&language.say("about-line", &values))
        })
        .collect()
}

fn plots(story: &Story) -> String {
    let field = story.field;
    let split = story
        .report
        .trial
        .factors
        .iter()
        .any(|factor| factor.role != Role::Treatment);
    let values: [(&str, Said); 2] = [
        ("plots", field.plots.into()),
        ("blocks", field.blocks.into()),
    ];
    match field.plots {
        0 => String::new(),
        _ if split && field.blocks > 0 => story.language.say("done-plots-split", &values),
        _ => story.language.say("done-plots", &values),
    }
}

fn vines(story: &Story) -> Option<String> {
    let (low, high) = story.field.vines?;
    Some(if low == high {
        story.language.say("done-vines", &[("n", low.into())])
    } else {
        story.language.say(
            "done-vines-range",
            &[("low", low.into()), ("high", high.into())],
        )
    })
}

fn seasons(story: &Story) -> Option<String> {
    let seasons = &story.report.trial.seasons;
    let (first, last) = (seasons.first()?, seasons.last()?);
    Some(story.language.say(
        "done-seasons",
        &[
            ("n", seasons.len().into()),
            ("first", first.into()),
            ("last", last.into()),
        ],
    ))
}

/// Spacing in both units, and the vines planted.
fn spacing(story: &Story) -> Option<String> {
    let vineyard = &story.report.trial.vineyard;
    let (row, vine) = (vineyard.row_spacing_m?, vineyard.vine_spacing_m?);
    let language = story.language;
    let both = |metres: f64| {
        let metric = format!("{} m", language.number(metres, 1));
        // International foot, 0.3048 m exactly (NIST Special Publication 811, 2008, appendix B.8).
        let us = format!("{} ft", language.number(metres / 0.3048, 1));
        story.in_order(metric, us)
    };
    let hectare = 10_000.0 / (row * vine);
    // International acre, 4046.8564224 m² exactly (the same).
    let acre = 4_046.856_422_4 / (row * vine);
    let density = language.say(
        "done-density",
        &[
            ("ha", language.number(hectare, 0).into()),
            ("acre", language.number(acre, 0).into()),
        ],
    );
    Some(language.say(
        "done-spacing",
        &[
            ("row", both(row).into()),
            ("vine", both(vine).into()),
            ("density", density.into()),
        ],
    ))
}

impl Story<'_> {
    /// A metric amount and one of the United States, in the order the writer chose.
    pub(super) fn in_order(&self, metric: String, us: String) -> String {
        let (first, second) = match self.edits.first {
            super::amounts::First::Metric => (metric, us),
            super::amounts::First::Us => (us, metric),
        };
        self.language.say(
            "both-units",
            &[("first", first.into()), ("second", second.into())],
        )
    }
}
