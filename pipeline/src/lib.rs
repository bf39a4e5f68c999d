//! caneplot: a trial folder goes in; a checked data set, the findings of loadable analysis plugins,
//! figures and a report come out.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

pub mod analyse;
pub mod balanced;
pub mod bulletin;
pub mod check;
pub mod cli;
pub mod compare;
pub mod correct;
pub mod decimal;
pub mod derive;
pub mod diagnostic;
pub mod draw;
pub mod earlier;
pub mod hash;
pub mod host;
pub mod journal;
pub mod load;
pub mod messages;
pub mod nodes;
pub mod pages;
pub mod parallel;
pub mod plan;
pub mod reduce;
pub mod rerun;
pub mod several;
pub mod size;
pub mod trial;
pub mod write;

use diagnostic::{Diagnostic, Severity};
use write::manifest::FileRecord;
use write::{Analysed, Draft, Report};

/// How a run is to be done; nothing in it changes a result.
#[derive(Debug, Clone)]
pub struct Settings {
    /// Folder that holds reports; each trial's report is a folder in it, named as the trial.
    pub out: PathBuf,
    /// Folders searched for plugins before the usual ones.
    pub plugin_dirs: Vec<PathBuf>,
    /// Limits of one analysis.
    pub limits: host::Limits,
    /// Threads and worker processes at one time.
    pub threads: usize,
    /// The paper of the report as PDF, where one is wanted.
    pub paper: Option<pages::Paper>,
    /// Where the job folders of failed analyses are kept.
    pub keep_jobs: Option<PathBuf>,
}

/// What a run left behind.
#[derive(Debug)]
pub struct Done {
    /// The report's folder.
    pub place: PathBuf,
    /// Remarks on the data that went into the report.
    pub remarks: Vec<Diagnostic>,
    /// One sentence for everything the report lacks; empty for a complete report.
    pub lacking: Vec<String>,
    /// What the host has to say beside: where a failed job is kept, how far workers were confined.
    /// It names places of this machine, so it is told and not written into the report.
    pub told: BTreeSet<String>,
    /// What a summary of several trials says of it.
    pub facts: Facts,
}

/// A run in numbers.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Facts {
    /// Plots of the trial.
    pub plots: usize,
    /// Its seasons; 1 where it names none.
    pub seasons: usize,
    /// Analyses that gave findings.
    pub analyses: usize,
    /// Analyses that gave none.
    pub failed: usize,
    /// The first of the main results.
    pub headline: Option<String>,
}

/// The whole program: load, check, derive, analyse, draw, write.
///
/// # Errors
/// Every mistake in the trial file or the data, at once; nothing is written then.
pub fn run(folder: &Path, settings: &Settings) -> Result<Done, Vec<Diagnostic>> {
    let trial = trial::resolve::read(folder)?;
    let loaded = load::load(&trial)?;
    let mut remarks = passed(check::check(&trial, &loaded))?;
    let derived = derive::derive(&trial, &loaded)?;
    remarks.extend(derived.remarks.iter().cloned());
    let plugins = host::discover(&settings.plugin_dirs, &settings.limits);
    let mut plan = analyse::plan(&trial, &derived, &plugins)?;
    remarks.append(&mut plan.remarks);
    remarks.extend(rerun::changed(&trial, &plan.jobs));
    let analysed = analyse::analyse(&mut plan, &derived, settings);

    let place = settings.out.join(&trial.name);
    let stop =
        |error: write::FolderError| vec![Diagnostic::error("report-folder", error.to_string())];
    let mut draft = Draft::begin(&place).map_err(stop)?;
    let report = Report {
        trial: &trial,
        derived: &derived,
        corrections: &loaded.corrections,
        remarks: &remarks,
        choices: &plan.choices,
        analysed: &analysed,
        undrawn: &[],
    };
    for (path, bytes) in rerun::forms::kept(&trial, &loaded) {
        draft.write(&path, &bytes).map_err(stop)?;
    }
    let inputs = inputs(&trial, &loaded, settings.threads)?;
    let how = write::How {
        threads: settings.threads,
        paper: settings.paper,
    };
    let undrawn = write::write(&mut draft, &report, inputs, how).map_err(stop)?;
    let facts = Facts {
        plots: loaded.index.plots.len(),
        seasons: loaded.index.seasons.len(),
        analyses: analysed.iter().filter(|one| one.result.is_ok()).count(),
        failed: analysed.iter().filter(|one| one.result.is_err()).count(),
        headline: write::first_result(&report),
    };
    draft.finish().map_err(stop)?;
    Ok(Done {
        place,
        facts,
        lacking: lacking(&analysed, &undrawn),
        told: analysed.into_iter().flat_map(|one| one.notes).collect(),
        remarks,
    })
}

/// Remarks that let the run go on, or all of them where one is an error.
///
/// # Errors
/// All diagnostics, errors first, if any of them is an error.
pub fn passed(mut found: Vec<Diagnostic>) -> Result<Vec<Diagnostic>, Vec<Diagnostic>> {
    if found.iter().any(|one| one.severity == Severity::Error) {
        found.sort_by_key(|one| std::cmp::Reverse(one.severity));
        Err(found)
    } else {
        Ok(found)
    }
}

/// Every file read, the trial file first.
fn inputs(
    trial: &trial::Trial,
    loaded: &load::Loaded,
    threads: usize,
) -> Result<Vec<FileRecord>, Vec<Diagnostic>> {
    // The bytes of the file, which may begin with a mark that the text is without.
    let bytes = std::fs::read(&trial.source.path)
        .unwrap_or_else(|_| trial.source.text.clone().into_bytes());
    let own = FileRecord {
        path: "trial.toml".to_owned(),
        sha256: hash::sha256(&bytes),
        bytes: bytes.len() as u64,
    };
    let mut records = vec![own];
    for file in &loaded.files {
        if let Some(summary) = file
            .origin
            .summary
            .as_deref()
            .filter(|one| !one.inputs.is_empty())
        {
            records.extend(reduce::records(&summary.inputs, threads)?);
            continue;
        }
        // Two sheets of one workbook are one file.
        if records.iter().all(|known| known.path != file.origin.path) {
            records.push(FileRecord {
                path: file.origin.path.clone(),
                sha256: file.sha256.clone(),
                bytes: file.bytes,
            });
        }
    }
    if let Some(prices) = &trial.prices {
        records.push(FileRecord {
            path: trial::prices::PRICES_FILE.to_owned(),
            sha256: prices.sha256.clone(),
            bytes: prices.bytes,
        });
    }
    if let Some((sha256, bytes)) = &loaded.corrections.file {
        records.push(FileRecord {
            path: correct::CORRECTIONS_FILE.to_owned(),
            sha256: sha256.clone(),
            bytes: *bytes,
        });
    }
    Ok(records)
}

fn lacking(analysed: &[Analysed], undrawn: &[(String, String)]) -> Vec<String> {
    let failed = analysed.iter().filter_map(|one| {
        one.result
            .as_ref()
            .err()
            .map(|why| format!("{}: {why}", one.name))
    });
    failed
        .chain(undrawn.iter().map(|(stem, why)| format!("{stem}: {why}")))
        .collect()
}
