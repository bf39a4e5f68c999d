//! Responses made from others: per planted space, mean cluster weight, mean cane weight.

use caneplot_plugin::request::{Basis, Quantity, Response as Described};

use super::records::OfResponse;
use super::reduce::{Mean, Reduced};
use super::stand::Stand;
use crate::decimal::{Decimal, as_written};
use crate::diagnostic::Diagnostic;
use crate::load::Loaded;
use crate::trial::{Response, Trial};

/// For every amount per living vine, the same per planted space, where there is any gap: the mean of
/// the living vines times the share of spaces they fill. A plot without a living vine yields nothing.
#[must_use]
pub fn per_space(responses: &[Reduced], stand: &Stand, loaded: &Loaded) -> Vec<Reduced> {
    if !stand.has_gaps() {
        return Vec::new();
    }
    let amounts = responses.iter().filter(|response| {
        // Nodes left are what was done, not what was harvested.
        response.described.basis == Basis::LivingVine
            && response.described.on_vines
            && response.described.quantity != Quantity::NodesLeft
    });
    amounts
        .map(|response| {
            let recorded = seasons_recorded(response, stand, loaded);
            let plots = (0..response.plots.len())
                .map(|cell| {
                    let (alive, planted) = (stand.alive[cell], stand.planted[cell]);
                    let spaces = u32::try_from(planted).ok().filter(|spaces| *spaces > 0)?;
                    match response.plots[cell] {
                        Some(mean) => Some(Mean {
                            sum: mean.sum.checked_mul(Decimal::from(alive))?,
                            number: mean.number.checked_mul(spaces)?,
                        }),
                        None if alive == 0 && recorded[cell % stand.seasons] => {
                            Some(Mean { sum: Decimal::ZERO, number: 1 })
                        }
                        None => None,
                    }
                })
                .collect();
            let described = Described {
                name: format!("{}_per_space", response.described.name),
                label: format!("{}, per planted space", response.described.label),
                basis: Basis::PlantedSpace,
                on_vines: false,
                derived: Some(format!(
                    "mean of the living vines of '{}' times the share of planted spaces with a living vine",
                    response.described.name
                )),
                ..response.described.clone()
            };
            Reduced { described, plots, vines: Vec::new(), counts: None, ..response.clone() }
        })
        .collect()
}

fn seasons_recorded(response: &Reduced, stand: &Stand, loaded: &Loaded) -> Vec<bool> {
    let plots = 0..loaded.index.plots.len();
    (0..stand.seasons)
        .map(|season| {
            plots
                .clone()
                .any(|plot| response.plots[plot * stand.seasons + season].is_some())
        })
        .collect()
}

struct Size {
    name: &'static str,
    label: &'static str,
    of: Quantity,
    per: Quantity,
    /// Names under which a trial may declare it itself.
    declared: [&'static str; 2],
}

const SIZES: [Size; 2] = [
    Size {
        name: "mean_cluster_weight",
        label: "Mean cluster weight",
        of: Quantity::Yield,
        per: Quantity::ClusterCount,
        declared: ["mean_cluster_weight", "cluster_weight"],
    },
    Size {
        name: "mean_cane_weight",
        label: "Mean cane weight",
        of: Quantity::PruningWeight,
        per: Quantity::CaneCount,
        declared: ["mean_cane_weight", "cane_weight"],
    },
];

/// Mean cluster weight and mean cane weight of each plot in grams, where the trial records their
/// parts and does not declare them itself. Over vines it is the sum above over the sum below, of
/// the living vines that have both; else the mean of the plot over the mean of the plot.
#[must_use]
pub fn sizes(
    trial: &Trial,
    loaded: &Loaded,
    records: &[OfResponse],
    responses: &[Reduced],
    stand: &Stand,
) -> (Vec<Reduced>, Vec<Diagnostic>) {
    let (mut made, mut notes) = (Vec::new(), Vec::new());
    for size in &SIZES {
        let declared = |name: &str| size.declared.contains(&name);
        if trial
            .responses
            .iter()
            .any(|response| declared(&response.name))
        {
            continue;
        }
        let find = |quantity| {
            trial
                .responses
                .iter()
                .position(|response| response.quantity == quantity && response.of.is_none())
        };
        let (Some(of), Some(per)) = (find(size.of), find(size.per)) else {
            continue;
        };
        let (above, below) = (&trial.responses[of], &trial.responses[per]);
        match quotient_scale(trial, above, below) {
            Ok((unit, scale)) => {
                let sums = sums_of_vines(&records[of], &records[per], loaded, stand);
                let means = responses[of].plots.iter().zip(&responses[per].plots);
                let plots: Vec<Option<Mean>> = sums
                    .into_iter()
                    .zip(means)
                    .map(|(sums, means)| quotient(sums.or_else(|| both(means)), scale))
                    .collect();
                if plots.iter().any(Option::is_some) {
                    made.push(reduced(size, above, below, unit, plots));
                }
            }
            Err(why) => notes.push(
                Diagnostic::note(
                    "not-made",
                    format!("{} is not reckoned: {why}", size.label.to_lowercase()),
                )
                .at(trial.place(&above.span)),
            ),
        }
    }
    (made, notes)
}

fn quotient_scale(
    trial: &Trial,
    above: &Response,
    below: &Response,
) -> Result<(String, Decimal), String> {
    let quotient = above
        .unit
        .over(&below.unit, &trial.vineyard)
        .map_err(|error| error.to_string())?;
    let scale = as_written(quotient.scale).ok_or("its units are too far apart")?;
    Ok((quotient.unit, scale))
}

/// Sums above and below of the living vines that have both, by plot × season.
fn sums_of_vines(
    of: &OfResponse,
    per: &OfResponse,
    loaded: &Loaded,
    stand: &Stand,
) -> Vec<Option<(Decimal, Decimal)>> {
    let mut sums = vec![None; loaded.index.plots.len() * stand.seasons];
    for (at, (above, below)) in of.values.vines.iter().zip(&per.values.vines).enumerate() {
        let (vine, season) = (at / stand.seasons, at % stand.seasons);
        if let (Some(above), Some(below), true) = (above, below, stand.lives(vine, season)) {
            let cell = loaded.index.vines[vine].plot as usize * stand.seasons + season;
            let (sum, number) = sums[cell].unwrap_or((Decimal::ZERO, Decimal::ZERO));
            sums[cell] = sum.checked_add(*above).zip(number.checked_add(*below));
        }
    }
    sums
}

/// The means of a plot above and below, where not both are recorded on vines.
fn both((above, below): (&Option<Mean>, &Option<Mean>)) -> Option<(Decimal, Decimal)> {
    let value = |mean: &Mean| mean.sum.checked_div(Decimal::from(mean.number));
    above
        .as_ref()
        .and_then(value)
        .zip(below.as_ref().and_then(value))
}

fn quotient(sums: Option<(Decimal, Decimal)>, scale: Decimal) -> Option<Mean> {
    let (above, below) = sums?;
    let sum = above.checked_mul(scale)?.checked_div(below)?;
    Some(Mean { sum, number: 1 })
}

fn reduced(
    size: &Size,
    above: &Response,
    below: &Response,
    unit: String,
    plots: Vec<Option<Mean>>,
) -> Reduced {
    let described = Described {
        name: size.name.to_owned(),
        label: size.label.to_owned(),
        unit,
        quantity: Quantity::Other,
        basis: Basis::Plot,
        decimals: 1,
        derived: Some(format!(
            "'{}' over '{}' of the plot",
            above.name, below.name
        )),
        ..Described::default()
    };
    Reduced {
        described,
        plots,
        vines: Vec::new(),
        counts: None,
        factor: Decimal::ONE,
        offset: Decimal::ZERO,
    }
}
