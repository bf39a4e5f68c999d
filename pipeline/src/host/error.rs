//! Everything that can go wrong with a plugin, each in one sentence that says what to do.

use std::path::PathBuf;
use std::time::Duration;

use caneplot_plugin::Refusal;
use caneplot_plugin::abi::version_text;

/// Why a plugin was not used or gave no findings.
#[derive(Debug, Clone, thiserror::Error)]
pub enum PluginError {
    /// No file of that name in any folder that is searched.
    #[error("there is no plugin '{plugin}'{}; `caneplot plugins list` shows those there are", meant(.nearest.as_deref()))]
    NotFound {
        /// The plugin.
        plugin: String,
        /// A name that may have been meant.
        nearest: Option<String>,
    },
    /// A plugin from outside the program that was never trusted on this account.
    #[error("plugin '{plugin}' ({}) has never been trusted: make sure where it comes from, then run `caneplot plugins trust {}`", .path.display(), .path.display())]
    NotTrusted {
        /// The plugin.
        plugin: String,
        /// Its file.
        path: PathBuf,
    },
    /// The file is not the one that was trusted.
    #[error("plugin '{plugin}' ({}) is not the file that was trusted: if the change is meant, run `caneplot plugins trust {}`", .path.display(), .path.display())]
    Changed {
        /// The plugin.
        plugin: String,
        /// Its file.
        path: PathBuf,
    },
    /// The file changed between being found and being loaded.
    #[error("the file of plugin '{plugin}' ({}) was replaced while the program ran: run it again", .path.display())]
    Replaced {
        /// The plugin.
        plugin: String,
        /// Its file.
        path: PathBuf,
    },
    /// Everyone on the machine could replace the file.
    #[error("plugin '{plugin}' is not loaded because everyone on this machine can write {}: run `chmod o-w {}`", .path.display(), .path.display())]
    WorldWritable {
        /// The plugin.
        plugin: String,
        /// The file or folder.
        path: PathBuf,
    },
    /// The file cannot be read.
    #[error("plugin '{plugin}' ({}) cannot be read: {reason}", .path.display())]
    Unreadable {
        /// The plugin.
        plugin: String,
        /// Its file.
        path: PathBuf,
        /// The system's words.
        reason: String,
    },
    /// The system cannot load the library.
    #[error(
        "plugin '{plugin}' cannot be loaded ({reason}): build it for this machine and install the libraries it needs"
    )]
    Load {
        /// The plugin.
        plugin: String,
        /// The system's words.
        reason: String,
    },
    /// A library without the two symbols.
    #[error(
        "'{plugin}' is not a caneplot plugin: its library does not export '{symbol}'; remove it from the folder of plugins"
    )]
    NotAPlugin {
        /// The plugin.
        plugin: String,
        /// What is missing.
        symbol: String,
    },
    /// Another version of the contract.
    #[error("plugin '{plugin}' speaks version {} of the plugin contract and this program speaks {}: {}", version_text(*.spoken), version_text(*.ours), remedy(*.spoken, *.ours))]
    Abi {
        /// The plugin.
        plugin: String,
        /// The plugin's version.
        spoken: u32,
        /// This program's.
        ours: u32,
    },
    /// The manifest cannot be used.
    #[error(
        "the manifest of plugin '{plugin}' cannot be used ({reason}): ask its author for a corrected version"
    )]
    Manifest {
        /// The plugin.
        plugin: String,
        /// What is wrong.
        reason: String,
    },
    /// The plugin says why it has no answer.
    #[error("'{plugin}' gives no answer: {}{}", .refusal.message, hint(.refusal))]
    Refused {
        /// The plugin.
        plugin: String,
        /// Its own words.
        refusal: Refusal,
    },
    /// A mistake in the plugin's code, caught there.
    #[error(
        "plugin '{plugin}' stopped on a mistake of its own ({reason}): report it to its author"
    )]
    Panicked {
        /// The plugin.
        plugin: String,
        /// Message and place.
        reason: String,
    },
    /// The worker was ended by a signal.
    #[error("plugin '{plugin}' crashed ({signal}): report it to its author")]
    Crashed {
        /// The plugin.
        plugin: String,
        /// The signal in words.
        signal: String,
    },
    /// The worker did not end in time.
    #[error("plugin '{plugin}' was still running after {}{} and was ended: allow it more time or give it less to do", seconds(*.after), progress(*.done))]
    TimedOut {
        /// The plugin.
        plugin: String,
        /// The limit.
        after: Duration,
        /// The share it said was done.
        done: Option<f64>,
    },
    /// The worker asked for more memory than allowed.
    #[error("plugin '{plugin}' asked for more memory than the {} it may use: allow it more or give it less to do", mebibytes(*.limit))]
    OutOfMemory {
        /// The plugin.
        plugin: String,
        /// The limit in bytes.
        limit: u64,
    },
    /// The worker ended and left nothing.
    #[error("plugin '{plugin}' ended without an answer ({status}): report it to its author")]
    NoReply {
        /// The plugin.
        plugin: String,
        /// How the worker ended.
        status: String,
    },
    /// The answer breaks the contract.
    #[error(
        "plugin '{plugin}' answered in a way that cannot be used ({reason}): report it to its author"
    )]
    BadReply {
        /// The plugin.
        plugin: String,
        /// What is wrong.
        reason: String,
    },
    /// The job could not be prepared or started; not the plugin's fault.
    #[error(
        "plugin '{plugin}' could not be started ({reason}): make sure that there is space in the temporary folder and that this program can be run again"
    )]
    Worker {
        /// The plugin.
        plugin: String,
        /// What is wrong.
        reason: String,
    },
}

impl PluginError {
    /// Name of the plugin.
    #[must_use]
    pub fn plugin(&self) -> &str {
        match self {
            Self::NotFound { plugin, .. }
            | Self::NotTrusted { plugin, .. }
            | Self::Changed { plugin, .. }
            | Self::Replaced { plugin, .. }
            | Self::WorldWritable { plugin, .. }
            | Self::Unreadable { plugin, .. }
            | Self::Load { plugin, .. }
            | Self::NotAPlugin { plugin, .. }
            | Self::Abi { plugin, .. }
            | Self::Manifest { plugin, .. }
            | Self::Refused { plugin, .. }
            | Self::Panicked { plugin, .. }
            | Self::Crashed { plugin, .. }
            | Self::TimedOut { plugin, .. }
            | Self::OutOfMemory { plugin, .. }
            | Self::NoReply { plugin, .. }
            | Self::BadReply { plugin, .. }
            | Self::Worker { plugin, .. } => plugin,
        }
    }
}

fn meant(nearest: Option<&str>) -> String {
    nearest.map_or_else(String::new, |name| format!(" (is '{name}' meant?)"))
}

fn remedy(spoken: u32, ours: u32) -> &'static str {
    if spoken > ours {
        "update this program, or build the plugin for its version"
    } else {
        "build the plugin again for this program"
    }
}

fn hint(refusal: &Refusal) -> String {
    refusal
        .hint
        .as_ref()
        .map_or_else(String::new, |hint| format!(" ({hint})"))
}

fn seconds(after: Duration) -> String {
    format!("{} s", after.as_secs_f64())
}

fn progress(done: Option<f64>) -> String {
    done.map_or_else(String::new, |done| {
        format!(" (by its own word {:.0}% done)", 100.0 * done)
    })
}

fn mebibytes(bytes: u64) -> String {
    format!("{} MiB", bytes >> 20)
}
