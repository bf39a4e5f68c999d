//! Tables of the means of one factor, season by season where there are seasons.

use caneplot_plugin::findings::{Cells, Column, Format, Table};

use super::with_unit;
use crate::compare::Rule;
use crate::section::id;
use crate::study::Study;
use crate::words;

impl Study<'_> {
    /// The rule for letters in a table of means: none for a quantity, none without a clear F.
    pub(crate) fn rule(&self, factor: usize, term: usize) -> Option<Rule> {
        let rule = Rule::of(self.options.separation)?;
        (self.clear(term) && !self.factor(factor).is_numeric()).then_some(rule)
    }

    /// Means of the levels of one factor, with a column a season where there are seasons.
    pub fn factor_table(&self, factor: usize) -> Option<Table> {
        let term = self.term(&[factor], false)?;
        let levels: Vec<usize> = (0..self.levels(factor).len()).collect();
        let label = &self.factor(factor).label;
        let format = self.of_means();
        let unit = self.unit();
        let plots = &self.planned.plots_behind[term];
        let mut notes = Vec::new();
        let mut columns = vec![
            level_column(self, factor),
            Column::count(
                "Plots",
                plots.iter().map(|&count| Some(count as i64)).collect(),
            ),
        ];
        let by_season = self.term(&[factor], true);
        if let Some(crossed) = by_season {
            // Where seasons differ in their effect, each is read by itself.
            let rule = self.rule(factor, crossed);
            for (season, name) in self.seasons().iter().enumerate() {
                let cells = self.season_cells(crossed, season);
                let values = cells
                    .iter()
                    .map(|&cell| Some(self.mean(crossed, cell)))
                    .collect();
                let letters = rule.and_then(|rule| self.letters(crossed, &cells, rule));
                columns.push(with_unit(lettered(name, values, letters, format), unit));
            }
            if let Some(rule) = rule {
                notes.push(format!(
                    "{} Compared within each season.",
                    rule.words(&self.options.level_words())
                ));
            }
        }
        let rule = self
            .rule(factor, term)
            .filter(|_| !by_season.is_some_and(|at| self.clear(at)));
        let letters = rule.and_then(|rule| self.letters(term, &levels, rule));
        match rule.filter(|_| letters.is_some()) {
            Some(rule) => notes.push(rule.words(&self.options.level_words())),
            None => notes.extend(self.no_letters(factor, term)),
        }
        let name = if by_season.is_some() {
            "All seasons"
        } else {
            "Mean"
        };
        let values = levels
            .iter()
            .map(|&cell| Some(self.mean(term, cell)))
            .collect();
        columns.push(with_unit(lettered(name, values, letters, format), unit));
        let mut errors = self.error_column(term, &levels);
        if by_season.is_some() {
            errors.name = "Standard error, all seasons".to_owned();
        }
        columns.push(errors);
        notes.extend(self.error_note(term, &levels));
        Some(Table {
            id: format!("means-{}", id(&self.factor(factor).name)),
            title: format!("Means by {}", words::inside(label)),
            columns,
            notes,
            ..Table::default()
        })
    }

    /// Why a table of means has no letters.
    fn no_letters(&self, factor: usize, term: usize) -> Option<String> {
        let name = words::inside(&self.factor(factor).label);
        if self.factor(factor).is_numeric() || Rule::of(self.options.separation).is_none() {
            return None;
        }
        (self.line(term).p.is_some() && !self.clear(term)).then(|| {
            format!(
                "No letters: the differences between levels of {name} are not clear at {}.",
                self.options.level_words()
            )
        })
    }

    /// Cells of a term crossed with the season that belong to one season, in the order of the levels.
    pub fn season_cells(&self, crossed: usize, season: usize) -> Vec<usize> {
        (0..self.tables[crossed].means.len())
            .filter(|&cell| self.cell_levels(crossed, cell).last() == Some(&season))
            .collect()
    }

    /// Letters over the levels of a quantity: kept in a file for those who must report them.
    pub fn demoted_letters(&self, factor: usize) -> Option<Table> {
        let rule = Rule::of(self.options.separation)?;
        let term = self.term(&[factor], false)?;
        if !self.factor(factor).is_numeric() || !self.clear(term) {
            return None;
        }
        let levels: Vec<usize> = (0..self.levels(factor).len()).collect();
        let letters = self.letters(term, &levels, rule)?;
        let values = levels
            .iter()
            .map(|&cell| Some(self.mean(term, cell)))
            .collect();
        let format = self.of_means();
        Some(Table {
            id: format!("letters-{}", id(&self.factor(factor).name)),
            title: format!(
                "Letters over levels of {} (the trend says more)",
                words::inside(&self.factor(factor).label)
            ),
            columns: vec![
                level_column(self, factor),
                with_unit(lettered("Mean", values, Some(letters), format), self.unit()),
            ],
            notes: vec![rule.words(&self.options.level_words())],
            file_only: true,
            ..Table::default()
        })
    }

    pub(super) fn error_column(&self, term: usize, cells: &[usize]) -> Column {
        let values: Vec<Option<f64>> = cells
            .iter()
            .map(|&cell| self.standard_error(term, cell))
            .collect();
        let format = self.of_errors(values.iter().flatten().copied());
        let column = Column::number("Standard error", values, format);
        with_unit(column, self.unit())
    }

    pub(super) fn error_note(&self, term: usize, cells: &[usize]) -> Option<String> {
        let known = cells
            .iter()
            .any(|&cell| self.standard_error(term, cell).is_some());
        let layout = &self.planned.design.layout;
        let groups: Vec<&str> = layout
            .strata()
            .iter()
            .filter(|stratum| stratum.grouping)
            .filter_map(|stratum| stratum.name.strip_prefix("Between "))
            .collect();
        if !known {
            return Some(
                "No standard error: the trial leaves no degrees of freedom for it.".to_owned(),
            );
        }
        (!groups.is_empty()).then(|| {
            format!(
                "Standard errors take {} as fixed; compare means by the standard errors of differences.",
                groups.join(" and ")
            )
        })
    }
}

/// The levels of a factor as the first column of a table.
pub(crate) fn level_column(study: &Study<'_>, factor: usize) -> Column {
    let labels = (0..study.levels(factor).len()).map(|level| study.level_label(factor, level));
    with_unit(
        Column::text(&study.factor(factor).label, labels),
        study.factor(factor).unit.as_deref().unwrap_or(""),
    )
}

/// Numbers with their letters, where there are letters.
pub(crate) fn lettered(
    name: &str,
    values: Vec<Option<f64>>,
    letters: Option<Vec<String>>,
    format: Format,
) -> Column {
    match letters {
        None => Column::number(name, values, format),
        Some(letters) => Column {
            name: name.to_owned(),
            unit: None,
            cells: Cells::Lettered {
                values,
                letters,
                format,
            },
        },
    }
}
