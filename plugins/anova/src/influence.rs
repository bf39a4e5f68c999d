//! Plots that stand apart, and plots without which a verdict would be another. None is left out.

use caneplot_numerics::deletion::Deletion;
use caneplot_numerics::variance::TermLine;
use caneplot_plugin::findings::{Column, Format, Statement, Table};

use crate::methods::Used;
use crate::sentences::Numbers;
use crate::study::Study;
use crate::tables::with_unit;
use crate::words::{beginning, inside, safe};

/// Of so many plots it is asked what a verdict would be without them.
const ASKED: usize = 3;
/// Most plots in the table.
const LISTED: usize = 10;
/// In trials with more plots only the largest residuals are looked at.
const MOST_PLOTS: usize = 400;
/// So many of them.
const LARGEST: usize = 40;

/// What single plots do.
#[derive(Default)]
pub(crate) struct Weighed {
    pub statements: Vec<Statement>,
    pub table: Option<Table>,
}

/// Plots that stand apart or decide a verdict; nothing where there is none.
pub(crate) fn of(study: &Study<'_>, used: &mut Used) -> Weighed {
    let all = deletions(study);
    let count = study.residuals().len() as f64;
    let joint = |one: &Deletion| (one.p * count).min(1.0);
    let mut weighed = Weighed::default();
    for (place, one) in all.iter().enumerate() {
        let apart = joint(one) < study.options.level;
        let turned = turned(study, one).filter(|_| place < ASKED || apart);
        if apart {
            weighed
                .statements
                .push(standing_apart(study, one, joint(one)));
        }
        if let Some((term, line)) = turned {
            weighed.statements.extend(turning(study, one, term, line));
        }
    }
    if !weighed.statements.is_empty() {
        used.outlying = true;
        weighed.table = Some(table(study, &all, &joint));
    }
    weighed
}

/// The analysis without each plot, those that move it most first.
fn deletions(study: &Study<'_>) -> Vec<Deletion> {
    let design = &study.planned.design;
    let residuals = study.residuals();
    let mut plots: Vec<usize> = (0..residuals.len()).collect();
    if plots.len() > MOST_PLOTS {
        plots.sort_by(|&a, &b| residuals[b].abs().total_cmp(&residuals[a].abs()));
        plots.truncate(LARGEST);
    }
    let mut all: Vec<Deletion> = plots
        .into_iter()
        .filter_map(|plot| design.layout.without(&study.variance, design.plots, plot))
        .collect();
    all.sort_by(|a, b| b.distance.total_cmp(&a.distance).then(a.cell.cmp(&b.cell)));
    all
}

/// The first treatment term that is clear with the plot and not without it, or the other way round.
fn turned<'a>(study: &Study<'_>, one: &'a Deletion) -> Option<(usize, &'a TermLine)> {
    let level = study.options.level;
    let found = one
        .tests
        .iter()
        .find(|(term, line)| line.p.is_some_and(|p| (p < level) != study.clear(*term)))?;
    Some((found.0, &found.1))
}

fn standing_apart(study: &Study<'_>, one: &Deletion, p: f64) -> Statement {
    let text = format!(
        "{} stands apart: its {}{} is {{excess}} {} than the other plots lead one to expect (residual {{t}} times its standard error, {{p}} for the largest of {{count}}). Nothing was left out; look at its record.",
        beginning(&study.planned.plot_names[one.cell]),
        inside(&study.response.label),
        if study.seasons().is_empty() {
            ""
        } else {
            ", the mean of its seasons,"
        },
        if one.excess > 0.0 { "more" } else { "less" }
    );
    Numbers(study)
        .put_difference(Statement::new(text), "excess", one.excess.abs())
        .with("t", one.t, Format::Decimals(1))
        .with("p", p, Format::Probability)
        .with("count", study.residuals().len() as f64, Format::Count)
}

fn turning(study: &Study<'_>, one: &Deletion, term: usize, line: &TermLine) -> Option<Statement> {
    Some(
        Statement::new(format!(
            "The verdict on {} hangs on {}: without it the test would go from {{before}} to {{after}}. Nothing was left out.",
            crate::sentences::term_words(study, term),
            safe(&study.planned.plot_names[one.cell])
        ))
        .with("before", study.line(term).p?, Format::Probability)
        .with("after", line.p?, Format::Probability),
    )
}

/// The plots that move the fit most.
fn table(study: &Study<'_>, all: &[Deletion], joint: &dyn Fn(&Deletion) -> f64) -> Table {
    let listed = || all.iter().take(LISTED);
    let layout = &study.planned.design.layout;
    let mut columns = vec![
        Column::text(
            "Plot",
            listed().map(|one| study.planned.plot_names[one.cell].clone()),
        ),
        with_unit(
            Column::number(
                "Above what others foretell",
                listed().map(|one| Some(one.excess)).collect(),
                study.of_means(),
            ),
            study.unit(),
        ),
        Column::number(
            "Over its standard error",
            listed().map(|one| Some(one.t)).collect(),
            Format::Decimals(2),
        ),
        Column::probability(
            "P, for the largest of all",
            listed().map(|one| Some(joint(one))).collect(),
        ),
        Column::number(
            "Cook's distance",
            listed().map(|one| Some(one.distance)).collect(),
            Format::Decimals(3),
        ),
    ];
    let terms = all.first().map_or(&[][..], |one| one.tests.as_slice());
    for (place, (term, _)) in terms.iter().enumerate() {
        columns.push(Column::probability(
            &format!("P of {} without it", layout.term_name(*term)),
            listed().map(|one| one.tests[place].1.p).collect(),
        ));
    }
    Table {
        id: "influence".to_owned(),
        title: "Plots that weigh most in the analysis".to_owned(),
        columns,
        notes: vec![
            "Cook's distance: squared move of the fitted values when the plot is taken out, over the error mean square and the number of parameters. P of the residual counts all plots among which it is the largest (Bonferroni).".to_owned(),
        ],
        file_only: true,
        ..Table::default()
    }
}
