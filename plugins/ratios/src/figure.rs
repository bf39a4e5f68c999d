//! The figures of a ratio: by treatment, and by season where there are several.

use caneplot_plugin::findings::{Axis, Figure, Mark, Panel, Scale, Width};

use crate::beside::{edges, range_words};
use crate::ranges::{Range, citation};
use crate::report::{Entry, Report};
use crate::tables::level_names;
use crate::verdict::judging_range;

/// A figure by season has at most this many series.
const MOST_SERIES: usize = 6;

/// The figures of a section.
#[must_use]
pub fn figures(report: &Report<'_>) -> Vec<Figure> {
    let mut found = Vec::new();
    if !report.is_never_complete() {
        found.push(by_treatment(report));
    }
    let few = report.groups[0].treatments.len() <= MOST_SERIES;
    if report.seasons.len() > 1 && few {
        found.push(by_season(report));
    }
    found
}

/// Where the treatments of the first group stand.
enum Places {
    /// On the quantity of the one factor.
    Quantity(Vec<f64>),
    /// Levels of the last of two factors, the first factor as series.
    Crossed,
    /// Side by side.
    Named,
}

fn places(report: &Report<'_>) -> Places {
    match report.trial.factors.as_slice() {
        [factor] if factor.is_numeric() => {
            let values = factor.levels.iter().filter_map(|level| level.value);
            Places::Quantity(values.collect())
        }
        [first, _] if first.levels.len() <= MOST_SERIES => Places::Crossed,
        _ => Places::Named,
    }
}

impl Places {
    /// Horizontal place and series of a combination of levels that is number `at` in its group.
    fn of(&self, levels: &[usize], at: usize) -> (f64, Option<usize>) {
        match (self, levels) {
            (Places::Quantity(values), [level]) => (values[*level], None),
            (Places::Crossed, [series, level]) => (*level as f64, Some(*series)),
            _ => (at as f64, None),
        }
    }
}

fn by_treatment(report: &Report<'_>) -> Figure {
    let places = places(report);
    let entries = report.entries(&report.overall, 0);
    let treatments = &report.groups[0].treatments;
    let (axis, series, series_title) = match &places {
        Places::Quantity(values) => {
            let factor = &report.trial.factors[0];
            let unit = factor
                .unit
                .as_ref()
                .map_or(String::new(), |u| format!(" ({u})"));
            let axis = Axis {
                title: format!("{}{unit}", factor.label),
                scale: Scale::Linear {
                    from: None,
                    to: None,
                    ticks: values.clone(),
                },
            };
            (axis, Vec::new(), None)
        }
        Places::Crossed => (
            named_axis(&report.trial.factors[1].label, level_names(report, 1)),
            level_names(report, 0),
            Some(report.trial.factors[0].label.clone()),
        ),
        Places::Named => {
            let title = report
                .trial
                .factors
                .first()
                .map_or("", |f| f.label.as_str());
            let labels = treatments.iter().map(|t| t.label.clone()).collect();
            (named_axis(title, labels), Vec::new(), None)
        }
    };
    let mut marks = zones(report, &entries);
    for chosen in series_or_none(series.len()) {
        let (mut x, mut y) = (Vec::new(), Vec::new());
        for plot in &report.overall.plots.plots {
            let at = treatments
                .iter()
                .position(|t| t.has(plot))
                .unwrap_or_default();
            let (place, own) = places.of(&plot.levels, at);
            if own == chosen {
                x.push(place);
                y.push(report.overall.plots.ratio(plot));
            }
        }
        marks.push(Mark::Points {
            x,
            y,
            series: chosen,
            faint: true,
        });
    }
    for chosen in series_or_none(series.len()) {
        let placed = entries.iter().filter_map(|entry| {
            let levels: Vec<usize> = entry.treatment.levels.iter().flatten().copied().collect();
            let (place, own) = places.of(&levels, entry.at);
            (own == chosen).then_some((place, entry))
        });
        marks.extend(ratio_marks(placed, chosen));
    }
    Figure {
        id: "treatments".to_owned(),
        caption: caption(report, "by treatment"),
        alt: alt(report, &entries),
        foot: Some(foot(report, &entries)),
        width: if series.is_empty() {
            Width::Single
        } else {
            Width::Middle
        },
        panels: vec![Panel {
            title: None,
            x: axis,
            y: Axis {
                title: report.axis_title(),
                scale: Scale::default(),
            },
            marks,
        }],
        columns: 1,
        series,
        series_title,
    }
}

fn by_season(report: &Report<'_>) -> Figure {
    let entries = report.entries(&report.overall, 0);
    let mut marks = zones(report, &entries);
    let names = |season: &usize| report.trial.seasons[*season].clone();
    let labels = report
        .seasons
        .iter()
        .map(|(season, _)| names(season))
        .collect();
    let windows: Vec<_> = report
        .seasons
        .iter()
        .map(|(_, window)| report.entries(window, 0))
        .collect();
    let treatments = &report.groups[0].treatments;
    for series in 0..treatments.len() {
        let placed = windows.iter().enumerate().filter_map(|(place, entries)| {
            let entry = entries.iter().find(|entry| entry.at == series)?;
            Some((place as f64, entry))
        });
        marks.extend(ratio_marks(placed, Some(series)));
    }
    let title = match report.trial.factors.as_slice() {
        [factor] => factor.label.clone(),
        _ => "Treatment".to_owned(),
    };
    Figure {
        id: "seasons".to_owned(),
        caption: caption(report, "by season"),
        alt: format!(
            "{} of each treatment in each of {} seasons, with intervals.",
            report.ratio.label,
            report.seasons.len()
        ),
        foot: Some(format!(
            "Bars: {}s of the ratio of means",
            report.interval_words()
        )),
        width: Width::Middle,
        panels: vec![Panel {
            title: None,
            x: named_axis("Season", labels),
            y: Axis {
                title: report.axis_title(),
                scale: Scale::default(),
            },
            marks,
        }],
        columns: 1,
        series: treatments.iter().map(|t| t.label.clone()).collect(),
        series_title: Some(title),
    }
}

fn named_axis(title: &str, labels: Vec<String>) -> Axis {
    Axis {
        title: title.to_owned(),
        scale: Scale::Category { labels },
    }
}

/// Each series, or the one without a name.
fn series_or_none(count: usize) -> Vec<Option<usize>> {
    if count == 0 {
        vec![None]
    } else {
        (0..count).map(Some).collect()
    }
}

/// Points with their intervals; a ratio without a finite interval has its point only.
fn ratio_marks<'a>(
    placed: impl Iterator<Item = (f64, &'a Entry<'a>)>,
    series: Option<usize>,
) -> Vec<Mark> {
    let (mut x, mut y) = (Vec::new(), Vec::new());
    let (mut at, mut low, mut high) = (Vec::new(), Vec::new(), Vec::new());
    for (place, entry) in placed {
        x.push(place);
        y.push(entry.estimate.ratio);
        if let Some((from, to)) = entry.estimate.interval() {
            at.push(place);
            low.push(from);
            high.push(to);
        }
    }
    let mut marks = Vec::new();
    if !at.is_empty() {
        marks.push(Mark::Interval {
            x: at,
            low,
            high,
            series,
        });
    }
    if !x.is_empty() {
        marks.push(Mark::Points {
            x,
            y,
            series,
            faint: false,
        });
    }
    marks
}

/// The ranges that may judge the treatments shown, each once, as shaded zones.
fn zones(report: &Report<'_>, entries: &[Entry<'_>]) -> Vec<Mark> {
    let mut found: Vec<&Range> = Vec::new();
    for entry in entries {
        let range = judging_range(
            report.ratio.index,
            &report.ratio.unit,
            entry.treatment.canopy,
            report.trial.vineyard.grape.as_deref(),
        );
        if let Ok(range) = range
            && !found.contains(&range)
        {
            found.push(range);
        }
    }
    let zone = |range: &Range| match edges(range, &report.ratio.unit) {
        Some((Some(low), Some(high))) => Some(Mark::Zone {
            low,
            high,
            label: Some(format!(
                "{}, {}",
                range_words(range),
                citation(range.source).0
            )),
        }),
        _ => None,
    };
    found.into_iter().filter_map(zone).collect()
}

fn caption(report: &Report<'_>, by: &str) -> String {
    let when = report.when();
    let when = if by == "by season" || when.is_empty() {
        String::new()
    } else {
        format!(", {when}")
    };
    let raw = if by == "by season" {
        ""
    } else {
        "; small points: the ratios of the plots"
    };
    let zone = if zones(report, &report.entries(&report.overall, 0)).is_empty() {
        ""
    } else {
        ". The shaded zone is the published range, with its source in the table of ranges"
    };
    format!(
        "{} {by}{when}: ratio of means with its {} ({}){raw}{zone}.",
        report.ratio.label,
        report.interval_words(),
        plots_words(&report.entries(&report.overall, 0)),
    )
}

/// "n = 5 plots a treatment", or from … to ….
fn plots_words(entries: &[Entry<'_>]) -> String {
    let counts = || entries.iter().map(|entry| entry.estimate.plots);
    match (counts().min(), counts().max()) {
        (Some(least), Some(most)) if least == most => format!("n = {least} plots a treatment"),
        (Some(least), Some(most)) => format!("n = {least} to {most} plots a treatment"),
        _ => "no plots".to_owned(),
    }
}

fn foot(report: &Report<'_>, entries: &[Entry<'_>]) -> String {
    format!(
        "{}; bars: {}s; small points: plots",
        plots_words(entries),
        report.interval_words()
    )
}

fn alt(report: &Report<'_>, entries: &[Entry<'_>]) -> String {
    let by = |a: &&Entry<'_>, b: &&Entry<'_>| a.estimate.ratio.total_cmp(&b.estimate.ratio);
    match (entries.iter().min_by(by), entries.iter().max_by(by)) {
        (Some(least), Some(most)) if least.at != most.at => format!(
            "{} is lowest for {} and highest for {}.",
            report.ratio.label, least.treatment.label, most.treatment.label
        ),
        _ => format!("{} of one treatment.", report.ratio.label),
    }
}
