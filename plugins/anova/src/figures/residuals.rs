//! The figure of the residuals: against what was fitted, and against the normal distribution.

use caneplot_numerics::distribution::normal_quantile;
use caneplot_plugin::findings::{Axis, Figure, Mark, Panel, Width};

use crate::study::Study;
use crate::tables::plain_label;
use crate::words;

/// The figure; `None` where nothing is left to look at.
pub(crate) fn of(study: &Study<'_>) -> Option<Figure> {
    let design = &study.planned.design;
    let layout = &design.layout;
    let error = study.variance.errors[design.plots];
    if error.df == 0 || error.sum_of_squares == 0.0 {
        return None;
    }
    let residuals = study.residuals();
    let fitted = layout.fitted(&study.variance.swept, design.plots);
    let fitted: Vec<f64> = layout.strata()[design.plots]
        .cells
        .first()
        .iter()
        .map(|&unit| study.response.offset + fitted[unit])
        .collect();
    let count = residuals.len();
    let mut sorted = residuals.to_vec();
    sorted.sort_by(f64::total_cmp);
    // Blom's (1958) places for the expected normal order.
    let places: Vec<f64> = (1..=count)
        .map(|rank| normal_quantile((rank as f64 - 0.375) / (count as f64 + 0.25)).ok())
        .collect::<Option<_>>()?;
    let spread = (residuals.iter().map(|r| r * r).sum::<f64>() / count as f64).sqrt();
    let (first, last) = (*places.first()?, *places.last()?);
    let unit = study.unit();
    let axis = |title: String| Axis {
        title,
        ..Axis::default()
    };
    Some(Figure {
        id: "residuals".to_owned(),
        caption: format!(
            "Residuals of {} of {count} plots{}: against the fitted values (left) and against the values expected of a normal distribution (right; the line is where normal residuals would lie).",
            plain_label(study),
            if study.seasons().is_empty() {
                ""
            } else {
                ", means over the seasons"
            }
        ),
        alt: format!(
            "Two panels with the residuals of {count} plots. Left, residuals against fitted values around a line at zero; right, sorted residuals against normal quantiles with a reference line. {}",
            alt_of(study)
        ),
        foot: None,
        width: Width::Double,
        panels: vec![
            Panel {
                title: None,
                x: axis(words::axis("Fitted value", unit)),
                y: axis(words::axis("Residual", unit)),
                marks: vec![
                    Mark::Rule {
                        y: Some(0.0),
                        x: None,
                        label: None,
                    },
                    Mark::Points {
                        x: fitted,
                        y: residuals.to_vec(),
                        series: None,
                        faint: false,
                    },
                ],
            },
            Panel {
                title: None,
                x: axis("Normal quantile".to_owned()),
                y: axis(words::axis("Residual", unit)),
                marks: vec![
                    Mark::Line {
                        x: vec![first, last],
                        y: vec![first * spread, last * spread],
                        series: None,
                        dashed: true,
                    },
                    Mark::Points {
                        x: places,
                        y: sorted,
                        series: None,
                        faint: false,
                    },
                ],
            },
        ],
        columns: 2,
        series: Vec::new(),
        series_title: None,
    })
}

/// The one number a reader who cannot see the figure needs.
fn alt_of(study: &Study<'_>) -> String {
    match caneplot_numerics::diagnose::shapiro_wilk(study.residuals()) {
        Ok(found) if found.p < study.options.level => {
            "The residuals stray from a normal distribution.".to_owned()
        }
        Ok(_) => "The residuals give no sign against a normal distribution.".to_owned(),
        Err(_) => String::new(),
    }
}
