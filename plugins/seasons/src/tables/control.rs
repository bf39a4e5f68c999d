//! Totals over the seasons against the control.

use caneplot_plugin::findings::{Column, Table};

use super::course::plain;
use super::in_unit;
use crate::compare::{Against, against_control};
use crate::measures::Measure;
use crate::study::{Study, Whole};

/// The table, where values add up and a factor has a control.
pub(crate) fn table(study: &Study<'_>, whole: &Whole<'_>) -> Option<Table> {
    let column = whole.column(Measure::Total(study.seasons.len()))?;
    let (mut labels, mut rows, mut groups) = (Vec::new(), Vec::new(), Vec::new());
    let compared: Vec<(usize, usize, Vec<Against>)> = whole
        .analysed
        .factors()
        .filter_map(|term| {
            let (control, found) = against_control(study, whole, term, column)?;
            Some((term, control, found))
        })
        .collect();
    let several = compared.len() > 1;
    for (term, control, found) in compared {
        let treatments = whole.analysed.treatments(term)?;
        if several {
            groups.push(rows.len());
            labels.push(treatments.heading());
            rows.push(None);
        }
        for row in found {
            labels.push(plain(&format!(
                "{} less {}",
                treatments.words(row.treatment),
                treatments.words(control)
            )));
            rows.push(Some(row));
        }
    }
    if rows.is_empty() {
        return None;
    }
    let format = whole.format(column, study.response());
    let number = |name: &str, value: &dyn Fn(&Against) -> f64| {
        let values = rows.iter().map(|row| row.as_ref().map(value)).collect();
        in_unit(Column::number(name, values, format), study.unit())
    };
    let probabilities = rows.iter().map(|row| Some(row.as_ref()?.p)).collect();
    Some(Table {
        id: "total-control".to_owned(),
        title: format!(
            "{} added up over {} seasons: differences from the control",
            study.response().label,
            study.seasons.len()
        ),
        columns: vec![
            Column::text("Treatments", labels),
            number("Difference", &|row| row.difference),
            number("Lower limit", &|row| row.difference - row.half_width),
            number("Upper limit", &|row| row.difference + row.half_width),
            Column::probability("P", probabilities),
        ],
        notes: vec![format!(
            "Limits and P hold for all comparisons of a factor with its control together (Dunnett, {}).",
            study.planner.options.confidence()
        )],
        groups,
        file_only: false,
    })
}
