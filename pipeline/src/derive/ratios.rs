//! The ratios plugins are asked for: the declared ones, and the trade's own where their parts are
//! recorded and no declared ratio is the same.

use caneplot_plugin::request::{Index, Quantity, Ratio};

use super::reduce::Reduced;
use crate::trial::{Response, Trial, Unit};

/// Every ratio of responses that have data, declared ones first.
#[must_use]
pub fn listed(trial: &Trial, declared: &[Reduced]) -> Vec<Ratio> {
    let has = |name: &str| {
        declared
            .iter()
            .any(|response| response.described.name == name)
    };
    let both = |ratio: &&crate::trial::Ratio| has(&ratio.of.value) && has(&ratio.per.value);
    let mut ratios: Vec<Ratio> = trial.ratios.iter().filter(both).map(as_declared).collect();
    let usable: Vec<&Response> = trial
        .responses
        .iter()
        .filter(|response| response.of.is_none() && has(&response.name))
        .collect();
    for index in [
        Index::YieldToPruningWeight,
        Index::PruningWeightPerCanopy,
        Index::MeanCaneWeight,
        Index::MeanClusterWeight,
        Index::LeafAreaToFruit,
        Index::ShootsPerCanopy,
    ] {
        if ratios.iter().any(|ratio| ratio.index == Some(index)) {
            continue;
        }
        let made = of_index(trial, &usable, index);
        ratios.extend(made.filter(|made| ratios.iter().all(|ratio| ratio.name != made.name)));
    }
    ratios
}

/// The unit a response has in the tables.
fn unit(response: &Response) -> &Unit {
    response.report_unit.as_ref().unwrap_or(&response.unit)
}

/// Its factor is for the units of the report already, which are those of the tables.
fn as_declared(ratio: &crate::trial::Ratio) -> Ratio {
    Ratio {
        name: ratio.name.clone(),
        label: ratio.label.clone(),
        of: ratio.of.value.clone(),
        per: Some(ratio.per.value.clone()),
        per_length: None,
        scale: ratio.scale,
        unit: ratio.unit.clone(),
        index: ratio.index,
    }
}

fn of_index(trial: &Trial, usable: &[&Response], index: Index) -> Option<Ratio> {
    let find = |quantity| {
        usable
            .iter()
            .copied()
            .find(|response| response.quantity == quantity)
    };
    let (name, label, of, per) = match index {
        Index::YieldToPruningWeight => (
            "yield_to_pruning",
            "Yield to pruning weight",
            find(Quantity::Yield)?,
            find(Quantity::PruningWeight)?,
        ),
        Index::MeanCaneWeight => (
            "mean_cane_weight",
            "Mean cane weight",
            find(Quantity::PruningWeight)?,
            find(Quantity::CaneCount)?,
        ),
        Index::MeanClusterWeight => (
            "mean_cluster_weight",
            "Mean cluster weight",
            find(Quantity::Yield)?,
            find(Quantity::ClusterCount)?,
        ),
        Index::LeafAreaToFruit => (
            "leaf_area_to_fruit",
            "Leaf area to fruit",
            find(Quantity::LeafArea)?,
            find(Quantity::Yield)?,
        ),
        Index::PruningWeightPerCanopy => {
            let weight = find(Quantity::PruningWeight)?;
            let words = (
                "pruning_weight_per_canopy",
                "Pruning weight per metre of canopy",
            );
            return per_length(trial, weight, words, ("kg/vine", "kg/m"), index);
        }
        Index::ShootsPerCanopy => {
            let shoots = find(Quantity::ShootCount)?;
            let words = ("shoots_per_canopy", "Shoots per metre of canopy");
            return per_length(trial, shoots, words, ("shoots/vine", "shoots/m"), index);
        }
    };
    let quotient = unit(of).over(unit(per), &trial.vineyard).ok()?;
    Some(Ratio {
        name: name.to_owned(),
        label: label.to_owned(),
        of: of.name.clone(),
        per: Some(per.name.clone()),
        per_length: None,
        scale: quotient.scale,
        unit: quotient.unit,
        index: Some(index),
    })
}

fn per_length(
    trial: &Trial,
    of: &Response,
    (name, label): (&str, &str),
    (per_vine, printed): (&str, &str),
    index: Index,
) -> Option<Ratio> {
    let length = trial.vineyard.canopy_per_vine_m?;
    let per_vine = Unit::parse(per_vine).ok()?;
    Some(Ratio {
        name: name.to_owned(),
        label: label.to_owned(),
        of: of.name.clone(),
        per: None,
        per_length: Some(length),
        scale: unit(of).factor_to(&per_vine, &trial.vineyard).ok()?,
        unit: printed.to_owned(),
        index: Some(index),
    })
}
