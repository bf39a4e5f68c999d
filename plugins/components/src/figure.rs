//! Contributions of the parts to the change in yield, treatment by treatment.

use caneplot_plugin::findings::{Axis, Figure, Mark, Panel, Scale, Width};
use caneplot_plugin::words;

use crate::decompose::{Change, Decomposed};

pub(crate) fn of(found: &Decomposed<'_>) -> Figure {
    let treatments = found.treatments();
    let changes = &found.overall.changes;
    let crop = &found.chain.crop;
    let whole = found.chain.factors.len();
    let places: Vec<f64> = (0..changes.len()).map(|place| place as f64).collect();
    let mut marks = Vec::new();
    // The whole stands first, so its series is 0 and that of part p is p + 1.
    for part in std::iter::once(whole).chain(0..whole) {
        let series = Some(if part == whole { 0 } else { part + 1 });
        let of = |value: &dyn Fn(&Change) -> f64| changes.iter().map(value).collect::<Vec<f64>>();
        marks.push(Mark::Bar {
            x: places.clone(),
            y: of(&|change| change.estimate.values[part]),
            series,
        });
        marks.push(Mark::Interval {
            x: places.clone(),
            low: of(&|change| change.estimate.values[part] - change.half_widths[part]),
            high: of(&|change| change.estimate.values[part] + change.half_widths[part]),
            series,
        });
    }
    marks.push(Mark::Rule {
        y: Some(0.0),
        x: None,
        label: None,
    });
    let series = std::iter::once(words::beginning(crop))
        .chain(
            found
                .chain
                .factors
                .iter()
                .map(|name| words::beginning(name)),
        )
        .collect();
    let bars = format!("bars are {} intervals", words::percent(found.level));
    let plots = plots_words(found);
    let control = treatments.words(treatments.control);
    Figure {
        id: "parts".to_owned(),
        caption: format!(
            "What each part added to or took from the change in {} against {control}, as changes in logarithms (+0.1 is about 10 % more); the parts add up to the change in {}. Columns are differences of means, {plots}; {bars}.",
            crop, crop
        ),
        alt: alt(found),
        foot: Some(format!("{plots}; {bars}.")),
        width: if changes.len() * (whole + 1) > 10 {
            Width::Double
        } else {
            Width::Middle
        },
        panels: vec![Panel {
            title: None,
            x: Axis {
                title: words::axis(&treatments.heading(), treatments.unit().unwrap_or("")),
                scale: Scale::Category {
                    labels: changes
                        .iter()
                        .map(|change| treatments.label(change.treatment))
                        .collect(),
                },
            },
            y: Axis {
                title: format!("Change in ln {}", crop),
                ..Axis::default()
            },
            marks,
        }],
        columns: 1,
        series,
        series_title: Some("Part".to_owned()),
    }
}

/// "n = 4 plots", "n = 3 to 4 plots".
pub(crate) fn plots_words(found: &Decomposed<'_>) -> String {
    let counts = &found.treatments().compared.plots;
    let least = counts.iter().min().copied().unwrap_or(0);
    let most = counts.iter().max().copied().unwrap_or(0);
    if least == most {
        format!("n = {}", words::counted(least, "plot"))
    } else {
        format!("n = {least} to {most} plots")
    }
}

fn alt(found: &Decomposed<'_>) -> String {
    let whole = found.chain.factors.len();
    let percent = |change: &Change, part: usize| match (change.shares(part)[1] * 100.0).round() {
        0.0 => "0 %".to_owned(),
        change if change < 0.0 => format!("−{:.0} %", -change),
        change => format!("+{change:.0} %"),
    };
    let each: Vec<String> = found
        .overall
        .changes
        .iter()
        .map(|change| {
            let parts: Vec<String> = (0..whole)
                .map(|part| format!("{} {}", found.chain.factors[part], percent(change, part)))
                .collect();
            format!(
                "{}: {} {}, of which {}",
                found.treatments().label(change.treatment),
                found.chain.crop,
                percent(change, whole),
                parts.join(", ")
            )
        })
        .collect();
    format!("Columns of the change by part. {}.", each.join("; "))
}
