//! A report that was written before, read back: what the bulletin, comparisons, the rerun kit and
//! journal exports start from.

use std::path::{Path, PathBuf};

use caneplot_plugin::Findings;
use caneplot_plugin::estimates::{self, Estimates};
use caneplot_plugin::findings::{FINDINGS_SCHEMA, Section};
use caneplot_plugin::request::TrialInfo;
use serde::Deserialize;
use serde::de::DeserializeOwned;

use crate::diagnostic::{Diagnostic, Place};
use crate::hash;
use crate::write::folder::MANIFEST;
use crate::write::manifest::{FileRecord, RunRecord};

/// File of a report that holds what was found.
pub const FINDINGS: &str = "findings.json";

/// A report's folder and what its files say.
#[derive(Debug, Clone)]
pub struct EarlierReport {
    /// The folder.
    pub folder: PathBuf,
    /// The trial as the analyses saw it.
    pub trial: TrialInfo,
    /// Facts about the site as the trial file gives them: name and text.
    pub about: Vec<(String, String)>,
    /// The analyses in the order of the report.
    pub analyses: Vec<EarlierAnalysis>,
    /// The record of the run that wrote it.
    pub manifest: RunRecord,
    /// The findings' file, under its name in the folder.
    pub input: FileRecord,
}

/// One analysis of a report.
#[derive(Debug, Clone, Deserialize)]
pub struct EarlierAnalysis {
    /// Name of the plugin.
    pub name: String,
    /// Its version.
    pub version: String,
    /// Options it ran with.
    pub options: serde_json::Value,
    /// Which of several analyses speaks for a response: the one with the lowest.
    #[serde(default)]
    pub voice: Option<u8>,
    /// What it found.
    #[serde(default)]
    pub findings: Option<Findings>,
    /// Why it found nothing.
    #[serde(default)]
    pub refused: Option<String>,
}

/// A result for programs and where it stands.
#[derive(Debug, Clone, Copy)]
pub struct Found<'a> {
    /// The analysis that found it.
    pub analysis: &'a EarlierAnalysis,
    /// The section it stands in.
    pub section: &'a Section,
    /// The result.
    pub estimates: &'a Estimates,
}

impl EarlierReport {
    /// All results for programs, in the order of the report.
    pub fn estimates(&self) -> impl Iterator<Item = Found<'_>> {
        self.sections().flat_map(|(analysis, section)| {
            section.estimates.iter().map(move |estimates| Found {
                analysis,
                section,
                estimates,
            })
        })
    }

    /// The results that speak for a response or ratio: where several analyses have some, all those of
    /// the one with the lowest voice, which is also the one the summary takes.
    #[must_use]
    pub fn speaking(&self, name: &str) -> Vec<Found<'_>> {
        let all = self.estimates().map(|found| {
            let (analysis, of) = (found.analysis, found.estimates);
            (analysis.name.as_str(), analysis.voice, of.name.as_str())
        });
        let speaker = estimates::speaker(all, name);
        let speaks = |found: &Found<'_>| {
            found.estimates.name == name && Some(found.analysis.name.as_str()) == speaker
        };
        self.estimates().filter(speaks).collect()
    }

    /// All sections with their analysis, in the order of the report.
    pub fn sections(&self) -> impl Iterator<Item = (&EarlierAnalysis, &Section)> {
        self.analyses.iter().flat_map(|analysis| {
            let sections = analysis.findings.iter().flat_map(|found| &found.sections);
            sections.map(move |section| (analysis, section))
        })
    }
}

#[derive(Deserialize)]
struct Document {
    schema: u32,
    trial: TrialInfo,
    #[serde(default)]
    about: Vec<(String, String)>,
    analyses: Vec<EarlierAnalysis>,
}

/// Reads a report's folder.
///
/// # Errors
/// `findings.json` or `manifest.json` is missing, is none, or was written by a later program.
pub fn read(folder: &Path) -> Result<EarlierReport, Diagnostic> {
    let (document, bytes): (Document, _) = parsed(&folder.join(FINDINGS))?;
    if document.schema != FINDINGS_SCHEMA {
        return Err(unreadable(
            &folder.join(FINDINGS),
            &format!(
                "it is of form {}, and this program reads form {FINDINGS_SCHEMA}",
                document.schema
            ),
        ));
    }
    let (manifest, _) = parsed(&folder.join(MANIFEST))?;
    Ok(EarlierReport {
        folder: folder.to_owned(),
        trial: document.trial,
        about: document.about,
        analyses: document.analyses,
        manifest,
        input: FileRecord {
            path: FINDINGS.to_owned(),
            sha256: hash::sha256(&bytes),
            bytes: bytes.len() as u64,
        },
    })
}

fn parsed<T: DeserializeOwned>(path: &Path) -> Result<(T, Vec<u8>), Diagnostic> {
    let bytes = std::fs::read(path).map_err(|error| unreadable(path, &error.to_string()))?;
    match serde_json::from_slice(&bytes) {
        Ok(document) => Ok((document, bytes)),
        Err(error) => Err(unreadable(path, &error.to_string())),
    }
}

fn unreadable(path: &Path, why: &str) -> Diagnostic {
    Diagnostic::error(
        "report-unreadable",
        format!("this report cannot be read: {why}"),
    )
    .at(Place::whole(path))
    .help("give the folder of a report that 'caneplot run' wrote")
}
