//! What the program does when it was started as a worker: one job folder, one plugin, one answer.

use std::path::Path;

use super::confine::confined;
use super::export::{Exported, read_table};
use super::job::{
    self, FINDINGS, JobFile, MANIFEST, NOTES, PROGRESS, REFUSAL, REQUEST, Setback, table_path,
};
use super::open::Opened;
use super::trust::sha256;

/// How a job ended.
pub enum Ended {
    /// With the file of this name in the job folder.
    Answered(&'static str),
    /// With a reason, which `refusal.json` holds.
    Failed(Setback),
}

/// Does the job of a folder and leaves the answer in it.
///
/// # Errors
/// A sentence where the folder is none of a job or cannot be written: nobody can be answered.
pub fn work(folder: &Path) -> Result<Ended, String> {
    let folder = &folder
        .canonicalize()
        .map_err(|error| format!("{}: {error}", folder.display()))?;
    let job: JobFile = job::read_json(folder, REQUEST)?.ok_or_else(|| {
        format!(
            "{} is not the folder of a job: it has no {REQUEST}",
            folder.display()
        )
    })?;
    for old in [FINDINGS, MANIFEST, REFUSAL, NOTES, PROGRESS] {
        // An answer of an earlier run; mostly there is none.
        let _ = std::fs::remove_file(folder.join(old));
    }
    let notes = confined(folder, job.memory);
    if !notes.is_empty() {
        job::write_json(folder, NOTES, &notes)?;
    }
    match answer(folder, &job) {
        Ok((file, text)) => {
            job::write_whole(folder, file, &text)?;
            Ok(Ended::Answered(file))
        }
        Err(setback) => {
            job::write_json(folder, REFUSAL, &setback)?;
            Ok(Ended::Failed(setback))
        }
    }
}

fn answer(folder: &Path, job: &JobFile) -> Result<(&'static str, String), Setback> {
    let unusable = |reason: String| Setback::Job { reason };
    // Read first: a job that cannot be read need not load anything.
    let mut tables = Vec::new();
    for name in &job.tables {
        let frame = read_table(&table_path(folder, name)).map_err(unusable)?;
        tables.push(Exported::new(name, &frame).map_err(unusable)?);
    }
    let bytes = std::fs::read(&job.path).map_err(|error| Setback::Load {
        reason: error.to_string(),
    })?;
    if sha256(&bytes) != job.sha256 {
        return Err(Setback::Replaced);
    }
    drop(bytes);
    let plugin = Opened::new(&job.plugin, &job.path)?;
    let Some(request) = &job.request else {
        return Ok((MANIFEST, plugin.manifest_json));
    };
    let findings = plugin.analyse(request, &tables, progress_file(folder))?;
    Ok((FINDINGS, findings))
}

/// Keeps the share of the work done in a file, whole per cents only, for the case of a time limit.
fn progress_file(folder: &Path) -> Box<dyn FnMut(f64)> {
    let path = folder.join(PROGRESS);
    let mut told = -1.0;
    Box::new(move |fraction| {
        let percent = (100.0 * fraction.clamp(0.0, 1.0)).floor();
        if percent > told {
            told = percent;
            // Progress is a courtesy: the work goes on without it.
            let _ = std::fs::write(&path, (percent / 100.0).to_string());
        }
    })
}
