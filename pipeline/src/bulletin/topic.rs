//! A thing that was measured: its results, its name in the language of the page, its units.

use caneplot_plugin::estimates::{Estimates, Kind};
use caneplot_plugin::request::{Basis, Index, Quantity, TrialInfo};

use super::amounts::{self, First, Shown};
use super::edits::Edits;
use crate::earlier::EarlierReport;
use crate::messages::Language;

/// A response, ratio or sum of money with its results for one choice of factors.
#[derive(Debug, Clone)]
pub struct Topic<'a> {
    /// Its name in the trial.
    pub name: &'a str,
    /// As it stands inside a sentence: "the crop".
    pub what: String,
    /// As it heads a column: "Crop".
    pub heading: String,
    /// Whether more of it is longer, not higher: a time.
    pub is_time: bool,
    /// The whole trial.
    pub over: &'a Estimates,
    /// Season by season, in the order of the trial.
    pub years: Vec<&'a Estimates>,
    /// How its amounts are shown.
    pub shown: Shown,
}

/// What a name in a report stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Meaning {
    /// A response.
    Quantity(Quantity, Basis),
    /// A ratio.
    Ratio(Option<Index>),
    /// Something an analysis reckoned itself, such as money.
    Reckoned,
}

/// What a name stands for in a trial.
#[must_use]
pub fn meaning(trial: &TrialInfo, name: &str) -> Meaning {
    if let Some(response) = trial.responses.iter().find(|one| one.name == name) {
        return Meaning::Quantity(response.quantity, response.basis);
    }
    match trial.ratios.iter().find(|one| one.name == name) {
        Some(ratio) => Meaning::Ratio(ratio.index),
        None => Meaning::Reckoned,
    }
}

/// Messages of a meaning: inside a sentence, and over a column.
fn messages(meaning: Meaning) -> Option<(&'static str, &'static str)> {
    Some(match meaning {
        Meaning::Quantity(Quantity::Yield, Basis::PlantedSpace) => {
            ("what-yield-space", "column-yield-space")
        }
        Meaning::Quantity(quantity, _) => match quantity {
            Quantity::Yield => ("what-yield", "column-yield"),
            Quantity::PruningWeight => ("what-pruning-weight", "column-pruning-weight"),
            Quantity::ClusterCount => ("what-clusters", "column-clusters"),
            Quantity::BerryWeight => ("what-berry-weight", "column-berry-weight"),
            Quantity::BerryCount => ("what-berry-count", "column-berry-count"),
            Quantity::SolubleSolids => ("what-brix", "column-brix"),
            Quantity::Ph => ("what-ph", "column-ph"),
            Quantity::TitratableAcidity => ("what-acidity", "column-acidity"),
            Quantity::CaneCount => ("what-canes", "column-canes"),
            Quantity::NodesLeft => ("what-nodes", "column-nodes"),
            Quantity::ShootCount => ("what-shoots", "column-shoots"),
            Quantity::BudBreak => ("what-bud-break", "column-bud-break"),
            Quantity::BudSurvival => ("what-bud-survival", "column-bud-survival"),
            Quantity::LeafArea => ("what-leaf-area", "column-leaf-area"),
            Quantity::Labour => ("what-labour", "column-labour"),
            Quantity::Other => return None,
        },
        Meaning::Ratio(Some(Index::YieldToPruningWeight)) => {
            ("what-balance-ravaz", "column-balance-ravaz")
        }
        Meaning::Ratio(Some(Index::PruningWeightPerCanopy)) => {
            ("what-balance-canopy", "column-balance-canopy")
        }
        Meaning::Ratio(Some(Index::MeanCaneWeight)) => ("what-cane-weight", "column-cane-weight"),
        Meaning::Ratio(Some(Index::MeanClusterWeight)) => {
            ("what-cluster-weight", "column-cluster-weight")
        }
        Meaning::Ratio(_) => return None,
        Meaning::Reckoned => ("what-net", "column-net"),
    })
}

/// The results of a name for a choice of factors, where the report has them over the whole trial.
#[must_use]
pub fn topic<'a>(
    report: &'a EarlierReport,
    name: &str,
    factors: &[&str],
    edits: &Edits,
    language: &Language,
) -> Option<Topic<'a>> {
    let speaking: Vec<&Estimates> = report
        .speaking(name)
        .into_iter()
        .map(|found| found.estimates)
        .filter(|one| {
            one.factors
                .iter()
                .map(String::as_str)
                .eq(factors.iter().copied())
        })
        .collect();
    let over = speaking.iter().copied().find(|one| one.season.is_none())?;
    let years: Vec<&Estimates> = report
        .trial
        .seasons
        .iter()
        .filter_map(|season| {
            let of_it = |one: &&&Estimates| one.season.as_ref() == Some(season);
            speaking.iter().find(of_it).copied()
        })
        .collect();
    let meaning = meaning(&report.trial, name);
    let quantity = match meaning {
        Meaning::Quantity(quantity, _) => quantity,
        _ => Quantity::Other,
    };
    let (what, heading) = match (edits.word(name), messages(meaning)) {
        // The writer's own words for it come first.
        (Some(own), _) => (lower(own), own.to_owned()),
        (None, Some((what, heading))) => (language.text(what), language.text(heading)),
        (None, None) => {
            let label = edits.worded(&over.label);
            (lower(label), label.to_owned())
        }
    };
    let shown = match over.kind {
        // Shares from 0 to 1 read as percentages.
        Kind::Share => {
            let mut shown =
                amounts::shown("%", quantity, &report.trial.vineyard, edits.first, language);
            shown.first.factor *= 100.0;
            shown
        }
        _ => amounts::shown(
            &over.unit,
            quantity,
            &report.trial.vineyard,
            edits.first,
            language,
        ),
    };
    let widths = over
        .differences
        .iter()
        .map(|one| (one.high - one.low) / 2.0);
    let narrowest = widths.reduce(f64::min).unwrap_or(f64::INFINITY);
    Some(Topic {
        name: over.name.as_str(),
        what,
        heading,
        is_time: quantity == Quantity::Labour,
        over,
        years,
        shown: shown.fine_enough(narrowest),
    })
}

/// A label inside a sentence: "Pruning time" becomes "pruning time", "pH" stays.
fn lower(label: &str) -> String {
    caneplot_plugin::words::inside(label)
        .replace("{{", "{")
        .replace("}}", "}")
}

/// Names in the order in which growers ask, where the edits name none.
#[must_use]
pub fn usual(trial: &TrialInfo) -> Vec<String> {
    let rank = |meaning: Meaning| match meaning {
        Meaning::Quantity(_, Basis::PlantedSpace) => None,
        Meaning::Quantity(quantity, _) => match quantity {
            Quantity::Yield => Some(0),
            Quantity::SolubleSolids => Some(1),
            Quantity::PruningWeight => Some(2),
            Quantity::Labour => Some(4),
            Quantity::ClusterCount => Some(5),
            Quantity::BudSurvival => Some(6),
            Quantity::TitratableAcidity => Some(7),
            Quantity::BudBreak => Some(8),
            Quantity::BerryWeight => Some(9),
            Quantity::Ph => Some(10),
            _ => None,
        },
        Meaning::Ratio(Some(Index::YieldToPruningWeight)) => Some(3),
        Meaning::Ratio(_) | Meaning::Reckoned => None,
    };
    let responses = trial.responses.iter().map(|one| one.name.as_str());
    let ratios = trial.ratios.iter().map(|one| one.name.as_str());
    let mut ranked: Vec<(u8, &str)> = responses
        .chain(ratios)
        .filter_map(|name| Some((rank(meaning(trial, name))?, name)))
        .collect();
    ranked.sort_by_key(|(rank, _)| *rank);
    let mut names: Vec<String> = ranked
        .into_iter()
        .map(|(_, name)| name.to_owned())
        .collect();
    if names.is_empty() {
        names = trial.responses.iter().map(|one| one.name.clone()).collect();
    }
    names
}
