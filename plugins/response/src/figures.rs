//! Figures of a study: the curve over all, and the curves of seasons or of another factor's levels.

use caneplot_numerics::curves::Shape;
use caneplot_plugin::findings::{Axis, Figure, Mark, Panel, Scale, Width};
use caneplot_plugin::words::{axis, counted};

use crate::place::Event;
use crate::study::{Fitted, Group, Study};
use crate::voice::shape_words;

/// Points along a curve.
const STEPS: usize = 80;
/// Most curves that a reader can tell apart in one panel.
const MOST_SERIES: usize = 7;

/// The figures of a study, at most three.
pub(crate) fn of(study: &Study<'_>) -> Vec<Figure> {
    let mut all: Vec<Figure> = study
        .overall
        .iter()
        .map(|fitted| one(study, fitted))
        .collect();
    for (at, group) in study.groups.iter().enumerate() {
        if all.len() < 3 {
            all.extend(several(study, group, at));
        }
    }
    all
}

fn x_axis(study: &Study<'_>, amounts: &[f64]) -> Axis {
    Axis {
        title: axis(&study.factor.label, study.unit()),
        scale: Scale::Linear {
            from: None,
            to: None,
            ticks: amounts.to_vec(),
        },
    }
}

fn y_axis(study: &Study<'_>) -> Axis {
    Axis {
        title: axis(&study.response.label, study.y()),
        ..Axis::default()
    }
}

/// Places along the range, with the join among them so that a kink is a kink.
fn places(fitted: &Fitted) -> Vec<f64> {
    let (low, high) = fitted.levels.range();
    let mut all: Vec<f64> = (0..=STEPS)
        .map(|step| low + (high - low) * step as f64 / STEPS as f64)
        .collect();
    if fitted.fit.curve.shape.has_join() {
        all.push(fitted.fit.curve.second.clamp(low, high));
    }
    all.sort_by(f64::total_cmp);
    all.dedup();
    all
}

fn curve(study: &Study<'_>, fitted: &Fitted, series: Option<usize>) -> Mark {
    let x = places(fitted);
    Mark::Line {
        y: x.iter()
            .map(|&x| study.response.offset + fitted.height(x))
            .collect(),
        x,
        series,
        dashed: false,
    }
}

/// Means with bars of one standard error.
fn means(study: &Study<'_>, fitted: &Fitted, series: Option<usize>) -> [Mark; 2] {
    let levels = &fitted.levels;
    let value = |at: usize| study.response.offset + levels.means[at].value;
    let error = |at: usize| {
        levels.means[at]
            .standard_error(&levels.error)
            .unwrap_or(0.0)
    };
    let every = |of: &dyn Fn(usize) -> f64| (0..levels.count()).map(of).collect::<Vec<_>>();
    [
        Mark::Interval {
            x: levels.amounts.clone(),
            low: every(&|at| value(at) - error(at)),
            high: every(&|at| value(at) + error(at)),
            series,
        },
        Mark::Points {
            x: levels.amounts.clone(),
            y: every(&value),
            series,
            faint: false,
        },
    ]
}

/// "n = 4 plots a level", "n = 3 to 4 plots a level", over all the curves of a figure.
fn behind<'f>(study: &Study<'_>, fitted: impl Iterator<Item = &'f Fitted> + Clone) -> String {
    let counts = fitted.flat_map(|fitted| fitted.levels.counts.iter().copied());
    let (least, most) = (counts.clone().min().unwrap_or(0), counts.max().unwrap_or(0));
    if least == most {
        format!("n = {} a level", counted(most, study.noun))
    } else {
        format!("n = {least} to {most} {}s a level", study.noun)
    }
}

fn one(study: &Study<'_>, fitted: &Fitted) -> Figure {
    let offset = study.response.offset;
    let x = places(fitted);
    let heights: Vec<_> = x
        .iter()
        .map(|&x| fitted.levels.height(&fitted.fit, x))
        .collect();
    let edge = |sign: f64| -> Vec<f64> {
        heights
            .iter()
            .map(|height| offset + height.value + sign * fitted.half_width(height.unit_variance))
            .collect()
    };
    let (low_edge, high_edge) = (edge(-1.0), edge(1.0));
    let points = || fitted.points.iter().map(|point| offset + point.1);
    let bottom = points()
        .chain(low_edge.iter().copied())
        .fold(f64::INFINITY, f64::min);
    let top = points()
        .chain(high_edge.iter().copied())
        .fold(f64::NEG_INFINITY, f64::max);

    let mut marks = Vec::new();
    let confidence = study.options.confidence();
    let mut spot_words = String::new();
    if let Ok(spot) = &fitted.spot {
        let (lowest, highest) = fitted.levels.range();
        let what = match spot.event {
            Event::Join => "join",
            Event::Highest => "highest point",
            Event::Lowest => "lowest point",
            Event::NearlyLevel => "place where 95 % of the change is used up",
        };
        if let Some((from, to)) = spot.interval() {
            marks.push(Mark::Ribbon {
                x: vec![from.max(lowest), to.min(highest)],
                low: vec![bottom; 2],
                high: vec![top; 2],
                series: None,
            });
            spot_words = format!(
                "; the upright line is the {what} and the pale strip around it its {confidence} interval"
            );
        } else {
            spot_words = format!("; the upright line is the {what}, which has no closed interval");
        }
        marks.push(Mark::Rule {
            y: None,
            x: Some(spot.at),
            label: None,
        });
    }
    marks.push(Mark::Ribbon {
        x: x.clone(),
        low: low_edge,
        high: high_edge,
        series: None,
    });
    marks.push(Mark::Points {
        x: fitted.points.iter().map(|point| point.0).collect(),
        y: points().collect(),
        series: None,
        faint: true,
    });
    marks.push(curve(study, fitted, None));
    marks.extend(means(study, fitted, None));
    let over = if study.seasons > 1 {
        format!(", each the mean of {} seasons", study.seasons)
    } else {
        String::new()
    };
    let behind = behind(study, std::iter::once(fitted));
    Figure {
        id: "curve".to_owned(),
        caption: format!(
            "{} over {}: {} fitted to the level means. Faint points are {}s{over}; points with bars are adjusted means ± 1 standard error ({behind}); the band is the pointwise {confidence} confidence interval of the curve{spot_words}.",
            study.response.label,
            study.factor_name(),
            shape_words(fitted.fit.curve.shape),
            study.noun
        ),
        alt: alt(study, fitted),
        foot: Some(format!(
            "{behind}{over}; bars ± 1 standard error; band {confidence} interval of the curve"
        )),
        width: Width::Single,
        panels: vec![Panel {
            title: None,
            x: x_axis(study, &fitted.levels.amounts),
            y: y_axis(study),
            marks,
        }],
        columns: 1,
        ..Figure::default()
    }
}

/// The finding in words.
fn alt(study: &Study<'_>, fitted: &Fitted) -> String {
    let (low, high) = fitted.levels.range();
    let digits = usize::from(study.decimals);
    let value = |x: f64| format!("{:.digits$}", study.response.offset + fitted.height(x));
    let place = |x: f64| match study.of_amounts(fitted) {
        caneplot_plugin::findings::Format::Decimals(decimals) => {
            format!("{x:.*}", usize::from(decimals))
        }
        _ => x.to_string(),
    };
    let course = match (&fitted.spot, fitted.fit.curve.shape) {
        (_, Shape::Flat) => "no clear change".to_owned(),
        (Ok(spot), _) => {
            let what = match spot.event {
                Event::Join if spot.or_below => "level from, at the latest,",
                Event::Join => "level from",
                Event::Highest => "highest at",
                Event::Lowest => "lowest at",
                Event::NearlyLevel => "nearly level from",
            };
            let interval = spot.interval().map_or_else(
                || ", without a closed interval".to_owned(),
                |(from, to)| {
                    format!(
                        " ({} interval {} to {})",
                        study.options.confidence(),
                        place(from),
                        place(to)
                    )
                },
            );
            format!("{what} about {}{interval}", place(spot.at))
        }
        (Err(_), _) => "no place inside the range where it levels off or turns".to_owned(),
    };
    let of = axis(&study.response_name(), study.y());
    format!(
        "A curve of {of} from {} at {} to {} at {} {}: {course}.",
        value(low),
        place(low),
        value(high),
        place(high),
        study.unit()
    )
}

/// Curves of the members of a group in one panel.
fn several(study: &Study<'_>, group: &Group, at: usize) -> Option<Figure> {
    let fitted: Vec<(&str, &Fitted)> = group.fitted().collect();
    if fitted.len() < 2 || fitted.len() > MOST_SERIES {
        return None;
    }
    let mut marks = Vec::new();
    let mut amounts: Vec<f64> = Vec::new();
    for (series, (_, it)) in fitted.iter().enumerate() {
        marks.push(curve(study, it, Some(series)));
        marks.extend(means(study, it, Some(series)));
        amounts.extend(&it.levels.amounts);
    }
    amounts.sort_by(f64::total_cmp);
    amounts.dedup();
    let what = if group.seasons { "season" } else { "level" };
    let shapes: Vec<String> = fitted
        .iter()
        .map(|(name, it)| format!("{name}: {}", shape_words(it.fit.curve.shape)))
        .collect();
    let verdict = match group.test.whole.and_then(|line| line.p) {
        Some(_) if group.differs(study.options.level) => "the curves differ",
        Some(_) => "no clear sign that the curves differ",
        None => "whether the curves differ is not tested",
    };
    let noun = if group.seasons { "Season" } else { &group.noun };
    let behind = behind(study, fitted.iter().map(|(_, it)| *it));
    Some(Figure {
        id: if group.seasons {
            "seasons".to_owned()
        } else {
            format!("group{at}")
        },
        caption: format!(
            "{} over {}, each {what} with the shape chosen for it ({}). Points are adjusted means ± 1 standard error from the plots of that {what} alone ({behind}).",
            study.response.label,
            study.factor_name(),
            shapes.join("; ")
        ),
        alt: format!(
            "Curves of {} over {}; {verdict}. {}.",
            study.response_name(),
            study.factor_name(),
            shapes.join("; ")
        ),
        foot: Some(format!("{behind}, in each {what}; bars ± 1 standard error")),
        width: Width::Middle,
        panels: vec![Panel {
            title: None,
            x: x_axis(study, &amounts),
            y: y_axis(study),
            marks,
        }],
        columns: 1,
        series: fitted.iter().map(|(name, _)| (*name).to_owned()).collect(),
        series_title: Some(noun.to_owned()),
    })
}
