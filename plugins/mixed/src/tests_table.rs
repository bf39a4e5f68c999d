//! The table of tests, and of tests at single levels of other factors.

use caneplot_plugin::findings::{Column, Format, Table};
use caneplot_plugin::words::{beginning, inside};

use crate::study::Study;

/// One place where a factor is tested by itself.
pub(crate) struct Simple {
    /// The margin tested.
    pub factor: usize,
    /// The levels of other places of the grid it is tested at.
    pub given: Vec<(usize, usize)>,
    pub test: Option<caneplot_numerics::mixed::kenward_roger::FTest>,
}

impl Study<'_> {
    /// The table of tests.
    pub fn tests_table(&self) -> Table {
        let tests: Vec<_> = self.terms.iter().map(|term| term.test).collect();
        let mut notes = vec![match self.terms.len() {
            1 => format!(
                "The hypothesis is that all adjusted means are equal. Degrees of freedom of the error by {}.",
                self.options.df_words()
            ),
            _ => format!(
                "A factor is tested by its adjusted means, every level of the others{} having the same weight. Degrees of freedom of the error by {}.",
                match self.season() {
                    Some(_) => " and each season",
                    None => "",
                },
                self.options.df_words()
            ),
        }];
        if let Some(cells) = self.empty_cells() {
            notes.push(format!(
                "Not tested: these hypotheses average over combinations without any value ({}).",
                cells.replace("{{", "{").replace("}}", "}")
            ));
        } else if tests.iter().any(Option::is_none) {
            notes.push(
                "A term without a test has no degrees of freedom of the error to be tested with."
                    .to_owned(),
            );
        }
        Table {
            id: "tests".to_owned(),
            title: format!("Tests for {}", unescaped(&self.name())),
            columns: [
                vec![Column::text(
                    "Term",
                    self.terms.iter().map(|term| {
                        let words = self.term_words(&term.factors);
                        unescaped(&beginning(&unescaped(&words)))
                    }),
                )],
                test_columns(&tests),
            ]
            .concat(),
            notes,
            ..Table::default()
        }
    }

    /// Tests of a margin at each level of another place of the grid.
    pub fn simple_effects(&self, factor: usize, other: usize) -> Vec<Simple> {
        let levels = match self.margins().get(other) {
            Some(margin) => margin.labels.len(),
            None => self.seasons().len(),
        };
        (0..levels)
            .map(|level| {
                let given = vec![(other, level)];
                Simple {
                    factor,
                    test: self
                        .grid
                        .hypothesis(&[factor], &given)
                        .and_then(|rows| self.test(&rows)),
                    given,
                }
            })
            .collect()
    }

    /// The table of simple effects.
    pub fn simple_table(&self, effects: &[Simple]) -> Option<Table> {
        if effects.iter().all(|effect| effect.test.is_none()) {
            return None;
        }
        let tests: Vec<_> = effects.iter().map(|effect| effect.test).collect();
        let at = |effect: &Simple| {
            let parts: Vec<String> = effect
                .given
                .iter()
                .map(|&(factor, level)| unescaped(&self.level_words(factor, level)))
                .collect();
            parts.join(", ")
        };
        Some(Table {
            id: "simple-effects".to_owned(),
            title: "Tests at single levels of the other factor".to_owned(),
            columns: [
                vec![
                    Column::text(
                        "Differences between levels of",
                        effects
                            .iter()
                            .map(|effect| unescaped(&inside(&self.margins()[effect.factor].label))),
                    ),
                    Column::text("At", effects.iter().map(at)),
                ],
                test_columns(&tests),
            ]
            .concat(),
            notes: vec![
                "These P are not adjusted for being several; they show where differences lie."
                    .to_owned(),
            ],
            ..Table::default()
        })
    }
}

fn test_columns(tests: &[Option<caneplot_numerics::mixed::kenward_roger::FTest>]) -> Vec<Column> {
    let column = |value: &dyn Fn(&caneplot_numerics::mixed::kenward_roger::FTest) -> f64| {
        tests.iter().map(|test| test.as_ref().map(value)).collect()
    };
    vec![
        Column::number("df", column(&|test| test.numerator_df), Format::Decimals(0)),
        Column::number(
            "df of the error",
            column(&|test| test.denominator_df),
            Format::Decimals(1),
        ),
        Column::number("F", column(&|test| test.f), Format::Decimals(2)),
        Column::probability("P", column(&|test| test.p)),
    ]
}

/// Text that was made safe for a sentence, for a place where braces mean nothing.
pub(crate) fn unescaped(text: &str) -> String {
    text.replace("{{", "{").replace("}}", "}")
}
