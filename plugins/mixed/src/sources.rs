//! The random terms that a design implies.

use std::collections::BTreeMap;

use caneplot_numerics::mixed::RandomTerm;
use caneplot_numerics::strata::Classifier;
use caneplot_plugin::Refusal;
use caneplot_plugin::request::{DesignKind, Role};
use caneplot_plugin::words;

use crate::margins::Margin;

/// A random term with the names of its levels.
#[derive(Debug, Clone)]
pub(crate) struct Source {
    pub term: RandomTerm,
    pub levels: Vec<String>,
}

/// The random terms that the design implies; seasons where they are a sample.
pub(crate) fn sources(
    kind: DesignKind,
    block: Option<&Classifier>,
    rows_columns: [Option<&Classifier>; 2],
    treatments: &[(Classifier, Role)],
    season: Option<&Classifier>,
    margins: &[Margin],
) -> Result<Vec<Source>, Refusal> {
    let mut all = Vec::new();
    let carried = |roles: &[Role]| -> Vec<&Classifier> {
        treatments
            .iter()
            .filter(|(_, role)| roles.contains(role))
            .map(|(factor, _)| factor)
            .collect()
    };
    let mut add = |name: &str, parts: Vec<&Classifier>| {
        let source = crossing(name, &parts);
        // A single level is the overall mean.
        if source.levels.len() > 1 {
            all.push(source);
        }
    };
    match kind {
        DesignKind::CompletelyRandomised => {}
        DesignKind::LatinSquare => {
            for (classifier, name) in rows_columns.into_iter().zip(["rows", "columns"]) {
                add(name, classifier.into_iter().collect());
            }
        }
        _ => add("blocks", block.into_iter().collect()),
    }
    let mut inside = |name: &str, roles: &[Role]| -> Result<(), Refusal> {
        let factors = carried(roles);
        if factors.is_empty() {
            return Err(
                Refusal::new(format!("no factor is declared to be applied to {name}"))
                    .hint("give each factor its role in trial.toml"),
            );
        }
        add(name, block.into_iter().chain(factors).collect());
        Ok(())
    };
    match kind {
        DesignKind::SplitPlot => inside("whole plots", &[Role::WholePlot])?,
        DesignKind::StripPlot => {
            inside("row strips", &[Role::RowStrip])?;
            inside("cross strips", &[Role::CrossStrip])?;
        }
        DesignKind::SplitSplitPlot => {
            inside("whole plots", &[Role::WholePlot])?;
            inside("sub plots", &[Role::WholePlot, Role::SubPlot])?;
        }
        _ => {}
    }
    if let Some(season) = season {
        all.push(crossing("seasons", &[season]));
        for mask in 1_usize..1 << margins.len() {
            let chosen: Vec<Classifier> = margins
                .iter()
                .enumerate()
                .filter(|(at, _)| mask & (1 << at) != 0)
                .map(|(_, margin)| Classifier {
                    name: margin.label.clone(),
                    levels: margin.labels.clone(),
                    codes: margin.codes.clone(),
                })
                .collect();
            let names: Vec<String> = chosen.iter().map(|one| words::inside(&one.name)).collect();
            let parts: Vec<&Classifier> = chosen.iter().chain([season]).collect();
            all.push(crossing(
                &format!("{} × seasons", names.join(" × ")),
                &parts,
            ));
        }
    }
    Ok(all)
}

/// Every combination of some classifiers that occurs.
fn crossing(name: &str, parts: &[&Classifier]) -> Source {
    let units = parts.first().map_or(0, |part| part.codes.len());
    let mut known: BTreeMap<Vec<usize>, usize> = BTreeMap::new();
    for unit in 0..units {
        known.insert(parts.iter().map(|part| part.codes[unit]).collect(), 0);
    }
    for (at, code) in known.values_mut().enumerate() {
        *code = at;
    }
    let codes = (0..units)
        .map(|unit| {
            known[&parts
                .iter()
                .map(|part| part.codes[unit])
                .collect::<Vec<_>>()]
        })
        .collect();
    let levels = known
        .keys()
        .map(|levels| {
            let names: Vec<&str> = parts
                .iter()
                .zip(levels)
                .map(|(part, &level)| part.levels[level].as_str())
                .collect();
            names.join(", ")
        })
        .collect();
    Source {
        term: RandomTerm {
            name: name.to_owned(),
            codes,
        },
        levels,
    }
}
