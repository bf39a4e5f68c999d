//! Rows of a table from all sets that have a model.

use caneplot_plugin::findings::{Column, Format, Table};

use crate::levels::Levels;
use crate::model::Modelled;
use crate::section::{Set, Subjected};

/// Rows of all fitted sets, with the season of each and where a set begins.
pub struct Rows<'a, T> {
    /// Set, model and row.
    pub rows: Vec<(&'a Set, &'a Modelled, T)>,
    groups: Vec<usize>,
}

/// The rows that `of` gives of each set; of the main set alone where `main_only`.
pub fn rows<'a, T>(
    subjected: &'a Subjected,
    main_only: bool,
    of: impl Fn(&'a Set, &'a Modelled, &'a Levels) -> Vec<T>,
) -> Rows<'a, T> {
    let mut found = Rows {
        rows: Vec::new(),
        groups: Vec::new(),
    };
    let sets: Vec<_> = match main_only {
        true => subjected.main().into_iter().collect(),
        false => subjected.fitted().collect(),
    };
    for (set, model, levels) in sets {
        let start = found.rows.len();
        found.rows.extend(
            of(set, model, levels)
                .into_iter()
                .map(|row| (set, model, row)),
        );
        if found.rows.len() > start {
            found.groups.push(start);
        }
    }
    found
}

impl<T> Rows<'_, T> {
    /// A column of seasons, where the trial has them.
    fn seasons(&self) -> Option<Column> {
        let labelled = self.rows.iter().any(|(set, ..)| set.label.is_some());
        labelled.then(|| {
            let labels = self
                .rows
                .iter()
                .map(|(set, ..)| set.label.clone().unwrap_or_default());
            Column::text("Season", labels)
        })
    }

    /// A column of words.
    pub fn text(&self, name: &str, of: impl Fn(&Set, &T) -> String) -> Column {
        Column::text(name, self.rows.iter().map(|(set, _, row)| of(set, row)))
    }

    /// A column of numbers.
    pub fn number(&self, name: &str, format: Format, of: impl Fn(&T) -> Option<f64>) -> Column {
        Column::number(
            name,
            self.rows.iter().map(|(_, _, row)| of(row)).collect(),
            format,
        )
    }

    /// A column of probabilities.
    pub fn probability(&self, name: &str, of: impl Fn(&T) -> Option<f64>) -> Column {
        Column::probability(name, self.rows.iter().map(|(_, _, row)| of(row)).collect())
    }

    /// A column of whole numbers.
    pub fn count(&self, name: &str, of: impl Fn(&T) -> f64) -> Column {
        Column::count(
            name,
            self.rows
                .iter()
                .map(|(_, _, row)| Some(of(row) as i64))
                .collect(),
        )
    }

    /// The table, seasons first where the trial has them.
    pub fn table(self, id: &str, title: String, columns: Vec<Column>) -> Table {
        let groups = if self.groups.len() > 1 {
            self.groups.clone()
        } else {
            Vec::new()
        };
        Table {
            id: id.to_owned(),
            title,
            columns: self.seasons().into_iter().chain(columns).collect(),
            groups,
            ..Table::default()
        }
    }
}
