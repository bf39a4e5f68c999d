//! Tables of adjusted means.

use caneplot_plugin::findings::{Cells, Column, Table};
use caneplot_plugin::words::list;

use crate::means::Means;
use crate::numbers::with_unit;
use crate::options::Separation;
use crate::study::Study;
use crate::tests_table::unescaped;

impl Study<'_> {
    /// Whether letters belong on levels of a margin: not on a quantity.
    fn lettered(&self, factor: usize) -> bool {
        self.margins()
            .get(factor)
            .is_some_and(|margin| margin.quantities.is_none())
    }

    /// What stands under a table of letters.
    fn letters_note(&self, among: &str) -> String {
        let how = match self.options.separation {
            Separation::Holm => "t tests with Holm's adjustment",
            _ => "Tukey and Kramer's comparisons of all pairs",
        };
        format!(
            "Means{among} with a letter in common are not clearly different ({how}, {}).",
            self.options.level_words()
        )
    }

    /// Adjusted means of the levels of one margin.
    pub fn margin_table(&self, factor: usize) -> Option<Table> {
        let means = self.means(&[factor], &[]);
        if means.estimates.iter().all(Option::is_none) {
            return None;
        }
        let margin = &self.margins()[factor];
        let mut notes = Vec::new();
        let clear = self.clear(&[factor]);
        let letters = match self.lettered(factor) && self.stands(factor) && clear {
            true => self.letters(&means),
            false => None,
        };
        if letters.is_some() {
            notes.push(self.letters_note(""));
        } else if self.lettered(factor) && !self.stands(factor) {
            notes.push(format!(
                "No letters: the effect of {} is not the same everywhere, so its means are compared in the tables by season or combination.",
                unescaped(&self.factor_words(factor))
            ));
        } else if self.lettered(factor)
            && !clear
            && self.options.separation != Separation::None
            && self.term(&[factor]).is_some_and(|term| term.test.is_some())
        {
            notes.push(format!(
                "No letters: the differences between levels of {} are not clear at {}.",
                unescaped(&self.factor_words(factor)),
                self.options.level_words()
            ));
        }
        let mut columns = vec![
            level_column(self, factor, &means),
            self.plots_column(&means),
            self.mean_column(self.average_heading(), &means, letters),
        ];
        columns.extend(self.precision_columns(&means));
        notes.extend(self.means_note());
        Some(Table {
            id: format!("means-{}", margin.id),
            title: format!(
                "Adjusted {} by {}{}",
                self.averages(),
                unescaped(&self.factor_words(factor)),
                self.over_seasons()
            ),
            columns,
            notes,
            ..Table::default()
        })
    }

    /// Whether a margin's means over everything else are a result: no interaction with it is clear.
    pub fn stands(&self, factor: usize) -> bool {
        !self.terms.iter().any(|term| {
            term.factors.len() > 1 && term.factors.contains(&factor) && self.clear(&term.factors)
        })
    }

    /// Means of the levels of a margin with a column a season.
    pub fn season_table(&self, factor: usize) -> Option<Table> {
        let season = self.season()?;
        let clear = self.clear(&[factor, season]);
        let margin = &self.margins()[factor];
        let mut columns = Vec::new();
        let mut lettered = false;
        for (at, name) in self.seasons().iter().enumerate() {
            let means = self.means(&[factor], &[(season, at)]);
            if columns.is_empty() {
                columns.push(level_column(self, factor, &means));
            }
            let letters = match clear && self.lettered(factor) {
                true => self.letters(&means),
                false => None,
            };
            lettered |= letters.is_some();
            columns.push(self.mean_column(name, &means, letters));
        }
        let mut notes = Vec::new();
        if lettered {
            notes.push(self.letters_note(" of one season"));
        }
        Some(Table {
            id: format!("seasons-{}", margin.id),
            title: format!(
                "Adjusted {} by {} in each season",
                self.averages(),
                unescaped(&self.factor_words(factor))
            ),
            columns,
            notes,
            ..Table::default()
        })
    }

    /// Means of combinations of margins, compared at the same levels of all but the last.
    pub fn combination_table(&self, factors: &[usize]) -> Option<Table> {
        let last = *factors.last()?;
        let means = self.means(factors, &[]);
        if means.estimates.iter().all(Option::is_none) {
            return None;
        }
        let clear = self.clear(factors);
        let mut letters = None;
        let mut notes = Vec::new();
        let names: Vec<String> = factors
            .iter()
            .map(|&at| unescaped(&self.factor_words(at)))
            .collect();
        if clear && self.lettered(last) {
            letters = self.letters_within(factors);
            if letters.is_some() {
                notes.push(self.letters_note(&format!(
                    " at the same level of {}",
                    list(&names[..names.len() - 1])
                )));
            }
        }
        let mut columns = self.combination_columns(factors, &means);
        columns.push(self.plots_column(&means));
        columns.push(self.mean_column(self.average_heading(), &means, letters));
        columns.extend(self.precision_columns(&means));
        notes.extend(self.means_note());
        Some(Table {
            id: format!("means-{}", self.ids(factors)),
            title: format!(
                "Adjusted {} by combination of {}",
                self.averages(),
                list(&names)
            ),
            columns,
            notes,
            file_only: !clear,
            ..Table::default()
        })
    }

    /// Means of combinations of margins with a column a season: in the report only where the seasons
    /// change how the margins act together.
    pub fn combinations_by_season(&self, factors: &[usize]) -> Option<Table> {
        let season = self.season()?;
        let crossed: Vec<usize> = factors.iter().copied().chain([season]).collect();
        let mut columns = Vec::new();
        for (at, name) in self.seasons().iter().enumerate() {
            let means = self.means(factors, &[(season, at)]);
            if columns.is_empty() {
                columns = self.combination_columns(factors, &means);
            }
            columns.push(self.mean_column(name, &means, None));
        }
        let names: Vec<String> = factors
            .iter()
            .map(|&at| unescaped(&self.factor_words(at)))
            .collect();
        Some(Table {
            id: format!("seasons-{}", self.ids(factors)),
            title: format!(
                "Adjusted {} by combination of {} in each season",
                self.averages(),
                list(&names)
            ),
            columns,
            file_only: !self.clear(&crossed),
            ..Table::default()
        })
    }

    fn ids(&self, factors: &[usize]) -> String {
        let ids: Vec<&str> = factors
            .iter()
            .map(|&at| self.margins()[at].id.as_str())
            .collect();
        ids.join("-")
    }

    /// The levels of several margins as the first columns of a table.
    fn combination_columns(&self, factors: &[usize], means: &Means) -> Vec<Column> {
        (0..factors.len())
            .map(|place| {
                let labels = means
                    .levels
                    .iter()
                    .map(|levels| self.level_label(factors[place], levels[place]));
                let margin = &self.margins()[factors[place]];
                with_unit(Column::text(&margin.label, labels), &margin.unit)
            })
            .collect()
    }

    fn letters_within(&self, factors: &[usize]) -> Option<Vec<String>> {
        let (last, others) = factors.split_last()?;
        let mut all = Vec::new();
        // The last factor runs fastest, so sets follow each other.
        for levels in self.grid.combinations(others) {
            let given: Vec<(usize, usize)> = others.iter().copied().zip(levels).collect();
            all.extend(self.letters(&self.means(&[*last], &given))?);
        }
        Some(all)
    }

    fn plots_column(&self, means: &Means) -> Column {
        let counts = means.plots.iter().map(|&count| Some(count as i64));
        Column::count("Plots", counts.collect())
    }

    fn mean_column(&self, name: &str, means: &Means, letters: Option<Vec<String>>) -> Column {
        let values: Vec<Option<f64>> = (0..means.levels.len())
            .map(|at| self.mean(means, at))
            .collect();
        let format = self.of_means();
        let column = match letters {
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
        };
        with_unit(column, self.unit())
    }

    fn precision_columns(&self, means: &Means) -> Vec<Column> {
        let errors: Vec<Option<f64>> = means
            .estimates
            .iter()
            .map(|estimate| estimate.map(|estimate| estimate.standard_error))
            .collect();
        let df = means
            .estimates
            .iter()
            .map(|estimate| estimate.map(|estimate| estimate.df))
            .collect();
        if !self.measured() {
            let limits: Vec<Option<(f64, f64)>> = means
                .estimates
                .iter()
                .map(|estimate| self.limits(estimate.as_ref()?))
                .collect();
            let end = |of: &dyn Fn(&(f64, f64)) -> f64| {
                limits.iter().map(|one| one.as_ref().map(of)).collect()
            };
            return vec![
                self.amounts("Lower limit", end(&|ends| ends.0), self.of_means()),
                self.amounts("Upper limit", end(&|ends| ends.1), self.of_means()),
            ];
        }
        let format = self.of_errors(errors.iter().flatten().copied());
        vec![
            self.amounts("Standard error", errors, format),
            Column::number("df", df, caneplot_plugin::findings::Format::Decimals(1)),
        ]
    }

    fn means_note(&self) -> Option<String> {
        let shared: Vec<&str> = self
            .readings
            .sources
            .iter()
            .map(|source| source.term.name.as_str())
            .filter(|name| ["blocks", "rows", "columns", "seasons"].contains(name))
            .collect();
        (!shared.is_empty()).then(|| {
            let (what, how) = match self.measured() {
                true => ("Standard errors of means", "the standard errors of differences"),
                false => ("Limits of medians", "their differences"),
            };
            format!(
                "{what} include the variation between {}, which all {1} share: compare {1} by {how}.",
                shared.join(" and "),
                self.averages()
            )
        })
    }
}

/// The levels of a margin as the first column of a table.
pub(crate) fn level_column(study: &Study<'_>, factor: usize, means: &Means) -> Column {
    let margin = &study.margins()[factor];
    let labels = means
        .levels
        .iter()
        .map(|levels| margin.labels[levels[0]].clone());
    with_unit(Column::text(&margin.label, labels), &margin.unit)
}
