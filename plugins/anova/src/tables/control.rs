//! Comparisons of every level with the control (Dunnett 1955).

use caneplot_plugin::findings::{Column, Table};

use super::with_unit;
use crate::study::Study;

/// One level against the control.
pub(crate) struct Against {
    pub level: usize,
    pub difference: f64,
    pub half_width: f64,
    pub p: f64,
}

impl Study<'_> {
    /// Every level of a factor against its control; `None` without a control or an error.
    pub fn against_control(&self, factor: usize) -> Option<Vec<Against>> {
        let control = self.control(factor)?;
        let term = self.term(&[factor], false)?;
        let others: Vec<usize> = (0..self.levels(factor).len())
            .filter(|&level| level != control)
            .collect();
        let counts = &self.tables[term].counts;
        let replicates: Vec<usize> = others.iter().map(|&level| counts[level]).collect();
        let df = self.precision(term, control, *others.first()?)?.df;
        let (dunnett, critical) =
            self.critical
                .control(counts[control], &replicates, df, self.options.level)?;
        others
            .into_iter()
            .map(|level| {
                let difference = self.difference_of(term, level, control)?;
                Some(Against {
                    level,
                    difference: difference.value,
                    half_width: critical * difference.standard_error,
                    p: difference.against_control(&dunnett).ok()?,
                })
            })
            .collect()
    }

    /// The table of those comparisons.
    pub fn control_table(&self, factor: usize) -> Option<Table> {
        let rows = self.against_control(factor)?;
        let control = self.control(factor)?;
        let label = &self.factor(factor).label;
        let format = self.of_means();
        let unit = self.unit();
        let number = |name: &str, value: &dyn Fn(&Against) -> f64| {
            let values = rows.iter().map(|row| Some(value(row))).collect();
            with_unit(Column::number(name, values, format), unit)
        };
        Some(Table {
            id: format!("control-{}", crate::section::id(&self.factor(factor).name)),
            title: format!(
                "Differences from the control, {}{}",
                self.level_words(factor, control),
                if self.seasons().is_empty() {
                    ""
                } else {
                    ", over all seasons"
                }
            ),
            columns: vec![
                with_unit(
                    Column::text(
                        label,
                        rows.iter().map(|row| self.level_label(factor, row.level)),
                    ),
                    self.factor(factor).unit.as_deref().unwrap_or(""),
                ),
                number("Difference", &|row| row.difference),
                number("Lower limit", &|row| row.difference - row.half_width),
                number("Upper limit", &|row| row.difference + row.half_width),
                Column::probability("P", rows.iter().map(|row| Some(row.p)).collect()),
            ],
            notes: vec![format!(
                "Limits and P hold for all comparisons with the control together (Dunnett, {}).",
                self.options.confidence_words()
            )],
            ..Table::default()
        })
    }
}
