//! Figures of means: over one factor, over two, and from season to season.

use caneplot_numerics::cells::Cells;
use caneplot_numerics::distribution::t_critical;
use caneplot_plugin::findings::{Axis, Figure, Mark, Panel, Scale, Width};

use crate::compare::Rule;
use crate::study::Study;
use crate::table::plain_label;
use crate::trend::Trend;
use crate::words;

/// Points along a fitted curve.
const STEPS: usize = 60;
/// Most lines that a reader can tell apart in one panel.
const MOST_SERIES: usize = 6;

/// The figures of means of a response, at most two.
pub(crate) fn of(study: &Study<'_>) -> Vec<Figure> {
    let count = study.trial.factors.len();
    let mut all = Vec::new();
    if count == 1 {
        all.extend(one_factor(study, 0));
    } else {
        let pairs = (0..count).flat_map(|a| (a + 1..count).map(move |b| (a, b)));
        let p = |pair: &(usize, usize)| {
            study
                .term(&[pair.0, pair.1], false)
                .and_then(|term| study.line(term).p)
                .unwrap_or(1.0)
        };
        // With three factors or more the pair whose interaction is least likely chance is shown.
        if let Some((a, b)) = pairs.min_by(|a, b| p(a).total_cmp(&p(b))) {
            all.extend(two_factors(study, a, b));
        }
    }
    all.extend(over_seasons(study));
    all
}

/// Values of the plots behind a table of means: the cell of each plot and its mean.
fn plot_values(study: &Study<'_>, term: usize) -> Vec<(usize, f64)> {
    let design = &study.planned.design;
    let cells = &study.planned.plans[term].cells;
    let plots = design.layout.strata()[design.plots].cells.of_unit();
    let both = Cells::crossing(design.layout.units(), [cells.of_unit(), plots]);
    let means = both.means(&study.values);
    both.first()
        .iter()
        .zip(means)
        .map(|(&unit, mean)| (cells.of_unit()[unit], study.response.offset + mean))
        .collect()
}

/// How many plots a mean rests on, in words.
fn plots_words(study: &Study<'_>, term: usize) -> String {
    let counts = &study.planned.plots_behind[term];
    let (least, most) = (
        counts.iter().min().copied().unwrap_or(0),
        counts.iter().max().copied().unwrap_or(0),
    );
    if least == most {
        format!("n = {}", words::counted(least, "plot"))
    } else {
        format!("n = {least} to {most} plots")
    }
}

fn bars_words(study: &Study<'_>, term: usize) -> String {
    let seasons = study.seasons().len();
    let over = if seasons > 0 && !study.has_season(term) {
        format!(", each the mean of {seasons} seasons")
    } else {
        String::new()
    };
    let has_error = study.tables[term].of_mean.iter().any(Option::is_some);
    let bars = if has_error {
        "; bars are ± 1 standard error"
    } else {
        ""
    };
    format!("{}{over}{bars}", plots_words(study, term))
}

fn y_axis(study: &Study<'_>) -> Axis {
    Axis {
        title: words::axis(&study.response.label, &study.response.unit),
        ..Axis::default()
    }
}

/// The axis of a factor and the place of each level on it.
fn x_axis(study: &Study<'_>, factor: usize) -> (Axis, Vec<f64>) {
    let about = study.factor(factor);
    let labels: Vec<String> = (0..study.levels(factor).len())
        .map(|level| study.level_label(factor, level))
        .collect();
    match study.quantities(factor) {
        Some(quantities) => (
            Axis {
                title: words::axis(&about.label, about.unit.as_deref().unwrap_or("")),
                scale: Scale::Linear {
                    from: None,
                    to: None,
                    ticks: quantities.clone(),
                },
            },
            quantities,
        ),
        None => (
            Axis {
                title: about.label.clone(),
                scale: Scale::Category {
                    labels: labels.clone(),
                },
            },
            (0..labels.len()).map(|place| place as f64).collect(),
        ),
    }
}

/// Means with their bars at given places.
fn mean_marks(
    study: &Study<'_>,
    term: usize,
    cells: &[usize],
    places: &[f64],
    series: Option<usize>,
) -> Vec<Mark> {
    let means: Vec<f64> = cells.iter().map(|&cell| study.mean(term, cell)).collect();
    let errors: Vec<(f64, f64, f64)> = cells
        .iter()
        .zip(places)
        .zip(&means)
        .filter_map(|((&cell, &x), &mean)| {
            study
                .standard_error(term, cell)
                .map(|se| (x, mean - se, mean + se))
        })
        .collect();
    let mut marks = Vec::new();
    if !errors.is_empty() {
        marks.push(Mark::Interval {
            x: errors.iter().map(|bar| bar.0).collect(),
            low: errors.iter().map(|bar| bar.1).collect(),
            high: errors.iter().map(|bar| bar.2).collect(),
            series,
        });
    }
    marks.push(Mark::Points {
        x: places.to_vec(),
        y: means,
        series,
        faint: false,
    });
    marks
}

fn raw_marks(
    study: &Study<'_>,
    term: usize,
    places: &dyn Fn(usize) -> Option<f64>,
    series: Option<usize>,
) -> Mark {
    let points: Vec<(f64, f64)> = plot_values(study, term)
        .into_iter()
        .filter_map(|(cell, value)| places(cell).map(|x| (x, value)))
        .collect();
    Mark::Points {
        x: points.iter().map(|point| point.0).collect(),
        y: points.iter().map(|point| point.1).collect(),
        series,
        faint: true,
    }
}

fn one_factor(study: &Study<'_>, factor: usize) -> Option<Figure> {
    let term = study.term(&[factor], false)?;
    let (x, places) = x_axis(study, factor);
    let cells: Vec<usize> = (0..places.len()).collect();
    let mut marks = Vec::new();
    let mut curve_words = String::new();
    if let Some(trend) = study.trend(factor) {
        let degree = trend.degree(study.options.level);
        if degree > 0 {
            marks.extend(curve(study, &trend, degree));
            let kind = ["straight line", "quadratic curve", "cubic curve"][degree - 1];
            curve_words = format!(
                "; the {kind} is fitted to the means, the band is its pointwise {} confidence interval",
                study.options.confidence_words()
            );
        }
    }
    marks.push(raw_marks(
        study,
        term,
        &|cell| places.get(cell).copied(),
        None,
    ));
    marks.extend(mean_marks(study, term, &cells, &places, None));
    let rule = Rule::of(study.options.separation)
        .filter(|_| study.clear(term) && study.quantities(factor).is_none())
        .filter(|_| {
            !study
                .term(&[factor], true)
                .is_some_and(|crossed| study.clear(crossed))
        });
    let letters = rule.and_then(|rule| study.letters(term, &cells, rule).map(|text| (rule, text)));
    let letter_words = match letters {
        Some((rule, text)) => {
            // Letters clear the plots as well as the bars.
            let mut tops: Vec<f64> = cells
                .iter()
                .map(|&cell| {
                    study.mean(term, cell) + study.standard_error(term, cell).unwrap_or(0.0)
                })
                .collect();
            for (cell, value) in plot_values(study, term) {
                tops[cell] = tops[cell].max(value);
            }
            marks.push(Mark::Letters {
                x: places.clone(),
                y: tops,
                text,
                series: None,
            });
            format!(" {}", rule.words(&study.options.level_words()))
        }
        None => String::new(),
    };
    Some(Figure {
        id: "means".to_owned(),
        caption: format!(
            "{} by {}. Large points are means, small points plots ({}){curve_words}.{letter_words}",
            study.response.label,
            words::inside(&study.factor(factor).label),
            bars_words(study, term),
        ),
        alt: format!(
            "{}: {}. {}",
            axis_words(study),
            means_words(study, term),
            if curve_words.is_empty() {
                format!("Differences between levels are {}.", verdict(study, term))
            } else {
                "The trend is clear.".to_owned()
            }
        ),
        foot: Some(format!("{}.", bars_words(study, term))),
        width: Width::Single,
        panels: vec![Panel {
            title: None,
            x,
            y: y_axis(study),
            marks,
        }],
        columns: 1,
        series: Vec::new(),
        series_title: None,
    })
}

fn axis_words(study: &Study<'_>) -> String {
    format!("Mean {}", plain_label(study))
}

/// Every mean in words, for readers who cannot see the figure.
fn means_words(study: &Study<'_>, term: usize) -> String {
    let unit = if study.response.unit.is_empty() {
        String::new()
    } else {
        format!(" {}", study.response.unit)
    };
    let parts: Vec<String> = (0..study.tables[term].means.len())
        .map(|cell| {
            let mut name = study
                .cell_words(term, cell)
                .replace("{{", "{")
                .replace("}}", "}");
            if study.has_season(term)
                && let Some(&season) = study.cell_levels(term, cell).last()
            {
                name = format!("{name} in {}", study.seasons()[season]);
            }
            format!(
                "{name} {}",
                words::plain(study.mean(term, cell), study.response.decimals)
            )
        })
        .collect();
    format!("{}{unit}", parts.join(", "))
}

/// Whether the differences of a term are clear.
fn verdict(study: &Study<'_>, term: usize) -> &'static str {
    match study.line(term).p {
        Some(_) if study.clear(term) => "clear",
        Some(_) => "not clear",
        None => "not tested",
    }
}

/// The fitted curve of a trend with its band.
fn curve(study: &Study<'_>, trend: &Trend, degree: usize) -> Vec<Mark> {
    let means = &study.tables[trend.term].means;
    let order = |a: &&f64, b: &&f64| a.total_cmp(b);
    let (Some(&low), Some(&high)) = (
        trend.quantities.iter().min_by(order),
        trend.quantities.iter().max_by(order),
    ) else {
        return Vec::new();
    };
    let x: Vec<f64> = (0..=STEPS)
        .map(|step| low + (high - low) * step as f64 / STEPS as f64)
        .collect();
    let fitted: Vec<(f64, f64)> = x.iter().map(|&x| trend.curve(means, degree, x)).collect();
    let y: Vec<f64> = fitted
        .iter()
        .map(|(height, _)| study.response.offset + height)
        .collect();
    let stratum = study.planned.design.layout.terms()[trend.term].stratum;
    let error = study.variance.errors[stratum];
    let half = error.mean_square.and_then(|square| {
        let t = t_critical(study.options.level, error.df as f64).ok()?;
        Some(
            fitted
                .iter()
                .map(|(_, length)| t * (square * length).sqrt())
                .collect::<Vec<f64>>(),
        )
    });
    let mut marks = Vec::new();
    if let Some(half) = half {
        marks.push(Mark::Ribbon {
            x: x.clone(),
            low: y.iter().zip(&half).map(|(y, half)| y - half).collect(),
            high: y.iter().zip(&half).map(|(y, half)| y + half).collect(),
            series: None,
        });
    }
    marks.push(Mark::Line {
        x,
        y,
        series: None,
        dashed: false,
    });
    marks
}

fn two_factors(study: &Study<'_>, a: usize, b: usize) -> Option<Figure> {
    let term = study.term(&[a, b], false)?;
    let numeric = |factor: usize| study.quantities(factor).is_some();
    let size = |factor: usize| study.levels(factor).len();
    // A quantity goes across; else the factor with more levels.
    let a_across = match (numeric(a), numeric(b)) {
        (true, false) => true,
        (false, true) => false,
        _ => size(a) >= size(b),
    };
    let (across, series) = if a_across { (a, b) } else { (b, a) };
    let (across_at, series_at) = if a_across { (0, 1) } else { (1, 0) };
    let (x, places) = x_axis(study, across);
    let mut marks = Vec::new();
    for level in 0..size(series) {
        let cells: Vec<usize> = (0..study.tables[term].means.len())
            .filter(|&cell| study.cell_levels(term, cell)[series_at] == level)
            .collect();
        let own: Vec<f64> = cells
            .iter()
            .map(|&cell| places[study.cell_levels(term, cell)[across_at]])
            .collect();
        let place = |cell: usize| {
            let levels = study.cell_levels(term, cell);
            (levels[series_at] == level).then(|| places[levels[across_at]])
        };
        marks.push(raw_marks(study, term, &place, Some(level)));
        if numeric(across) {
            marks.push(Mark::Line {
                x: own.clone(),
                y: cells.iter().map(|&cell| study.mean(term, cell)).collect(),
                series: Some(level),
                dashed: false,
            });
        }
        marks.extend(mean_marks(study, term, &cells, &own, Some(level)));
    }
    Some(Figure {
        id: "means".to_owned(),
        caption: format!(
            "{} by {} and {}. Large points are means{}, small points plots ({}).",
            study.response.label,
            words::inside(&study.factor(across).label),
            words::inside(&study.factor(series).label),
            if numeric(across) {
                ", joined by lines"
            } else {
                ""
            },
            bars_words(study, term)
        ),
        alt: format!(
            "{}: {}. Effect of {}: {}; of {}: {}; their interaction: {}.",
            axis_words(study),
            means_words(study, term),
            words::inside(&study.factor(across).label),
            study
                .term(&[across], false)
                .map_or("not tested", |term| verdict(study, term)),
            words::inside(&study.factor(series).label),
            study
                .term(&[series], false)
                .map_or("not tested", |term| verdict(study, term)),
            verdict(study, term)
        ),
        foot: Some(format!("{}.", bars_words(study, term))),
        width: Width::Middle,
        panels: vec![Panel {
            title: None,
            x,
            y: y_axis(study),
            marks,
        }],
        columns: 1,
        series: (0..size(series))
            .map(|level| series_label(study, series, level))
            .collect(),
        series_title: Some(study.factor(series).label.clone()),
    })
}

/// A level in a legend: a quantity with its unit.
fn series_label(study: &Study<'_>, factor: usize, level: usize) -> String {
    match (&study.factor(factor).unit, study.quantities(factor)) {
        (Some(unit), Some(_)) => format!("{} {unit}", study.level_label(factor, level)),
        _ => study.level_label(factor, level),
    }
}

/// Whether the season decides how everything else is read, so that its figure comes first.
pub(crate) fn seasons_first(study: &Study<'_>) -> bool {
    (0..study.trial.factors.len())
        .filter_map(|factor| study.term(&[factor], true))
        .any(|term| study.clear(term))
}

/// Means from season to season of the factor whose effect changes most clearly with the season.
fn over_seasons(study: &Study<'_>) -> Option<Figure> {
    let (factor, term) = (0..study.trial.factors.len())
        .filter_map(|factor| study.term(&[factor], true).map(|term| (factor, term)))
        .min_by(|a, b| {
            let p = |term: usize| study.line(term).p.unwrap_or(1.0);
            p(a.1).total_cmp(&p(b.1))
        })?;
    let seasons: Vec<String> = study.seasons().to_vec();
    let levels = study.levels(factor).len();
    // A quantity goes across, so that each season is a response curve; names are followed in time.
    let curves = study.quantities(factor).is_some() && levels > 2 && seasons.len() <= MOST_SERIES;
    let by_season = !curves && (levels <= MOST_SERIES || levels <= seasons.len());
    let (x, places, names, title) = if by_season {
        let axis = Axis {
            title: "Season".to_owned(),
            scale: Scale::Category {
                labels: seasons.clone(),
            },
        };
        let places: Vec<f64> = (0..seasons.len()).map(|place| place as f64).collect();
        let names = (0..levels)
            .map(|level| series_label(study, factor, level))
            .collect();
        (axis, places, names, study.factor(factor).label.clone())
    } else {
        let (axis, places) = x_axis(study, factor);
        (axis, places, seasons.clone(), "Season".to_owned())
    };
    let names: Vec<String> = names;
    let mut marks = Vec::new();
    for series in 0..names.len() {
        let cells: Vec<usize> = (0..study.tables[term].means.len())
            .filter(|&cell| {
                let levels = study.cell_levels(term, cell);
                levels[usize::from(!by_season)] == series
            })
            .collect();
        marks.push(Mark::Line {
            x: places.clone(),
            y: cells.iter().map(|&cell| study.mean(term, cell)).collect(),
            series: Some(series),
            dashed: false,
        });
        marks.extend(mean_marks(study, term, &cells, &places, Some(series)));
    }
    Some(Figure {
        id: "seasons".to_owned(),
        caption: format!(
            "{} of each season by {} ({}). Lines join the means of one {}.",
            study.response.label,
            words::inside(&study.factor(factor).label),
            bars_words(study, term),
            if by_season { "level" } else { "season" }
        ),
        alt: format!(
            "{}: {}. Change of the effect with the season: {}.",
            axis_words(study),
            means_words(study, term),
            verdict(study, term)
        ),
        foot: Some(format!("{}.", bars_words(study, term))),
        width: Width::Middle,
        panels: vec![Panel {
            title: None,
            x,
            y: y_axis(study),
            marks,
        }],
        columns: 1,
        series: names,
        series_title: Some(title),
    })
}
