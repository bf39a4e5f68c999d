//! From what a trial asks for to jobs: options checked against the manifests and completed by their
//! defaults, before anything runs, so that a slip is an error at its line.

use caneplot_plugin::manifest::{Needs, OptionKind, OptionSpec};
use caneplot_plugin::request::TrialInfo;
use caneplot_plugin::{Manifest, Request};
use serde_json::{Map, Value as Json};

use super::error::PluginError;
use super::{Discovery, Job, Plugin};
use crate::diagnostic::{Diagnostic, nearest};
use crate::trial::{Analysis, Trial, Written};

/// The jobs of the analyses a trial names, in the order written.
///
/// # Errors
/// Every mistake in the table of analyses, each at its place.
pub fn jobs<'a>(
    analyses: &[Analysis],
    trial: &Trial,
    info: &TrialInfo,
    found: &'a Discovery,
) -> Result<Vec<Job<'a>>, Vec<Diagnostic>> {
    let mut jobs = Vec::new();
    let mut mistakes = Vec::new();
    for analysis in analyses {
        match checked(analysis, trial, info, found) {
            Ok((plugin, options)) => jobs.push(job(plugin, options, trial, info)),
            Err(found) => mistakes.extend(found),
        }
    }
    if mistakes.is_empty() {
        Ok(jobs)
    } else {
        Err(mistakes)
    }
}

/// A job with its options, complete.
pub(super) fn job<'a>(
    plugin: &'a Plugin,
    options: Map<String, Json>,
    trial: &Trial,
    info: &TrialInfo,
) -> Job<'a> {
    Job {
        plugin,
        request: Request {
            analysis: plugin.name.clone(),
            options: Json::Object(options),
            trial: info.clone(),
            seed: trial.seed,
        },
    }
}

/// The options a plugin runs with where nothing is said.
pub(crate) fn defaults(manifest: &Manifest) -> Map<String, Json> {
    manifest
        .options
        .iter()
        .map(|option| (option.name.clone(), option.default.clone()))
        .collect()
}

fn checked<'a>(
    analysis: &Analysis,
    trial: &Trial,
    info: &TrialInfo,
    found: &'a Discovery,
) -> Result<(&'a Plugin, Map<String, Json>), Vec<Diagnostic>> {
    let name = &analysis.name;
    let plugin = found
        .plugin(&name.value)
        .map_err(|error| vec![unusable(&error, found).at(trial.place(&name.span))])?;
    let mut mistakes = Vec::new();
    if let Some(lacking) = lacking(&plugin.manifest.needs, info) {
        mistakes.push(
            Diagnostic::error(
                "analysis-needs",
                format!("'{}' cannot be run: the trial has {lacking}", name.value),
            )
            .at(trial.place(&name.span))
            .help("declare what it needs, or remove this analysis"),
        );
    }
    let mut options = defaults(&plugin.manifest);
    for (option, value) in &analysis.options {
        match plugin
            .manifest
            .options
            .iter()
            .find(|spec| spec.name == option.value)
        {
            None => {
                mistakes.push(unknown_option(plugin, option).at(trial.place(&option.span)));
            }
            Some(spec) => match mistake(plugin, spec, &value.value, info) {
                Some(mistake) => mistakes.push(mistake.at(trial.place(&value.span))),
                None => {
                    options.insert(option.value.clone(), value.value.clone());
                }
            },
        }
    }
    if mistakes.is_empty() {
        Ok((plugin, options))
    } else {
        Err(mistakes)
    }
}

fn unusable(error: &PluginError, found: &Discovery) -> Diagnostic {
    let PluginError::NotFound { plugin, nearest } = error else {
        return Diagnostic::error("analysis-refused", error.to_string());
    };
    let there = names(found.plugins.iter().map(|plugin| plugin.name.as_str()));
    Diagnostic::error(
        "analysis-unknown",
        format!("there is no analysis '{plugin}'"),
    )
    .help(match nearest {
        Some(nearest) => format!("write '{nearest}'; there are {there}"),
        None => format!("there are {there}"),
    })
}

fn unknown_option(plugin: &Plugin, option: &Written<String>) -> Diagnostic {
    let known = || {
        plugin
            .manifest
            .options
            .iter()
            .map(|spec| spec.name.as_str())
    };
    Diagnostic::error(
        "option-unknown",
        format!("'{}' has no option '{}'", plugin.name, option.value),
    )
    .help(match nearest(&option.value, known()) {
        Some(nearest) => format!("write '{nearest}'; it has {}", names(known())),
        None => format!("it has {}", names(known())),
    })
}

/// What is wrong with the value of an option, if anything.
pub(crate) fn mistake(
    plugin: &Plugin,
    spec: &OptionSpec,
    value: &Json,
    info: &TrialInfo,
) -> Option<Diagnostic> {
    if let Err(wanted) = spec.kind.fits(value) {
        let message = format!(
            "the option '{}' of '{}' must be {wanted}, not {value}",
            spec.name, plugin.name
        );
        let meant = match (&spec.kind, value) {
            (OptionKind::Choice { of }, Json::String(word)) => {
                nearest(word, of.iter().map(String::as_str))
            }
            _ => None,
        };
        return Some(
            Diagnostic::error("option-value", message).help(match meant {
                Some(meant) => format!("write \"{meant}\"; {}", spec.help),
                None => spec.help.clone(),
            }),
        );
    }
    if spec.kind != OptionKind::Responses {
        return None;
    }
    let known = || info.responses.iter().map(|response| response.name.as_str());
    let wrong = value
        .as_array()?
        .iter()
        .filter_map(Json::as_str)
        .find(|name| !known().any(|known| known == *name))?;
    Some(
        Diagnostic::error(
            "option-response",
            format!(
                "the option '{}' of '{}' names '{wrong}', which is not a response of this trial",
                spec.name, plugin.name
            ),
        )
        .help(match nearest(wrong, known()) {
            Some(nearest) => format!("write \"{nearest}\"; there are {}", names(known())),
            None => format!("there are {}", names(known())),
        }),
    )
}

/// The first need that a trial does not meet, as "no ratio".
pub(super) fn lacking(needs: &Needs, info: &TrialInfo) -> Option<&'static str> {
    let numeric = info.factors.iter().any(|factor| factor.is_numeric());
    let counts = info
        .responses
        .iter()
        .any(|response| response.counts.is_some());
    [
        (needs.response, !info.responses.is_empty(), "no response"),
        (needs.ratio, !info.ratios.is_empty(), "no ratio"),
        (
            needs.numeric_factor,
            numeric,
            "no factor whose levels are numbers",
        ),
        (needs.vines, info.design.vine, "no records of single vines"),
        (needs.counts, counts, "no count out of a count"),
        (
            needs.seasons,
            info.design.season && info.seasons.len() > 1,
            "only one season",
        ),
        (
            needs.field,
            info.field.is_some(),
            "no places of plots ([field] in trial.toml)",
        ),
        (
            needs.prices,
            info.prices.is_some(),
            "no prices (prices.toml beside trial.toml), and none are made up",
        ),
    ]
    .into_iter()
    .find(|(needed, there, _)| *needed && !there)
    .map(|(_, _, words)| words)
}

/// Names set one after the other, or "none".
fn names<'a>(names: impl IntoIterator<Item = &'a str>) -> String {
    let names: Vec<&str> = names.into_iter().collect();
    if names.is_empty() {
        "none".to_owned()
    } else {
        names.join(", ")
    }
}

#[cfg(test)]
pub(super) mod tests;
