//! Nodes left beside nodes meant: one record a vine and season, or a plot and season where single
//! vines are not known.

use std::collections::BTreeMap;

use caneplot_plugin::request::{Basis, Factor, Response};
use caneplot_plugin::{Call, Refusal, Table};
use caneplot_readings::Register;

use crate::meant::{Prunings, nodes};

/// Nodes left on one vine in one season, or a plot's mean.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Record {
    pub plot: usize,
    pub season: usize,
    /// Name of the vine; `None` for a plot's mean.
    pub vine: Option<String>,
    /// Level of the factor that says the nodes.
    pub level: usize,
    pub left: f64,
    pub meant: f64,
    /// Kilograms of the prunings that a rule went by.
    pub prunings_kg: Option<f64>,
}

/// Everything recorded.
pub(crate) struct Records {
    pub all: Vec<Record>,
    /// Vines (or plots) and seasons whose rule had no prunings to go by, by season.
    pub without_prunings: BTreeMap<usize, usize>,
    /// Seasons in which plots stand for their vines though vines were counted.
    pub plots_for_vines: Vec<usize>,
}

/// One count of nodes left.
struct Counted {
    plot: usize,
    season: usize,
    vine: Option<String>,
    left: f64,
}

/// The records of a response beside one factor.
///
/// # Errors
/// Refuses nodes that are not counted on vines, tables that are not as declared, and a trial in which
/// nothing can be set against the nodes left.
pub(crate) fn records(
    call: &Call,
    register: &Register<'_>,
    factor: usize,
    response: &Response,
) -> Result<(Records, Vec<usize>), Refusal> {
    if response.basis != Basis::LivingVine {
        return Err(Refusal::new(format!(
            "'{}' is in {}, and treatments say how many nodes a vine keeps",
            response.name, response.unit
        ))
        .hint("record or report the nodes left in nodes/vine"));
    }
    let levels = levels(call, register, factor)?;
    let factor = &call.request.trial.factors[factor];
    let by_rule = factor.levels.iter().any(|level| level.rule.is_some());
    let prunings = Prunings::of(call, register, response.on_vines)?;
    if by_rule && prunings.response.is_none() && prunings.before.is_none() {
        return Err(Refusal::new("rules go by prunings, and no pruning weight is recorded")
            .hint("declare the prunings of each vine as a response that is = \"pruning weight\", and those of the winter before the trial as a covariate"));
    }
    let plots = counted(call.table("plots")?, register, response, false)?;
    let vines = if response.on_vines {
        Some(counted(call.table("vines")?, register, response, true)?)
    } else {
        None
    };
    let mut records = Records {
        all: Vec::new(),
        without_prunings: BTreeMap::new(),
        plots_for_vines: Vec::new(),
    };
    for season in 0..register.seasons() {
        let of_season = |one: &&Counted| one.season == season;
        // A rule can be held against a vine only where that vine's own prunings are known.
        let vines_known = !by_rule || (season > 0 && prunings.on_vines());
        let taken: Vec<&Counted> = match &vines {
            Some(vines) if vines_known => vines.iter().filter(of_season).collect(),
            _ => plots.iter().filter(of_season).collect(),
        };
        if !taken.is_empty() && vines.is_some() && !vines_known {
            records.plots_for_vines.push(season);
        }
        for one in taken {
            let kilograms = if season == 0 {
                prunings.of_plot_before(one.plot)
            } else {
                prunings.of_vine(one.plot, one.vine.as_deref().unwrap_or(""), season)
            };
            record(&mut records, factor, levels[one.plot], one, kilograms);
        }
    }
    if records.all.is_empty() {
        return Err(nothing(&records));
    }
    Ok((records, levels))
}

fn record(
    records: &mut Records,
    factor: &Factor,
    level: usize,
    one: &Counted,
    prunings_kg: Option<f64>,
) {
    let is_rule = factor.levels[level].rule.is_some();
    let prunings_kg = prunings_kg.filter(|_| is_rule);
    match nodes(factor, level, prunings_kg) {
        Some(meant) => records.all.push(Record {
            plot: one.plot,
            season: one.season,
            vine: one.vine.clone(),
            level,
            left: one.left,
            meant,
            prunings_kg,
        }),
        None if is_rule => *records.without_prunings.entry(one.season).or_default() += 1,
        // A level that is neither a number nor a rule asks for no number of nodes.
        None => {}
    }
}

fn nothing(records: &Records) -> Refusal {
    if records.without_prunings.is_empty() {
        return Refusal::new("no plot has nodes left beside a number that was meant")
            .hint("fill in the nodes left if they were counted");
    }
    Refusal::new(
        "rules go by the prunings of the winter in which nodes were left, and those are not recorded",
    )
    .hint("the prunings before the first season belong in a covariate that is = \"pruning weight\"; those after it, in a response of several seasons")
}

fn counted(
    table: &Table,
    register: &Register<'_>,
    response: &Response,
    vines: bool,
) -> Result<Vec<Counted>, Refusal> {
    let values = table.numbers(&response.name)?;
    let names = vines.then(|| table.texts("vine")).transpose()?;
    let rows = register.rows(table)?.into_iter().enumerate();
    Ok(rows
        .filter_map(|(row, (plot, season))| {
            Some(Counted {
                plot,
                season,
                vine: names.and_then(|names| names[row].clone()),
                left: values[row]? + response.offset,
            })
        })
        .collect())
}

/// Level of a factor by plot.
pub(crate) fn levels(
    call: &Call,
    register: &Register<'_>,
    factor: usize,
) -> Result<Vec<usize>, Refusal> {
    let table = call.table("plots")?;
    let factor = &call.request.trial.factors[factor];
    let texts = table.texts(&factor.name)?;
    let mut levels = vec![0; register.plots()];
    for ((plot, _), text) in register.rows(table)?.into_iter().zip(texts) {
        // The register has refused levels that are not declared.
        let place = factor
            .levels
            .iter()
            .position(|level| Some(&level.name) == text.as_ref());
        levels[plot] = place.unwrap_or(0);
    }
    Ok(levels)
}
