//! Tables of the other scale: its tests beside those as measured, and means brought back.

use caneplot_numerics::distribution::t_critical;
use caneplot_numerics::transform::{Back, Scale};
use caneplot_plugin::findings::{Column, Format, Table};

use super::Other;
use crate::section::id;
use crate::tables::means::{lettered, level_column};
use crate::tables::{self, plain_label, with_unit};
use crate::words;

/// More rows than this go into a file.
const MOST_ROWS: usize = 12;

pub(super) fn of(other: &Other<'_, '_>) -> Vec<Table> {
    let mut all = vec![tests(other)];
    let joint = other.joint();
    for factor in 0..other.study.trial.factors.len() {
        let Some(term) = other.study.term(&[factor], false) else {
            continue;
        };
        let shared = joint
            .iter()
            .any(|&at| other.study.factors_of(at).contains(&factor));
        all.extend(main(other, factor, term, !shared));
    }
    all.extend(
        joint
            .into_iter()
            .filter_map(|term| combinations(other, term)),
    );
    let mut whole = tables::of(&other.there);
    whole.id = "anova-other-scale".to_owned();
    whole.title = format!(
        "Analysis of variance of {} on the {}",
        plain_label(other.study),
        other.words()
    );
    whole.file_only = true;
    all.push(whole);
    all
}

/// Every term with its test on both scales.
fn tests(other: &Other<'_, '_>) -> Table {
    let layout = &other.study.planned.design.layout;
    let terms = layout.terms();
    let (here, there) = (&other.study.variance, &other.there.variance);
    let lines = || here.lines.iter().zip(&there.lines);
    let scale = other.words();
    Table {
        id: "scales".to_owned(),
        title: format!(
            "Tests of {} as measured and on the {scale}",
            plain_label(other.study)
        ),
        columns: vec![
            Column::text(
                "Source of variation",
                (0..terms.len()).map(|term| layout.term_name(term)),
            ),
            Column::count(
                "df",
                terms.iter().map(|term| Some(term.df as i64)).collect(),
            ),
            Column::count(
                "Error df",
                terms
                    .iter()
                    .map(|term| Some(here.errors[term.stratum].df as i64))
                    .collect(),
            ),
            Column::number(
                "F as measured",
                lines().map(|(line, _)| line.f).collect(),
                Format::Decimals(2),
            ),
            Column::probability("P as measured", lines().map(|(line, _)| line.p).collect()),
            Column::number(
                &format!("F on the {scale}"),
                lines().map(|(_, line)| line.f).collect(),
                Format::Decimals(2),
            ),
            Column::probability(
                &format!("P on the {scale}"),
                lines().map(|(_, line)| line.p).collect(),
            ),
        ],
        ..Table::default()
    }
}

/// Means of one factor brought back, with letters where they are clear and do not hang on others.
fn main(other: &Other<'_, '_>, factor: usize, term: usize, alone: bool) -> Option<Table> {
    let there = &other.there;
    let label = words::inside(&there.factor(factor).label);
    let cells: Vec<usize> = (0..there.levels(factor).len()).collect();
    let rule = there.rule(factor, term).filter(|_| alone);
    let letters = rule.and_then(|rule| there.letters(term, &cells, rule));
    let mut notes = Vec::new();
    if let (Some(rule), Some(_)) = (rule, &letters) {
        notes.push(format!(
            "{} Compared on the {}.",
            rule.words(&there.options.level_words()),
            other.words()
        ));
    }
    let first = vec![level_column(there, factor)];
    back(
        other,
        term,
        first,
        letters,
        notes,
        (id(&there.factor(factor).name), label),
    )
}

/// Means of a term of several factors, or of factors in each season, brought back.
fn combinations(other: &Other<'_, '_>, term: usize) -> Option<Table> {
    let there = &other.there;
    let design = &there.planned.design;
    let classifiers = &there.planned.plans[term].classifiers;
    let (mut columns, mut names) = (Vec::new(), Vec::new());
    for (place, &at) in classifiers.iter().enumerate() {
        let known = &design.layout.classifiers()[at];
        let factor = design.treatments.iter().position(|&own| own == at);
        let label = |cell: usize| {
            let level = there.cell_levels(term, cell)[place];
            match factor {
                Some(factor) => there.level_label(factor, level),
                None => known.levels[level].clone(),
            }
        };
        let cells = 0..there.tables[term].means.len();
        columns.push(Column::text(&known.name, cells.map(label)));
        names.push(known.name.clone());
    }
    let file: Vec<String> = names.iter().map(|name| id(name)).collect();
    let words: Vec<String> = names.iter().map(|name| words::inside(name)).collect();
    let title = (file.join("-"), words.join(" and "));
    let mut table = back(other, term, columns, None, Vec::new(), title)?;
    table.file_only = there.tables[term].means.len() > MOST_ROWS;
    Some(table)
}

/// A table of means brought back with their intervals; `None` where they have none.
fn back(
    other: &Other<'_, '_>,
    term: usize,
    mut columns: Vec<Column>,
    letters: Option<Vec<String>>,
    mut notes: Vec<String>,
    (file, by): (String, String),
) -> Option<Table> {
    let there = &other.there;
    let cells = 0..there.tables[term].means.len();
    let found: Vec<Back> = cells
        .map(|cell| other.brought_back(term, cell))
        .collect::<Option<_>>()?;
    let counts = &there.planned.plots_behind[term];
    columns.push(Column::count(
        "Plots",
        counts.iter().map(|&count| Some(count as i64)).collect(),
    ));
    let (format, unit) = (other.study.of_means(), other.study.unit());
    let confidence = there.options.confidence_words();
    columns.push(with_unit(
        lettered(
            "Median, brought back",
            found.iter().map(|one| one.median).collect(),
            letters,
            format,
        ),
        unit,
    ));
    for (name, ends) in [
        ("Lower limit", found.iter().map(|one| one.low).collect()),
        ("Upper limit", found.iter().map(|one| one.high).collect()),
    ] {
        columns.push(with_unit(Column::number(name, ends, format), unit));
    }
    notes.push(format!(
        "Means on the {}, brought back, with {confidence} limits.",
        other.words()
    ));
    if found.iter().any(|one| one.high.is_none()) {
        notes.push("An empty limit is open: the interval has no end on that side.".to_owned());
    }
    Some(Table {
        id: format!("medians-{file}"),
        title: format!("Medians by {by}, from the {}", other.words()),
        columns,
        notes,
        ..Table::default()
    })
}

impl Other<'_, '_> {
    /// A mean of the other scale brought back with its interval.
    pub(super) fn brought_back(&self, term: usize, cell: usize) -> Option<Back> {
        let precision = self.there.tables[term].of_mean[cell]?;
        let t = t_critical(self.there.options.level, precision.df).ok()?;
        let half = t * precision.standard_error();
        Some(self.scale.interval(self.there.mean(term, cell), half))
    }

    /// Whether differences on the other scale are ratios.
    pub(super) fn ratios(&self) -> bool {
        self.scale == Scale::Log
    }
}
