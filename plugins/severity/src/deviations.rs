//! The vines that did not get the nodes of their rule, one a row: the arithmetic of the field sheet
//! checked.

use caneplot_plugin::findings::{Column, Format, Table};

use crate::records::Record;
use crate::section::Study;

/// Records outside the tolerance, the farthest first.
pub(crate) fn outside<'a>(study: &'a Study<'_>) -> Vec<&'a Record> {
    let mut found: Vec<&Record> = study
        .records
        .all
        .iter()
        .filter(|one| !study.options.within(one.left, one.meant))
        .collect();
    let far = |one: &Record| (one.left - one.meant).abs();
    found.sort_by(|a, b| far(b).total_cmp(&far(a)));
    found
}

/// Every record outside the tolerance, as a file.
pub(crate) fn table(study: &Study<'_>) -> Option<Table> {
    let found = outside(study);
    if found.is_empty() {
        return None;
    }
    let each =
        |value: &dyn Fn(&Record) -> Option<f64>| found.iter().map(|one| value(one)).collect();
    let one = Format::Decimals(1);
    let mut columns = vec![
        Column::text(
            "Plot",
            found.iter().map(|one| study.register.words(one.plot)),
        ),
        Column::text(
            "Vine",
            found.iter().map(|one| one.vine.clone().unwrap_or_default()),
        ),
        Column::text(
            "Season",
            found.iter().map(|one| study.register.season(one.season)),
        ),
        Column::text(
            &study.factor.label,
            found
                .iter()
                .map(|one| study.factor.levels[one.level].label.clone()),
        ),
    ];
    if study.by_rule {
        let prunings = each(&|one| one.prunings_kg);
        columns
            .push(Column::number("Prunings", prunings, Format::Significant(4)).in_unit("kg/vine"));
    }
    columns.extend([
        Column::number("Meant", each(&|one| Some(one.meant)), one),
        Column::number("Left", each(&|one| Some(one.left)), one),
        Column::number(
            "Left less meant",
            each(&|one| Some(one.left - one.meant)),
            one,
        ),
    ]);
    Some(Table {
        id: "outside".to_owned(),
        title: "Records outside the tolerance, the farthest first".to_owned(),
        columns,
        file_only: true,
        ..Table::default()
    })
}
