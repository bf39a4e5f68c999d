//! Jobs run side by side, each in a folder and a process of its own.

use std::fs::File;
use std::io::{Read, Seek, SeekFrom};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, PoisonError};

use caneplot_plugin::{Findings, Manifest, validate};
use polars::frame::DataFrame;

use super::error::PluginError;
use super::export::write_table;
use super::job::{
    self, FINDINGS, JobFile, LOG, MANIFEST, NOTES, PROGRESS, REFUSAL, REQUEST, Setback,
};
use super::process::{self, End};
use super::{Job, Limits, Outcome};

/// Runs jobs, at most `threads` at a time, and gives their outcomes in the order of the jobs.
///
/// Where `keep` names a folder, the folder of a failed job is kept there and the outcome's notes say
/// how to run it again.
#[must_use]
pub fn run_jobs(
    jobs: &[Job<'_>],
    plots: &DataFrame,
    vines: Option<&DataFrame>,
    limits: &Limits,
    threads: usize,
    keep: Option<&Path>,
) -> Vec<Outcome> {
    let prepared = prepare(plots, vines);
    side_by_side(jobs, threads, |index, job| {
        let (result, log, notes) = match &prepared {
            Ok(run) => run.outcome(index, job, limits, keep),
            Err(reason) => (
                Err(PluginError::Worker {
                    plugin: job.plugin.name.clone(),
                    reason: reason.clone(),
                }),
                String::new(),
                Vec::new(),
            ),
        };
        Outcome {
            name: job.plugin.name.clone(),
            version: job.plugin.manifest.version.clone(),
            sha256: job.plugin.sha256.clone(),
            result,
            log,
            notes,
        }
    })
}

/// Results of `work` in the order of `items`, at most `threads` at a time.
pub(super) fn side_by_side<T: Sync, R: Send>(
    items: &[T],
    threads: usize,
    work: impl Fn(usize, &T) -> R + Sync,
) -> Vec<R> {
    let next = AtomicUsize::new(0);
    let done = Mutex::new(Vec::with_capacity(items.len()));
    std::thread::scope(|scope| {
        for _ in 0..threads.clamp(1, items.len().max(1)) {
            scope.spawn(|| {
                loop {
                    let index = next.fetch_add(1, Ordering::Relaxed);
                    let Some(item) = items.get(index) else {
                        return;
                    };
                    let result = work(index, item);
                    done.lock()
                        .unwrap_or_else(PoisonError::into_inner)
                        .push((index, result));
                }
            });
        }
    });
    let mut done = done.into_inner().unwrap_or_else(PoisonError::into_inner);
    done.sort_by_key(|(index, _)| *index);
    done.into_iter().map(|(_, result)| result).collect()
}

/// A private folder, removed with this, with the tables that all jobs of a run read.
struct Run {
    root: tempfile::TempDir,
    tables: Vec<String>,
}

/// A new private folder, readable by this user only.
pub(super) fn private_folder() -> Result<tempfile::TempDir, String> {
    tempfile::Builder::new()
        .prefix("caneplot-")
        .tempdir()
        .map_err(|error| error.to_string())
}

fn prepare(plots: &DataFrame, vines: Option<&DataFrame>) -> Result<Run, String> {
    let root = private_folder()?;
    let mut tables = Vec::new();
    for (name, frame) in [("plots", Some(plots)), ("vines", vines)] {
        if let Some(frame) = frame {
            write_table(frame, &root.path().join(format!("{name}.arrow")))?;
            tables.push(name.to_owned());
        }
    }
    Ok(Run { root, tables })
}

impl Run {
    fn outcome(
        &self,
        index: usize,
        job: &Job<'_>,
        limits: &Limits,
        keep: Option<&Path>,
    ) -> (Result<Findings, PluginError>, String, Vec<String>) {
        let folder = self
            .root
            .path()
            .join(format!("{:02}-{}", index + 1, job.plugin.name));
        let file = JobFile {
            plugin: job.plugin.name.clone(),
            path: job.plugin.path.clone(),
            sha256: job.plugin.sha256.clone(),
            memory: limits.memory,
            request: Some(job.request.clone()),
            tables: self.tables.clone(),
        };
        let result = answer::<Findings>(&file, &folder, limits, FINDINGS).and_then(|findings| {
            validate::check(&findings).map_err(|fault| PluginError::BadReply {
                plugin: file.plugin.clone(),
                reason: fault.to_string(),
            })?;
            Ok(findings)
        });
        let log = end_of_log(&folder);
        let mut notes: Vec<String> = job::read_json(&folder, NOTES)
            .ok()
            .flatten()
            .unwrap_or_default();
        if let (Err(_), Some(keep)) = (&result, keep) {
            notes.push(match self.kept(&folder, keep) {
                Ok(kept) => format!("`caneplot worker {}` runs this job again", kept.display()),
                Err(reason) => format!("the folder of this job could not be kept: {reason}"),
            });
        }
        // The whole run's folder is removed at its end; a long run should not fill the disk first.
        let _ = std::fs::remove_dir_all(&folder);
        (result, log, notes)
    }

    /// Copies a job folder with its tables, so that it can be run again by itself.
    fn kept(&self, folder: &Path, keep: &Path) -> Result<PathBuf, String> {
        let name = folder.file_name().unwrap_or_default();
        let kept = std::path::absolute(keep.join(name)).map_err(|error| error.to_string())?;
        let copy = || -> std::io::Result<()> {
            std::fs::create_dir_all(&kept)?;
            for entry in std::fs::read_dir(folder)? {
                let entry = entry?;
                // Only the plain files of the job: a plugin may have left anything else here.
                if entry.file_type()?.is_file() {
                    std::fs::copy(entry.path(), kept.join(entry.file_name()))?;
                }
            }
            for table in &self.tables {
                let file = format!("{table}.arrow");
                std::fs::copy(self.root.path().join(&file), kept.join(&file))?;
            }
            Ok(())
        };
        copy().map_err(|error| error.to_string())?;
        Ok(kept)
    }
}

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
fn answer<T: for<'a> serde::Deserialize<'a>>(
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
            done: std::fs::read_to_string(folder.join(PROGRESS))
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
fn end_of_log(folder: &Path) -> String {
    const SHOWN: i64 = 64 << 10;
    let read = || -> std::io::Result<Vec<u8>> {
        let mut file = File::open(folder.join(LOG))?;
        let mut bytes = Vec::new();
        // Fails where the log is shorter: then it is read from its start.
        let _ = file.seek(SeekFrom::End(-SHOWN));
        file.read_to_end(&mut bytes)?;
        Ok(bytes)
    };
    String::from_utf8_lossy(&read().unwrap_or_default()).into_owned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::host::job::table_path;

    #[test]
    fn results_keep_the_order_of_their_items() {
        let items: Vec<u64> = (0..40).collect();
        for threads in [0, 1, 3, 100] {
            let doubled = side_by_side(&items, threads, |index, item| {
                std::thread::sleep(std::time::Duration::from_micros(40 - item));
                (index as u64, 2 * item)
            });
            assert!(
                doubled
                    .iter()
                    .enumerate()
                    .all(|(index, result)| { *result == (index as u64, 2 * index as u64) })
            );
        }
        assert!(side_by_side(&[] as &[u64], 3, |_, item| *item).is_empty());
    }

    #[test]
    fn a_table_in_the_job_folder_comes_before_a_shared_one() {
        let root = tempfile::tempdir().unwrap();
        let folder = root.path().join("job");
        std::fs::create_dir(&folder).unwrap();
        assert_eq!(
            table_path(&folder, "plots"),
            root.path().join("plots.arrow")
        );
        std::fs::write(folder.join("plots.arrow"), "").unwrap();
        assert_eq!(table_path(&folder, "plots"), folder.join("plots.arrow"));
    }
}
