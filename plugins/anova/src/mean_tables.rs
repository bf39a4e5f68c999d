//! Tables of means, and the table of standard errors of the differences between them.

use std::collections::BTreeSet;

use caneplot_numerics::means::Precision;
use caneplot_numerics::separation::least_significant_difference;
use caneplot_plugin::findings::{Cells, Column, Format, Table};

use crate::compare::Rule;
use crate::control::with_unit;
use crate::section::id;
use crate::study::Study;
use crate::words;

impl Study<'_> {
    /// The rule for letters in a table of means: none for a quantity, none without a clear F.
    fn rule(&self, factor: usize, term: usize) -> Option<Rule> {
        let rule = Rule::of(self.options.separation)?;
        (self.clear(term) && !self.factor(factor).is_numeric()).then_some(rule)
    }

    /// Means of the levels of one factor, with a column a season where there are seasons.
    pub fn factor_table(&self, factor: usize) -> Option<Table> {
        let term = self.term(&[factor], false)?;
        let levels: Vec<usize> = (0..self.levels(factor).len()).collect();
        let label = &self.factor(factor).label;
        let format = words::of_means(self.response);
        let unit = self.response.unit.as_str();
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

    /// Means of combinations of factors, compared at the same level of all but the last.
    pub fn combination_table(&self, factors: &[usize]) -> Option<Table> {
        let term = self.term(factors, false)?;
        let last = *factors.last()?;
        let cells: Vec<usize> = (0..self.tables[term].means.len()).collect();
        let format = words::of_means(self.response);
        let shown = self.clear(term);
        let names: Vec<String> = factors
            .iter()
            .map(|&at| words::inside(&self.factor(at).label))
            .collect();
        let mut columns: Vec<Column> = (0..factors.len())
            .map(|place| self.combination_column(term, factors, place))
            .collect();
        let counts = &self.planned.plots_behind[term];
        columns.push(Column::count(
            "Plots",
            counts.iter().map(|&n| Some(n as i64)).collect(),
        ));
        let values = cells
            .iter()
            .map(|&cell| Some(self.mean(term, cell)))
            .collect();
        let mut notes = Vec::new();
        let letters = self.rule(last, term).and_then(|rule| {
            let letters = self.letters_within(term, rule)?;
            notes.push(format!(
                "{} Compared among levels of {} at the same {}.",
                rule.words(&self.options.level_words()),
                words::inside(&self.factor(last).label),
                words::list(&names[..names.len() - 1])
            ));
            Some(letters)
        });
        columns.push(with_unit(
            lettered("Mean", values, letters, format),
            &self.response.unit,
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
        let format = words::of_means(self.response);
        let cells: Vec<usize> = (0..self.tables[term].means.len()).collect();
        let mut columns: Vec<Column> = (0..factors.len())
            .map(|place| self.combination_column(term, factors, place))
            .collect();
        for (season, name) in self.seasons().iter().enumerate() {
            let values = self
                .season_cells(crossed, season)
                .iter()
                .map(|&cell| Some(self.mean(crossed, cell)))
                .collect();
            columns.push(with_unit(
                Column::number(name, values, format),
                &self.response.unit,
            ));
        }
        let values = cells
            .iter()
            .map(|&cell| Some(self.mean(term, cell)))
            .collect();
        columns.push(with_unit(
            Column::number("All seasons", values, format),
            &self.response.unit,
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
    fn combination_column(&self, term: usize, factors: &[usize], place: usize) -> Column {
        let factor = factors[place];
        let labels = (0..self.tables[term].means.len())
            .map(|cell| self.level_label(factor, self.cell_levels(term, cell)[place]));
        with_unit(
            Column::text(&self.factor(factor).label, labels),
            self.factor(factor).unit.as_deref().unwrap_or(""),
        )
    }

    /// Letters of a table of combinations, each set at the same levels of all factors but the last.
    fn letters_within(&self, term: usize, rule: Rule) -> Option<Vec<String>> {
        let count = self.tables[term].means.len();
        let key = |cell: usize| {
            let levels = self.cell_levels(term, cell);
            levels[..levels.len() - 1].to_vec()
        };
        let sets: BTreeSet<Vec<usize>> = (0..count).map(key).collect();
        let mut all = vec![String::new(); count];
        for set in sets {
            let cells: Vec<usize> = (0..count).filter(|&cell| key(cell) == set).collect();
            for (cell, letters) in cells.iter().zip(self.letters(term, &cells, rule)?) {
                all[*cell] = letters;
            }
        }
        Some(all)
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
        let format = words::of_means(self.response);
        Some(Table {
            id: format!("letters-{}", id(&self.factor(factor).name)),
            title: format!(
                "Letters over levels of {} (the trend says more)",
                words::inside(&self.factor(factor).label)
            ),
            columns: vec![
                level_column(self, factor),
                with_unit(
                    lettered("Mean", values, Some(letters), format),
                    &self.response.unit,
                ),
            ],
            notes: vec![rule.words(&self.options.level_words())],
            file_only: true,
            ..Table::default()
        })
    }

    fn error_column(&self, term: usize, cells: &[usize]) -> Column {
        let values: Vec<Option<f64>> = cells
            .iter()
            .map(|&cell| self.standard_error(term, cell))
            .collect();
        let format = words::of_errors(self.response, values.iter().flatten().copied());
        let column = Column::number("Standard error", values, format);
        with_unit(column, &self.response.unit)
    }

    fn error_note(&self, term: usize, cells: &[usize]) -> Option<String> {
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

fn lettered(
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

/// A row of the table of standard errors of differences.
struct Kind {
    words: String,
    precision: Precision,
}

/// Standard errors of differences of every kind in the tables of some terms.
pub(crate) fn differences(study: &Study<'_>, terms: &[usize]) -> Option<Table> {
    let mut rows: Vec<Kind> = Vec::new();
    for &term in terms {
        rows.extend(kinds_of(study, term));
    }
    if rows.is_empty() {
        return None;
    }
    let level = study.options.level;
    let unit = study.response.unit.as_str();
    let errors = || rows.iter().map(|row| row.precision.standard_error());
    let format = words::of_errors(study.response, errors());
    let least = |row: &Kind| {
        least_significant_difference(row.precision.standard_error(), level, row.precision.df).ok()
    };
    let all_exact = rows.iter().all(|row| row.precision.exact);
    let df = rows.iter().map(|row| Some(row.precision.df)).collect();
    let df_format = if all_exact {
        Format::Count
    } else {
        Format::Decimals(1)
    };
    let mut notes = vec![format!(
        "LSD: least significant difference at {} for two means chosen beforehand.",
        study.options.level_words()
    )];
    if !all_exact {
        notes.push(
            "Where a difference rests on several errors its degrees of freedom are approximate (Satterthwaite)."
                .to_owned(),
        );
    }
    Some(Table {
        id: "differences".to_owned(),
        title: "Standard errors of differences between means".to_owned(),
        columns: vec![
            Column::text(
                "Difference between",
                rows.iter().map(|row| row.words.clone()),
            ),
            with_unit(
                Column::number(
                    "Standard error",
                    rows.iter()
                        .map(|row| Some(row.precision.standard_error()))
                        .collect(),
                    format,
                ),
                unit,
            ),
            Column::number("df", df, df_format),
            with_unit(
                Column::number("LSD", rows.iter().map(least).collect(), format),
                unit,
            ),
        ],
        notes,
        ..Table::default()
    })
}

/// Kinds of difference in one table of means, those of equal precision put together.
fn kinds_of(study: &Study<'_>, term: usize) -> Vec<Kind> {
    let plan = &study.planned.plans[term];
    let mut together: Vec<(Precision, BTreeSet<usize>, BTreeSet<usize>)> = Vec::new();
    for (kind, precision) in plan.kinds.iter().zip(&study.tables[term].of_difference) {
        let Some(precision) = precision.filter(|precision| precision.variance > 0.0) else {
            continue;
        };
        let differ: BTreeSet<usize> = kind.differ.iter().copied().collect();
        let same = together.iter_mut().find(|(known, least, _)| {
            let close = (known.variance / precision.variance - 1.0).abs() < 1e-9;
            close && (least.is_subset(&differ) || differ.is_subset(least))
        });
        match same {
            Some((_, least, most)) => {
                *least = least.intersection(&differ).copied().collect();
                most.extend(differ);
            }
            None => together.push((precision, differ.clone(), differ)),
        }
    }
    let mut rows: Vec<Kind> = Vec::new();
    for (precision, least, most) in together {
        let words = kind_words(study, &plan.classifiers, &least, &most);
        rows.push(Kind { words, precision });
    }
    smallest_and_largest(rows)
}

/// "two levels of Nodes at the same level of Training".
fn kind_words(
    study: &Study<'_>,
    classifiers: &[usize],
    least: &BTreeSet<usize>,
    most: &BTreeSet<usize>,
) -> String {
    let names = |keep: &dyn Fn(&usize) -> bool| {
        let all = study.planned.design.layout.classifiers();
        classifiers
            .iter()
            .filter(|at| keep(at))
            .map(|&at| words::inside(&all[at].name))
            .collect::<Vec<_>>()
    };
    let differ = names(&|at| least.contains(at));
    let either = names(&|at| most.contains(at) && !least.contains(at));
    let same = names(&|at| !most.contains(at));
    let mut text = if differ == ["season"] {
        "two seasons".to_owned()
    } else if differ.len() > 1 {
        format!("means that differ in {}", words::list(&differ))
    } else {
        format!("two levels of {}", words::list(&differ))
    };
    if !either.is_empty() {
        text.push_str(&format!(", same or different {}", words::list(&either)));
    }
    let seasons = study.planned.design.season;
    if seasons.is_some_and(|season| !classifiers.contains(&season)) {
        text.push_str(", over all seasons");
    }
    if !same.is_empty() {
        text.push_str(&format!(", same {}", words::list(&same)));
    }
    text
}

/// With unequal replication a kind has many precisions: only its extremes are shown.
fn smallest_and_largest(rows: Vec<Kind>) -> Vec<Kind> {
    let mut kept: Vec<Kind> = Vec::new();
    let words: Vec<String> = rows.iter().map(|row| row.words.clone()).collect();
    let several = |text: &str| words.iter().filter(|other| *other == text).count() > 1;
    let mut seen: BTreeSet<String> = BTreeSet::new();
    for text in &words {
        if !seen.insert(text.clone()) {
            continue;
        }
        let of_kind = || {
            rows.iter()
                .filter(|row| row.words == *text)
                .map(|row| row.precision)
        };
        let by_size = |a: &Precision, b: &Precision| a.variance.total_cmp(&b.variance);
        if several(text) {
            for (precision, end) in [
                (of_kind().min_by(by_size), "smallest"),
                (of_kind().max_by(by_size), "largest"),
            ] {
                kept.extend(precision.map(|precision| Kind {
                    words: format!("{text} ({end})"),
                    precision,
                }));
            }
        } else {
            kept.extend(of_kind().map(|precision| Kind {
                words: text.clone(),
                precision,
            }));
        }
    }
    kept
}
