//! `[records]`: the visits, what is recorded at each, and the response the trial is judged by.

use toml::Spanned;
use toml::de::DeValue;

use crate::diagnostic::{Diagnostic, nearest};
use crate::plan::records::{KNOWN, Records, Shown, Visit, known};
use crate::trial::faults::Faults;
use crate::trial::section::{Section, word_of};
use crate::trial::words::{Words, is_dormant};
use crate::trial::{Factor, Response, Written};

const RECORDS: &[&str] = &[
    "primary",
    "treatments_on",
    "pruning",
    "bud_break",
    "bloom",
    "harvest",
];

const SHOWN: Words<Shown> = Words {
    what: "a paper that can show treatments",
    list: &[("labels", Shown::Labels), ("sheets", Shown::Sheets)],
};

/// Headings of the layout and of sheets that no response and no factor can have.
const TAKEN: &[&str] = &[
    "season",
    "block",
    "row",
    "column",
    "plot",
    "vine",
    "status",
    "vineyard_row",
    "position",
    "first_position",
    "last_position",
    "positions",
    "date",
    "recorder",
    "note",
];

/// The records; `own` are the responses the plan declares itself.
pub(super) fn records(
    root: &Section<'_>,
    own: Vec<Response>,
    faults: &mut Faults,
) -> Option<Records> {
    let section = root.section("records", faults).map(|mut section| {
        section.only(RECORDS, faults);
        section
    });
    let listed = section.as_ref().filter(|section| {
        Visit::ALL
            .iter()
            .any(|visit| section.speaks_of(visit.key()))
    });
    let mut visits: Vec<(Visit, Vec<Response>)> = Vec::new();
    for visit in Visit::ALL {
        let names = match listed {
            Some(section) => names(section, visit, faults),
            None => usual(visit, &(0..0)),
        };
        let mut responses: Vec<Response> = Vec::new();
        for name in names {
            let earlier = visits
                .iter()
                .flat_map(|(_, responses)| responses)
                .chain(&responses)
                .any(|response| response.name == name.value);
            if earlier {
                let message = format!("'{}' is recorded twice", name.value);
                let fault = Diagnostic::error("plan-records", message)
                    .help("list it at one visit; a second recording is a response of its own");
                faults.add(&name.span, fault);
                continue;
            }
            let found = response(&name, &own, faults);
            if let Some(response) = found.as_ref().filter(|_| visit != Visit::Pruning)
                && is_dormant(response.quantity)
            {
                let message = format!("'{}' is recorded in winter", name.value);
                let fault = Diagnostic::error("plan-records", message).help(
                    "list it under pruning, whose sheets know which season a winter belongs to",
                );
                faults.add(&name.span, fault);
            }
            responses.extend(found);
        }
        if !responses.is_empty() {
            visits.push((visit, responses));
        }
    }
    let recorded: Vec<String> = visits
        .iter()
        .flat_map(|(_, responses)| responses)
        .map(|response| response.name.clone())
        .collect();
    for response in own
        .iter()
        .filter(|response| !recorded.contains(&response.name))
    {
        let visits: Vec<&str> = Visit::ALL.iter().map(|visit| visit.key()).collect();
        faults.add(
            &response.span,
            Diagnostic::error(
                "plan-records",
                format!("'{}' is recorded at no visit", response.name),
            )
            .help(format!(
                "list it in [records] at one of {}; visits that are not listed then have no sheets",
                visits.join(", ")
            )),
        );
    }
    let primary = primary(section.as_ref(), &recorded, faults)?;
    let shown = section
        .as_ref()
        .and_then(|section| section.texts("treatments_on", "treatments_on = [\"labels\"]", faults));
    Some(Records {
        visits,
        primary,
        treatments_on: shown
            .unwrap_or_default()
            .iter()
            .filter_map(|text| word_of(text, &SHOWN, faults))
            .map(|word| word.value)
            .collect(),
    })
}

/// The names listed for a visit; `true` stands for the usual ones.
fn names(section: &Section<'_>, visit: Visit, faults: &mut Faults) -> Vec<Written<String>> {
    match section
        .value(visit.key())
        .map(|value| (value, value.get_ref()))
    {
        None | Some((_, DeValue::Boolean(false))) => Vec::new(),
        Some((value, DeValue::Boolean(true))) => usual(visit, &value.span()),
        Some(_) => {
            let example = format!(
                "{} = [\"{}\"] or true",
                visit.key(),
                visit.usual().join("\", \"")
            );
            section
                .texts(visit.key(), &example, faults)
                .unwrap_or_default()
        }
    }
}

fn usual(visit: Visit, span: &std::ops::Range<usize>) -> Vec<Written<String>> {
    let written = |name: &&str| Written {
        value: (*name).to_owned(),
        span: span.clone(),
    };
    visit.usual().iter().map(written).collect()
}

/// The response of a name: declared in the plan, or known.
fn response(name: &Written<String>, own: &[Response], faults: &mut Faults) -> Option<Response> {
    let declared = own
        .iter()
        .find(|response| response.name == name.value)
        .cloned();
    if let Some(found) = declared.or_else(|| known(&name.value, name.span.clone())) {
        return Some(found);
    }
    let all: Vec<&str> = own
        .iter()
        .map(|response| response.name.as_str())
        .chain(KNOWN.iter().map(|known| known.name))
        .collect();
    let help = match nearest(&name.value, all.iter().copied()) {
        Some(near) => format!("write {near} if that is meant; known: {}", all.join(", ")),
        None => format!(
            "declare it in [responses.{}] with its unit; known without: {}",
            name.value,
            all.join(", ")
        ),
    };
    let message = format!("'{}' is no response that is known", name.value);
    faults.add(
        &name.span,
        Diagnostic::error("plan-records", message).help(help),
    );
    None
}

fn primary(
    section: Option<&Section<'_>>,
    recorded: &[String],
    faults: &mut Faults,
) -> Option<Written<String>> {
    let example = "primary = \"yield\"";
    if let Some(written) = section.and_then(|section| section.text("primary", example, faults)) {
        if !recorded.contains(&written.value) {
            let message = format!("the primary response '{}' is not recorded", written.value);
            let help = format!("recorded are {}", recorded.join(", "));
            faults.add(
                &written.span,
                Diagnostic::error("plan-records", message).help(help),
            );
        }
        return Some(written);
    }
    let name = recorded
        .iter()
        .find(|name| *name == "yield")
        .or(recorded.first());
    if name.is_none() {
        let span = section.map_or(0..0, |section| section.header.clone());
        let message = "nothing is recorded at any visit";
        let help = "list responses at a visit, as in harvest = [\"yield\"], or take [records] out";
        faults.add(&span, Diagnostic::error("plan-records", message).help(help));
    }
    Some(Written {
        value: name?.clone(),
        span: section
            .and_then(|section| section.value("harvest"))
            .map_or(0..0, Spanned::span),
    })
}

/// Reports factors, responses and covariates that would share a heading with each other or with the layout.
pub(super) fn names_are_free(
    factors: &[Factor],
    records: &Option<Records>,
    covariates: &[Response],
    faults: &mut Faults,
) {
    let responses: Vec<&Response> = records
        .iter()
        .flat_map(|records| &records.visits)
        .flat_map(|(_, responses)| responses)
        .chain(covariates)
        .collect();
    let mut taken: Vec<(String, String)> = TAKEN
        .iter()
        .map(|name| ((*name).to_owned(), "a column of the layout".to_owned()))
        .collect();
    for response in &responses {
        taken.push((
            response.name.clone(),
            format!("the response {}", response.name),
        ));
    }
    for factor in factors {
        for name in [&factor.name, &factor.column.value] {
            let other = taken.iter().find(|(taken, _)| taken == name);
            if let Some((_, other)) = other {
                let message = format!("the factor {} has the name of {other}", factor.name);
                faults.add(
                    &factor.span,
                    Diagnostic::error("name-taken", message).help("give the factor another name"),
                );
                break;
            }
        }
    }
    let mut headings: Vec<(&str, &str)> = Vec::new();
    for response in &responses {
        for column in std::iter::once(&response.column).chain(&response.of) {
            let factor = factors
                .iter()
                .any(|factor| factor.column.value == column.value);
            let twice = headings
                .iter()
                .find(|(heading, _)| *heading == column.value)
                .filter(|_| column.value == response.column.value);
            if factor || twice.is_some() || TAKEN.contains(&column.value.as_str()) {
                let message = format!("the column '{}' is taken", column.value);
                let span = if column.span.is_empty() {
                    &response.span
                } else {
                    &column.span
                };
                faults.add(
                    span,
                    Diagnostic::error("column-twice", message)
                        .help("give the response another column"),
                );
            }
            headings.push((&column.value, &response.name));
        }
    }
}
