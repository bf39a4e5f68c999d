//! Figures: adjusted means with their intervals, and from season to season.

use caneplot_plugin::findings::{Axis, Figure, Mark, Panel, Scale, Width};

use crate::marks::{foot, line, marks, means_words, raw, raw_words, verdict, x_axis, y_axis};
use crate::study::Study;
use crate::tests_table::unescaped;

/// Most lines that a reader can tell apart in one panel.
const MOST_SERIES: usize = 6;

/// The figures of a response, at most two.
pub(crate) fn of(study: &Study<'_>) -> Vec<Figure> {
    let mut all = Vec::new();
    let (p, pair) = most_joined(study);
    match pair {
        Some((a, b)) if p.is_some() => all.extend(two_margins(study, a, b)),
        _ => all.extend(one_margin(study, 0)),
    }
    all.extend(over_seasons(study));
    if study
        .season()
        .is_some_and(|season| (0..study.margins().len()).any(|at| study.clear(&[at, season])))
    {
        all.reverse();
    }
    all
}

/// The two margins whose interaction is least likely chance.
fn most_joined(study: &Study<'_>) -> (Option<f64>, Option<(usize, usize)>) {
    let count = study.margins().len();
    let mut best: (Option<f64>, Option<(usize, usize)>) = (None, None);
    for a in 0..count {
        for b in a + 1..count {
            let p = study.term(&[a, b]).and_then(|term| term.test).map(|t| t.p);
            if p.is_some_and(|p| best.0.is_none_or(|least| p < least)) {
                best = (p, Some((a, b)));
            }
        }
    }
    best
}

fn one_margin(study: &Study<'_>, factor: usize) -> Option<Figure> {
    let averages = study.averages();
    let means = study.means(&[factor], &[]);
    if means.estimates.iter().all(Option::is_none) {
        return None;
    }
    let (x, places) = x_axis(study, factor);
    let codes = &study.margins()[factor].codes;
    let mut drawn: Vec<Mark> = raw(study, &|unit| Some(places[codes[unit]]), None)
        .into_iter()
        .collect();
    drawn.extend(marks(study, &means, &places, None));
    let mut letter_words = String::new();
    let named = study.margins()[factor].quantities.is_none();
    if let Some(text) = (named && study.stands(factor) && study.clear(&[factor]))
        .then(|| study.letters(&means))
        .flatten()
    {
        let mut tops: Vec<f64> = (0..places.len())
            .map(|at| {
                means.estimates[at]
                    .and_then(|estimate| study.limits(&estimate))
                    .map(|(_, high)| high)
                    .or(study.mean(&means, at))
                    .unwrap_or(0.0)
            })
            .collect();
        for mark in &drawn {
            if let Mark::Points { x, y, .. } = mark {
                for (x, y) in x.iter().zip(y) {
                    if let Some(at) = places.iter().position(|place| place == x) {
                        tops[at] = tops[at].max(*y);
                    }
                }
            }
        }
        drawn.push(Mark::Letters {
            x: places.clone(),
            y: tops,
            text,
            series: None,
        });
        letter_words = " Means with a letter in common are not clearly different.".to_owned();
    }
    Some(Figure {
        id: "means".to_owned(),
        caption: format!(
            "Adjusted {averages} of {} by {}{}. Large points are {averages}{} ({}). Intervals of single {averages} are wider than those of differences.{letter_words}",
            unescaped(&study.name()),
            unescaped(&study.factor_words(factor)),
            study.over_seasons(),
            raw_words(study),
            foot(study, &means),
        ),
        alt: format!(
            "Adjusted {averages} of {}: {}. Differences between levels are {}.",
            unescaped(&study.name()),
            means_words(study, &means),
            verdict(study, &[factor])
        ),
        foot: Some(format!("{}.", foot(study, &means))),
        width: Width::Single,
        panels: vec![Panel {
            title: None,
            x,
            y: y_axis(study),
            marks: drawn,
        }],
        columns: 1,
        ..Figure::default()
    })
}

fn two_margins(study: &Study<'_>, a: usize, b: usize) -> Option<Figure> {
    let averages = study.averages();
    let size = |factor: usize| study.margins()[factor].labels.len();
    let numeric = |factor: usize| study.margins()[factor].quantities.is_some();
    // A quantity goes across; else the factor with more levels.
    let a_across = match (numeric(a), numeric(b)) {
        (true, false) => true,
        (false, true) => false,
        _ => size(a) >= size(b),
    };
    let (across, by) = match a_across {
        true => (a, b),
        false => (b, a),
    };
    if size(by) > MOST_SERIES {
        return one_margin(study, across);
    }
    let (x, places) = x_axis(study, across);
    let mut drawn = Vec::new();
    let margins = study.margins();
    for level in 0..size(by) {
        let means = study.means(&[across], &[(by, level)]);
        let place = |unit: usize| {
            (margins[by].codes[unit] == level).then(|| places[margins[across].codes[unit]])
        };
        drawn.extend(raw(study, &place, Some(level)));
        if numeric(across) {
            drawn.push(line(study, &means, &places, level));
        }
        drawn.extend(marks(study, &means, &places, Some(level)));
    }
    let all = study.means(&[across, by], &[]);
    Some(Figure {
        id: "means".to_owned(),
        caption: format!(
            "Adjusted {averages} of {} by {} and {}{}. Large points are {averages}{} ({}). Intervals of single {averages} are wider than those of differences.",
            unescaped(&study.name()),
            unescaped(&study.factor_words(across)),
            unescaped(&study.factor_words(by)),
            study.over_seasons(),
            raw_words(study),
            foot(study, &all)
        ),
        alt: format!(
            "Adjusted {averages} of {}: {}. Effect of {}: {}; of {}: {}; their interaction: {}.",
            unescaped(&study.name()),
            means_words(study, &all),
            unescaped(&study.factor_words(across)),
            verdict(study, &[across]),
            unescaped(&study.factor_words(by)),
            verdict(study, &[by]),
            verdict(study, &[a, b])
        ),
        foot: Some(format!("{}.", foot(study, &all))),
        width: Width::Middle,
        panels: vec![Panel {
            title: None,
            x,
            y: y_axis(study),
            marks: drawn,
        }],
        columns: 1,
        series: series_labels(study, by),
        series_title: Some(margins[by].label.clone()),
    })
}

fn series_labels(study: &Study<'_>, factor: usize) -> Vec<String> {
    let margin = &study.margins()[factor];
    margin
        .labels
        .iter()
        .map(|label| match (&margin.quantities, margin.unit.as_str()) {
            (Some(_), unit) if !unit.is_empty() => format!("{label} {unit}"),
            _ => label.clone(),
        })
        .collect()
}

/// Adjusted means from season to season of the margin whose effect changes most clearly.
fn over_seasons(study: &Study<'_>) -> Option<Figure> {
    let averages = study.averages();
    let season = study.season()?;
    let p = |factor: usize| {
        study
            .term(&[factor, season])
            .and_then(|term| term.test)
            .map_or(1.0, |test| test.p)
    };
    let factor = (0..study.margins().len())
        .filter(|&factor| study.margins()[factor].labels.len() <= MOST_SERIES)
        .min_by(|&a, &b| p(a).total_cmp(&p(b)))?;
    let seasons = study.seasons().to_vec();
    let places: Vec<f64> = (0..seasons.len()).map(|place| place as f64).collect();
    let mut drawn = Vec::new();
    for level in 0..study.margins()[factor].labels.len() {
        let means = study.means(&[season], &[(factor, level)]);
        drawn.push(line(study, &means, &places, level));
        drawn.extend(marks(study, &means, &places, Some(level)));
    }
    let all = study.means(&[factor, season], &[]);
    Some(Figure {
        id: "seasons".to_owned(),
        caption: format!(
            "Adjusted {averages} of {} by {} in each season ({}). Lines join the {averages} of one level.",
            unescaped(&study.name()),
            unescaped(&study.factor_words(factor)),
            foot(study, &all)
        ),
        alt: format!(
            "Adjusted {averages} of {}: {}. Change of the effect with the season: {}.",
            unescaped(&study.name()),
            means_words(study, &all),
            verdict(study, &[factor, season])
        ),
        foot: Some(format!("{}.", foot(study, &all))),
        width: Width::Middle,
        panels: vec![Panel {
            title: None,
            x: Axis {
                title: "Season".to_owned(),
                scale: Scale::Category { labels: seasons },
            },
            y: y_axis(study),
            marks: drawn,
        }],
        columns: 1,
        series: series_labels(study, factor),
        series_title: Some(study.margins()[factor].label.clone()),
    })
}
