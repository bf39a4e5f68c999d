//! One number against another: curves, residuals, two responses, a field.

use caneplot_plugin::findings::{Figure, Mark, Panel, Width};

use super::{figure, from, group, levels, names, numbers, wave, words};

pub(super) fn response() -> Figure {
    let nodes = [12.0, 24.0, 36.0, 48.0];
    let curve = |x: f64| 2.1 + 0.21 * x - 0.0021 * x * x;
    let mut raw = (Vec::new(), Vec::new());
    for (i, x) in nodes.iter().enumerate() {
        for rep in 0..6 {
            raw.0.push(*x);
            raw.1.push(curve(*x) + 0.5 * wave(i * 5 + rep));
        }
    }
    let x: Vec<f64> = (0..=36).map(|i| 12.0 + f64::from(i)).collect();
    let y: Vec<f64> = x.iter().map(|x| curve(*x)).collect();
    let half = |x: f64| 0.18 + 0.0004 * (x - 30.0) * (x - 30.0);
    let means: Vec<f64> = nodes
        .iter()
        .enumerate()
        .map(|(i, x)| curve(*x) + 0.08 * wave(i))
        .collect();
    figure(
        "response",
        "Yield rises with node number and levels off at about 48 nodes.",
        vec![Panel {
            x: levels("Nodes left per vine", &nodes),
            y: from("Yield (kg vine^{-1})", 0.0),
            marks: vec![
                Mark::Ribbon {
                    low: x.iter().map(|x| curve(*x) - half(*x)).collect(),
                    high: x.iter().map(|x| curve(*x) + half(*x)).collect(),
                    x: x.clone(),
                    series: None,
                },
                Mark::Points {
                    x: raw.0,
                    y: raw.1,
                    series: None,
                    faint: true,
                },
                Mark::Line {
                    x,
                    y,
                    series: None,
                    dashed: false,
                },
                Mark::Interval {
                    x: nodes.to_vec(),
                    low: means.iter().map(|m| m - 0.2).collect(),
                    high: means.iter().map(|m| m + 0.2).collect(),
                    series: None,
                },
                Mark::Points {
                    x: nodes.to_vec(),
                    y: means,
                    series: None,
                    faint: false,
                },
                Mark::Rule {
                    x: Some(40.0),
                    y: None,
                    label: Some("95 % of the top".into()),
                },
            ],
            ..Panel::default()
        }],
    )
}

pub(super) fn response_by_season() -> Figure {
    let nodes = [12.0, 24.0, 36.0, 48.0];
    let mut marks = Vec::new();
    for s in 0..3 {
        let curve = |x: f64| 2.0 + 0.12 * x + 0.9 * s as f64 - 0.0011 * x * x;
        let x: Vec<f64> = (0..=18).map(|i| 12.0 + 2.0 * f64::from(i)).collect();
        let means: Vec<f64> = nodes
            .iter()
            .map(|x| curve(*x) + 0.1 * wave(s * 3))
            .collect();
        marks.extend([
            Mark::Ribbon {
                low: x.iter().map(|x| curve(*x) - 0.3).collect(),
                high: x.iter().map(|x| curve(*x) + 0.3).collect(),
                x: x.clone(),
                series: Some(s),
            },
            Mark::Line {
                y: x.iter().map(|x| curve(*x)).collect(),
                x,
                series: Some(s),
                dashed: s == 2,
            },
            Mark::Points {
                x: nodes.to_vec(),
                y: means,
                series: Some(s),
                faint: false,
            },
        ]);
    }
    let mut drawn = figure(
        "response-season",
        "Yield against node number in three seasons.",
        vec![Panel {
            x: levels("Nodes left per vine", &nodes),
            y: numbers("Yield (kg vine^{-1})"),
            marks,
            ..Panel::default()
        }],
    );
    drawn.series = words(&["2021", "2022", "2023"]);
    drawn.series_title = Some("Season".into());
    drawn.width = Width::Middle;
    drawn
}

pub(super) fn residuals() -> Figure {
    let fitted: Vec<f64> = (0..48).map(|i| 6.0 + f64::from(i / 6) * 1.1).collect();
    let residual: Vec<f64> = (0..48).map(|i| 1.1 * wave(i * 3 + 1)).collect();
    let mut sorted = residual.clone();
    sorted.sort_by(f64::total_cmp);
    let quantile: Vec<f64> = (0..48)
        .map(|i| {
            let p: f64 = (f64::from(i) + 0.5) / 48.0;
            // A logistic stand-in for the normal quantile is enough for a sample.
            (p / (1.0 - p)).ln() / 1.702
        })
        .collect();
    let mut drawn = figure(
        "residuals",
        "Residuals against fitted values and against normal quantiles. No pattern.",
        vec![
            Panel {
                title: Some("Spread".into()),
                x: numbers("Fitted yield (t ha^{-1})"),
                y: numbers("Residual (t ha^{-1})"),
                marks: vec![
                    Mark::Rule {
                        y: Some(0.0),
                        x: None,
                        label: None,
                    },
                    Mark::Points {
                        x: fitted,
                        y: residual,
                        series: None,
                        faint: false,
                    },
                ],
            },
            Panel {
                title: Some("Shape".into()),
                x: numbers("Normal quantile"),
                y: numbers("Residual (t ha^{-1})"),
                marks: vec![
                    Mark::Line {
                        x: vec![-2.4, 2.4],
                        y: vec![-1.3, 1.3],
                        series: None,
                        dashed: true,
                    },
                    Mark::Points {
                        x: quantile,
                        y: sorted,
                        series: None,
                        faint: false,
                    },
                ],
            },
        ],
    );
    drawn.width = Width::Double;
    drawn
}

pub(super) fn trade_off() -> Figure {
    let treatments = [
        "Hand 12",
        "Hand 24",
        "Hand 36",
        "Hand 48",
        "Mechanical",
        "Minimal",
        "Box 30",
        "Box 60",
    ];
    let x = vec![7.8, 9.9, 11.2, 11.9, 12.1, 14.4, 10.2, 12.3];
    let y = vec![23.9, 23.2, 22.5, 22.0, 22.3, 20.6, 23.0, 21.9];
    figure(
        "trade-off",
        "Brix falls as yield rises.",
        vec![Panel {
            x: numbers("Yield (t ha^{-1})"),
            y: numbers("Soluble solids (°Brix)"),
            marks: vec![
                Mark::Interval {
                    x: x.clone(),
                    low: y.iter().map(|y| y - 0.25).collect(),
                    high: y.iter().map(|y| y + 0.25).collect(),
                    series: None,
                },
                Mark::Across {
                    low: x.iter().map(|x| x - 0.5).collect(),
                    high: x.iter().map(|x| x + 0.5).collect(),
                    y: y.clone(),
                    series: None,
                },
                Mark::Points {
                    x: x.clone(),
                    y: y.clone(),
                    series: None,
                    faint: false,
                },
                Mark::Names {
                    x,
                    y,
                    text: words(&treatments),
                },
                Mark::Rule {
                    x: None,
                    y: Some(22.0),
                    label: Some("asked for by the winery".into()),
                },
            ],
            ..Panel::default()
        }],
    )
}

pub(super) fn ratio() -> Figure {
    let mut marks = vec![Mark::Zone {
        low: 5.0,
        high: 10.0,
        label: Some("published range 5 to 10".into()),
    }];
    marks.extend(group(&[4.4, 6.9, 9.0, 12.6], 0.8, &[], None, 4));
    let mut drawn = figure(
        "ratio",
        "Yield to pruning weight by node number. 48 nodes is over the published range.",
        vec![Panel {
            x: names("Nodes left per vine", &["12", "24", "36", "48"]),
            y: from("Yield per pruning weight (kg kg^{-1})", 0.0),
            marks,
            ..Panel::default()
        }],
    );
    drawn.foot =
        Some("Ratio of means with its 95 % interval; small points are plots (n = 4).".into());
    drawn
}

pub(super) fn field() -> Figure {
    let (mut x, mut y, mut value) = (Vec::new(), Vec::new(), Vec::new());
    for row in 0..6 {
        for place in 0..12 {
            x.push(f64::from(place) + 1.0);
            y.push(f64::from(row));
            value.push(0.8 * wave((row * 12 + place) as usize) + 0.12 * f64::from(place - 6));
        }
    }
    let mut drawn = figure(
        "field",
        "Residual yield in the field. It rises towards the far end of the rows.",
        vec![Panel {
            x: levels("Plot in the row", &[1.0, 4.0, 8.0, 12.0]),
            y: names("", &["Row 1", "Row 2", "Row 3", "Row 4", "Row 5", "Row 6"]),
            marks: vec![Mark::Cells {
                x,
                y,
                value,
                widths: Vec::new(),
            }],
            ..Panel::default()
        }],
    );
    drawn.series_title = Some("Residual (t ha^{-1})".into());
    drawn
}

pub(super) fn differences() -> Figure {
    let low = vec![0.4, -0.6, 1.9];
    let high = vec![2.8, 1.5, 4.4];
    let y = vec![0.0, 1.0, 2.0];
    let middle: Vec<f64> = low.iter().zip(&high).map(|(l, h)| (l + h) / 2.0).collect();
    figure(
        "differences",
        "Differences from 24 nodes with 95 % intervals.",
        vec![Panel {
            x: numbers("Difference in yield from the control (t ha^{-1})"),
            y: names("", &["36 nodes", "12 nodes, hand finished", "48 nodes"]),
            marks: vec![
                Mark::Rule {
                    x: Some(0.0),
                    y: None,
                    label: None,
                },
                Mark::Across {
                    low,
                    high,
                    y: y.clone(),
                    series: None,
                },
                Mark::Points {
                    x: middle,
                    y,
                    series: None,
                    faint: false,
                },
            ],
            ..Panel::default()
        }],
    )
}
