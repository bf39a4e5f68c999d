//! From candidates to plugins: may it be loaded, and what does it say of itself.

use std::path::{Path, PathBuf};

use caneplot_plugin::abi::PLUGIN_SYMBOL;

use super::answer::manifest;
use super::error::PluginError;
use super::find::{self, Candidate, Origin};
use super::trust::Trusted;
use super::{Discovery, Limits, Plugin, whole_file};
use crate::diagnostic::Diagnostic;

/// Finds all plugins and reads their manifests, each in a worker of its own.
///
/// `extra` are the folders of `--plugin-dir`, searched first.
#[must_use]
pub fn discover(extra: &[PathBuf], limits: &Limits) -> Discovery {
    let mut found = Discovery::default();
    let program = match limits.program() {
        Ok(program) => program,
        Err(reason) => {
            found
                .refused
                .push(Diagnostic::error("plugin-folder", reason));
            return found;
        }
    };
    for folder in extra.iter().filter(|folder| !folder.is_dir()) {
        found.refused.push(
            Diagnostic::error("plugin-folder", "there is no such folder of plugins")
                .at(whole_file(folder))
                .help("correct --plugin-dir"),
        );
    }
    let trusted =
        find::data_folder().map_or_else(|| Ok(Trusted::default()), |data| Trusted::read(&data));
    let trusted = trusted.unwrap_or_else(|reason| {
        found
            .refused
            .push(Diagnostic::error("plugin-trust", reason));
        Trusted::default()
    });
    let candidates: Vec<Candidate> = find::candidates(&find::folders(extra, &program))
        .into_values()
        .collect();
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    for admitted in crate::parallel::map(&candidates, threads, |_, candidate| {
        admit(candidate, &trusted, limits)
    }) {
        match admitted {
            Ok(Some(plugin)) => found.plugins.push(plugin),
            Ok(None) => {}
            Err(error) => found.refuse(error),
        }
    }
    if !found
        .plugins
        .iter()
        .any(|plugin| plugin.origin == Origin::Shipped)
    {
        found.refused.push(none_beside(&program));
    }
    found
}

/// A plugin that may be used; `None` for a library beside the program that is no plugin at all.
///
/// # Errors
/// Why it may not be used.
pub fn admit(
    candidate: &Candidate,
    trusted: &Trusted,
    limits: &Limits,
) -> Result<Option<Plugin>, PluginError> {
    let bytes = std::fs::read(&candidate.path).map_err(|error| PluginError::Unreadable {
        plugin: candidate.name.clone(),
        path: candidate.path.clone(),
        reason: error.to_string(),
    })?;
    // A name that is nowhere in the file cannot be exported by it: no need to load a stranger.
    if !contains(&bytes, PLUGIN_SYMBOL.as_bytes()) {
        return if candidate.origin == Origin::Shipped {
            Ok(None)
        } else {
            Err(PluginError::NotAPlugin {
                plugin: candidate.name.clone(),
                symbol: PLUGIN_SYMBOL.to_owned(),
            })
        };
    }
    let sha256 = trusted.admitted(candidate, &bytes)?;
    drop(bytes);
    let manifest = manifest(&candidate.name, &candidate.path, &sha256, limits)?;
    Ok(Some(Plugin {
        name: candidate.name.clone(),
        path: candidate.path.clone(),
        sha256,
        origin: candidate.origin,
        manifest,
    }))
}

fn contains(bytes: &[u8], wanted: &[u8]) -> bool {
    bytes.windows(wanted.len()).any(|window| window == wanted)
}

fn none_beside(program: &Path) -> Diagnostic {
    Diagnostic::warning(
        "plugin-none",
        format!("no plugins beside {}", program.display()),
    )
    .help("in the source tree run `cargo build` in the workspace root")
}
