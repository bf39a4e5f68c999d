//! The table of standard errors of differences, one row for each kind of difference.

use std::collections::BTreeSet;

use caneplot_numerics::means::Precision;
use caneplot_numerics::separation::least_significant_difference;
use caneplot_plugin::findings::{Column, Format, Table};

use super::with_unit;
use crate::study::Study;
use crate::words;

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
    let unit = study.unit();
    let errors = || rows.iter().map(|row| row.precision.standard_error());
    let format = study.of_errors(errors());
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
