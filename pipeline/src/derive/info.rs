//! The trial as plugins see it.

use caneplot_plugin::request::{
    Design, Factor, Field, Level, Ratio, Response, TrialInfo, Vineyard,
};

use super::reduce::Reduced;
use crate::load::Loaded;
use crate::trial::Trial;

/// The trial in words, with the responses, covariates and ratios that were made.
#[must_use]
pub fn info(
    trial: &Trial,
    loaded: &Loaded,
    responses: Vec<Reduced>,
    covariates: Vec<Reduced>,
    ratios: Vec<Ratio>,
    vine: bool,
) -> TrialInfo {
    let named = |season: &&String| !season.is_empty();
    TrialInfo {
        title: trial.title.clone(),
        question: trial.question.clone(),
        design: Design {
            kind: trial.design.kind,
            block: trial.design.block.is_some(),
            row_column: trial.design.row.is_some() && trial.design.column.is_some(),
            vine,
            season: trial.design.season.is_some(),
        },
        factors: trial.factors.iter().map(factor).collect(),
        seasons: loaded.index.seasons.iter().filter(named).cloned().collect(),
        responses: described(responses),
        ratios,
        covariates: described(covariates),
        field: trial.field.as_ref().map(|field| Field {
            spans: field.last.is_some(),
        }),
        vineyard: vineyard(&trial.vineyard),
        estimates: Vec::new(),
        prices: trial.prices.as_ref().map(|file| file.prices.clone()),
    }
}

/// Geometry as plugins see it.
#[must_use]
pub fn vineyard(declared: &crate::trial::Vineyard) -> Vineyard {
    Vineyard {
        row_spacing_m: declared.row_spacing_m,
        vine_spacing_m: declared.vine_spacing_m,
        canopy_per_vine_m: declared.canopy_per_vine_m,
        vines_per_plot: declared.vines_per_plot,
        canopy: declared.canopy,
        grape: declared.grape.clone(),
    }
}

fn described(reduced: Vec<Reduced>) -> Vec<Response> {
    reduced.into_iter().map(|one| one.described).collect()
}

/// A factor as plugins see it.
#[must_use]
pub fn factor(factor: &crate::trial::Factor) -> Factor {
    Factor {
        name: factor.name.clone(),
        label: factor.label.clone(),
        role: factor.role,
        levels: factor
            .levels
            .iter()
            .map(|level| Level {
                name: level.name.clone(),
                label: level.label.clone(),
                value: level.value,
                canopy: level.canopy,
                rule: level.rule.clone(),
            })
            .collect(),
        unit: factor.unit.clone(),
        control: factor.control.as_ref().map(|control| control.value.clone()),
    }
}
