//! Names: which can be used for a factor, response, covariate or ratio, and that no two things share one.

use std::collections::HashMap;
use std::ops::Range;

use crate::diagnostic::Diagnostic;
use crate::trial::faults::Faults;
use crate::trial::section::Section;
use crate::trial::{Design, Factor, Field, Response, Status, Written};

/// Columns every table handed to a plugin may have; nothing else can be named so.
const FIXED: &[&str] = &[
    "block",
    "row",
    "column",
    "plot",
    "vine",
    "season",
    "field_row",
    "field_first",
    "field_last",
    "field_position",
];

/// Reports a name that cannot head a column or name a file.
pub(super) fn is_usable(name: &Written<String>, what: &str, faults: &mut Faults) {
    let lower = name.value.to_lowercase();
    if FIXED.contains(&lower.as_str()) {
        faults.add(
            &name.span,
            Diagnostic::error(
                "name-taken",
                format!(
                    "a {what} cannot be named '{}': every table has a column of that name for the \
                     design",
                    name.value
                ),
            )
            .help(format!(
                "give it another name, and column = \"{}\" if that is the heading in the data",
                name.value
            )),
        );
    }
    let begins = name.value.chars().next().is_some_and(char::is_alphabetic);
    let goes_on = |letter: char| letter.is_alphanumeric() || matches!(letter, '_' | '-');
    if !begins || !name.value.chars().all(goes_on) {
        faults.add(
            &name.span,
            Diagnostic::error(
                "name-shape",
                format!("'{}' cannot be the name of a {what}", name.value),
            )
            .help(
                "use letters, digits, _ and -, beginning with a letter; a heading with other signs \
                 goes into column, words for the report into label",
            ),
        );
    }
}

/// Reports factors, responses, covariates and ratios that share a name.
pub(super) fn are_distinct(root: &Section<'_>, faults: &mut Faults) {
    let mut seen: HashMap<String, (&str, Written<String>)> = HashMap::new();
    for (table, what) in [
        ("factors", "factor"),
        ("responses", "response"),
        ("covariates", "covariate"),
        ("ratios", "ratio"),
    ] {
        let Some(value) = root.value(table) else {
            continue;
        };
        let Some(inner) = value.get_ref().as_table() else {
            continue;
        };
        for entry in Section::new(table, value.span(), inner).entries() {
            // Two names that differ in case only would be one file on many disks.
            let lower = entry.key.value.to_lowercase();
            match seen.get(&lower) {
                Some((other, first)) => {
                    let place = faults.place(&first.span);
                    faults.add(
                        &entry.key.span,
                        Diagnostic::error(
                            "name-taken",
                            format!(
                                "the {what} '{}' has the name of the {other} '{}'",
                                entry.key.value, first.value
                            ),
                        )
                        .at(place)
                        .help(
                            "give one of them another name; column keeps the heading in the data",
                        ),
                    );
                }
                None => {
                    seen.insert(lower, (what, entry.key));
                }
            }
        }
    }
}

/// Reports one column of the data declared to be two things. The total of a count may be a response
/// of its own as well.
pub(super) fn columns_are_distinct(
    design: &Option<Design>,
    field: &Option<Field>,
    factors: &[Factor],
    status: &Option<Status>,
    responses: &[Response],
    covariates: &[Response],
    faults: &mut Faults,
) {
    let mut declared: Vec<(String, &Written<String>)> = Vec::new();
    if let Some(design) = design {
        let optional = [
            ("block", design.block.as_ref()),
            ("row", design.row.as_ref()),
            ("column", design.column.as_ref()),
            ("plot", Some(&design.plot)),
            ("vine", design.vine.as_ref()),
            ("season", design.season.as_ref()),
        ];
        declared.extend(optional.into_iter().filter_map(|(key, column)| {
            Some((
                format!("{key} of [design]"),
                column.filter(|column| !column.value.is_empty())?,
            ))
        }));
    }
    declared.extend(
        factors
            .iter()
            .filter(|factor| !FIXED.contains(&factor.name.as_str()))
            .map(|factor| (format!("the factor {}", factor.name), &factor.column)),
    );
    declared.extend(
        status
            .iter()
            .map(|status| ("[status]".to_owned(), &status.column)),
    );
    // A place in the field may be part of the design as well: the rows of a Latin square.
    let places = field.iter().flat_map(Field::columns).filter(|(_, column)| {
        let mut known = declared.iter();
        !known.any(|(what, other)| what.ends_with("[design]") && other.value == column.value)
    });
    let places: Vec<_> = places
        .map(|(what, column)| (format!("the {what} of [field]"), column))
        .collect();
    declared.extend(places);
    let before_responses = declared.len();
    declared.extend(
        responses
            .iter()
            .filter(|response| !FIXED.contains(&response.name.as_str()))
            .map(|response| (format!("the response {}", response.name), &response.column)),
    );
    declared.extend(
        covariates
            .iter()
            .filter(|covariate| !FIXED.contains(&covariate.name.as_str()))
            .map(|covariate| {
                (
                    format!("the covariate {}", covariate.name),
                    &covariate.column,
                )
            }),
    );
    let mut first: HashMap<&str, (&str, &Range<usize>)> = HashMap::new();
    for (what, column) in &declared {
        one_use(what, column, &mut first, faults);
    }
    // A total may be shared by counts and be a response, but is no part of the design.
    let mut design_only: HashMap<&str, (&str, &Range<usize>)> = HashMap::new();
    for (what, column) in declared.iter().take(before_responses) {
        design_only.insert(&column.value, (what, &column.span));
    }
    for response in responses {
        let Some(of) = &response.of else { continue };
        let what = format!("the total of {}", response.name);
        if design_only.contains_key(of.value.as_str()) {
            one_use(&what, of, &mut design_only.clone(), faults);
        }
    }
}

fn one_use<'a>(
    what: &'a str,
    column: &'a Written<String>,
    first: &mut HashMap<&'a str, (&'a str, &'a Range<usize>)>,
    faults: &mut Faults,
) {
    let Some((other, span)) = first.get(column.value.as_str()) else {
        first.insert(&column.value, (what, &column.span));
        return;
    };
    let place = faults.place(span);
    faults.add(
        &column.span,
        Diagnostic::error(
            "column-twice",
            format!(
                "column '{}' is declared as {other} and as {what}",
                column.value
            ),
        )
        .at(place)
        .help("a column holds one thing: look at the headings of the data"),
    );
}
