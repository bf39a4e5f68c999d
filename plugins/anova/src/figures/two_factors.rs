//! Means over two factors: one across, one as series.

use caneplot_plugin::findings::{Figure, Mark};

use super::marks::{
    axis_words, bars_words, mean_marks, means_words, one_panel, raw_marks, series_label, verdict,
    x_axis,
};
use crate::study::Study;
use crate::words;

pub(super) fn two_factors(study: &Study<'_>, a: usize, b: usize) -> Option<Figure> {
    let term = study.term(&[a, b], false)?;
    let numeric = |factor: usize| study.quantities(factor).is_some();
    let size = |factor: usize| study.levels(factor).len();
    // A quantity goes across; else the factor with more levels.
    let a_across = match (numeric(a), numeric(b)) {
        (true, false) => true,
        (false, true) => false,
        _ => size(a) >= size(b),
    };
    let (across, series) = if a_across { (a, b) } else { (b, a) };
    let (across_at, series_at) = if a_across { (0, 1) } else { (1, 0) };
    let (x, places) = x_axis(study, across);
    let mut marks = Vec::new();
    for level in 0..size(series) {
        let cells: Vec<usize> = (0..study.tables[term].means.len())
            .filter(|&cell| study.cell_levels(term, cell)[series_at] == level)
            .collect();
        let own: Vec<f64> = cells
            .iter()
            .map(|&cell| places[study.cell_levels(term, cell)[across_at]])
            .collect();
        let place = |cell: usize| {
            let levels = study.cell_levels(term, cell);
            (levels[series_at] == level).then(|| places[levels[across_at]])
        };
        marks.push(raw_marks(study, term, &place, Some(level)));
        if numeric(across) {
            marks.push(Mark::Line {
                x: own.clone(),
                y: cells.iter().map(|&cell| study.mean(term, cell)).collect(),
                series: Some(level),
                dashed: false,
            });
        }
        marks.extend(mean_marks(study, term, &cells, &own, Some(level)));
    }
    Some(Figure {
        id: "means".to_owned(),
        caption: format!(
            "{} by {} and {}. Large points are means{}, small points plots ({}).",
            study.response.label,
            words::inside(&study.factor(across).label),
            words::inside(&study.factor(series).label),
            if numeric(across) {
                ", joined by lines"
            } else {
                ""
            },
            bars_words(study, term)
        ),
        alt: format!(
            "{}: {}. Effect of {}: {}; of {}: {}; their interaction: {}.",
            axis_words(study),
            means_words(study, term),
            words::inside(&study.factor(across).label),
            study
                .term(&[across], false)
                .map_or("not tested", |term| verdict(study, term)),
            words::inside(&study.factor(series).label),
            study
                .term(&[series], false)
                .map_or("not tested", |term| verdict(study, term)),
            verdict(study, term)
        ),
        series: (0..size(series))
            .map(|level| series_label(study, series, level))
            .collect(),
        series_title: Some(study.factor(series).label.clone()),
        ..one_panel(study, term, x, marks)
    })
}
