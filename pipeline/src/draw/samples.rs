//! Invented figures that use every mark, as the analyses describe them; the tests draw them all.

use caneplot_plugin::findings::{Axis, Figure, Mark, Panel, Scale, Width};

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

/// A wave from -1 to 1 that looks like scatter and needs no chance.
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

/// Raw points, means, errors and letters of one series over categories with those means.
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

fn means() -> Figure {
    let mut drawn = figure(
        "means",
        "Yield by training. Minimal pruning gave most, 14.2 t/ha; hand pruning least.",
        vec![Panel {
            x: names("", &["Hand", "Mechanical", "Box", "Minimal"]),
            y: from("Yield (t ha^{-1})", 0.0),
            marks: group(
                &[8.1, 10.4, 11.0, 14.2],
                0.7,
                &["a", "b", "b", "c"],
                None,
                5,
            ),
            ..Panel::default()
        }],
    );
    drawn.foot = Some("Mean ± SE of 5 plots; small points are plots. Means with a letter in common do not differ (5 %).".into());
    drawn
}

fn seasons() -> Figure {
    let seasons = ["2021", "2022", "2023", "2024"];
    let tables = [
        [9.2, 10.1, 7.4, 11.0],
        [10.8, 12.0, 9.1, 12.2],
        [11.9, 12.9, 9.5, 13.8],
        [12.5, 13.9, 9.0, 15.1],
    ];
    let letters = [
        ["a", "a", "a", "a"],
        ["ab", "b", "b", "ab"],
        ["b", "bc", "b", "bc"],
        ["b", "c", "b", "c"],
    ];
    let marks = tables
        .iter()
        .zip(&letters)
        .enumerate()
        .flat_map(|(s, (means, letters))| group(means, 0.6, letters, Some(s), 4))
        .collect();
    let mut drawn = figure(
        "seasons",
        "Yield of four node numbers in four seasons. More nodes gave more in every season but 2023.",
        vec![Panel {
            x: names("Season", &seasons),
            y: numbers("Yield (kg vine^{-1})"),
            marks,
            ..Panel::default()
        }],
    );
    drawn.series = words(&["12", "24", "36", "48"]);
    drawn.series_title = Some("Nodes per vine".into());
    drawn.width = Width::Double;
    drawn.foot = Some("Mean ± SE of 4 plots; small points are plots. Letters compare node numbers inside a season (Tukey, 5 %).".into());
    drawn
}

fn response() -> Figure {
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

fn response_by_season() -> Figure {
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

fn residuals() -> Figure {
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

fn trade_off() -> Figure {
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

fn ratio() -> Figure {
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

fn field() -> Figure {
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
            marks: vec![Mark::Cells { x, y, value }],
            ..Panel::default()
        }],
    );
    drawn.series_title = Some("Residual (t ha^{-1})".into());
    drawn
}

fn long_labels() -> Figure {
    let labels = [
        "Hand pruned to two-bud spurs",
        "Mechanically pre-pruned, hand finished",
        "Box cut without hand finishing",
        "Minimal pruning with skirting",
    ];
    figure(
        "long-labels",
        "Pruning weight by training.",
        vec![Panel {
            title: Some(
                "A heading that is long enough to need a second line over its panel".into(),
            ),
            x: names("Pruning", &labels),
            y: from(
                "Pruning weight of the winter after the season (kg vine^{-1})",
                0.0,
            ),
            marks: group(
                &[0.92, 0.71, 0.64, 0.31],
                0.05,
                &["a", "b", "b", "c"],
                None,
                4,
            ),
        }],
    )
}

fn many_labels() -> Figure {
    let labels: Vec<String> = (0..14)
        .map(|i| format!("Rootstock selection {}", i + 1))
        .collect();
    let labels: Vec<&str> = labels.iter().map(String::as_str).collect();
    let means: Vec<f64> = (0..14).map(|i| 6.0 + wave(i)).collect();
    figure(
        "many-labels",
        "Yield of fourteen selections.",
        vec![Panel {
            x: names("", &labels),
            y: numbers("Yield (t ha^{-1})"),
            marks: group(&means, 0.3, &[], None, 3),
            ..Panel::default()
        }],
    )
}

fn columns() -> Figure {
    let tables = [
        [62.0, 55.0, 48.0],
        [71.0, 66.0, 51.0],
        [75.0, 70.0, 60.0],
        [40.0, 38.0, 30.0],
    ];
    let places = vec![0.0, 1.0, 2.0];
    let mut marks = Vec::new();
    for (s, heights) in tables.iter().enumerate() {
        marks.push(Mark::Bar {
            x: places.clone(),
            y: heights.to_vec(),
            series: Some(s),
        });
        marks.push(Mark::Interval {
            x: places.clone(),
            low: heights.iter().map(|h| h - 3.0).collect(),
            high: heights.iter().map(|h| h + 3.0).collect(),
            series: Some(s),
        });
        marks.push(Mark::Letters {
            x: places.clone(),
            y: heights.to_vec(),
            text: words(&["a", "ab", "b"]),
            series: Some(s),
        });
    }
    let mut drawn = figure(
        "columns",
        "Bud break by position and node number.",
        vec![Panel {
            x: names("Position on the cane", &["Basal", "Middle", "Distal"]),
            y: from("Bud break (%)", 0.0),
            marks,
            ..Panel::default()
        }],
    );
    drawn.series = words(&["12 nodes", "24 nodes", "36 nodes", "48 nodes"]);
    drawn.width = Width::Middle;
    drawn
}

fn panels() -> Figure {
    let responses = [
        ("Yield", "Yield (t ha^{-1})", [8.0, 10.0, 12.0], 0.6),
        ("Clusters", "Clusters per vine", [31.0, 44.0, 52.0], 2.4),
        (
            "Cluster weight",
            "Cluster weight (g)",
            [142.0, 128.0, 117.0],
            5.0,
        ),
        ("Berry weight", "Berry weight (g)", [1.42, 1.36, 1.29], 0.03),
        (
            "Soluble solids",
            "Soluble solids (°Brix)",
            [23.4, 22.6, 21.9],
            0.2,
        ),
    ];
    let panels = responses
        .iter()
        .map(|(title, axis, means, error)| {
            let second: Vec<f64> = means.iter().map(|m| m * 1.06).collect();
            let mut marks = group(means, *error, &["a", "b", "c"], Some(0), 4);
            marks.extend(group(&second, *error, &["a", "a", "b"], Some(1), 4));
            Panel {
                title: Some((*title).to_owned()),
                x: names("Nodes left per vine", &["12", "24", "48"]),
                y: numbers(axis),
                marks,
            }
        })
        .collect();
    let mut drawn = figure(
        "panels",
        "Five responses by node number and irrigation.",
        panels,
    );
    drawn.columns = 3;
    drawn.width = Width::Double;
    drawn.series = words(&["rain-fed", "irrigated"]);
    drawn.series_title = Some("Water".into());
    drawn.foot = Some("Mean ± SE of 4 plots.".into());
    drawn
}

fn differences() -> Figure {
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

fn crowded_letters() -> Figure {
    let tables = [
        [5.0, 6.0, 7.0, 7.2],
        [5.1, 6.1, 7.0, 7.1],
        [5.2, 6.0, 7.3, 7.0],
        [5.0, 6.2, 7.1, 7.4],
    ];
    let marks = tables
        .iter()
        .enumerate()
        .flat_map(|(s, means)| group(means, 0.4, &["abc", "bcd", "abcd", "cd"], Some(s), 3))
        .collect();
    let mut drawn = figure(
        "crowded",
        "Four series in four seasons on one column.",
        vec![Panel {
            x: names("", &["2021", "2022", "2023", "2024"]),
            y: numbers("Yield (kg vine^{-1})"),
            marks,
            ..Panel::default()
        }],
    );
    drawn.series = words(&["Hand", "Mechanical", "Box", "Minimal"]);
    drawn
}

/// All of them.
pub fn samples() -> Vec<Figure> {
    vec![
        means(),
        seasons(),
        response(),
        response_by_season(),
        residuals(),
        trade_off(),
        ratio(),
        field(),
        long_labels(),
        many_labels(),
        columns(),
        panels(),
        differences(),
        crowded_letters(),
    ]
}
