//! Means over one factor: places for names, a fitted curve for a quantity.

use caneplot_numerics::distribution::t_critical;
use caneplot_plugin::findings::{Figure, Mark, Width};

use super::marks::{
    axis_words, bars_words, mean_marks, means_words, one_panel, plot_values, raw_marks, verdict,
    x_axis,
};
use crate::compare::Rule;
use crate::study::Study;
use crate::trend::Trend;
use crate::words;

/// Points along a fitted curve.
const STEPS: usize = 60;

pub(super) fn one_factor(study: &Study<'_>, factor: usize) -> Option<Figure> {
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
        width: Width::Single,
        ..one_panel(study, term, x, marks)
    })
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
