//! Plots that stand apart, and plots without which a verdict would be another. None is left out.

use caneplot_numerics::deletion::Deletion;
use caneplot_numerics::variance::TermLine;
use caneplot_plugin::findings::{Column, Format, Statement, Table};

use crate::methods::Used;
use crate::sentences::{Numbers, term_words};
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
    for (place, alike) in alike(&all).into_iter().enumerate() {
        let one = &alike[0];
        let apart = joint(one) < study.options.level;
        if apart {
            weighed
                .statements
                .push(standing_apart(study, alike, joint(one)));
        }
        if let Some((term, line)) = turned(study, one, apart).filter(|_| place < ASKED || apart) {
            weighed.statements.extend(turning(study, alike, term, line));
        }
    }
    if !weighed.statements.is_empty() {
        used.outlying = true;
        weighed.table = Some(table(study, &all, &joint));
    }
    weighed
}

/// Plots whose loss does the same to everything, as the two sub plots of a whole plot: the data cannot
/// tell which of them is at fault.
fn alike(all: &[Deletion]) -> Vec<&[Deletion]> {
    let same = |a: f64, b: f64| (a - b).abs() <= 1e-9 * a.abs().max(b.abs());
    let f = |line: &TermLine| line.f.unwrap_or(0.0);
    all.chunk_by(|a, b| {
        let mut tests = a.tests.iter().zip(&b.tests);
        same(a.t, -b.t) && !a.tests.is_empty() && tests.all(|(a, b)| same(f(&a.1), f(&b.1)))
    })
    .collect()
}

/// Plots as alternatives: "plot 3 of block B1 or plot 4 of block B1".
fn names(study: &Study<'_>, alike: &[Deletion]) -> String {
    let names = alike
        .iter()
        .map(|one| study.planned.plot_names[one.cell].as_str());
    safe(&names.collect::<Vec<_>>().join(" or "))
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

/// The first treatment term that is clear only because of a plot, or, where the plot stands apart, only
/// without it.
///
/// Among many plots there is nearly always one whose loss would lift a difference over the level; to
/// name it would invite dropping it.
fn turned<'a>(study: &Study<'_>, one: &'a Deletion, apart: bool) -> Option<(usize, &'a TermLine)> {
    let level = study.options.level;
    let found = one.tests.iter().find(|(term, line)| {
        let after = line.p.is_some_and(|p| p < level);
        match study.clear(*term) {
            true => !after,
            false => after && apart,
        }
    })?;
    Some((found.0, &found.1))
}

fn standing_apart(study: &Study<'_>, alike: &[Deletion], p: f64) -> Statement {
    let one = &alike[0];
    let more = if one.excess > 0.0 { "more" } else { "less" };
    let off = match alike {
        [_] => format!("{more} than the other plots lead one to expect"),
        _ => "off what the other plots lead one to expect".to_owned(),
    };
    let text = format!(
        "{} stands apart in {}{}: {{excess}} {off} ({{t}} standard errors, {{p}} for the largest of {{count}}). Nothing was left out; look at the record.",
        beginning(&names(study, alike)),
        inside(&study.response.label),
        if study.seasons().is_empty() {
            ""
        } else {
            ", mean of the seasons"
        },
    );
    Numbers(study)
        .put_difference(Statement::new(text), "excess", one.excess.abs())
        .with("t", one.t.abs(), Format::Decimals(1))
        .with("p", p, Format::Probability)
        .with("count", study.residuals().len() as f64, Format::Count)
}

fn turning(
    study: &Study<'_>,
    alike: &[Deletion],
    term: usize,
    line: &TermLine,
) -> Option<Statement> {
    Some(
        Statement::new(format!(
            "The verdict on {} hangs on {}: without it the test would go from {{before}} to {{after}}. Nothing was left out.",
            term_words(study, term),
            names(study, alike)
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
