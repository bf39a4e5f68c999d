//! Yield against soluble solids: what more crop costs in ripeness, treatment by treatment.

use caneplot_plugin::findings::{Axis, Figure, Mark, Panel, Section, Statement, Width};
use caneplot_plugin::request::{Basis, Quantity};

use crate::study::Study;
use crate::words;

/// Most combinations that can be named in one panel.
const MOST: usize = 12;

/// The section, where the trial has both quantities.
pub(crate) fn section(studies: &[Study<'_>]) -> Option<Section> {
    let of = |quantity: Quantity| {
        let all = || {
            studies
                .iter()
                .filter(move |study| study.response.quantity == quantity)
        };
        all()
            .find(|study| study.response.basis != Basis::PlantedSpace)
            .or_else(|| all().next())
    };
    let (crop, solids) = (of(Quantity::Yield)?, of(Quantity::SolubleSolids)?);
    let factors = shared(crop, solids)?;
    let (across, up) = (crop.term(&factors, false)?, solids.term(&factors, false)?);
    let count = crop.tables[across].means.len();
    let values = |study: &Study<'_>, term: usize| {
        (0..count)
            .map(|cell| study.mean(term, cell))
            .collect::<Vec<f64>>()
    };
    let (x, y) = (values(crop, across), values(solids, up));
    let names: Vec<String> = (0..count)
        .map(|cell| short(crop, &factors, across, cell))
        .collect();
    let ends = |study: &Study<'_>, term: usize, sign: f64| {
        (0..count)
            .map(|cell| Some(study.mean(term, cell) + sign * study.standard_error(term, cell)?))
            .collect::<Option<Vec<f64>>>()
    };
    let mut marks = Vec::new();
    if let (Some(low), Some(high)) = (ends(solids, up, -1.0), ends(solids, up, 1.0)) {
        marks.push(Mark::Interval {
            x: x.clone(),
            low,
            high,
            series: None,
        });
    }
    if let (Some(low), Some(high)) = (ends(crop, across, -1.0), ends(crop, across, 1.0)) {
        marks.push(Mark::Across {
            low,
            high,
            y: y.clone(),
            series: None,
        });
    }
    marks.push(Mark::Points {
        x: x.clone(),
        y: y.clone(),
        series: None,
        faint: false,
    });
    marks.push(Mark::Names {
        x: x.clone(),
        y: y.clone(),
        text: names.clone(),
    });
    let axis = |study: &Study<'_>| Axis {
        title: words::axis(&study.response.label, study.unit()),
        ..Axis::default()
    };
    let parts: Vec<String> = (0..count)
        .map(|cell| {
            format!(
                "{} {} and {}",
                names[cell],
                words::plain(x[cell], crop.decimals()),
                words::plain(y[cell], solids.decimals())
            )
        })
        .collect();
    let over = if crop.seasons().is_empty() {
        ""
    } else {
        " over the seasons"
    };
    let figure = Figure {
        id: "crop-and-ripeness".to_owned(),
        caption: format!(
            "Mean {} against mean {}{over}. Bars are ± 1 standard error of each mean. Names give {}.",
            words::inside(&crop.response.label),
            words::inside(&solids.response.label),
            words::list(&naming(crop, &factors))
        ),
        alt: format!(
            "{} and {} of each treatment: {}.",
            crop.response.label,
            words::inside(&solids.response.label),
            parts.join("; ")
        ),
        foot: Some("Bars are ± 1 standard error.".to_owned()),
        width: Width::Middle,
        panels: vec![Panel {
            title: None,
            x: axis(crop),
            y: axis(solids),
            marks,
        }],
        columns: 1,
        series: Vec::new(),
        series_title: None,
    };
    Some(Section {
        id: "trade-off".to_owned(),
        title: "Crop and ripeness".to_owned(),
        statements: vec![sentence(crop, across, solids, up)],
        figures: vec![figure],
        notes: vec![Statement::new(
            "Fruit picked on one day is compared as it stood on that day; where treatments were picked at equal ripeness, soluble solids say nothing here.",
        )],
        ..Section::default()
    })
}

/// A treatment as short as a name in a figure must be.
fn short(study: &Study<'_>, factors: &[usize], term: usize, cell: usize) -> String {
    if let [_] = factors {
        return study
            .cell_words(term, cell)
            .replace("{{", "{")
            .replace("}}", "}");
    }
    let levels = study.cell_levels(term, cell);
    let parts: Vec<String> = factors
        .iter()
        .zip(levels)
        .map(|(&factor, &level)| study.level_label(factor, level))
        .collect();
    parts.join(", ")
}

/// What the parts of such a name are: "training system", "nodes left (nodes/vine)".
fn naming(study: &Study<'_>, factors: &[usize]) -> Vec<String> {
    factors
        .iter()
        .map(|&factor| {
            let about = study.factor(factor);
            words::axis(
                &words::inside(&about.label),
                about.unit.as_deref().unwrap_or(""),
            )
        })
        .collect()
}

/// Factors over which both are shown: all of them, or the first where combinations are too many.
fn shared(crop: &Study<'_>, solids: &Study<'_>) -> Option<Vec<usize>> {
    let all: Vec<usize> = (0..crop.trial.factors.len()).collect();
    let same = all
        .iter()
        .all(|&factor| crop.levels(factor) == solids.levels(factor));
    let count: usize = all
        .iter()
        .map(|&factor| crop.levels(factor).len())
        .product();
    if !same {
        None
    } else if count <= MOST {
        Some(all)
    } else {
        Some(vec![0])
    }
}

/// The treatments with most and least crop, and their soluble solids.
fn sentence(crop: &Study<'_>, across: usize, solids: &Study<'_>, up: usize) -> Statement {
    let order = crop.by_mean(across);
    let (most, least) = (order[0], order[order.len() - 1]);
    let put = |statement: Statement, name: &str, value: f64, study: &Study<'_>| {
        let format = study.of_means();
        if study.unit().is_empty() {
            statement.with(name, value, format)
        } else {
            statement.with_unit(name, value, format, study.unit())
        }
    };
    let statement = Statement::new(format!(
        "The largest crop ({}) had {{most}} at {{ripe}}, the smallest ({}) {{least}} at {{riper}}.",
        crop.cell_words(across, most),
        crop.cell_words(across, least)
    ));
    let statement = put(statement, "most", crop.mean(across, most), crop);
    let statement = put(statement, "ripe", solids.mean(up, most), solids);
    let statement = put(statement, "least", crop.mean(across, least), crop);
    put(statement, "riper", solids.mean(up, least), solids)
}
