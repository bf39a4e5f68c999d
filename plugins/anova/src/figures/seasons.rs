//! Means from season to season.

use caneplot_plugin::findings::{Axis, Figure, Mark, Scale};

use super::marks::{
    axis_words, bars_words, mean_marks, means_words, one_panel, series_label, verdict, x_axis,
};
use crate::study::Study;
use crate::words;

/// Most lines that a reader can tell apart in one panel.
const MOST_SERIES: usize = 6;

/// Whether the season decides how everything else is read, so that its figure comes first.
pub(crate) fn seasons_first(study: &Study<'_>) -> bool {
    (0..study.trial.factors.len())
        .filter_map(|factor| study.term(&[factor], true))
        .any(|term| study.clear(term))
}

/// Means from season to season of the factor whose effect changes most clearly with the season.
pub(super) fn over_seasons(study: &Study<'_>) -> Option<Figure> {
    let (factor, term) = (0..study.trial.factors.len())
        .filter_map(|factor| study.term(&[factor], true).map(|term| (factor, term)))
        .min_by(|a, b| {
            let p = |term: usize| study.line(term).p.unwrap_or(1.0);
            p(a.1).total_cmp(&p(b.1))
        })?;
    let seasons: Vec<String> = study.seasons().to_vec();
    let levels = study.levels(factor).len();
    // A quantity goes across, so that each season is a response curve; names are followed in time.
    let curves = study.quantities(factor).is_some() && levels > 2 && seasons.len() <= MOST_SERIES;
    let by_season = !curves && (levels <= MOST_SERIES || levels <= seasons.len());
    let (x, places, names, title) = if by_season {
        let axis = Axis {
            title: "Season".to_owned(),
            scale: Scale::Category {
                labels: seasons.clone(),
            },
        };
        let places: Vec<f64> = (0..seasons.len()).map(|place| place as f64).collect();
        let names = (0..levels)
            .map(|level| series_label(study, factor, level))
            .collect();
        (axis, places, names, study.factor(factor).label.clone())
    } else {
        let (axis, places) = x_axis(study, factor);
        (axis, places, seasons.clone(), "Season".to_owned())
    };
    let names: Vec<String> = names;
    let mut marks = Vec::new();
    for series in 0..names.len() {
        let cells: Vec<usize> = (0..study.tables[term].means.len())
            .filter(|&cell| {
                let levels = study.cell_levels(term, cell);
                levels[usize::from(!by_season)] == series
            })
            .collect();
        marks.push(Mark::Line {
            x: places.clone(),
            y: cells.iter().map(|&cell| study.mean(term, cell)).collect(),
            series: Some(series),
            dashed: false,
        });
        marks.extend(mean_marks(study, term, &cells, &places, Some(series)));
    }
    Some(Figure {
        id: "seasons".to_owned(),
        caption: format!(
            "{} of each season by {} ({}). Lines join the means of one {}.",
            study.response.label,
            words::inside(&study.factor(factor).label),
            bars_words(study, term),
            if by_season { "level" } else { "season" }
        ),
        alt: format!(
            "{}: {}. Change of the effect with the season: {}.",
            axis_words(study),
            means_words(study, term),
            verdict(study, term)
        ),
        series: names,
        series_title: Some(title),
        ..one_panel(study, term, x, marks)
    })
}
