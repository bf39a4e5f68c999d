//! Which columns of the files are keys, which are values, and what a value can be.

use super::COUNTED;
use super::layout::{Holds, Layout};
use crate::check::ranges;
use crate::decimal::nearest_f64;
use crate::diagnostic::Diagnostic;
use crate::load::columns::{Use, wanted};
use crate::load::heads::Wanted;
use crate::trial::{How, Summary, Trial};

/// How batches are added up.
#[derive(Debug)]
pub(super) struct Plan {
    /// What becomes of the values of a group.
    pub(super) how: How,
    /// Columns that tell groups apart.
    pub(super) keys: Vec<Key>,
    /// Columns that are added up.
    pub(super) values: Vec<Value>,
    /// Texts that mean "not recorded".
    pub(super) missing: Vec<String>,
    /// The same as numbers.
    pub(super) codes: Vec<f64>,
}

/// A column that tells groups apart.
#[derive(Debug)]
pub(super) struct Key {
    /// Heading.
    pub(super) heading: String,
    /// What it is.
    pub(super) what: Use,
}

/// A column that is added up.
#[derive(Debug)]
pub(super) struct Value {
    /// Heading.
    pub(super) heading: String,
    /// Lowest possible value.
    pub(super) low: f64,
    /// Highest possible value.
    pub(super) high: f64,
    /// Why no other is possible.
    pub(super) why: String,
}

/// The plan of the files of a summary.
///
/// # Errors
/// A column that is in some of the files only or holds what cannot be a key or a value; one that
/// cannot be summarised.
pub(super) fn plan(
    file: &Wanted<'_>,
    summary: &Summary,
    layouts: &[Layout],
) -> Result<Plan, Vec<Diagnostic>> {
    let mut plan = Plan {
        how: summary.how.value,
        keys: Vec::new(),
        values: Vec::new(),
        missing: file
            .data
            .missing
            .iter()
            .filter(|code| !code.is_empty())
            .cloned()
            .collect(),
        codes: file
            .data
            .missing
            .iter()
            .filter_map(|code| code.parse().ok())
            .collect(),
    };
    let mut faults = Vec::new();
    for (what, column) in wanted(file.trial) {
        let heading = column.value.as_str();
        let has = |layout: &&Layout| layout.headings().any(|known| known == heading);
        let Some(holder) = layouts.iter().find(has) else {
            continue;
        };
        if what == Use::Vine && summary.of_plots {
            continue;
        }
        if let Some(lacks) = layouts.iter().find(|layout| !has(layout)) {
            faults.push(in_some(heading, holder, lacks));
            continue;
        }
        match role(what) {
            None => faults.push(no_summary(file, heading, holder)),
            Some(Role::Key) => plan.keys.push(Key {
                heading: heading.to_owned(),
                what,
            }),
            Some(Role::Value) if plan.values.iter().all(|value| value.heading != heading) => {
                plan.values.push(value(file.trial, what, heading));
            }
            Some(Role::Value) => {}
        }
    }
    for layout in layouts {
        faults.extend(plan.unfit(layout));
        if layout.headings().any(|heading| heading == COUNTED) {
            faults.push(
                Diagnostic::error(
                    "summary",
                    format!("a column is headed '{COUNTED}', which is the heading of the number of records of each summary"),
                )
                .at(layout.place(Some(COUNTED)))
                .help("give the column another heading"),
            );
        }
    }
    if faults.is_empty() {
        Ok(plan)
    } else {
        Err(faults)
    }
}

enum Role {
    Key,
    Value,
}

fn role(what: Use) -> Option<Role> {
    match what {
        Use::Plot | Use::Block | Use::Row | Use::Column | Use::Vine | Use::Season => {
            Some(Role::Key)
        }
        Use::Factor(_) => Some(Role::Key),
        Use::Value(_) | Use::Total(_) | Use::Covariate(_) => Some(Role::Value),
        Use::Status | Use::Field(_) => None,
    }
}

fn value(trial: &Trial, what: Use, heading: &str) -> Value {
    let range = match what {
        Use::Value(at) => ranges::range(&trial.responses[at], false),
        Use::Total(at) => ranges::range(&trial.responses[at], true),
        Use::Covariate(at) => ranges::range(&trial.covariates[at], false),
        _ => None,
    };
    let (low, high, why) = match range {
        Some((low, high, why)) => (nearest_f64(low), high.map_or(f64::MAX, nearest_f64), why),
        None => (f64::MIN, f64::MAX, "a number is finite".to_owned()),
    };
    Value {
        heading: heading.to_owned(),
        low,
        high,
        why,
    }
}

impl Plan {
    /// Columns of a layout that hold what a key or a value cannot be.
    fn unfit<'a>(&'a self, layout: &'a Layout) -> impl Iterator<Item = Diagnostic> + 'a {
        let keys = self.keys.iter().map(|key| (key.heading.as_str(), true));
        let values = self
            .values
            .iter()
            .map(|value| (value.heading.as_str(), false));
        keys.chain(values).filter_map(|(heading, is_key)| {
            let holds = layout.column(heading)?.holds;
            let what = match holds {
                Holds::Other(what) => what,
                Holds::Texts if !is_key => "texts",
                _ => return None,
            };
            let needed = if is_key {
                "names or numbers that tell records apart"
            } else {
                "numbers"
            };
            let file = layout
                .inputs
                .first()
                .map_or(layout.paths[0].as_str(), |input| &input.name);
            Some(
                Diagnostic::error(
                    "column-type",
                    format!("column '{heading}' of {file} holds {what}, and {needed} belong there"),
                )
                .at(layout.place(Some(heading)))
                .help("write the column again as what it means"),
            )
        })
    }
}

fn in_some(heading: &str, holder: &Layout, lacks: &Layout) -> Diagnostic {
    let name = |layout: &Layout| {
        let first = layout.inputs.first();
        first.map_or_else(|| layout.paths[0].clone(), |input| input.name.clone())
    };
    Diagnostic::error(
        "missing-column",
        format!(
            "{} has no column '{heading}', and {} has one",
            name(lacks),
            name(holder)
        ),
    )
    .at(lacks.place(None))
    .at(holder.place(Some(heading)))
    .help("give all files of one summary the same columns, or name them in a [[data]] each")
}

fn no_summary(file: &Wanted<'_>, heading: &str, holder: &Layout) -> Diagnostic {
    Diagnostic::error(
        "summary",
        format!(
            "column '{heading}' is in {}, and the status of vines and the places of plots have no summary",
            file.data.file.value
        ),
    )
    .at(holder.place(Some(heading)))
    .help("put it into a file without summary, such as the layout, and take it out here")
}
