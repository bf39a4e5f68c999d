//! Totals over the seasons against the control.

use caneplot_plugin::findings::{Column, Table};

use super::course::plain;
use super::in_unit;
use crate::compare::{Against, WithControl, against_control};
use crate::measures::Measure;
use crate::study::{Study, Whole};

/// The table, where values add up and a factor has a control; `tested` adds joint P to the limits.
pub(crate) fn table(study: &Study<'_>, whole: &Whole<'_>, tested: bool) -> Option<Table> {
    let column = whole.column(Measure::Total(study.seasons.len()))?;
    let (mut labels, mut rows, mut groups) = (Vec::new(), Vec::new(), Vec::new());
    let mut probabilities = Vec::new();
    let compared: Vec<(usize, WithControl)> = whole
        .analysed
        .factors()
        .filter_map(|term| Some((term, against_control(study, whole, term, column)?)))
        .collect();
    let several = compared.len() > 1;
    for (term, found) in &compared {
        let treatments = whole.analysed.treatments(*term)?;
        if several {
            groups.push(rows.len());
            labels.push(treatments.heading());
            rows.push(None);
            probabilities.push(None);
        }
        for row in &found.rows {
            labels.push(plain(&format!(
                "{} less {}",
                treatments.words(row.treatment),
                treatments.words(found.control)
            )));
            rows.push(Some(*row));
            probabilities.push(if tested { found.p(row) } else { None });
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
    let mut columns = vec![
        Column::text("Treatments", labels),
        number("Difference", &|row| row.difference.value),
        number("Lower limit", &|row| row.difference.value - row.half_width),
        number("Upper limit", &|row| row.difference.value + row.half_width),
    ];
    if tested {
        columns.push(Column::probability("P", probabilities));
    }
    let mut notes = vec![format!(
        "{} for all comparisons of a factor with its control together (Dunnett, {}).",
        if tested {
            "Limits and P hold"
        } else {
            "Limits hold"
        },
        study.planner.options.confidence()
    )];
    if !whole.analysed.planned.plots.complete() {
        notes.push("With plots missing they hold nearly.".to_owned());
    }
    Some(Table {
        id: "total-control".to_owned(),
        title: format!(
            "{} added up over {} seasons: differences from the control",
            study.response().label,
            study.seasons.len()
        ),
        columns,
        notes,
        groups,
        file_only: false,
    })
}
