//! Tables of the means of combinations of factors.

use caneplot_plugin::findings::{Column, Table};

use super::means::lettered;
use super::with_unit;
use crate::compare::Rule;
use crate::section::id;
use crate::study::Study;
use crate::words;

impl Study<'_> {
    /// Means of combinations of factors, compared at the same level of all but one.
    pub fn combination_table(&self, factors: &[usize]) -> Option<Table> {
        let term = self.term(factors, false)?;
        // Amounts have their trend; what is compared by letters is the last factor of names, whose
        // levels therefore stand below one another.
        let compared = factors
            .iter()
            .rposition(|&at| !self.factor(at).is_numeric());
        let mut cells: Vec<usize> = (0..self.tables[term].means.len()).collect();
        if let Some(place) = compared {
            cells.sort_by_key(|&cell| (self.others(term, cell, place), cell));
        }
        let format = self.of_means();
        let shown = self.clear(term);
        let names: Vec<String> = factors
            .iter()
            .map(|&at| words::inside(&self.factor(at).label))
            .collect();
        let mut columns: Vec<Column> = (0..factors.len())
            .map(|place| self.combination_column(term, factors, &cells, place))
            .collect();
        let counts = &self.planned.plots_behind[term];
        columns.push(Column::count(
            "Plots",
            cells
                .iter()
                .map(|&cell| Some(counts[cell] as i64))
                .collect(),
        ));
        let values = cells
            .iter()
            .map(|&cell| Some(self.mean(term, cell)))
            .collect();
        let mut notes = Vec::new();
        let letters = compared.and_then(|place| {
            let rule = self.rule(factors[place], term)?;
            let letters = self.letters_within(term, &cells, place, rule)?;
            let others: Vec<String> = (0..names.len())
                .filter(|&other| other != place)
                .map(|other| names[other].clone())
                .collect();
            notes.push(format!(
                "{} Compared among levels of {} at the same {}.",
                rule.words(&self.options.level_words()),
                names[place],
                words::list(&others)
            ));
            Some(letters)
        });
        columns.push(with_unit(
            lettered("Mean", values, letters, format),
            self.unit(),
        ));
        columns.push(self.error_column(term, &cells));
        notes.extend(self.error_note(term, &cells));
        let file = factors
            .iter()
            .map(|&at| id(&self.factor(at).name))
            .collect::<Vec<_>>();
        Some(Table {
            id: format!("means-{}", file.join("-")),
            title: format!("Means by combination of {}", words::list(&names)),
            columns,
            notes,
            file_only: !shown,
            ..Table::default()
        })
    }

    /// Means of combinations of factors in every season: in the report only where the seasons change
    /// how the factors act together.
    pub fn combinations_by_season(&self, factors: &[usize]) -> Option<Table> {
        let (term, crossed) = (self.term(factors, false)?, self.term(factors, true)?);
        let format = self.of_means();
        let cells: Vec<usize> = (0..self.tables[term].means.len()).collect();
        let mut columns: Vec<Column> = (0..factors.len())
            .map(|place| self.combination_column(term, factors, &cells, place))
            .collect();
        for (season, name) in self.seasons().iter().enumerate() {
            let values = self
                .season_cells(crossed, season)
                .iter()
                .map(|&cell| Some(self.mean(crossed, cell)))
                .collect();
            columns.push(with_unit(Column::number(name, values, format), self.unit()));
        }
        let values = cells
            .iter()
            .map(|&cell| Some(self.mean(term, cell)))
            .collect();
        columns.push(with_unit(
            Column::number("All seasons", values, format),
            self.unit(),
        ));
        let names: Vec<String> = factors
            .iter()
            .map(|&at| words::inside(&self.factor(at).label))
            .collect();
        let file: Vec<String> = factors
            .iter()
            .map(|&at| id(&self.factor(at).name))
            .collect();
        Some(Table {
            id: format!("seasons-{}", file.join("-")),
            title: format!(
                "Means by combination of {} in each season",
                words::list(&names)
            ),
            columns,
            file_only: !self.clear(crossed),
            ..Table::default()
        })
    }

    /// The levels of one factor in a table of combinations.
    fn combination_column(
        &self,
        term: usize,
        factors: &[usize],
        cells: &[usize],
        place: usize,
    ) -> Column {
        let factor = factors[place];
        let labels = cells
            .iter()
            .map(|&cell| self.level_label(factor, self.cell_levels(term, cell)[place]));
        with_unit(
            Column::text(&self.factor(factor).label, labels),
            self.factor(factor).unit.as_deref().unwrap_or(""),
        )
    }

    /// The levels of a cell but the one at a place.
    fn others(&self, term: usize, cell: usize, place: usize) -> Vec<usize> {
        let mut levels = self.cell_levels(term, cell).to_vec();
        levels.remove(place);
        levels
    }

    /// Letters of cells in their order, each set at the same levels of all factors but one.
    fn letters_within(
        &self,
        term: usize,
        cells: &[usize],
        place: usize,
        rule: Rule,
    ) -> Option<Vec<String>> {
        let mut all = Vec::with_capacity(cells.len());
        for set in
            cells.chunk_by(|&a, &b| self.others(term, a, place) == self.others(term, b, place))
        {
            all.extend(self.letters(term, set, rule)?);
        }
        Some(all)
    }
}
