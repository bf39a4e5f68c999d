//! Two figures: what each price matters, and the chances.

use caneplot_plugin::findings::{Axis, Figure, Mark, Panel, Scale, Width};

use crate::sensitivity::moved;
use crate::study::Study;

/// The figures of a section.
pub(crate) fn figures(study: &Study<'_>) -> Vec<Figure> {
    let mut all: Vec<Figure> = study
        .leader()
        .and_then(|leader| tornado(study, leader))
        .into_iter()
        .collect();
    all.extend(chances(study));
    all
}

fn tornado(study: &Study<'_>, leader: usize) -> Option<Figure> {
    let all = moved(study, leader);
    let most = all.first()?;
    let net = study.first(study.net(leader));
    let places: Vec<f64> = (0..all.len()).map(|at| at as f64).collect();
    let ends = |of: fn(f64, f64) -> f64| -> Vec<f64> {
        all.iter()
            .map(|one| study.first(of(one.at[0], one.at[1])))
            .collect()
    };
    let labels: Vec<String> = all.iter().map(|one| one.what.clone()).collect();
    let unit = study.unit(study.prices.area);
    let (name, control) = (study.label(leader), study.label(study.set.control));
    Some(Figure {
        id: "what-matters".to_owned(),
        caption: format!(
            "Net change of {name} against {control} with one figure moved and the others as declared, the one that matters most on top. Bars run from the figure's lowest to its highest; the point is the net change as reckoned."
        ),
        alt: format!(
            "Horizontal bars of the net change in {unit}. What matters most is: {}.",
            most.what
        ),
        foot: Some("Bars: one figure at its lowest and highest. Point: as reckoned.".to_owned()),
        width: Width::Middle,
        panels: vec![Panel {
            title: None,
            x: Axis {
                title: format!("Net change ({unit})"),
                ..Axis::default()
            },
            y: Axis {
                title: String::new(),
                scale: Scale::Category { labels },
            },
            marks: vec![
                Mark::Rule {
                    x: Some(0.0),
                    y: None,
                    label: None,
                },
                Mark::Across {
                    low: ends(f64::min),
                    high: ends(f64::max),
                    y: places.clone(),
                    series: None,
                },
                Mark::Points {
                    x: vec![net; places.len()],
                    y: places,
                    series: None,
                    faint: false,
                },
            ],
        }],
        columns: 1,
        ..Figure::default()
    })
}

fn chances(study: &Study<'_>) -> Option<Figure> {
    let chances = study.chances.as_ref()?;
    let control = study.set.control;
    let percent =
        |of: &[f64], all: &[usize]| all.iter().map(|&at| 100.0 * of[at]).collect::<Vec<f64>>();
    let (others, every): (Vec<usize>, Vec<usize>) = (study.others(), (0..study.count()).collect());
    let places = |of: &[usize]| of.iter().map(|&at| at as f64).collect::<Vec<f64>>();
    let leader = study.leader()?;
    Some(Figure {
        id: "chances".to_owned(),
        caption: format!(
            "Chance that a treatment leaves more money than {}, and that it leaves most of all, from {} draws of what crop and measured work may truly be; prices as declared.",
            study.label(control),
            study.options.draws
        ),
        alt: format!(
            "Columns of chances: {} beats the control with a chance of {:.0} % and is best with {:.0} %.",
            study.label(leader),
            100.0 * chances.better[leader],
            100.0 * chances.best[leader]
        ),
        foot: Some(format!(
            "The control, {}, has no chance to beat itself.",
            study.label(control)
        )),
        width: Width::Middle,
        panels: vec![Panel {
            title: None,
            x: Axis {
                title: study
                    .set
                    .factors
                    .iter()
                    .map(|&at| study.trial.factors[at].label.clone())
                    .collect::<Vec<_>>()
                    .join(", "),
                scale: Scale::Category {
                    labels: every.iter().map(|&at| study.label(at)).collect(),
                },
            },
            y: Axis {
                title: "Chance (%)".to_owned(),
                scale: Scale::Linear {
                    from: Some(0.0),
                    to: Some(100.0),
                    ticks: Vec::new(),
                },
            },
            marks: vec![
                Mark::Bar {
                    x: places(&others),
                    y: percent(&chances.better, &others),
                    series: Some(0),
                },
                Mark::Bar {
                    x: places(&every),
                    y: percent(&chances.best, &every),
                    series: Some(1),
                },
            ],
        }],
        columns: 1,
        series: vec!["More than the control".to_owned(), "Most of all".to_owned()],
        series_title: None,
    })
}
