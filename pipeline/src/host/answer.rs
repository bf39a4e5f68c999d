//! One worker from the host's side: its folder written, the process run, its answer or failure read.

use std::io::{Read, Seek, SeekFrom};
use std::path::Path;

use caneplot_plugin::Manifest;

use super::Limits;
use super::error::PluginError;
use super::job::{self, JobFile, LOG, MANIFEST, PROGRESS, REFUSAL, REQUEST, Setback};
use super::process::{self, End};
use super::run::private_folder;

/// The manifest of a plugin's file, read through a worker.
pub(super) fn manifest(
    name: &str,
    path: &Path,
    sha256: &str,
    limits: &Limits,
) -> Result<Manifest, PluginError> {
    let plugin = || name.to_owned();
    let root = private_folder().map_err(|reason| PluginError::Worker {
        plugin: plugin(),
        reason,
    })?;
    let file = JobFile {
        plugin: plugin(),
        path: path.to_owned(),
        sha256: sha256.to_owned(),
        memory: limits.memory,
        request: None,
        tables: Vec::new(),
    };
    let manifest: Manifest = answer(&file, &root.path().join(name), limits, MANIFEST)?;
    let unfit = |reason| PluginError::Manifest {
        plugin: plugin(),
        reason,
    };
    manifest.check().map_err(unfit)?;
    if manifest.name != name {
        return Err(unfit(format!("it is of '{}'", manifest.name)));
    }
    Ok(manifest)
}

/// Runs a worker on a new job folder and reads what it left. The file of the answer is the only
/// sign of success: a plugin can end the process with any exit code.
pub(super) fn answer<T: for<'a> serde::Deserialize<'a>>(
    file: &JobFile,
    folder: &Path,
    limits: &Limits,
    wanted: &str,
) -> Result<T, PluginError> {
    let plugin = || file.plugin.clone();
    let unstarted = |reason: String| PluginError::Worker {
        plugin: plugin(),
        reason,
    };
    let program = limits.program().map_err(unstarted)?;
    std::fs::create_dir(folder).map_err(|error| unstarted(error.to_string()))?;
    job::write_json(folder, REQUEST, file).map_err(unstarted)?;
    let end = process::run(&program, folder, limits.wall)
        .map_err(|error| unstarted(format!("{}: {error}", program.display())))?;
    let unreadable = |reason| PluginError::BadReply {
        plugin: plugin(),
        reason,
    };
    if let Some(answer) = job::read_json(folder, wanted).map_err(unreadable)? {
        return Ok(answer);
    }
    if let Some(setback) = job::read_json(folder, REFUSAL).map_err(unreadable)? {
        return Err(told(setback, file));
    }
    Err(untold(end, file, folder, limits))
}

/// The error of a setback that the worker wrote down.
fn told(setback: Setback, file: &JobFile) -> PluginError {
    let plugin = file.plugin.clone();
    match setback {
        Setback::Refused { refusal } => PluginError::Refused { plugin, refusal },
        Setback::Panicked { reason } => PluginError::Panicked { plugin, reason },
        Setback::Replaced => PluginError::Replaced {
            plugin,
            path: file.path.clone(),
        },
        Setback::Load { reason } => PluginError::Load { plugin, reason },
        Setback::NotAPlugin { symbol } => PluginError::NotAPlugin { plugin, symbol },
        Setback::Abi { spoken, ours } => PluginError::Abi {
            plugin,
            spoken,
            ours,
        },
        Setback::Manifest { reason } => PluginError::Manifest { plugin, reason },
        Setback::BadReply { reason } => PluginError::BadReply { plugin, reason },
        Setback::Job { reason } => PluginError::Worker { plugin, reason },
    }
}

/// The error of a worker that could write nothing down.
fn untold(end: End, file: &JobFile, folder: &Path, limits: &Limits) -> PluginError {
    let plugin = file.plugin.clone();
    let End::Ended(status) = end else {
        return PluginError::TimedOut {
            plugin,
            after: limits.wall,
            done: job::plain_file(folder, PROGRESS)
                .and_then(std::io::read_to_string)
                .ok()
                .and_then(|text| text.parse().ok()),
        };
    };
    // Rust's allocator says so before it aborts; other languages may not.
    if !status.success() && end_of_log(folder).contains("memory allocation of ") {
        return PluginError::OutOfMemory {
            plugin,
            limit: file.memory,
        };
    }
    match process::signal(status) {
        Some(signal) => PluginError::Crashed { plugin, signal },
        None => PluginError::NoReply {
            plugin,
            status: status.to_string(),
        },
    }
}

/// The log of a worker, of a long one the end.
pub(super) fn end_of_log(folder: &Path) -> String {
    const SHOWN: i64 = 64 << 10;
    let read = || -> std::io::Result<Vec<u8>> {
        let mut file = job::plain_file(folder, LOG)?;
        let mut bytes = Vec::new();
        // Fails where the log is shorter: then it is read from its start.
        let _ = file.seek(SeekFrom::End(-SHOWN));
        file.read_to_end(&mut bytes)?;
        Ok(bytes)
    };
    String::from_utf8_lossy(&read().unwrap_or_default()).into_owned()
}
