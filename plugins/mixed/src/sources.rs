//! The random terms that a design implies.

use std::collections::BTreeMap;

use caneplot_numerics::design::Applied;
use caneplot_numerics::mixed::RandomTerm;
use caneplot_numerics::strata::Classifier;
use caneplot_plugin::Refusal;
use caneplot_plugin::request::DesignKind;
use caneplot_plugin::words;

use crate::margins::Margin;

/// A random term with the names of its levels.
#[derive(Debug, Clone)]
pub(crate) struct Source {
    pub term: RandomTerm,
    pub levels: Vec<String>,
    /// Differs from season to season.
    pub by_season: bool,
}

impl Source {
    /// Whether the levels of a treatment were applied to these units as wholes.
    pub fn carries_treatment(&self, margins: &[Margin]) -> bool {
        let constant = |codes: &[usize]| {
            let mut met: BTreeMap<usize, usize> = BTreeMap::new();
            self.term
                .codes
                .iter()
                .zip(codes)
                .all(|(&unit, &level)| *met.entry(unit).or_insert(level) == level)
        };
        margins.iter().any(|margin| constant(&margin.codes))
    }
}

/// What sources are made from.
pub(crate) struct Layout<'a> {
    pub kind: DesignKind,
    pub block: Option<&'a Classifier>,
    pub rows_columns: [Option<&'a Classifier>; 2],
    pub treatments: &'a [(Classifier, Applied)],
    /// Seasons repeated on plots.
    pub season: Option<&'a Classifier>,
    /// Seasons are a sample.
    pub sampled: bool,
    pub margins: &'a [Margin],
}

/// Name of the source that a fit may do without.
pub(crate) const BLOCK_SEASONS: &str = "blocks × seasons";

/// Blocks in each season, where there are several of both: part of the design only where strips of
/// both kinds meet in them, elsewhere a source that the data may ask for.
pub(crate) fn block_seasons(layout: &Layout<'_>) -> Option<Source> {
    let several = |part: &Classifier| part.levels.len() > 1;
    let block = layout.block.filter(|block| several(block))?;
    let season = layout.season.filter(|season| several(season))?;
    let grouped = !matches!(
        layout.kind,
        DesignKind::CompletelyRandomised | DesignKind::LatinSquare
    );
    let mut source = crossing(BLOCK_SEASONS, &[block, season]);
    source.by_season = true;
    grouped.then_some(source)
}

/// The random terms that the design implies; seasons where they are a sample.
///
/// Whole plots, sub plots and strips carry treatments in every season, so in every season they have
/// an error of their own against which those treatments × seasons are judged.
pub(crate) fn sources(layout: &Layout<'_>) -> Result<Vec<Source>, Refusal> {
    let Layout {
        kind,
        block,
        rows_columns,
        treatments,
        ..
    } = *layout;
    let mut all = Vec::new();
    let carried = |roles: &[Applied]| -> Vec<&Classifier> {
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
    let groups: &[(&str, &[Applied])] = match kind {
        DesignKind::SplitPlot => &[("whole plots", &[Applied::WholePlot])],
        DesignKind::StripPlot => &[
            ("row strips", &[Applied::RowStrip]),
            ("cross strips", &[Applied::CrossStrip]),
        ],
        DesignKind::SplitSplitPlot => &[
            ("whole plots", &[Applied::WholePlot]),
            ("sub plots", &[Applied::WholePlot, Applied::SubPlot]),
        ],
        _ => &[],
    };
    for (name, roles) in groups {
        let factors = carried(roles);
        if factors.is_empty() {
            return Err(
                Refusal::new(format!("no factor is declared to be applied to {name}"))
                    .hint("give each factor its role in trial.toml"),
            );
        }
        add(name, block.into_iter().chain(factors).collect());
    }
    if let Some(season) = layout.season {
        if kind == DesignKind::StripPlot {
            all.extend(block_seasons(layout));
        }
        for (name, roles) in groups {
            let parts = block.into_iter().chain(carried(roles)).chain([season]);
            let mut source = crossing(&format!("{name} × seasons"), &parts.collect::<Vec<_>>());
            source.by_season = true;
            all.push(source);
        }
    }
    if let Some(season) = layout.season.filter(|_| layout.sampled) {
        all.push(crossing("seasons", &[season]));
        let margins = layout.margins;
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
        by_season: false,
    }
}
