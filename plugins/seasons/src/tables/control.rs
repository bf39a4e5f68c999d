//! Totals over the seasons against the control.

use caneplot_plugin::findings::{Column, Table};

use super::course::plain;
use super::in_unit;
use crate::compare::against_control;
use crate::measures::Measure;
use crate::study::{Study, Whole};

/// The table, where values add up and a factor has a control.
pub(crate) fn table(study: &Study<'_>, whole: &Whole<'_>) -> Option<Table> {
    let column = whole.column(Measure::Total(study.seasons.len()))?;
    let (mut labels, mut rows, mut groups) = (Vec::new(), Vec::new(), Vec::new());
    for term in whole.analysed.factors() {
        let Some((control, found)) = against_control(study, whole, term, column) else {
            continue;
        };
        let treatments = whole.analysed.treatments(term)?;
        groups.push(rows.len());
        for row in found {
            labels.push(plain(&format!(
                "{} less {}",
                treatments.words(row.treatment),
                treatments.words(control)
            )));
            rows.push(row);
        }
    }
    if rows.is_empty() {
        return None;
    }
    let format = whole.format(column, study.response());
    let number = |name: &str, value: &dyn Fn(usize) -> f64| {
        let values = (0..rows.len()).map(|row| Some(value(row))).collect();
        in_unit(Column::number(name, values, format), study.unit())
    };
    Some(Table {
        id: "total-control".to_owned(),
        title: format!(
            "{} added up over {} seasons: differences from the control",
            study.response().label,
            study.seasons.len()
        ),
        columns: vec![
            Column::text("Treatments", labels),
            number("Difference", &|row| rows[row].difference),
            number("Lower limit", &|row| {
                rows[row].difference - rows[row].half_width
            }),
            number("Upper limit", &|row| {
                rows[row].difference + rows[row].half_width
            }),
            Column::probability("P", rows.iter().map(|row| Some(row.p)).collect()),
        ],
        notes: vec![format!(
            "Limits and P hold for all comparisons of a factor with its control together (Dunnett, {}).",
            study.planner.options.confidence()
        )],
        groups: if groups.len() > 1 { groups } else { Vec::new() },
        file_only: false,
    })
}
