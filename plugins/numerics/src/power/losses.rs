//! Power where vines will be lost.
//!
//! A plot that keeps fewer vines has a less certain mean, and a plot that keeps none is gone. Every
//! vine is lost with the same probability, apart from the others. Plots weigh alike in the analysis
//! whatever they keep. A trial that keeps all its plots is analysed in its strata; one that has lost
//! some by restricted likelihood with tests as Kenward & Roger (1997), each stratum but the last a
//! random term, as an unbalanced trial is analysed. One that can no longer be analysed finds nothing.

use super::{Plan, PowerError, Settings, Simulated};
use crate::mixed::grid::Grid;
use crate::mixed::kenward_roger::{self, Order};
use crate::mixed::{self, Problem, RandomTerm, Residual};
use crate::random::{Stream, Streams};
use crate::strata::Layout;

/// How vines stand and fall.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Vines {
    /// Vines of a plot.
    pub each: usize,
    /// Variance between them, in the squared unit of the response.
    pub variance: f64,
    /// Probability that one is lost.
    pub loss: f64,
}

/// What came of the simulated trials.
#[derive(Debug, Clone, PartialEq)]
pub struct Lossy {
    /// Rejections, term by term.
    pub terms: Vec<Simulated>,
    /// Trials that lost a plot or more.
    pub lost_plots: u64,
    /// Trials that could not be analysed for some term.
    pub unanalysed: u64,
}

/// The power of every term's test in trials with losses.
///
/// `plan` has one value a plot, and variances without what vines add; `treatments` are the
/// classifiers of the treatment factors. Draws are made one after the other.
///
/// # Errors
/// See [`PowerError`].
pub fn with_losses(
    plan: Plan<'_>,
    treatments: &[usize],
    vines: Vines,
    settings: Settings,
) -> Result<Lossy, PowerError> {
    let mut whole = plan.variances.to_vec();
    if let Some(last) = whole.last_mut() {
        *last += vines.variance / vines.each as f64;
    }
    Plan {
        variances: &whole,
        ..plan
    }
    .check()?;
    if !(0.0..1.0).contains(&vines.loss) {
        return Err(crate::distribution::DistributionError::Probability(vines.loss).into());
    }
    if settings.draws == 0 {
        return Err(PowerError::NoDraws);
    }
    let layout = plan.layout;
    let streams = Streams::new(settings.seed, "losses");
    let mut found = Lossy {
        terms: vec![
            Simulated {
                rejected: 0,
                draws: settings.draws,
            };
            layout.terms().len()
        ],
        lost_plots: 0,
        unanalysed: 0,
    };
    for trial in 0..settings.draws {
        let mut stream = streams.replicate(trial);
        let living: Vec<usize> = (0..layout.units())
            .map(|_| {
                (0..vines.each)
                    .filter(|_| stream.uniform() >= vines.loss)
                    .count()
            })
            .collect();
        let values = values(plan, vines.variance, &living, &mut stream);
        let kept: Vec<usize> = (0..values.len()).filter(|&unit| living[unit] > 0).collect();
        let tests: Vec<Option<f64>> = if kept.len() == values.len() {
            let lines = layout.analyse(&values).lines;
            lines.iter().map(|line| line.p).collect()
        } else {
            found.lost_plots += 1;
            unbalanced(layout, treatments, &values, &kept)
        };
        found.unanalysed += u64::from(tests.iter().any(Option::is_none));
        for (term, p) in found.terms.iter_mut().zip(tests) {
            term.rejected += u64::from(p.is_some_and(|p| p <= settings.level));
        }
    }
    Ok(found)
}

/// A value of every plot; that of a plot without vines means nothing.
fn values(plan: Plan<'_>, vine: f64, living: &[usize], stream: &mut Stream) -> Vec<f64> {
    let mut values = plan.expected.to_vec();
    for (stratum, variance) in plan.layout.strata().iter().zip(plan.variances) {
        let mut cells = vec![0.0; stratum.cells.count()];
        stream.fill_normal(&mut cells);
        for (value, &cell) in values.iter_mut().zip(stratum.cells.of_unit()) {
            *value += variance.sqrt() * cells[cell];
        }
    }
    let mut own = vec![0.0; values.len()];
    stream.fill_normal(&mut own);
    for ((value, own), &living) in values.iter_mut().zip(own).zip(living) {
        *value += (vine / living.max(1) as f64).sqrt() * own;
    }
    values
}

/// P of every term from the plots that are left; `None` where there is none.
fn unbalanced(
    layout: &Layout,
    treatments: &[usize],
    values: &[f64],
    kept: &[usize],
) -> Vec<Option<f64>> {
    let pick = |codes: &[usize]| -> Vec<usize> { kept.iter().map(|&unit| codes[unit]).collect() };
    let factors: Vec<Vec<usize>> = treatments
        .iter()
        .map(|&at| pick(&layout.classifiers()[at].codes))
        .collect();
    let codes: Vec<&[usize]> = factors.iter().map(Vec::as_slice).collect();
    let sizes: Vec<usize> = treatments
        .iter()
        .map(|&at| layout.classifiers()[at].levels.len())
        .collect();
    let grid = Grid::new(&sizes, &codes, 0);
    let coarse = &layout.strata()[..layout.strata().len() - 1];
    let problem = Problem {
        values: kept.iter().map(|&unit| values[unit]).collect(),
        fixed: grid.fixed(&codes, &[]),
        random: coarse
            .iter()
            .map(|stratum| RandomTerm {
                name: stratum.name.clone(),
                codes: renumbered(&pick(stratum.cells.of_unit())),
            })
            .collect(),
        residual: Residual::independent(kept.len()),
    };
    let Ok(fit) = mixed::fit(&problem, mixed::Settings::default()) else {
        return vec![None; layout.terms().len()];
    };
    let adjusted = kenward_roger::adjusted_covariance(&fit, Order::First);
    let tested = layout.terms().iter().map(|term| {
        let places: Vec<usize> = term
            .classifiers
            .iter()
            .filter_map(|at| treatments.iter().position(|one| one == at))
            .collect();
        let rows = grid.hypothesis(&places, &[])?;
        kenward_roger::test(&fit, &adjusted, &rows)
            .ok()
            .map(|test| test.p)
    });
    tested.collect()
}

/// Codes without gaps, in the order they are met.
fn renumbered(codes: &[usize]) -> Vec<usize> {
    let mut known: Vec<usize> = Vec::new();
    codes
        .iter()
        .map(|code| {
            known.iter().position(|one| one == code).unwrap_or_else(|| {
                known.push(*code);
                known.len() - 1
            })
        })
        .collect()
}
