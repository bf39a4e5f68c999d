//! The tables: what moved, what holds over sites, what each trial saw, means.

use caneplot_numerics::sites::Moved;
use caneplot_plugin::findings::{Column, Format, Table};

use crate::seen::Value;
use crate::study::{Over, Pair, Study};

/// Degrees of freedom.
const DF: Format = Format::Decimals(1);

pub(crate) fn tables(study: &Study) -> Vec<Table> {
    let mut found = Vec::new();
    found.extend(moved(study));
    found.extend(over(study));
    found.push(differences(study));
    found.push(means(study));
    found
}

/// How values and errors of the question are written.
struct Shape<'a> {
    value: Format,
    error: Format,
    unit: &'a str,
}

impl<'a> Shape<'a> {
    fn of(study: &'a Study) -> Self {
        let (error, unit) = match study.question.format {
            Format::Decimals(digits) => {
                (Format::Decimals(digits + 1), study.question.unit.as_str())
            }
            Format::Percent(digits) => (Format::Percent(digits + 1), ""),
            other => (other, study.question.unit.as_str()),
        };
        Self {
            value: study.question.format,
            error,
            unit,
        }
    }

    fn column(&self, name: &str, values: Vec<Option<f64>>, format: Format) -> Column {
        match self.unit {
            "" => Column::number(name, values, format),
            unit => Column::number(name, values, format).in_unit(unit),
        }
    }

    fn values(&self, name: &str, values: Vec<Option<f64>>) -> Column {
        self.column(name, values, self.value)
    }

    fn errors(&self, name: &str, values: Vec<Option<f64>>) -> Column {
        self.column(name, values, self.error)
    }
}

/// Columns of what moved.
fn moves(shape: &Shape<'_>, all: &[&Moved]) -> Vec<Column> {
    let pick =
        |of: &dyn Fn(&Moved) -> Option<f64>| all.iter().map(|one| of(one)).collect::<Vec<_>>();
    vec![
        shape.values("Moved by", pick(&|one| Some(one.value))),
        shape.errors("Standard error", pick(&|one| Some(one.standard_error))),
        Column::number("df", pick(&|one| one.df), DF),
        shape.values("Low", pick(&|one| Some(one.low))),
        shape.values("High", pick(&|one| Some(one.high))),
        Column::probability("P", pick(&|one| Some(one.p))),
    ]
}

fn moved(study: &Study) -> Option<Table> {
    let shape = Shape::of(study);
    let known: Vec<(&Pair, &Moved)> = study
        .pairs
        .iter()
        .filter_map(|pair| Some((pair, pair.moved.as_ref()?)))
        .collect();
    if known.is_empty() {
        return None;
    }
    let mut columns = vec![Column::text(
        "Difference",
        known.iter().map(|(pair, _)| study.words(pair)),
    )];
    for trial in 0..2 {
        let values = known.iter().map(|(pair, _)| Some(pair.seen[trial].value));
        columns.push(shape.values(&capital(study.name(trial)), values.collect()));
    }
    let all: Vec<&Moved> = known.iter().map(|(_, moved)| *moved).collect();
    columns.extend(moves(&shape, &all));
    Some(Table {
        id: "moved".to_owned(),
        title: format!(
            "Differences between treatments from {} to {}",
            study.name(0),
            study.name(1)
        ),
        columns,
        notes: vec![format!(
            "Low and high: ends of the {} interval of each change by itself.",
            study.confidence()
        )],
        ..Table::default()
    })
}

fn over(study: &Study) -> Option<Table> {
    let shape = Shape::of(study);
    let known: Vec<(&Pair, &Over)> = study
        .pairs
        .iter()
        .filter_map(|pair| Some((pair, pair.over.as_ref()?)))
        .collect();
    if known.is_empty() {
        return None;
    }
    let pick = |of: &dyn Fn(&Over) -> Option<f64>| {
        known.iter().map(|(_, over)| of(over)).collect::<Vec<_>>()
    };
    let count = |of: &dyn Fn(&Over) -> usize| {
        let counts = known.iter().map(|(_, over)| i64::try_from(of(over)).ok());
        counts.collect::<Vec<_>>()
    };
    Some(Table {
        id: "over".to_owned(),
        title: format!(
            "Differences between treatments over {} trials",
            study.question.trials.len()
        ),
        columns: vec![
            Column::text(
                "Difference",
                known.iter().map(|(pair, _)| study.words(pair)),
            ),
            Column::count("Trials", count(&|over| over.trials.len())),
            shape.values("Average", pick(&|over| Some(over.summary.value))),
            shape.errors(
                "Standard error",
                pick(&|over| Some(over.summary.standard_error)),
            ),
            shape.values("Low", pick(&|over| Some(over.summary.low))),
            shape.values("High", pick(&|over| Some(over.summary.high))),
            Column::probability("P", pick(&|over| Some(over.summary.p))),
            shape.errors(
                "SD between trials",
                pick(&|over| Some(over.summary.between.sqrt())),
            ),
            Column::number("Q", pick(&|over| Some(over.summary.q)), Format::Decimals(2)),
            Column::probability("P of Q", pick(&|over| Some(over.summary.q_p))),
            Column::number(
                "I²",
                pick(&|over| Some(over.summary.share)),
                Format::Percent(0),
            ),
            shape.values(
                "New site, low",
                pick(&|over| over.summary.expected.map(|it| it.0)),
            ),
            shape.values(
                "New site, high",
                pick(&|over| over.summary.expected.map(|it| it.1)),
            ),
        ],
        notes: vec![format!(
            "Low and high: ends of the {} interval of the average. New site: where the difference at one more site like these would be expected, with the same confidence; three trials at least are needed to say so. Q: disagreement of the trials against their errors; I²: the share of it that these do not explain.",
            study.confidence()
        )],
        ..Table::default()
    })
}

/// What each trial saw, difference by difference.
fn differences(study: &Study) -> Table {
    let shape = Shape::of(study);
    let trials = study.question.trials.len();
    let rows: Vec<(&Pair, usize, &Value)> = study
        .pairs
        .iter()
        .flat_map(|pair| {
            pair.seen
                .iter()
                .enumerate()
                .map(move |(trial, value)| (pair, trial, value))
        })
        .collect();
    let weight = |pair: &Pair, trial: usize| {
        let over = pair.over.as_ref()?;
        let place = over.trials.iter().position(|one| *one == trial)?;
        Some(over.summary.weights[place])
    };
    let mut columns = vec![
        Column::text(
            "Difference",
            rows.iter().map(|(pair, ..)| study.words(pair)),
        ),
        Column::text(
            "Trial",
            rows.iter().map(|(_, trial, _)| capital(study.name(*trial))),
        ),
        shape.values(
            "Estimate",
            rows.iter().map(|row| Some(row.2.value)).collect(),
        ),
        shape.errors(
            "Standard error",
            rows.iter().map(|row| row.2.error.map(|it| it.0)).collect(),
        ),
        Column::number(
            "df",
            rows.iter()
                .map(|row| row.2.error.and_then(|it| it.1))
                .collect(),
            DF,
        ),
    ];
    if study.pairs.iter().any(|pair| pair.over.is_some()) {
        let weights = rows.iter().map(|(pair, trial, _)| weight(pair, *trial));
        columns.push(Column::number(
            "Weight in the average",
            weights.collect(),
            Format::Percent(0),
        ));
    }
    Table {
        id: "differences".to_owned(),
        title: "Differences between treatments, trial by trial".to_owned(),
        columns,
        groups: (0..study.pairs.len()).map(|pair| pair * trials).collect(),
        notes: vec![
            "Where no df stands beside a standard error, it counts as known without error."
                .to_owned(),
        ],
        ..Table::default()
    }
}

fn means(study: &Study) -> Table {
    let shape = Shape::of(study);
    let mut columns = vec![Column::text(
        "Treatment",
        study.question.treatments.iter().cloned(),
    )];
    for (trial, one) in study.question.trials.iter().enumerate() {
        let seen = |of: &dyn Fn(&Value) -> Option<f64>| {
            let means = study.means.iter();
            means.map(|mean| of(&mean.seen[trial])).collect::<Vec<_>>()
        };
        let name = capital(&one.name);
        columns.push(shape.values(&name, seen(&|value| Some(value.value))));
        let errors = seen(&|value| value.error.map(|it| it.0));
        let ends = study.means.iter().map(|mean| mean.intervals[trial]);
        if errors.iter().any(Option::is_some) {
            columns.push(shape.errors(&format!("{name}, standard error"), errors));
        } else if ends.clone().any(|ends| ends.is_some()) {
            let low = ends.clone().map(|ends| ends.map(|it| it.0)).collect();
            columns.push(shape.values(&format!("{name}, low"), low));
            let high = ends.map(|ends| ends.map(|it| it.1)).collect();
            columns.push(shape.values(&format!("{name}, high"), high));
        }
    }
    let known: Vec<&Moved> = study
        .means
        .iter()
        .filter_map(|mean| mean.moved.as_ref())
        .collect();
    if known.len() == study.means.len() {
        columns.extend(moves(&shape, &known));
    }
    Table {
        id: "means".to_owned(),
        title: "Means of the treatments in each trial".to_owned(),
        columns,
        notes: vec!["Low and high, where they stand, are the ends of the interval that the trial's own analysis gives. Means differ between trials for soil, weather and vines, not for treatments alone; the differences above are what treatments did.".to_owned()],
        ..Table::default()
    }
}

/// A name as it heads a column: "The published table", "A".
pub(crate) fn capital(name: &str) -> String {
    let mut letters = name.chars();
    match letters.next() {
        Some(first) => first.to_uppercase().chain(letters).collect(),
        None => String::new(),
    }
}
