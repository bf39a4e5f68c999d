//! Whether the assumptions look right, and which plots weigh most.

use std::collections::BTreeMap;

use caneplot_numerics::diagnose::{brown_forsythe, shapiro_wilk};
use caneplot_numerics::mixed::influence::Influence;
use caneplot_numerics::mixed::kenward_roger::{self, FTest, Order};
use caneplot_numerics::mixed::{Problem, RandomTerm, Settings, refit, satterthwaite};
use caneplot_plugin::findings::{Column, Format, Rank, Statement, Table};
use caneplot_plugin::words::{beginning, list, safe};
use nalgebra::DMatrix;

use crate::options::Df;
use crate::study::Study;

/// A standardized residual beyond this is named.
const FAR: f64 = 3.0;
/// So many plots are fitted without.
const REFITTED: usize = 3;
/// Most plots in the table of influence.
const LISTED: usize = 10;
/// Most values named in one sentence.
const NAMED: usize = 6;

/// What taking out one plot does to the test of the treatments.
struct Deletion {
    plot: usize,
    distance: f64,
    /// The test after a new fit without it.
    test: Option<FTest>,
}

/// What the checks found.
pub(crate) struct Checks {
    pub notes: Vec<Statement>,
    pub tables: Vec<Table>,
    pub shapiro: bool,
    pub brown: bool,
}

/// All checks of a study.
pub(crate) fn of(study: &Study<'_>) -> Checks {
    let mut checks = Checks {
        notes: Vec::new(),
        tables: Vec::new(),
        shapiro: false,
        brown: false,
    };
    let Ok(influence) = Influence::new(&study.problem, &study.choice.fit) else {
        return checks;
    };
    let standardized = influence.standardized();
    checks.notes.extend(far_values(study, &standardized));
    let known: Vec<f64> = standardized.iter().flatten().copied().collect();
    if let Ok(found) = shapiro_wilk(&known) {
        checks.shapiro = true;
        let text = match found.p < study.options.level {
            true => {
                "Standardized residuals stray from a normal distribution (Shapiro-Wilk W = {w}, {p}): look for single plots that stand apart, or for a scale on which the spread is even."
            }
            false => {
                "Standardized residuals give no sign against a normal distribution (Shapiro-Wilk W = {w}, {p})."
            }
        };
        checks.notes.push(
            Statement::new(text)
                .with("w", found.w, Format::Decimals(3))
                .with("p", found.p, Format::Probability),
        );
    }
    if let Some(statement) = spread(study, &standardized) {
        checks.brown = true;
        checks.notes.push(statement);
    }
    checks.notes.extend(slopes(study));
    let deletions = deletions(study, &influence);
    checks.notes.extend(influence_notes(study, &deletions));
    checks.tables.extend(influence_table(study, &deletions));
    for note in &mut checks.notes {
        if note.rank == Rank::Result {
            note.rank = Rank::Detail;
        }
    }
    checks
}

/// Values far from what all others predict.
fn far_values(study: &Study<'_>, standardized: &[Option<f64>]) -> Option<Statement> {
    let mut far: Vec<(usize, f64)> = standardized
        .iter()
        .enumerate()
        .filter_map(|(unit, value)| value.map(|value| (unit, value)))
        .filter(|(_, value)| value.abs() > FAR)
        .collect();
    if far.is_empty() {
        return None;
    }
    far.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()));
    let mut statement = Statement::default();
    let mut parts = Vec::new();
    for (at, (unit, value)) in far.iter().take(NAMED).enumerate() {
        let name = format!("r{at}");
        let season = match study.seasons() {
            [] => String::new(),
            seasons => format!(
                " in {}",
                safe(&seasons[study.problem.residual.season[*unit]])
            ),
        };
        parts.push(format!(
            "{}{season} ({{{name}}})",
            safe(&study.readings.plot_names[study.readings.plot[*unit]])
        ));
        statement = statement.with(&name, *value, Format::Decimals(1));
    }
    let more = match far.len() > NAMED {
        true => " and others",
        false => "",
    };
    statement.text = format!(
        "Values more than 3 standard errors from what all others predict: {}{more}. Look at the field notes of these plots; nothing was left out.",
        list(&parts)
    );
    Some(statement)
}

/// Whether standardized residuals spread alike in all treatments.
fn spread(study: &Study<'_>, standardized: &[Option<f64>]) -> Option<Statement> {
    let mut groups: BTreeMap<Vec<usize>, Vec<f64>> = BTreeMap::new();
    for (unit, value) in standardized.iter().enumerate() {
        let key: Vec<usize> = study.margins().iter().map(|m| m.codes[unit]).collect();
        groups.entry(key).or_default().extend(value);
    }
    if groups.values().any(|group| group.len() < 3) {
        return None;
    }
    let slices: Vec<&[f64]> = groups.values().map(Vec::as_slice).collect();
    let found = brown_forsythe(&slices).ok()?;
    let text = match found.p < study.options.level {
        true => {
            "Residuals spread differently in different treatments (Brown-Forsythe F = {f}, {p}): differences between the more variable treatments are less sure than their standard error says."
        }
        false => "Residuals spread much alike in all treatments (Brown-Forsythe F = {f}, {p}).",
    };
    Some(
        Statement::new(text)
            .with("f", found.f, Format::Decimals(2))
            .with("p", found.p, Format::Probability),
    )
}

/// Whether each covariate acts alike in all treatments: an interaction would make adjusted means hold
/// at the mean of the covariate only.
fn slopes(study: &Study<'_>) -> Vec<Statement> {
    let margins: Vec<usize> = (0..study.margins().len()).collect();
    let combinations = study.grid.combinations(&margins);
    let of_unit = |unit: usize| {
        let key: Vec<usize> = study.margins().iter().map(|m| m.codes[unit]).collect();
        combinations.iter().position(|levels| *levels == key)
    };
    study
        .readings
        .covariates
        .iter()
        .filter_map(|covariate| {
            let width = study.problem.fixed.ncols();
            let extra = combinations.len() - 1;
            let mut problem = study.problem.clone();
            problem.fixed = DMatrix::from_fn(covariate.values.len(), width + extra, |unit, c| {
                match c < width {
                    true => study.problem.fixed[(unit, c)],
                    false => match of_unit(unit) == Some(c - width + 1) {
                        true => covariate.values[unit],
                        false => 0.0,
                    },
                }
            });
            let found = refit(&problem, &study.choice.fit.theta, Settings::default()).ok()?;
            let rows = DMatrix::from_fn(extra, width + extra, |i, j| f64::from(j == width + i));
            let adjusted = kenward_roger::adjusted_covariance(&found, Order::First);
            let test = kenward_roger::test(&found, &adjusted, &rows).ok()?;
            let name = match covariate.about.when.as_str() {
                "" => study_name(&covariate.about.label),
                when => format!("{} ({when})", study_name(&covariate.about.label)),
            };
            let text = match test.p < study.options.level {
                true => format!(
                    "The treatments do not share one slope on {name} ({{p}}): adjusted means compare them at its mean only, and the comparison would be another elsewhere."
                ),
                false => format!("The slope on {name} is much the same in all treatments ({{p}})."),
            };
            Some(Statement::new(text).with("p", test.p, Format::Probability))
        })
        .collect()
}

fn study_name(label: &str) -> String {
    caneplot_plugin::words::inside(label)
}

/// Plots by what taking them out does to the treatments, most first.
fn deletions(study: &Study<'_>, influence: &Influence<'_>) -> Vec<Deletion> {
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
    let found = refit(&problem, &study.choice.fit.theta, Settings::default()).ok()?;
    match study.options.df {
        Df::KenwardRoger => {
            let adjusted = kenward_roger::adjusted_covariance(&found, Order::First);
            kenward_roger::test(&found, &adjusted, contrasts).ok()
        }
        Df::Satterthwaite => satterthwaite::test(&found, contrasts).ok(),
    }
}

fn influence_notes(study: &Study<'_>, deletions: &[Deletion]) -> Option<Statement> {
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

fn influence_table(study: &Study<'_>, deletions: &[Deletion]) -> Option<Table> {
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
