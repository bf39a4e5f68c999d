//! Figures of the crop: what it added up to season by season, and its height against its steadiness.

use caneplot_plugin::findings::{Axis, Figure, Mark, Panel, Scale, Width};
use caneplot_plugin::words;

use crate::measures::Measure;
use crate::sentences::leading_factor;
use crate::study::{Study, Whole};
use crate::tables::plain;

/// Most lines that a reader can tell apart in one panel.
const MOST_LINES: usize = 6;

/// The figures of a response with all its seasons.
pub(crate) fn of(study: &Study<'_>) -> Vec<Figure> {
    let Ok(whole) = &study.whole else {
        return Vec::new();
    };
    if study.seasons.len() < 2 {
        return Vec::new();
    }
    [added_up(study, whole), steadiness(study, whole)]
        .into_iter()
        .flatten()
        .collect()
}

/// The term whose treatments are drawn: combinations where they are few, else the leading factor.
fn term(study: &Study<'_>, whole: &Whole<'_>, most: usize) -> Option<usize> {
    let terms = &whole.analysed.planned.terms;
    let few = |term: &usize| {
        let treatments = terms[*term].treatments.as_ref();
        treatments.is_some_and(|treatments| treatments.count() <= most)
    };
    (1..terms.len())
        .rev()
        .find(|&term| terms[term].factors.len() == study.planner.trial().factors.len())
        .filter(few)
        .or_else(|| leading_factor(study, whole))
        .filter(few)
}

fn added_up(study: &Study<'_>, whole: &Whole<'_>) -> Option<Figure> {
    let term = term(study, whole, MOST_LINES)?;
    let treatments = whole.analysed.treatments(term)?;
    let columns = (1..=study.seasons.len())
        .map(|count| whole.column(Measure::Total(count)))
        .collect::<Option<Vec<usize>>>()?;
    let places: Vec<f64> = (0..columns.len()).map(|place| place as f64).collect();
    let mut marks = Vec::new();
    let mut barred = false;
    for at in 0..treatments.count() {
        let means: Vec<f64> = columns
            .iter()
            .map(|&c| whole.mean(term, c, at, study.response()))
            .collect();
        marks.push(Mark::Line {
            x: places.clone(),
            y: means.clone(),
            series: Some(at),
            dashed: false,
        });
        let errors: Option<Vec<f64>> = columns
            .iter()
            .map(|&c| whole.analysed.error_of_mean(term, c, at))
            .collect();
        if let Some(errors) = errors {
            barred = true;
            let ends = |sign: f64| {
                means
                    .iter()
                    .zip(&errors)
                    .map(|(m, e)| m + sign * e)
                    .collect()
            };
            marks.push(Mark::Interval {
                x: places.clone(),
                low: ends(-1.0),
                high: ends(1.0),
                series: Some(at),
            });
        }
        marks.push(Mark::Points {
            x: places.clone(),
            y: means,
            series: Some(at),
            faint: false,
        });
    }
    let calendar = study.planner.calendar;
    let last = *columns.last()?;
    let totals: Vec<String> = whole
        .analysed
        .by_mean(term, last)
        .into_iter()
        .map(|at| {
            let total = whole.mean(term, last, at, study.response());
            format!("{} {total:.1}", plain(&treatments.words(at)))
        })
        .collect();
    let bars = if barred {
        ", bars are ± 1 standard error"
    } else {
        ""
    };
    Some(Figure {
        id: "added-up".to_owned(),
        caption: format!(
            "{} added up season by season, by {} ({}{bars}).",
            study.response().label,
            words::inside(&treatments.heading()),
            plots_words(&treatments.compared.plots)
        ),
        alt: format!(
            "Totals after {} seasons, in {}: {}. {}",
            columns.len(),
            study.unit(),
            totals.join("; "),
            verdict(study, whole, term, last)
        ),
        foot: Some(format!(
            "{}{bars}.",
            plots_words(&treatments.compared.plots)
        )),
        width: Width::Middle,
        panels: vec![Panel {
            title: None,
            x: Axis {
                title: "Season".to_owned(),
                scale: Scale::Category {
                    labels: study
                        .seasons
                        .iter()
                        .map(|&s| calendar.label(s).to_owned())
                        .collect(),
                },
            },
            y: Axis {
                title: words::axis(
                    &format!("{}, added up", study.response().label),
                    study.unit(),
                ),
                ..Axis::default()
            },
            marks,
        }],
        columns: 1,
        series: (0..treatments.count())
            .map(|at| plain(&treatments.words(at)))
            .collect(),
        series_title: Some(treatments.heading()),
    })
}

/// Most names in one panel.
const MOST_NAMES: usize = 12;

fn steadiness(study: &Study<'_>, whole: &Whole<'_>) -> Option<Figure> {
    let term = term(study, whole, MOST_NAMES)?;
    let treatments = whole.analysed.treatments(term)?;
    let (mean, spread) = (whole.column(Measure::Mean)?, whole.column(Measure::Spread)?);
    let of = |column: usize| -> Vec<f64> {
        (0..treatments.count())
            .map(|at| whole.mean(term, column, at, study.response()))
            .collect()
    };
    let (x, y) = (of(mean), of(spread));
    let single = treatments.compared.factors.len() == 1;
    let names: Vec<String> = (0..treatments.count())
        .map(|at| {
            if single {
                plain(&treatments.words(at))
            } else {
                treatments.label(at)
            }
        })
        .collect();
    let parts: Vec<String> = names
        .iter()
        .zip(x.iter().zip(&y))
        .map(|(name, (mean, spread))| format!("{name} {mean:.2} and {spread:.2}"))
        .collect();
    let foot = format!("{} a point.", plots_words(&treatments.compared.plots));
    Some(Figure {
        id: "steadiness".to_owned(),
        caption: format!(
            "Mean {} of a season against its standard deviation between {} seasons, by {} ({} a point; both are worked out plot by plot and averaged). Lower is steadier.",
            words::inside(&study.response().label),
            study.seasons.len(),
            words::inside(&treatments.heading()),
            plots_words(&treatments.compared.plots)
        ),
        alt: format!(
            "Mean and standard deviation between seasons of each treatment, in {}: {}. {}",
            study.unit(),
            parts.join("; "),
            verdict(study, whole, term, spread)
        ),
        foot: Some(foot),
        width: if single { Width::Middle } else { Width::Double },
        panels: vec![Panel {
            title: None,
            x: Axis {
                title: words::axis(
                    &format!("Mean {}", words::inside(&study.response().label)),
                    study.unit(),
                ),
                ..Axis::default()
            },
            y: Axis {
                title: words::axis("Standard deviation between seasons", study.unit()),
                ..Axis::default()
            },
            marks: vec![
                Mark::Points {
                    x: x.clone(),
                    y: y.clone(),
                    series: None,
                    faint: false,
                },
                Mark::Names { x, y, text: names },
            ],
        }],
        columns: 1,
        series: Vec::new(),
        series_title: None,
    })
}

/// "n = 6 plots", or "n = 5 to 6 plots".
fn plots_words(plots: &[usize]) -> String {
    let least = plots.iter().min().copied().unwrap_or(0);
    let most = plots.iter().max().copied().unwrap_or(0);
    if least == most {
        format!("n = {}", words::counted(least, "plot"))
    } else {
        format!("n = {least} to {most} plots")
    }
}

/// Whether the treatments clearly differ in this number.
fn verdict(study: &Study<'_>, whole: &Whole<'_>, term: usize, column: usize) -> String {
    let factors = &whole.analysed.planned.terms[term].factors;
    let of_factors = whole.analysed.factors().filter(|&at| {
        whole.analysed.planned.terms[at]
            .factors
            .iter()
            .all(|factor| factors.contains(factor))
    });
    let clear: Vec<String> = of_factors
        .chain([term])
        .filter(|&at| study.clear(whole.analysed.test(at, column)))
        .map(|at| {
            let names: Vec<String> = whole.analysed.planned.terms[at]
                .factors
                .iter()
                .map(|&factor| words::inside(&study.planner.trial().factors[factor].label))
                .collect();
            names.join(" × ")
        })
        .collect();
    let mut clear = clear;
    clear.dedup();
    if clear.is_empty() {
        "No clear difference.".to_owned()
    } else {
        format!("Clear differences by {}.", words::list(&clear))
    }
}
