//! The folder of an answer: what one analysis found without a trial's tables, as a report of its own.

use caneplot_plugin::request::TrialInfo;
use serde_json::{Map, Value as Json};

use super::folder::MANIFEST;
use super::manifest::{FileRecord, MANIFEST_SCHEMA, PluginRecord, RunRecord};
use super::{Analysed, Draft, Drawn, FolderError, LANGUAGE, drawn, json, tables};
use crate::pages::{self, Document, Kind};

/// What an answer is made of.
#[derive(Debug)]
pub struct Answer<'a> {
    /// Name of its text and its page, without ending.
    pub name: &'static str,
    /// Title of the page.
    pub title: &'a str,
    /// What the analysis gave.
    pub analysed: &'a Analysed,
    /// The trial as the analysis saw it.
    pub info: &'a TrialInfo,
    /// Its seed.
    pub seed: u64,
    /// Every file read.
    pub inputs: &'a [FileRecord],
    /// Further members of `findings.json`.
    pub more: Map<String, Json>,
}

/// Puts figures, tables, findings, the text that `text` makes, its page and the manifest into the
/// draft. `text` is told which figures could not be drawn, with why; they are returned too.
///
/// # Errors
/// [`FolderError`] where a file cannot be written.
pub fn write(
    draft: &mut Draft,
    answer: &Answer<'_>,
    threads: usize,
    text: impl FnOnce(&[(String, String)]) -> String,
) -> Result<Vec<(String, String)>, FolderError> {
    let analysed = answer.analysed;
    let one = std::slice::from_ref(analysed);
    let Drawn {
        figures,
        mut undrawn,
    } = drawn(draft, one, threads)?;
    tables(draft, one)?;
    let mut document = serde_json::json!({
        "schema": caneplot_plugin::findings::FINDINGS_SCHEMA,
        "trial": answer.info,
        "analyses": [{
            "name": analysed.name,
            "version": analysed.version,
            "options": analysed.options,
            "findings": analysed.findings(),
        }],
    });
    if let Json::Object(members) = &mut document {
        members.extend(answer.more.clone());
    }
    draft.write("findings.json", &json(&document)?)?;
    let text = text(&undrawn);
    draft.write(&format!("{}.md", answer.name), text.as_bytes())?;
    let page = format!("{}.html", answer.name);
    let document = Document {
        kind: Kind::Report,
        title: answer.title,
        language: LANGUAGE,
        markdown: &text,
        figure: &|path| figures.get(path).cloned(),
    };
    match pages::html(&document) {
        Ok(html) => draft.write(&page, html.as_bytes())?,
        Err(error) => undrawn.push((page, error.to_string())),
    }
    let record = run_record(draft, answer, undrawn.is_empty());
    draft.write(MANIFEST, &json(&record)?)?;
    Ok(undrawn)
}

fn run_record(draft: &Draft, answer: &Answer<'_>, complete: bool) -> RunRecord {
    let analysed = answer.analysed;
    RunRecord {
        schema: MANIFEST_SCHEMA,
        program: env!("CARGO_PKG_NAME").to_owned(),
        version: env!("CARGO_PKG_VERSION").to_owned(),
        written: humantime::format_rfc3339_seconds(std::time::SystemTime::now()).to_string(),
        trial: answer.info.title.clone(),
        seed: answer.seed,
        complete,
        inputs: answer.inputs.to_vec(),
        plugins: vec![PluginRecord {
            name: analysed.name.clone(),
            version: analysed.version.clone(),
            sha256: analysed.sha256.clone(),
            options: analysed.options.clone(),
            why: None,
        }],
        left_out: Vec::new(),
        outputs: draft.files(),
    }
}
