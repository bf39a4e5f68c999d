//! The analyses of a trial that names none, chosen by its design and data, each with the reason for
//! a reader. What an analysis suits stands in its manifest: there is no list of names here.

use caneplot_plugin::Manifest;
use caneplot_plugin::manifest::{Needs, Suits};
use caneplot_plugin::request::{Basis, Factor, Quantity, Response, TrialInfo};
use polars::frame::DataFrame;
use serde::{Deserialize, Serialize};

use super::balance::{Balance, balance};
use super::options::{defaults, job, lacking};
use super::{Discovery, Job, Origin};
use crate::load::text::list;
use crate::trial::Trial;

/// Whether an analysis is run, and why.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Choice {
    /// Name of the plugin.
    pub name: String,
    /// Whether it is run.
    pub runs: bool,
    /// A clause that goes on after "is run:" or "is left out:".
    pub why: String,
}

/// The jobs of a trial that names no analyses, and why every plugin beside the program is run or
/// left out.
#[must_use]
pub fn chosen<'a>(
    trial: &Trial,
    info: &TrialInfo,
    plots: &DataFrame,
    found: &'a Discovery,
) -> (Vec<Job<'a>>, Vec<Choice>) {
    let balance = balance(info, plots);
    let (mut jobs, mut choices) = (Vec::new(), Vec::new());
    // A plugin of one user must not change the report of a trial that does not name it.
    let shipped = found
        .plugins
        .iter()
        .filter(|one| one.origin == Origin::Shipped);
    for plugin in shipped {
        let reason = reason(&plugin.manifest, info, &balance);
        if reason.is_ok() {
            jobs.push(job(plugin, defaults(&plugin.manifest), trial, info));
        }
        choices.push(Choice {
            name: plugin.name.clone(),
            runs: reason.is_ok(),
            why: reason.unwrap_or_else(|why| why),
        });
    }
    (jobs, choices)
}

/// Why an analysis is run, or as an error why it is not.
fn reason(manifest: &Manifest, info: &TrialInfo, balance: &Balance) -> Result<String, String> {
    let Suits {
        on_request,
        complete,
        incomplete,
        counted,
        yield_parts,
        nodes_meant,
        systems,
    } = manifest.suits;
    if let Some(lacking) = lacking(&manifest.needs, info) {
        return Err(format!("the trial has {lacking}"));
    }
    if on_request {
        return Err("it is run only where it is named under [analyses]".to_owned());
    }
    let mut why = fulfilled(&manifest.needs, info);
    if complete != incomplete {
        if complete != balance.complete {
            let suited = if complete {
                "complete and balanced trials without covariates"
            } else {
                "trials with gaps or covariates"
            };
            return Err(format!(
                "{}; it is for {suited}, and naming it under [analyses] runs it all the same",
                balance.words
            ));
        }
        why.push(balance.words.clone());
    }
    if counted {
        let mut counts: Vec<&str> = labels(info, |one| is_counted(one, info));
        let stand = info.responses.iter().filter(|one| one.is_of_the_stand());
        counts.extend(stand.map(|one| one.label.as_str()));
        if counts.is_empty() {
            return Err(
                "the trial has no count out of a count, and no clusters or shoots counted on vines"
                    .to_owned(),
            );
        }
        why.push(format!("{} {} counted", list(&counts), is_or_are(&counts)));
    }
    if yield_parts {
        let crop = labels(info, |one| one.quantity == Quantity::Yield);
        let parts = labels(info, |one| is_yield_part(one.quantity));
        if crop.is_empty() {
            return Err("the trial has no crop".to_owned());
        }
        if parts.is_empty() {
            return Err(
                "of the parts of the crop (nodes, shoots, clusters, berries) none is recorded"
                    .to_owned(),
            );
        }
        why.push(format!(
            "{} {} recorded beside the crop",
            list(&parts),
            is_or_are(&parts)
        ));
    }
    if nodes_meant {
        let said = info.factors.iter().filter(|factor| factor.says_nodes());
        let said: Vec<&str> = said.map(|factor| factor.label.as_str()).collect();
        if said.is_empty() {
            return Err("no factor says how many nodes to leave on a vine".to_owned());
        }
        let left = labels(info, |one| one.quantity == Quantity::NodesLeft);
        if left.is_empty() {
            return Err("the nodes left on vines are not recorded".to_owned());
        }
        why.push(format!(
            "{} {} recorded beside what {} asks for",
            list(&left),
            is_or_are(&left),
            list(&said)
        ));
    }
    if systems {
        let made = info.factors.iter().filter(|factor| makes_canopies(factor));
        let made: Vec<&str> = made.map(|factor| factor.label.as_str()).collect();
        if made.is_empty() {
            return Err("no factor's levels say what canopy they make".to_owned());
        }
        why.push(format!("levels of {} make canopies", list(&made)));
    }
    if why.is_empty() {
        why.push("it suits every trial".to_owned());
    }
    Ok(list(&why))
}

/// What a trial has that an analysis needs, beside responses.
fn fulfilled(needs: &Needs, info: &TrialInfo) -> Vec<String> {
    let mut why = Vec::new();
    if needs.numeric_factor {
        let amounts = info.factors.iter().filter(|factor| factor.is_numeric());
        let labels: Vec<&str> = amounts.map(|factor| factor.label.as_str()).collect();
        why.push(format!("the levels of {} are numbers", list(&labels)));
    }
    if needs.ratio {
        let labels: Vec<&str> = info.ratios.iter().map(|one| one.label.as_str()).collect();
        why.push(format!("there are ratios ({})", list(&labels)));
    }
    if needs.vines {
        let on_vines = labels(info, |one| one.on_vines);
        why.push(format!("single vines are recorded ({})", list(&on_vines)));
    }
    if needs.counts {
        let counts = labels(info, |one| one.counts.is_some());
        why.push(format!(
            "{} {} counted out of a total",
            list(&counts),
            is_or_are(&counts)
        ));
    }
    if needs.seasons {
        why.push(format!(
            "the same plots were recorded in {} seasons",
            info.seasons.len()
        ));
    }
    if needs.field {
        why.push("the places of plots in the field are known".to_owned());
    }
    if needs.prices {
        why.push("there are prices (prices.toml)".to_owned());
    }
    why
}

fn labels(info: &TrialInfo, is: impl Fn(&Response) -> bool) -> Vec<&str> {
    let declared = info.responses.iter().filter(|one| one.derived.is_none());
    declared
        .filter(|one| is(one))
        .map(|one| one.label.as_str())
        .collect()
}

fn is_or_are(names: &[&str]) -> &'static str {
    if names.len() == 1 { "is" } else { "are" }
}

/// A count out of a count; or things counted, vine by vine or as a mean of a known number of vines.
fn is_counted(response: &Response, info: &TrialInfo) -> bool {
    let things = matches!(
        response.quantity,
        Quantity::ClusterCount | Quantity::ShootCount
    );
    let of_known = response.basis == Basis::LivingVine && info.vineyard.vines_per_plot.is_some();
    response.counts.is_some() || (things && (response.on_vines || of_known))
}

/// Whether its levels are names, and some of them say what canopy they make.
fn makes_canopies(factor: &Factor) -> bool {
    !factor.is_numeric() && factor.levels.iter().any(|level| level.canopy.is_some())
}

fn is_yield_part(quantity: Quantity) -> bool {
    matches!(
        quantity,
        Quantity::NodesLeft
            | Quantity::ShootCount
            | Quantity::ClusterCount
            | Quantity::BerryCount
            | Quantity::BerryWeight
    )
}

#[cfg(test)]
mod tests;
