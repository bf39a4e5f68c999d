//! Vines to plots, exactly: sums stay decimals, a mean is a sum and a number.

use caneplot_plugin::request::{Basis, Response as Described};

use super::records::{OfResponse, Records};
use super::stand::Stand;
use crate::decimal::{Decimal, as_written};
use crate::diagnostic::Diagnostic;
use crate::load::Loaded;
use crate::load::status::State;
use crate::trial::unit::Per;
use crate::trial::{Response, Trial, Unit};

/// A mean that is not divided yet: value = (`sum` / `number`), both exact.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Mean {
    /// Sum of the values.
    pub sum: Decimal,
    /// How many.
    pub number: u32,
}

/// A response brought to plots; numbers in the unit of the data until `factor` is applied.
#[derive(Debug, Clone)]
pub struct Reduced {
    /// What plugins are told; the offset is filled in with the tables.
    pub described: Described,
    /// By plot × season.
    pub plots: Vec<Option<Mean>>,
    /// By vine × season; empty where not recorded on vines. Only living vines.
    pub vines: Vec<Option<Decimal>>,
    /// Counts and totals by plot × season, for a count out of a count.
    pub counts: Option<Counts>,
    /// Turns the unit of the data into the unit of the report.
    pub factor: Decimal,
    /// What tables subtract, in the unit of the data.
    pub offset: Decimal,
}

impl Reduced {
    /// Whether any plot has a number.
    #[must_use]
    pub fn has_data(&self) -> bool {
        self.plots.iter().any(Option::is_some)
    }
}

/// Counts and totals.
#[derive(Debug, Clone, Default)]
pub struct Counts {
    /// Count and total by plot × season.
    pub plots: Vec<Option<(i64, i64)>>,
    /// Count and total by vine × season.
    pub vines: Vec<Option<(i64, i64)>>,
}

/// Every declared response brought to plots, in the order of the trial file.
///
/// # Errors
/// Units that do not convert; numbers too large to add up.
pub fn to_plots(
    trial: &Trial,
    loaded: &Loaded,
    records: &[OfResponse],
    stand: &Stand,
) -> Result<Vec<Reduced>, Vec<Diagnostic>> {
    let mut reduced = Vec::new();
    let mut faults = Vec::new();
    for (response, records) in trial.responses.iter().zip(records) {
        match one(trial, loaded, response, records, stand) {
            Ok(one) => reduced.push(one),
            Err(fault) => faults.push(fault),
        }
    }
    if faults.is_empty() {
        Ok(reduced)
    } else {
        Err(faults)
    }
}

fn one(
    trial: &Trial,
    loaded: &Loaded,
    response: &Response,
    records: &OfResponse,
    stand: &Stand,
) -> Result<Reduced, Diagnostic> {
    let factor = factor(trial, response)?;
    let on_vines = !records.values.vines.is_empty();
    let mut described = Described {
        name: response.name.clone(),
        label: response.label.clone(),
        unit: response
            .report_unit
            .as_ref()
            .unwrap_or(&response.unit)
            .to_string(),
        quantity: response.quantity,
        basis: basis(&response.unit, response.report_unit.as_ref(), on_vines),
        decimals: decimals(records.values.decimals, factor),
        on_vines,
        ..Described::default()
    };
    let too_large = || {
        Diagnostic::error(
            "too-large",
            format!("the numbers of '{}' are too large to add up", response.name),
        )
        .at(trial.place(&response.span))
        .help("record them in a larger unit")
    };
    let Some(totals) = &records.totals else {
        let vines = living(&records.values, stand);
        let plots = means(&records.values, &vines, loaded, stand).ok_or_else(too_large)?;
        return Ok(Reduced {
            described,
            plots,
            vines,
            counts: None,
            factor,
            offset: Decimal::ZERO,
        });
    };
    let counts = counts(&records.values, totals, loaded, stand).ok_or_else(too_large)?;
    described.unit = Unit::percent().to_string();
    described.basis = Basis::Plot;
    described.decimals = 1;
    described.on_vines = !counts.vines.is_empty();
    described.counts = Some((
        format!("{}__count", response.name),
        format!("{}__of", response.name),
    ));
    let share = |pair: &Option<(i64, i64)>| percentage((*pair)?);
    let plots = counts
        .plots
        .iter()
        .map(|pair| {
            Some(Mean {
                sum: share(pair)?,
                number: 1,
            })
        })
        .collect();
    let vines = counts.vines.iter().map(share).collect();
    let (factor, offset) = (Decimal::ONE, Decimal::ZERO);
    Ok(Reduced {
        described,
        plots,
        vines,
        counts: Some(counts),
        factor,
        offset,
    })
}

pub(super) fn percentage((count, total): (i64, i64)) -> Option<Decimal> {
    Decimal::from(count)
        .checked_mul(Decimal::ONE_HUNDRED)?
        .checked_div(Decimal::from(total))
}

/// The exact factor from the unit of the data to the unit of the report.
pub(super) fn factor(trial: &Trial, response: &Response) -> Result<Decimal, Diagnostic> {
    let Some(wanted) = &response.report_unit else {
        return Ok(Decimal::ONE);
    };
    let refused = |why: String, help: String| {
        Diagnostic::error("unit", format!("'{}': {why}", response.name))
            .at(trial.place(&response.span))
            .help(help)
    };
    let factor = response
        .unit
        .factor_to(wanted, &trial.vineyard)
        .map_err(|error| refused(error.to_string(), error.help()))?;
    as_written(factor).ok_or_else(|| {
        refused(
            format!(
                "the factor {factor} from {} to {wanted} is out of range",
                response.unit
            ),
            "choose a report unit nearer to the unit of the data".to_owned(),
        )
    })
}

pub(super) fn basis(unit: &Unit, report: Option<&Unit>, on_vines: bool) -> Basis {
    match unit.per() {
        Per::Vine => Basis::LivingVine,
        Per::Ground | Per::Canopy => Basis::PlantedSpace,
        Per::Plot if report.is_some_and(|report| report.per() != Per::Plot) => Basis::PlantedSpace,
        _ if on_vines && unit.is_extensive() => Basis::LivingVine,
        _ => Basis::Plot,
    }
}

/// One more decimal than recorded, as many as the unit of the report leaves of it, at most 4.
pub(super) fn decimals(recorded: u32, factor: Decimal) -> u8 {
    let mut step = Decimal::new(1, recorded.min(28))
        .checked_mul(factor)
        .unwrap_or(Decimal::ONE);
    let mut decimals = 0;
    while step < Decimal::ONE && decimals < 4 {
        step *= Decimal::TEN;
        decimals += 1;
    }
    (decimals + 1).min(4)
}

/// The numbers of living vines; a number on any other space does not enter a mean.
fn living(records: &Records, stand: &Stand) -> Vec<Option<Decimal>> {
    let alive = stand
        .states
        .iter()
        .map(|state| *state == Some(State::Alive));
    records
        .vines
        .iter()
        .zip(alive)
        .map(|(value, alive)| value.filter(|_| alive))
        .collect()
}

fn means(
    records: &Records,
    vines: &[Option<Decimal>],
    loaded: &Loaded,
    stand: &Stand,
) -> Option<Vec<Option<Mean>>> {
    let cells = loaded.index.plots.len() * stand.seasons;
    let mut means: Vec<Option<Mean>> = vec![None; cells];
    for (vine, values) in loaded.index.vines.iter().zip(vines.chunks(stand.seasons)) {
        for (season, value) in values.iter().enumerate() {
            let Some(value) = value else { continue };
            let mean = &mut means[vine.plot as usize * stand.seasons + season];
            let (sum, number) = mean.map_or((Decimal::ZERO, 0), |mean| (mean.sum, mean.number));
            *mean = Some(Mean {
                sum: sum.checked_add(*value)?,
                number: number + 1,
            });
        }
    }
    for (mean, value) in means.iter_mut().zip(&records.plots) {
        if let (None, Some(value)) = (&mean, value) {
            *mean = Some(Mean {
                sum: *value,
                number: 1,
            });
        }
    }
    Some(means)
}

fn counts(values: &Records, totals: &Records, loaded: &Loaded, stand: &Stand) -> Option<Counts> {
    let pair = |count: Option<Decimal>, total: Option<Decimal>| {
        let (count, total) = (whole(count?)?, whole(total?)?);
        (total > 0).then_some((count, total))
    };
    let (counted, of) = (living(values, stand), living(totals, stand));
    let vines: Vec<_> = counted
        .iter()
        .zip(&of)
        .map(|(count, total)| pair(*count, *total))
        .collect();
    let mut plots = vec![None; loaded.index.plots.len() * stand.seasons];
    for (vine, pairs) in loaded.index.vines.iter().zip(vines.chunks(stand.seasons)) {
        for (season, pair) in pairs.iter().enumerate() {
            let Some((count, total)) = pair else { continue };
            let sum = &mut plots[vine.plot as usize * stand.seasons + season];
            let (counts, totals): (i64, i64) = sum.unwrap_or((0, 0));
            *sum = Some((counts.checked_add(*count)?, totals.checked_add(*total)?));
        }
    }
    for (at, sum) in plots.iter_mut().enumerate() {
        if sum.is_none() {
            let of = |records: &Records| records.plots.get(at).copied().flatten();
            *sum = pair(of(values), of(totals));
        }
    }
    Some(Counts { plots, vines })
}

fn whole(value: Decimal) -> Option<i64> {
    use rust_decimal::prelude::ToPrimitive;
    value.is_integer().then(|| value.to_i64()).flatten()
}
