//! Nodes left against nodes meant, with the line on which both are the same.

use caneplot_plugin::findings::{Axis, Figure, Mark, Panel, Scale, Width};
use caneplot_plugin::words;

use crate::cells::Cell;
use crate::section::Study;

/// Most seasons told apart by colour and mark.
const MOST_SERIES: usize = 6;

pub(crate) fn figure(study: &Study<'_>) -> Figure {
    let seasons = study.seasons();
    let split = !study.by_rule && seasons.len() > 1 && seasons.len() <= MOST_SERIES;
    let mut marks = vec![identity(study)];
    let (series, series_title) = if study.by_rule {
        marks.extend(by_level(study));
        let labels = study.factor.levels.iter().map(|level| level.label.clone());
        (labels.collect(), Some(study.factor.label.clone()))
    } else if split {
        marks.push(faint(study));
        marks.extend(seasons.iter().enumerate().map(|(at, &season)| {
            let cells = study.cells.by_season.iter();
            means(cells.filter(|cell| cell.season == Some(season)), Some(at))
        }));
        let names = seasons
            .iter()
            .map(|&season| study.register.season(season).to_owned());
        (names.collect(), Some("Season".to_owned()))
    } else {
        marks.push(faint(study));
        marks.push(means(study.cells.overall.iter(), None));
        (Vec::new(), None)
    };
    let counted = study.counted();
    let (points, foot) = if study.by_rule {
        (
            format!("Points are {counted}"),
            format!("{counted}; on the dashed line nodes left are those of the rule"),
        )
    } else {
        (
            format!("Faint points are {counted}; others are means of treatments"),
            format!("{counted}; on the dashed line nodes left are those meant"),
        )
    };
    let meant = if study.by_rule {
        "Nodes by the rule"
    } else {
        "Nodes meant"
    };
    Figure {
        id: "left-and-meant".to_owned(),
        caption: format!(
            "Nodes left against nodes meant. {points}. On the dashed line both are the same."
        ),
        alt: alt(study),
        foot: Some(format!("{foot}.")),
        width: if series_title.is_some() {
            Width::Middle
        } else {
            Width::Single
        },
        panels: vec![Panel {
            title: None,
            x: Axis {
                title: words::axis(meant, &study.response.unit),
                scale: Scale::Linear {
                    from: None,
                    to: None,
                    ticks: ticks(study),
                },
            },
            y: Axis {
                title: words::axis(&study.response.label, &study.response.unit),
                scale: Scale::default(),
            },
            marks,
        }],
        columns: 1,
        series,
        series_title,
    }
}

fn ticks(study: &Study<'_>) -> Vec<f64> {
    if study.by_rule {
        return Vec::new();
    }
    study
        .factor
        .levels
        .iter()
        .filter_map(|level| level.value)
        .collect()
}

fn identity(study: &Study<'_>) -> Mark {
    let meant = study.records.all.iter().map(|one| one.meant);
    let (low, high) = meant.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
        (low.min(value), high.max(value))
    });
    Mark::Line {
        x: vec![low, high],
        y: vec![low, high],
        series: None,
        dashed: true,
    }
}

fn faint(study: &Study<'_>) -> Mark {
    let records = &study.records.all;
    Mark::Points {
        x: records.iter().map(|one| one.meant).collect(),
        y: records.iter().map(|one| one.left).collect(),
        series: None,
        faint: true,
    }
}

fn by_level(study: &Study<'_>) -> impl Iterator<Item = Mark> {
    (0..study.factor.levels.len()).filter_map(|level| {
        let records = study.records.all.iter().filter(|one| one.level == level);
        let (x, y): (Vec<f64>, Vec<f64>) = records.map(|one| (one.meant, one.left)).unzip();
        (!x.is_empty()).then_some(Mark::Points {
            x,
            y,
            series: Some(level),
            faint: false,
        })
    })
}

fn means<'a>(cells: impl Iterator<Item = &'a Cell>, series: Option<usize>) -> Mark {
    let (x, y) = cells.map(|cell| (cell.meant, cell.left)).unzip();
    Mark::Points {
        x,
        y,
        series,
        faint: false,
    }
}

fn alt(study: &Study<'_>) -> String {
    let each: Vec<String> = study
        .cells
        .overall
        .iter()
        .map(|cell| {
            format!(
                "{}: {:.1} left, {:.1} meant",
                study.labels[cell.treatment], cell.left, cell.meant
            )
        })
        .collect();
    format!("Nodes left against nodes meant. {}.", each.join("; "))
}
