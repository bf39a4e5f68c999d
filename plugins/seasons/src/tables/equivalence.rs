//! Treatments judged against a margin around the control.

use caneplot_numerics::equivalence::Verdict;
use caneplot_plugin::findings::{Column, Table};

use super::course::plain;
use super::in_unit;
use crate::compare::Judged;
use crate::measures::digits;
use crate::study::Study;

/// The table, where a margin is declared and a factor has a control.
pub(crate) fn table(study: &Study<'_>, judged: &[Judged]) -> Option<Table> {
    if judged.is_empty() {
        return None;
    }
    let smallest = judged
        .iter()
        .map(|row| 0.5 * (row.found.high - row.found.low) / 2.0)
        .reduce(f64::min);
    let format = digits(smallest, study.response().decimals.saturating_add(1));
    let number = |name: &str, value: &dyn Fn(&Judged) -> f64| {
        let values = judged.iter().map(|row| Some(value(row))).collect();
        in_unit(Column::number(name, values, format), study.unit())
    };
    let probability = |name: &str, value: &dyn Fn(&Judged) -> f64| {
        Column::probability(name, judged.iter().map(|row| Some(value(row))).collect())
    };
    let calendar = study.planner.calendar;
    let season = |row: &Judged| {
        row.season
            .map_or("all", |season| calendar.label(season))
            .to_owned()
    };
    let mut columns = vec![Column::text(
        "Treatments",
        judged
            .iter()
            .map(|row| plain(&format!("{} less {}", row.words, row.control))),
    )];
    if judged.iter().any(|row| row.season.is_some()) {
        columns.push(Column::text("Seasons", judged.iter().map(season)));
    }
    columns.extend([
        number("Difference", &|row| row.difference),
        number("Lower limit", &|row| row.found.low),
        number("Upper limit", &|row| row.found.high),
        number("Margin", &|row| row.margin),
        probability("P of equivalence", &|row| row.found.p),
        probability("P of the difference", &|row| row.found.difference_p),
        Column::text(
            "Verdict",
            judged.iter().map(|row| verdict(row.found.verdict)),
        ),
    ]);
    Some(Table {
        id: "equivalence".to_owned(),
        title: format!("{}: equivalence with the control", study.response().label),
        columns,
        notes: vec![format!(
            "Equivalent means that the whole {} interval of the difference lies within the margin on either side of the control; P of equivalence is the larger one of the two one-sided tests that say so. Intervals and P are of each comparison by itself.",
            study.planner.options.equivalence_confidence()
        )],
        ..Table::default()
    })
}

fn verdict(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Equivalent { different: false } => "equivalent",
        Verdict::Equivalent { different: true } => "equivalent, though different",
        Verdict::Different { beyond: true } => "clearly different, beyond the margin",
        Verdict::Different { beyond: false } => "clearly different",
        Verdict::Undecided => "the trial cannot tell",
    }
}
