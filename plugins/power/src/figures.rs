//! Power against blocks for several numbers of vines, and against the size of the difference.

use caneplot_plugin::findings::{Axis, Figure, Mark, Panel, Scale, Width};

use crate::study::{Study, inside};
use crate::tables::{listed_blocks, vines_words};

/// Points of a curve over differences.
const POINTS: usize = 25;

pub(crate) fn figures(study: &Study) -> Vec<Figure> {
    blocks(study)
        .into_iter()
        .chain(differences(study))
        .collect()
}

fn power_axis() -> Axis {
    Axis {
        title: "Power".to_owned(),
        scale: Scale::Linear {
            from: Some(0.0),
            to: Some(1.0),
            ticks: Vec::new(),
        },
    }
}

fn wanted(study: &Study) -> Mark {
    Mark::Rule {
        y: Some(study.options.wanted),
        x: None,
        label: Some(format!("power {}", study.options.wanted)),
    }
}

fn blocks(study: &Study) -> Option<Figure> {
    if study.growths.is_empty() {
        return None;
    }
    let blocks = listed_blocks(study);
    let mut marks = vec![wanted(study)];
    for (series, (_, growth)) in study.growths.iter().enumerate() {
        let (mut x, mut y) = (Vec::new(), Vec::new());
        for &one in &blocks {
            if let Ok(power) = growth.power(one, 1.0, &study.options) {
                x.push(one as f64);
                y.push(power);
            }
        }
        let series = Some(series);
        marks.push(Mark::Line {
            x: x.clone(),
            y: y.clone(),
            series,
            dashed: false,
        });
        marks.push(Mark::Points {
            x,
            y,
            series,
            faint: false,
        });
    }
    let name = inside(&study.judged().name);
    let fewest = study.fewest.iter().map(|(vines, blocks)| match blocks {
        Some(blocks) => format!("{blocks} blocks with {}", vines_words(*vines)),
        None => format!("no number tried with {}", vines_words(*vines)),
    });
    let fewest: Vec<String> = fewest.collect();
    let what = if study.options.unit.is_empty() {
        format!("{:.3}", study.options.difference)
    } else {
        format!("{:.3} {}", study.options.difference, study.options.unit)
    };
    Some(Figure {
        id: "blocks".to_owned(),
        caption: format!(
            "Power of the test of {name} against the number of blocks, for a difference of {what}; no bars, since these are computed powers and not records."
        ),
        alt: format!(
            "Power rises with blocks; a power of {} is reached by {}.",
            study.options.wanted,
            caneplot_plugin::words::list(&fewest)
        ),
        width: Width::Middle,
        panels: vec![Panel {
            title: None,
            x: Axis {
                title: if study.frame.kind == caneplot_numerics::design::Kind::CompletelyRandomised
                {
                    "Plots of each treatment".to_owned()
                } else {
                    "Blocks".to_owned()
                },
                scale: Scale::default(),
            },
            y: power_axis(),
            marks,
        }],
        columns: 1,
        series: study
            .growths
            .iter()
            .map(|(vines, _)| vines_words(*vines))
            .collect(),
        ..Figure::default()
    })
}

fn differences(study: &Study) -> Option<Figure> {
    let blocks = study.planned.blocks;
    let (_, planned) = study
        .growths
        .iter()
        .find(|(vines, _)| *vines == study.options.vines)?;
    let mut numbers = vec![(blocks / 2).max(2), blocks, 2 * blocks];
    numbers.dedup();
    let reach = 2.0 * study.judged().detectable[1].max(0.5 * study.options.difference);
    let mut marks = vec![
        wanted(study),
        Mark::Rule {
            y: None,
            x: Some(study.options.difference),
            label: Some("matters".to_owned()),
        },
    ];
    for (series, &number) in numbers.iter().enumerate() {
        let (mut x, mut y) = (Vec::new(), Vec::new());
        for point in 0..=POINTS {
            let difference = reach * point as f64 / POINTS as f64;
            let times = difference / study.options.difference;
            if let Ok(power) = planned.power(number, times, &study.options) {
                x.push(difference);
                y.push(power);
            }
        }
        let series = Some(series);
        marks.push(Mark::Line {
            x: x.clone(),
            y: y.clone(),
            series,
            dashed: false,
        });
        let every = |values: &[f64]| values.iter().copied().skip(1).step_by(4).collect();
        marks.push(Mark::Points {
            x: every(&x),
            y: every(&y),
            series,
            faint: false,
        });
    }
    let title = caneplot_plugin::words::axis("Difference", &study.options.unit);
    let name = inside(&study.judged().name);
    Some(Figure {
        id: "differences".to_owned(),
        caption: format!(
            "Power of the test of {name} against the size of the difference, with {}; no bars, since these are computed powers and not records.",
            vines_words(study.options.vines)
        ),
        alt: format!(
            "Power rises with the difference; with {blocks} blocks it is {:.2} at the difference that matters.",
            study.judged().test.power
        ),
        width: Width::Middle,
        panels: vec![Panel {
            title: None,
            x: Axis {
                title,
                scale: Scale::default(),
            },
            y: power_axis(),
            marks,
        }],
        columns: 1,
        series: numbers
            .iter()
            .map(|number| format!("{number} blocks"))
            .collect(),
        ..Figure::default()
    })
}
