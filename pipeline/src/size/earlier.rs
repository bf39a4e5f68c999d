//! The part of an earlier report that says how much its plots varied: found here, understood by the
//! analysis.

use std::path::Path;

use caneplot_plugin::Findings;
use caneplot_plugin::findings::Section;
use caneplot_plugin::request::{Response, TrialInfo};
use serde::Deserialize;

use super::record;
use crate::diagnostic::{Diagnostic, Place, nearest};
use crate::write::manifest::FileRecord;

/// Analyses whose tables hold variances, the first that has them is taken, and the table of each.
const SOURCES: [(&str, &str); 2] = [("anova", "anova"), ("mixed", "components")];

#[derive(Deserialize)]
struct Document {
    trial: TrialInfo,
    analyses: Vec<Analysis>,
}

#[derive(Deserialize)]
struct Analysis {
    name: String,
    #[serde(default)]
    findings: Option<Findings>,
}

/// What was found.
#[derive(Debug, Clone)]
pub struct Earlier {
    /// For the analysis, as JSON.
    pub text: String,
    /// The response.
    pub response: Response,
    /// The file it was read from.
    pub input: FileRecord,
}

/// The part of a report's findings that is about a response.
///
/// # Errors
/// The report cannot be read, has no such response, or no variances of it.
pub fn earlier(report: &Path, response: Option<&str>) -> Result<Earlier, Diagnostic> {
    let path = report.join("findings.json");
    let whole = Place::Cell {
        path: path.clone(),
        line: None,
        column: None,
        sheet: None,
    };
    let stop = |message: String, help: String| {
        Diagnostic::error("size-report", message)
            .at(whole.clone())
            .help(help)
    };
    let bytes = std::fs::read(&path).map_err(|error| {
        stop(
            format!("the earlier report cannot be read: {error}"),
            "give the folder of a report that 'caneplot run' wrote".to_owned(),
        )
    })?;
    let document: Document = serde_json::from_slice(&bytes).map_err(|error| {
        stop(
            format!("these are no findings of a report: {error}"),
            "give the folder of a report that 'caneplot run' wrote".to_owned(),
        )
    })?;
    let names: Vec<&str> = document
        .trial
        .responses
        .iter()
        .map(|response| response.name.as_str())
        .collect();
    let listed = || format!("the report has {}", names.join(", "));
    let Some(wanted) = response else {
        return Err(stop(
            "which response of the earlier report is meant is not said".to_owned(),
            format!("add --response NAME; {}", listed()),
        ));
    };
    let known = document
        .trial
        .responses
        .iter()
        .find(|one| one.name == wanted);
    let Some(known) = known else {
        return Err(stop(
            format!("the earlier report has no response '{wanted}'"),
            match nearest(wanted, names.iter().copied()) {
                Some(name) => format!("did you mean '{name}'? {}", listed()),
                None => listed(),
            },
        ));
    };
    let found = SOURCES.iter().find_map(|(analysis, table)| {
        let one = document.analyses.iter().find(|one| one.name == *analysis)?;
        let mut sections = one.findings.iter().flat_map(|found| &found.sections);
        let has = |section: &&Section| {
            section.response.as_deref() == Some(wanted)
                && section.tables.iter().any(|one| one.id == *table)
        };
        Some((*analysis, sections.find(has)?))
    });
    let Some((analysis, section)) = found else {
        return Err(stop(
            format!("the earlier report has no variances of '{wanted}'"),
            "run its trial with the analysis 'anova' or 'mixed', or type the standard deviations in"
                .to_owned(),
        ));
    };
    Ok(Earlier {
        text: serde_json::json!({
            "trial": document.trial,
            "analysis": analysis,
            "section": Section {
                // Neither drawings nor words are needed, only tables.
                figures: Vec::new(),
                statements: Vec::new(),
                notes: Vec::new(),
                estimates: Vec::new(),
                ..section.clone()
            },
        })
        .to_string(),
        response: known.clone(),
        input: FileRecord {
            path: "earlier/findings.json".to_owned(),
            ..record(&path, &bytes)
        },
    })
}
