//! Invented figures that use every mark, as the analyses describe them; the tests draw them all.

mod relations;
mod treatments;

use caneplot_plugin::findings::{Axis, Figure, Mark, Panel, Scale};

fn numbers(title: &str) -> Axis {
    Axis {
        title: title.to_owned(),
        scale: Scale::default(),
    }
}

fn from(title: &str, from: f64) -> Axis {
    Axis {
        title: title.to_owned(),
        scale: Scale::Linear {
            from: Some(from),
            to: None,
            ticks: Vec::new(),
        },
    }
}

fn levels(title: &str, ticks: &[f64]) -> Axis {
    Axis {
        title: title.to_owned(),
        scale: Scale::Linear {
            from: None,
            to: None,
            ticks: ticks.to_vec(),
        },
    }
}

fn names(title: &str, labels: &[&str]) -> Axis {
    Axis {
        title: title.to_owned(),
        scale: Scale::Category {
            labels: words(labels),
        },
    }
}

fn words(words: &[&str]) -> Vec<String> {
    words.iter().map(|word| (*word).to_owned()).collect()
}

fn wave(i: usize) -> f64 {
    let phase = (i as f64 * 0.754_877_666).fract();
    (phase * 2.0 - 1.0) * (1.0 - 0.4 * (i as f64 * 0.569_840_29).fract())
}

fn figure(id: &str, alt: &str, panels: Vec<Panel>) -> Figure {
    Figure {
        id: id.to_owned(),
        alt: alt.to_owned(),
        columns: panels.len() as u32,
        panels,
        ..Figure::default()
    }
}

fn group(
    means: &[f64],
    error: f64,
    letters: &[&str],
    series: Option<usize>,
    reps: usize,
) -> Vec<Mark> {
    let places: Vec<f64> = (0..means.len()).map(|i| i as f64).collect();
    let mut raw = (Vec::new(), Vec::new());
    for (i, mean) in means.iter().enumerate() {
        for rep in 0..reps {
            raw.0.push(i as f64);
            raw.1
                .push(mean + 1.6 * error * wave(i * 7 + rep + series.unwrap_or(0) * 13));
        }
    }
    let low: Vec<f64> = means.iter().map(|m| m - error).collect();
    let high: Vec<f64> = means.iter().map(|m| m + error).collect();
    let mut marks = vec![
        Mark::Points {
            x: raw.0,
            y: raw.1,
            series,
            faint: true,
        },
        Mark::Interval {
            x: places.clone(),
            low,
            high: high.clone(),
            series,
        },
        Mark::Points {
            x: places.clone(),
            y: means.to_vec(),
            series,
            faint: false,
        },
    ];
    if !letters.is_empty() {
        marks.push(Mark::Letters {
            x: places,
            y: high,
            text: words(letters),
            series,
        });
    }
    marks
}

pub fn samples() -> Vec<Figure> {
    vec![
        treatments::means(),
        treatments::seasons(),
        relations::response(),
        relations::response_by_season(),
        relations::residuals(),
        relations::trade_off(),
        relations::ratio(),
        relations::field(),
        treatments::long_labels(),
        treatments::many_labels(),
        treatments::columns(),
        treatments::panels(),
        relations::differences(),
        treatments::crowded_letters(),
    ]
}
