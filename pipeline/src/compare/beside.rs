//! Questions that a report and a published table answer.

use caneplot_plugin::estimates::{Estimates, Kind};
use serde_json::{Value as Json, json};

use super::matched::{Matched, id, in_words, over_seasons, title};
use super::published::{Published, PublishedError, PublishedResponse};
use super::{treatments, units};
use crate::diagnostic::{Diagnostic, nearest};
use crate::earlier::EarlierReport;
use crate::trial::Unit;

/// How the published table is called in sentences.
pub const TABLE: &str = "the published table";

/// What a published table and these reports have in common.
///
/// # Errors
/// Names in the table that are almost, but not quite, those of the reports; factors that must be said.
pub fn beside(
    published: &Published,
    reports: &[(&str, &EarlierReport)],
) -> Result<Matched, Vec<Diagnostic>> {
    let mut matched = Matched::default();
    let mut faults = Vec::new();
    for response in &published.responses {
        match known(published, response, reports) {
            Ok(true) => {}
            Ok(false) => {
                matched.unlike.push(format!(
                    "'{}' of the published table has no results in any of the reports.",
                    response.name.value
                ));
                continue;
            }
            Err(fault) => {
                faults.push(*fault);
                continue;
            }
        }
        for (letter, report) in reports {
            let found = over_seasons(report, &response.name.value);
            let found = match by_factors(published, response, letter, report, &found) {
                Ok(found) => found,
                Err(fault) => {
                    faults.push(*fault);
                    continue;
                }
            };
            match found {
                Some(estimates) => one(&mut matched, response, letter, report, estimates),
                None => matched.unlike.push(format!(
                    "'{}' of the published table has no results over all seasons in {letter}.",
                    response.name.value
                )),
            }
        }
    }
    match faults.is_empty() {
        true => Ok(matched),
        false => Err(faults),
    }
}

/// Whether a report has results of a published response.
fn known(
    published: &Published,
    response: &PublishedResponse,
    reports: &[(&str, &EarlierReport)],
) -> Result<bool, Box<Diagnostic>> {
    let mut names: Vec<&str> = reports
        .iter()
        .flat_map(|(_, report)| {
            report
                .estimates()
                .map(|found| found.estimates.name.as_str())
        })
        .collect();
    names.sort_unstable();
    names.dedup();
    let name = response.name.value.as_str();
    if names.contains(&name) {
        return Ok(true);
    }
    match nearest(name, names.iter().copied()) {
        Some(near) => Err(Box::new(
            Diagnostic::error(
                "published-name",
                format!("no report has results of '{name}'"),
            )
            .at(published.place(&response.name.span))
            .help(format!(
                "write {near} if that is meant; the reports have {}",
                names.join(", ")
            )),
        )),
        None => Ok(false),
    }
}

/// The results with the factors of a published response.
fn by_factors<'a>(
    published: &Published,
    response: &PublishedResponse,
    letter: &str,
    report: &EarlierReport,
    found: &[(&'a Estimates, &str)],
) -> Result<Option<&'a Estimates>, Box<Diagnostic>> {
    let all = report.trial.factors.iter();
    let names: Vec<&str> = all.map(|factor| factor.name.as_str()).collect();
    let wanted: Vec<&str> = match (response.factors.as_slice(), names.as_slice()) {
        ([], [one]) => vec![one],
        ([], _) => {
            let listed: Vec<String> = names.iter().map(|name| format!("\"{name}\"")).collect();
            return Err(Box::new(
                Diagnostic::error(
                    "published-name",
                    format!(
                        "which factor of {letter} the treatments of '{}' are levels of is not said",
                        response.name.value
                    ),
                )
                .at(published.place(&response.name.span))
                .help(format!(
                    "add factor = {} or, for combinations, factors = [{}]",
                    listed.join(" or factor = "),
                    listed.join(", ")
                )),
            ));
        }
        (written, _) => {
            for one in written {
                if !names.contains(&one.value.as_str()) {
                    let near = nearest(&one.value, names.iter().copied());
                    let known = format!("{letter} has {}", names.join(", "));
                    return Err(Box::new(
                        Diagnostic::error(
                            "published-name",
                            format!("{letter} has no factor '{}'", one.value),
                        )
                        .at(published.place(&one.span))
                        .help(match near {
                            Some(near) => format!("write {near} if that is meant; {known}"),
                            None => known,
                        }),
                    ));
                }
            }
            written.iter().map(|one| one.value.as_str()).collect()
        }
    };
    let same = |estimates: &Estimates| {
        estimates.factors.len() == wanted.len()
            && estimates
                .factors
                .iter()
                .all(|name| wanted.contains(&name.as_str()))
    };
    Ok(found
        .iter()
        .map(|one| one.0)
        .find(|estimates| same(estimates)))
}

/// One response of one report beside the table.
fn one(
    matched: &mut Matched,
    response: &PublishedResponse,
    letter: &str,
    report: &EarlierReport,
    estimates: &Estimates,
) {
    let label = &estimates.label;
    let factor = match factor(&response.unit.value, estimates) {
        Ok(factor) => factor,
        Err(why) => {
            matched.unlike.push(format!(
                "{label} is in '{}' in the published table and in '{}' in {letter}, and cannot be compared: {why}.",
                response.unit.value, estimates.unit
            ));
            return;
        }
    };
    let trial = &report.trial;
    let all = treatments::all(trial, estimates);
    // The table's factors may be written in another order.
    let written: Vec<String> = match response.factors.is_empty() {
        true => estimates.factors.clone(),
        false => response
            .factors
            .iter()
            .map(|one| one.value.clone())
            .collect(),
    };
    let place = |levels: &[String]| {
        let ordered: Option<Vec<String>> = estimates
            .factors
            .iter()
            .map(|name| {
                let at = written.iter().position(|one| one == name)?;
                levels.get(at).cloned()
            })
            .collect();
        let keys = treatments::keys(trial, &estimates.factors, &ordered?);
        all.iter().position(|one| *one == keys)
    };
    let (mut rows, mut at) = (Vec::new(), Vec::new());
    for (row, (levels, _)) in response.means.iter().enumerate() {
        match place(&levels.value) {
            Some(place) => {
                rows.push(row);
                at.push(place);
            }
            None => matched.unlike.push(format!(
                "{label}: the published treatment '{}' is not in {letter}.",
                levels.value.join(", ")
            )),
        }
    }
    for (treatment, words) in in_words(report, estimates, &(0..all.len()).collect::<Vec<_>>())
        .iter()
        .enumerate()
    {
        if !at.contains(&treatment) {
            matched.unlike.push(format!(
                "{label}: {words} of {letter} is not in the published table."
            ));
        }
    }
    if at.len() < 2 {
        matched.unlike.push(format!(
            "{label}: fewer than two treatments are in both the published table and {letter}."
        ));
        return;
    }
    let control = treatments::control(trial, &estimates.factors)
        .and_then(|control| at.iter().position(|&one| all[one] == control));
    matched.questions.push(json!({
        "id": id(estimates, Some(letter)),
        "title": format!("{}: {letter} beside {TABLE}", title(report, estimates)),
        "name": estimates.name,
        "label": estimates.label,
        "unit": estimates.unit,
        "format": estimates.format,
        "kind": estimates.kind,
        "treatments": in_words(report, estimates, &at),
        "control": control,
        "trials": [
            { "name": TABLE, "source": { "published": table(response, factor, &rows) } },
            { "name": letter, "source": { "report": { "estimates": estimates, "at": at } } },
        ],
    }));
}

/// The factor from the table's unit to that of the results.
fn factor(unit: &Unit, estimates: &Estimates) -> Result<f64, String> {
    if estimates.kind == Kind::Share {
        // Shares run from 0 to 1; a paper gives them in %.
        return units::between(unit, &Unit::percent()).map(|factor| factor / 100.0);
    }
    if unit.to_string() == estimates.unit {
        return Ok(1.0);
    }
    let known = Unit::parse(&estimates.unit).map_err(|error| error.to_string())?;
    units::between(unit, &known)
}

/// Some rows of the table in the unit of the results.
fn table(response: &PublishedResponse, factor: f64, rows: &[usize]) -> Json {
    let error = response.error.as_ref().map(|error| match error {
        PublishedError::Means(errors) => {
            let some: Vec<f64> = rows.iter().map(|&row| factor * errors[row]).collect();
            json!({ "means": some })
        }
        PublishedError::Difference(error) => json!({ "difference": factor * error }),
        PublishedError::Least { value, level } => {
            json!({ "least": { "value": factor * value, "level": level } })
        }
        PublishedError::Variation(share) => json!({ "variation": share }),
    });
    let all = response.means.len() as f64;
    let mean = response
        .means
        .iter()
        .map(|(_, mean)| mean / all)
        .sum::<f64>();
    json!({
        "means": rows.iter().map(|&row| factor * response.means[row].1).collect::<Vec<f64>>(),
        "error": error,
        "df": response.df,
        "plots": response.plots,
        "mean": factor * mean,
    })
}
