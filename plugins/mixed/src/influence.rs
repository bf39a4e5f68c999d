//! Which plots weigh most in the comparison of the treatments.

use caneplot_numerics::mixed::influence::Influence;
use caneplot_numerics::mixed::kenward_roger::{self, FTest, Order};
use caneplot_numerics::mixed::{Problem, RandomTerm, satterthwaite};
use caneplot_plugin::findings::{Column, Format, Rank, Statement, Table};
use caneplot_plugin::words::{beginning, safe};
use nalgebra::DMatrix;

use crate::options::Df;
use crate::study::Study;

/// So many plots are fitted without.
const REFITTED: usize = 3;
/// Probabilities below this are written alike.
const LEAST_SHOWN: f64 = 0.001;
/// Most plots in the table of influence.
const LISTED: usize = 10;
/// What taking out one plot does to the test of the treatments.
pub(crate) struct Deletion {
    plot: usize,
    distance: f64,
    /// The test after a new fit without it.
    test: Option<FTest>,
}

/// Plots by what taking them out does to the treatments, most first.
pub(crate) fn deletions(study: &Study<'_>, influence: &Influence<'_>) -> Vec<Deletion> {
    let margins: Vec<usize> = (0..study.margins().len()).collect();
    let Some(contrasts) = study.grid.joint(&margins) else {
        return Vec::new();
    };
    let mut all: Vec<Deletion> = (0..study.readings.plot_names.len())
        .filter_map(|plot| {
            let shift = influence.without(&units_of(study, plot))?;
            Some(Deletion {
                plot,
                distance: influence.distance(&shift, &contrasts)?,
                test: None,
            })
        })
        .collect();
    all.sort_by(|a, b| b.distance.total_cmp(&a.distance).then(a.plot.cmp(&b.plot)));
    for deletion in all.iter_mut().take(REFITTED) {
        deletion.test = refitted(study, &units_of(study, deletion.plot), &contrasts);
    }
    all
}

fn units_of(study: &Study<'_>, plot: usize) -> Vec<usize> {
    (0..study.readings.plot.len())
        .filter(|&unit| study.readings.plot[unit] == plot)
        .collect()
}

/// The test of the treatments in a new fit without some values.
fn refitted(study: &Study<'_>, gone: &[usize], contrasts: &DMatrix<f64>) -> Option<FTest> {
    let kept: Vec<usize> = (0..study.problem.values.len())
        .filter(|unit| !gone.contains(unit))
        .collect();
    let pick = |codes: &[usize]| kept.iter().map(|&unit| codes[unit]).collect::<Vec<_>>();
    let mut problem = Problem {
        values: kept
            .iter()
            .map(|&unit| study.problem.values[unit])
            .collect(),
        fixed: study.problem.fixed.select_rows(&kept),
        random: study
            .problem
            .random
            .iter()
            .map(|term| RandomTerm {
                name: term.name.clone(),
                codes: pick(&term.codes),
            })
            .collect(),
        residual: study.problem.residual.clone(),
    };
    problem.residual.plot = pick(&problem.residual.plot);
    problem.residual.season = pick(&problem.residual.season);
    if !problem.residual.group.is_empty() {
        problem.residual.group = pick(&problem.residual.group);
    }
    study
        .choice
        .again(&problem, |found| match study.options.df {
            Df::KenwardRoger => {
                let adjusted = kenward_roger::adjusted_covariance(found, Order::First);
                kenward_roger::test(found, &adjusted, contrasts).ok()
            }
            Df::Satterthwaite => satterthwaite::test(found, contrasts).ok(),
        })
}

/// The plot that moves the comparison most, in words.
pub(crate) fn note(study: &Study<'_>, deletions: &[Deletion]) -> Option<Statement> {
    let margins: Vec<usize> = (0..study.margins().len()).collect();
    let whole = study.test(&study.grid.joint(&margins)?)?;
    let level = study.options.level;
    let turning = deletions.iter().find(|one| {
        one.test
            .is_some_and(|test| (test.p < level) != (whole.p < level))
    });
    let (one, turns) = match turning {
        Some(one) => (one, true),
        None => (deletions.first()?, false),
    };
    let test = one.test?;
    let name = beginning(&study.readings.plot_names[one.plot]);
    let text = match turns {
        true => format!(
            "The verdict on the treatments hangs on single plots: without {} the test of all treatments goes from {{before}} to {{after}}. Nothing was left out; check the records of that plot before trusting either.",
            safe(&study.readings.plot_names[one.plot])
        ),
        false if test.p < LEAST_SHOWN && whole.p < LEAST_SHOWN => format!(
            "{name} moves the comparison of the treatments most, and without it the test of all treatments would still give {{after}}. Nothing was left out."
        ),
        false => format!(
            "{name} moves the comparison of the treatments most; without it the test of all treatments would go from {{before}} to {{after}}, so the verdict does not hang on that plot. Nothing was left out."
        ),
    };
    let rank = match turns {
        true => Rank::Result,
        false => Rank::Detail,
    };
    Some(
        Statement::new(text)
            .with("before", whole.p, Format::Probability)
            .with("after", test.p, Format::Probability)
            .rank(rank),
    )
}

/// The plots that move it most.
pub(crate) fn table(study: &Study<'_>, deletions: &[Deletion]) -> Option<Table> {
    if deletions.is_empty() {
        return None;
    }
    let listed = || deletions.iter().take(LISTED);
    Some(Table {
        id: "influence".to_owned(),
        title: "Plots that weigh most in the comparison of the treatments".to_owned(),
        columns: vec![
            Column::text(
                "Plot",
                listed().map(|one| study.readings.plot_names[one.plot].clone()),
            ),
            Column::number(
                "Cook's distance",
                listed().map(|one| Some(one.distance)).collect(),
                Format::Decimals(3),
            ),
            Column::number(
                "F without it",
                listed().map(|one| one.test.map(|test| test.f)).collect(),
                Format::Decimals(2),
            ),
            Column::probability(
                "P without it",
                listed().map(|one| one.test.map(|test| test.p)).collect(),
            ),
        ],
        notes: vec![
            "Cook's distance: squared move of the treatment means when the plot is taken out, against their covariance, with the variances held. F and P come from a new fit without the plot, made for the first three.".to_owned(),
        ],
        file_only: true,
        ..Table::default()
    })
}
