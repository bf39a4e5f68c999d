//! The analyses of a trial, run as plugins; their findings or why there are none.

use caneplot_plugin::estimates::Handed;

use crate::Settings;
use crate::derive::Derived;
use crate::diagnostic::Diagnostic;
use crate::host::choose::Choice;
use crate::host::{self, Discovery, Job, Outcome, PluginError};
use crate::trial::Trial;
use crate::write::Analysed;

/// What is to be run, and why where the trial names no analyses.
#[derive(Debug, Clone)]
pub struct Plan<'a> {
    /// The jobs in the order of the report.
    pub jobs: Vec<Job<'a>>,
    /// Why each analysis is run or left out; empty where the trial names its analyses.
    pub choices: Vec<Choice>,
    /// Remarks on plugins that may not be used.
    pub remarks: Vec<Diagnostic>,
}

/// The analyses a trial asks for, or those it suits where it asks for none. Every option is checked
/// before anything runs.
///
/// # Errors
/// A diagnostic for each unknown analysis, unknown option or value out of range, at its line; one
/// where no analysis suits a trial that asks for none.
pub fn plan<'a>(
    trial: &Trial,
    derived: &Derived,
    found: &'a Discovery,
) -> Result<Plan<'a>, Vec<Diagnostic>> {
    let info = &derived.info;
    if let Some(analyses) = &trial.analyses {
        return Ok(Plan {
            jobs: host::options::jobs(analyses, trial, info, found)?,
            choices: Vec::new(),
            remarks: Vec::new(),
        });
    }
    let (jobs, choices) = host::choose::chosen(trial, info, &derived.plots, found);
    let mut remarks = found.refused.clone();
    if jobs.is_empty() {
        let each = choices
            .iter()
            .map(|one| format!("'{}': {}", one.name, one.why));
        let mut why: Vec<String> = each.collect();
        if why.is_empty() {
            why.push("there are none beside the program".to_owned());
        }
        remarks.push(
            Diagnostic::error(
                "no-analysis",
                format!("no analysis suits this trial ({})", why.join("; ")),
            )
            .help("record what one of them needs, or name analyses under [analyses]"),
        );
        return Err(remarks);
    }
    Ok(Plan {
        jobs,
        choices,
        remarks,
    })
}

/// Runs the jobs, those that reckon on results of the others after them. An analysis that fails leaves
/// its sentence; the others go on.
///
/// An analysis the trial did not ask for and that finds it does not suit the data is left out, and
/// its reason becomes the plugin's own: nobody lacks it.
#[must_use]
pub fn analyse(plan: &mut Plan, derived: &Derived, settings: &Settings) -> Vec<Analysed> {
    let run = |jobs: &[Job<'_>]| {
        host::run_jobs(
            jobs,
            &derived.plots,
            derived.vines.as_ref(),
            &settings.limits,
            settings.threads,
            settings.keep_jobs.as_deref(),
        )
    };
    let first = |job: &Job<'_>| !job.plugin.manifest.uses_estimates;
    // Analyses that wait for others come after them; the report puts all in the order of chapters.
    let (mut jobs, mut later): (Vec<Job<'_>>, Vec<Job<'_>>) =
        plan.jobs.iter().cloned().partition(first);
    let mut outcomes = run(&jobs);
    if !later.is_empty() {
        let handed = handed(&jobs, &outcomes);
        for job in &mut later {
            job.request.trial.estimates.clone_from(&handed);
        }
        outcomes.extend(run(&later));
        jobs.append(&mut later);
    }
    let mut analysed = Vec::new();
    for (job, outcome) in jobs.iter().zip(outcomes) {
        let choice = plan.choices.iter_mut().find(|one| one.name == outcome.name);
        if let (Some(choice), Err(PluginError::Refused { refusal, .. })) = (choice, &outcome.result)
        {
            choice.runs = false;
            choice.why = match &refusal.hint {
                Some(hint) => format!("{}. To do: {hint}", refusal.message),
                None => refusal.message.clone(),
            };
            continue;
        }
        analysed.push(Analysed {
            name: outcome.name,
            version: outcome.version,
            sha256: outcome.sha256,
            purpose: job.plugin.manifest.purpose.clone(),
            place: job.plugin.manifest.place,
            options: job.request.options.clone(),
            result: outcome.result.map_err(|error| error.to_string()),
            notes: outcome.notes,
        });
    }
    analysed.sort_by_key(|one| one.place.chapter);
    analysed
}

/// The results for programs of some outcomes, in their order.
fn handed(jobs: &[Job<'_>], outcomes: &[Outcome]) -> Vec<Handed> {
    let mut all = Vec::new();
    for (job, outcome) in jobs.iter().zip(outcomes) {
        let Ok(findings) = &outcome.result else {
            continue;
        };
        for section in &findings.sections {
            all.extend(section.estimates.iter().map(|estimates| Handed {
                analysis: outcome.name.clone(),
                voice: job.plugin.manifest.place.voice,
                section: section.id.clone(),
                estimates: estimates.clone(),
            }));
        }
    }
    all
}
