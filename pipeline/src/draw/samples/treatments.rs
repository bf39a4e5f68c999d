//! Treatments compared: means, errors, letters, columns.

use caneplot_plugin::findings::{Figure, Mark, Panel, Width};

use super::{figure, from, group, names, numbers, wave, words};

pub(super) fn means() -> Figure {
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

pub(super) fn seasons() -> Figure {
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

pub(super) fn long_labels() -> Figure {
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

pub(super) fn many_labels() -> Figure {
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

pub(super) fn columns() -> Figure {
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

pub(super) fn panels() -> Figure {
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

pub(super) fn crowded_letters() -> Figure {
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
