//! A job folder: all that a worker is given, all that it leaves, and nothing else.
//!
//! In go `request.json` and the tables (in the folder, or one above, where the jobs of a run share
//! them); out come `findings.json` or `manifest.json`, written beside and renamed, else
//! `refusal.json`; `log.txt` holds whatever the worker printed. A folder whose tables lie inside is
//! complete: `caneplot worker FOLDER` runs it again.

use std::fs::File;
use std::path::{Path, PathBuf};

use caneplot_plugin::{Refusal, Request};
use serde::{Deserialize, Serialize};

/// What is asked.
pub const REQUEST: &str = "request.json";
/// The findings.
pub const FINDINGS: &str = "findings.json";
/// The manifest, where only that was asked for.
pub const MANIFEST: &str = "manifest.json";
/// Why there are no findings.
pub const REFUSAL: &str = "refusal.json";
/// What the host should know beside the answer.
pub const NOTES: &str = "notes.json";
/// Share of the work done so far.
pub const PROGRESS: &str = "progress.txt";
/// Standard output and error of the worker.
pub const LOG: &str = "log.txt";

/// What a worker is asked to do.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct JobFile {
    /// Name of the plugin.
    pub plugin: String,
    /// Its file.
    pub path: PathBuf,
    /// SHA-256 it must have.
    pub sha256: String,
    /// Address space the worker may use, in bytes.
    pub memory: u64,
    /// The request; none where only the manifest is wanted.
    pub request: Option<Request>,
    /// Names of the tables.
    pub tables: Vec<String>,
}

/// Why a worker has no findings, as it writes it down.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Setback {
    /// The plugin refuses.
    Refused {
        /// Its words.
        refusal: Refusal,
    },
    /// The plugin caught a panic.
    Panicked {
        /// Message and place.
        reason: String,
    },
    /// The file is not the one that was found.
    Replaced,
    /// The library cannot be loaded.
    Load {
        /// The system's words.
        reason: String,
    },
    /// A symbol is missing.
    NotAPlugin {
        /// Which.
        symbol: String,
    },
    /// Another version of the contract.
    Abi {
        /// The plugin's.
        spoken: u32,
        /// The program's.
        ours: u32,
    },
    /// The manifest cannot be used.
    Manifest {
        /// What is wrong.
        reason: String,
    },
    /// The plugin broke the contract.
    BadReply {
        /// What is wrong.
        reason: String,
    },
    /// The job folder cannot be used.
    Job {
        /// What is wrong.
        reason: String,
    },
}

/// The file of a table: in the job folder, else in the one above.
#[must_use]
pub fn table_path(folder: &Path, name: &str) -> PathBuf {
    let file = format!("{name}.arrow");
    let own = folder.join(&file);
    match folder.parent() {
        Some(above) if !own.exists() => above.join(file),
        _ => own,
    }
}

/// Writes a file so that it is there whole or not at all.
///
/// # Errors
/// A sentence with the system's words.
pub fn write_whole(folder: &Path, name: &str, text: &str) -> Result<(), String> {
    let part = folder.join(format!("{name}.part"));
    std::fs::write(&part, text)
        .and_then(|()| std::fs::rename(&part, folder.join(name)))
        .map_err(|error| format!("{} cannot be written: {error}", folder.join(name).display()))
}

/// Writes a value as JSON so that it is there whole or not at all.
///
/// # Errors
/// A sentence with the system's words.
pub fn write_json(folder: &Path, name: &str, value: &impl Serialize) -> Result<(), String> {
    let text = serde_json::to_string(value).map_err(|error| error.to_string())?;
    write_whole(folder, name, &text)
}

/// Opens a file of a job folder, if it is one: a plugin can put a link or a pipe in its place, and
/// reading that could go astray or never end.
///
/// # Errors
/// The system's, or that it is no plain file.
pub fn plain_file(folder: &Path, name: &str) -> std::io::Result<File> {
    let path = folder.join(name);
    if !path.symlink_metadata()?.is_file() {
        return Err(std::io::Error::other("not a plain file"));
    }
    File::open(path)
}

/// Reads a JSON file of a job folder; `None` where there is none.
///
/// # Errors
/// A sentence where it cannot be read.
pub fn read_json<T: for<'a> Deserialize<'a>>(
    folder: &Path,
    name: &str,
) -> Result<Option<T>, String> {
    let text = match plain_file(folder, name).and_then(std::io::read_to_string) {
        Ok(text) => text,
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(None),
        Err(error) => return Err(format!("{name}: {error}")),
    };
    serde_json::from_str(&text)
        .map(Some)
        .map_err(|error| format!("{name}: {error}"))
}
