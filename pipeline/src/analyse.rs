//! Which analyses run, with which options; then their findings.

use caneplot_plugin::manifest::Needs;
use caneplot_plugin::request::{Request, TrialInfo};

use crate::Settings;
use crate::derive::Derived;
use crate::diagnostic::Diagnostic;
use crate::host::{self, Job, Plugin};
use crate::trial::Trial;
use crate::write::Analysed;

/// The analyses of a run, everything about them known before the first begins.
#[derive(Debug)]
pub struct Plan {
    /// Plugins with their options, in the order of the report.
    pub steps: Vec<(Plugin, serde_json::Value)>,
    /// What the report should say about the choice.
    pub remarks: Vec<Diagnostic>,
}

/// Finds the plugins and checks their options against the trial file.
///
/// # Errors
/// A diagnostic for each unknown analysis, unknown option or value out of range, at its line.
pub fn plan(trial: &Trial, info: &TrialInfo, settings: &Settings) -> Result<Plan, Vec<Diagnostic>> {
    let discovery = host::discover(&settings.plugin_dirs, &settings.limits);
    let mut steps = Vec::new();
    let mut remarks = Vec::new();
    match &trial.analyses {
        Some(asked) => {
            let mut errors = Vec::new();
            for analysis in asked {
                match host::options::resolve(trial, analysis, &discovery) {
                    Ok((plugin, options)) => steps.push((plugin.clone(), options)),
                    Err(found) => errors.extend(found),
                }
            }
            if !errors.is_empty() {
                return Err(errors);
            }
        }
        None => {
            remarks.extend(discovery.refused.iter().cloned());
            for plugin in &discovery.plugins {
                if lacks(&plugin.manifest.needs, info).is_none() {
                    steps.push((plugin.clone(), host::options::defaults(&plugin.manifest)));
                }
            }
            if steps.is_empty() {
                return Err(discovery.refused);
            }
        }
    }
    Ok(Plan { steps, remarks })
}

/// What a plugin needs and the trial has not, in words.
fn lacks(needs: &Needs, info: &TrialInfo) -> Option<&'static str> {
    [
        (needs.response && info.responses.is_empty(), "a response"),
        (needs.ratio && info.ratios.is_empty(), "a ratio of two responses"),
        (
            needs.numeric_factor && !info.factors.iter().any(|factor| factor.is_numeric()),
            "a factor whose levels are numbers",
        ),
        (needs.vines && !info.design.vine, "records of single vines"),
        (
            needs.counts && !info.responses.iter().any(|response| response.counts.is_some()),
            "a count out of a count",
        ),
    ]
    .into_iter()
    .find_map(|(lacking, what)| lacking.then_some(what))
}

/// Runs the plan. An analysis that fails leaves its sentence; the others go on.
#[must_use]
pub fn analyse(plan: &Plan, trial: &Trial, derived: &Derived, settings: &Settings) -> Vec<Analysed> {
    let analysed = |plugin: &Plugin, options: &serde_json::Value, result| Analysed {
        name: plugin.name.clone(),
        version: plugin.manifest.version.clone(),
        sha256: plugin.sha256.clone(),
        options: options.clone(),
        result,
    };
    let (ready, unfit): (Vec<_>, Vec<_>) = plan
        .steps
        .iter()
        .enumerate()
        .partition(|(_, (plugin, _))| lacks(&plugin.manifest.needs, &derived.info).is_none());
    let jobs: Vec<Job> = ready
        .iter()
        .map(|(_, (plugin, options))| Job {
            plugin,
            request: Request {
                analysis: plugin.name.clone(),
                options: options.clone(),
                trial: derived.info.clone(),
                seed: trial.seed,
            },
        })
        .collect();
    let outcomes = host::run_jobs(
        &jobs,
        &derived.plots,
        derived.vines.as_ref(),
        &settings.limits,
        settings.threads,
        settings.keep_jobs.as_deref(),
    );
    let mut all: Vec<(usize, Analysed)> = ready
        .iter()
        .zip(outcomes)
        .map(|((at, (plugin, options)), outcome)| {
            (*at, analysed(plugin, options, outcome.result.map_err(|error| error.to_string())))
        })
        .collect();
    for (at, (plugin, options)) in unfit {
        let what = lacks(&plugin.manifest.needs, &derived.info).unwrap_or("something");
        let why = format!(
            "'{}' needs {what}, which this trial has not; declare it in trial.toml or take the \
             analysis out of [analyses]",
            plugin.name
        );
        all.push((at, analysed(plugin, options, Err(why))));
    }
    all.sort_by_key(|(at, _)| *at);
    all.into_iter().map(|(_, one)| one).collect()
}
