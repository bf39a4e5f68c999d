//! The analyses of a trial, run as plugins; their findings or why there are none.

use caneplot_plugin::request::TrialInfo;

use crate::Settings;
use crate::derive::Derived;
use crate::diagnostic::Diagnostic;
use crate::host::{self, Discovery, Job};
use crate::trial::Trial;
use crate::write::Analysed;

/// The analyses a trial asks for, or those it suits where it asks for none, with remarks on the
/// choice. Every option is checked before anything runs.
///
/// # Errors
/// A diagnostic for each unknown analysis, unknown option or value out of range, at its line.
pub fn plan<'a>(
    trial: &Trial,
    info: &TrialInfo,
    found: &'a Discovery,
) -> Result<(Vec<Job<'a>>, Vec<Diagnostic>), Vec<Diagnostic>> {
    let (jobs, mut remarks) = host::options::jobs(trial, info, found)?;
    if trial.analyses.is_none() {
        remarks.extend(found.refused.iter().cloned());
        if jobs.is_empty() {
            return Err(remarks);
        }
    }
    Ok((jobs, remarks))
}

/// Runs the jobs. An analysis that fails leaves its sentence; the others go on.
#[must_use]
pub fn analyse(jobs: &[Job], derived: &Derived, settings: &Settings) -> Vec<Analysed> {
    let outcomes = host::run_jobs(
        jobs,
        &derived.plots,
        derived.vines.as_ref(),
        &settings.limits,
        settings.threads,
        settings.keep_jobs.as_deref(),
    );
    jobs.iter()
        .zip(outcomes)
        .map(|(job, outcome)| Analysed {
            name: outcome.name,
            version: outcome.version,
            sha256: outcome.sha256,
            options: job.request.options.clone(),
            result: outcome.result.map_err(|error| error.to_string()),
            notes: outcome.notes,
        })
        .collect()
}
