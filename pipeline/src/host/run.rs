//! Jobs run side by side, each in a folder and a process of its own.

use std::path::{Path, PathBuf};

use caneplot_plugin::{Findings, validate};
use polars::frame::DataFrame;

use super::answer::{answer, end_of_log};
use super::error::PluginError;
use super::export::write_table;
use super::job::{self, FINDINGS, JobFile, NOTES};
use super::{Job, Limits, Outcome, Plugin};
use crate::parallel;

/// The table of vines, which only some plugins read.
const VINES: &str = "vines";

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
    let prepared = prepare(&[("plots", Some(plots)), (VINES, vines)]);
    parallel::map(jobs, threads, |index, job| {
        run_one(&prepared, index, job, limits, keep)
    })
}

/// Runs a job of an analysis that needs no records, such as one of a trial that is only planned.
#[must_use]
pub fn run_without_tables(job: &Job<'_>, limits: &Limits, keep: Option<&Path>) -> Outcome {
    run_one(&prepare(&[]), 0, job, limits, keep)
}

fn run_one(
    prepared: &Result<Run, String>,
    index: usize,
    job: &Job<'_>,
    limits: &Limits,
    keep: Option<&Path>,
) -> Outcome {
    let (result, log, notes) = match prepared {
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

fn prepare(frames: &[(&str, Option<&DataFrame>)]) -> Result<Run, String> {
    let root = private_folder()?;
    let mut tables = Vec::new();
    for &(name, frame) in frames {
        if let Some(frame) = frame {
            write_table(frame, &root.path().join(format!("{name}.arrow")))?;
            tables.push(name.to_owned());
        }
    }
    Ok(Run { root, tables })
}

/// Those of the tables that a plugin reads.
fn read_by(plugin: &Plugin, tables: &[String]) -> Vec<String> {
    let vines = plugin.manifest.uses_vines || plugin.manifest.needs.vines;
    let read = tables.iter().filter(|name| vines || *name != VINES);
    read.cloned().collect()
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
            tables: read_by(job.plugin, &self.tables),
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

#[cfg(test)]
mod tests {
    use caneplot_plugin::Manifest;
    use serde_json::{Value as Json, json};

    use super::*;
    use crate::host::Origin;
    use crate::host::job::table_path;

    #[test]
    fn the_table_of_vines_goes_to_those_who_read_it() {
        let tables = |more: Json| {
            let mut manifest = json!({ "name": "one", "version": "1", "purpose": "A test" });
            for (key, value) in more.as_object().unwrap() {
                manifest[key] = value.clone();
            }
            let plugin = Plugin {
                name: "one".to_owned(),
                path: "one".into(),
                sha256: String::new(),
                origin: Origin::Shipped,
                manifest: Manifest::read(&manifest.to_string()).unwrap(),
            };
            read_by(&plugin, &["plots".to_owned(), VINES.to_owned()])
        };
        assert_eq!(tables(json!({})), ["plots", "vines"]);
        assert_eq!(tables(json!({ "uses_vines": false })), ["plots"]);
        assert_eq!(
            tables(json!({ "uses_vines": false, "needs": { "vines": true } })),
            ["plots", "vines"]
        );
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
