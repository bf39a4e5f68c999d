//! The section of one response.

use caneplot_plugin::Refusal;
use caneplot_plugin::findings::{Section, Statement};
use caneplot_plugin::request::Response;
use caneplot_plugin::words;

use crate::compare::judged;
use crate::study::{Study, inside};
use crate::{figures, notes, sentences, tables};

/// The section of an analysed response; the crop of the trial has the figures.
pub(crate) fn of(study: &Study<'_>, crop: bool) -> Section {
    let options = study.planner.options;
    let response = study.response();
    let margin = options.margin(&response.name);
    let judged = match (&study.whole, margin) {
        (Ok(whole), Some(margin)) if study.seasons.len() > 1 => judged(study, whole, margin),
        _ => Vec::new(),
    };
    let primary = options.primary.as_ref() == Some(&response.name);
    let foremost = crop || primary || margin.is_some();
    Section {
        id: words::id(&response.name),
        title: title(response),
        response: made_of_one(study).then(|| response.name.clone()),
        statements: sentences::of(study, &judged, foremost),
        tables: tables::of(study, &judged, foremost),
        figures: if crop { figures::of(study) } else { Vec::new() },
        notes: notes::of(study, &judged),
        estimates: Vec::new(),
    }
}

/// "Yield over the seasons": other analyses have sections about the response too.
fn title(response: &Response) -> String {
    format!(
        "{} over the seasons",
        words::beginning(&inside(&response.label))
    )
}

/// Whether the response is the trial's own, and not made here of others.
fn made_of_one(study: &Study<'_>) -> bool {
    let own = &study.planner.trial().responses;
    own.iter()
        .any(|response| response.name == study.response().name)
}

/// The section of a response that has no analysis, with the reason.
pub(crate) fn refused(response: &Response, refusal: &Refusal) -> Section {
    let text = format!(
        "{} is not analysed: {}.",
        words::beginning(&inside(&response.label)),
        words::safe(refusal.message.trim_end_matches('.'))
    );
    Section {
        id: words::id(&response.name),
        title: title(response),
        response: Some(response.name.clone()),
        statements: vec![Statement::new(text)],
        ..Section::default()
    }
}
