//! What several seasons of the same plots show together: season by season, added up, trends,
//! steadiness, equivalence with the control, and all responses as one family of tests.
//!
//! `records` holds the values by plot and season, `measures` sums each plot up, `plan` and `analysed`
//! put those numbers through the design, `study` is all of that for one response, `family` for all
//! responses together; the other modules write.

mod analysed;
mod calendar;
mod compare;
mod family;
mod figures;
mod margin;
mod measures;
mod methods;
mod notes;
mod options;
mod plan;
mod records;
mod section;
mod sentences;
mod study;
mod tables;

#[cfg(test)]
mod tests;

use caneplot_plugin::findings::FINDINGS_SCHEMA;
use caneplot_plugin::request::{Basis, Quantity};
use caneplot_plugin::{Analysis, Call, Findings, Refusal, words};
use caneplot_readings::Register;

use crate::calendar::Calendar;
use crate::options::Options;
use crate::plan::Planner;
use crate::records::Records;
use crate::study::Study;

/// The plugin.
struct Seasons;

caneplot_plugin::export_plugin!(Seasons);

impl Analysis for Seasons {
    const MANIFEST: &'static str = include_str!("manifest.json");

    fn analyse(&self, call: &Call) -> Result<Findings, Refusal> {
        let options = Options::of(call)?;
        let calendar = several(call, &options)?;
        let register = Register::of(call)?;
        let planner = Planner::new(call, &options, &calendar, &register)?;
        let (mut studies, mut sections) = (Vec::new(), Vec::new());
        for response in options.responses(call) {
            match Records::of(call, &register, &planner.rows, response) {
                Ok(records) => studies.push(Study::of(&planner, records)),
                Err(refusal) => sections.push(section::refused(response, &refusal)),
            }
        }
        let crop = of_quantity(&studies, Quantity::Yield);
        let family = family::section(&planner, &studies);
        let solids = solids(&planner, &studies);
        let mut found: Vec<_> = studies
            .iter()
            .enumerate()
            .map(|(at, study)| section::of(study, crop == Some(at)))
            .collect();
        found.extend(solids.iter().map(|study| section::of(study, false)));
        sections.splice(0..0, found);
        let together = family.is_some();
        sections.extend(family);
        if let (Some(study), Some(section)) = (studies.first(), sections.first_mut()) {
            section.notes.extend(notes::of_the_trial(study));
            section.notes.extend(words::unadjusted(&call.request.trial));
        }
        studies.extend(solids);
        let (methods, references) = methods::of(&studies, &options, together);
        Ok(Findings {
            schema: FINDINGS_SCHEMA,
            sections,
            methods,
            references,
        })
    }
}

/// The seasons, of which there must be several with the treatments in force.
fn several(call: &Call, options: &Options) -> Result<Calendar, Refusal> {
    let trial = &call.request.trial;
    if !trial.design.season || trial.seasons.len() < 2 {
        let which = match trial.seasons.as_slice() {
            [one] => format!("one season ({one})"),
            _ => "one season".to_owned(),
        };
        return Err(Refusal::new(format!(
            "the trial has {which}, and this analysis is about what several seasons on the same plots show together"
        ))
        .hint("take 'seasons' out of [analyses] until a second season is recorded; with several seasons in the data, name their column as 'season' under [design]"));
    }
    let calendar = Calendar::of(trial, options.began.as_deref())?;
    match calendar.treated_seasons().as_slice() {
        [] => Err(Refusal::new("no season of the trial has the treatments in force")
            .hint("correct the option 'began' of the analysis 'seasons'")),
        [only] => Err(Refusal::new(format!(
            "the treatments were in force in one season only ({}), and this analysis is about what several seasons show together",
            calendar.label(*only)
        ))
        .hint("correct the option 'began' of the analysis 'seasons', or take the analysis out until a second season is recorded")),
        _ => Ok(calendar),
    }
}

/// The response of a quantity: over living vines or plots if there is one, else over planted spaces.
fn of_quantity(studies: &[Study<'_>], quantity: Quantity) -> Option<usize> {
    let all = || (0..studies.len()).filter(|&at| studies[at].response().quantity == quantity);
    all()
        .find(|&at| studies[at].response().basis != Basis::PlantedSpace)
        .or_else(|| all().next())
}

/// Solids yield, where crop and Brix were recorded and the trial has no response of that name.
fn solids<'a>(planner: &'a Planner<'a>, studies: &[Study<'a>]) -> Option<Study<'a>> {
    let crop = &studies[of_quantity(studies, Quantity::Yield)?];
    let brix = &studies[of_quantity(studies, Quantity::SolubleSolids)?];
    let records = Records::solids(&crop.records, &brix.records)?;
    let taken = &planner.trial().responses;
    if taken
        .iter()
        .any(|response| response.name == records.response.name)
    {
        return None;
    }
    Some(Study::of(planner, records))
}
