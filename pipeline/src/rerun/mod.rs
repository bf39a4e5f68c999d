//! A trial run again with other data: a folder made from a report, with the same design, options and
//! responses, whose data files hold the keys and wait for what is measured.
//!
//! ```text
//! forms    what every report keeps for this
//! edit     changes of a trial file's text
//! seasons  forms for other seasons
//! changed  what is not as it was, when the new trial is analysed
//! ```

use std::fs;
use std::path::Path;
use std::sync::Arc;

use crate::diagnostic::{Diagnostic, Place, Source};
use crate::earlier::{self, EarlierReport};
use crate::hash::sha256;
use crate::load;
use crate::plan::folder;
use crate::trial::file::TRIAL_FILE;
use crate::trial::{DecimalMark, Trial, resolve};

pub mod changed;
pub mod edit;
pub mod forms;
pub mod seasons;

pub use changed::changed;

use seasons::Exchange;

/// A folder that waits for its data.
#[derive(Debug, Clone)]
pub struct Kit {
    /// Its files by their path in it, the trial file first.
    pub files: Vec<(String, Vec<u8>)>,
    /// The trial as its file says now.
    pub trial: Trial,
}

/// The kit for another run of a report's trial, in other seasons where these are given: "2025-2028",
/// or labels with commas between them.
///
/// # Errors
/// The report cannot be read, was changed since, or holds no trial file or forms; seasons that the
/// trial cannot have.
pub fn kit(report: &Path, seasons: Option<&str>) -> Result<Kit, Vec<Diagnostic>> {
    let earlier = earlier::read(report).map_err(|fault| vec![fault])?;
    let one = |fault: Diagnostic| vec![fault];
    let bytes = kept(&earlier, forms::TRIAL).map_err(one)?;
    let text =
        String::from_utf8_lossy(bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(&bytes)).into_owned();
    let mut names: Vec<&str> = earlier
        .manifest
        .outputs
        .iter()
        .filter_map(|file| file.path.strip_prefix(forms::FORMS))
        .collect();
    names.sort_unstable();
    if names.is_empty() {
        return Err(vec![no_forms(report)]);
    }
    let mut text = match listed(&earlier, forms::TABLES) {
        true => {
            let tables = kept(&earlier, forms::TABLES).map_err(one)?;
            let rest = edit::without(&text, &["data", "rerun"]);
            format!(
                "{}\n\n{}",
                rest.trim_end(),
                String::from_utf8_lossy(&tables)
            )
        }
        false => edit::without(&text, &["rerun"]),
    };
    if let Some(seasons) = seasons {
        text = edit::with_seasons(&text, seasons).ok_or_else(|| vec![no_seasons(report)])?;
    }
    let text = format!("{}\n\n{}", text.trim_end(), record(&earlier));
    let mut files = vec![(TRIAL_FILE.to_owned(), text.into_bytes())];
    for name in names {
        let form = kept(&earlier, &format!("{}{name}", forms::FORMS)).map_err(one)?;
        files.push((name.to_owned(), form));
    }
    let scratch = tempfile::tempdir().map_err(|error| one(no_room(&error)))?;
    let place = scratch.path().join("trial");
    folder::put(&files, &place).map_err(|error| one(no_room(&error)))?;
    // As a run will read it.
    let trial = resolve::read(&place).map_err(of_the_kit)?;
    if seasons.is_some()
        && let Some(column) = &trial.design.season
    {
        let exchange = Exchange::new(&earlier.trial.seasons, &trial.seasons);
        for (name, form) in files.iter_mut().skip(1) {
            let data = trial.data.iter().find(|data| data.file.value == *name);
            let decimal = data.and_then(|data| data.decimal);
            *form = exchanged(&place, name, decimal, &column.value, &exchange)?;
        }
    }
    Ok(Kit { files, trial })
}

/// Names of the mistakes that only this command can find.
pub const RULES: &[(&str, &str)] = &[
    (
        "rerun-report",
        "the report is as it was written and holds its trial file and the forms of its data",
    ),
    ("rerun-folder", "the folder of the new trial can be written"),
];

/// Makes the folder of a kit.
///
/// # Errors
/// Something has the folder's name already, or the system refuses.
pub fn write(kit: &Kit, place: &Path) -> Result<(), Diagnostic> {
    if place.symlink_metadata().is_ok() {
        return Err(Diagnostic::error(
            "rerun-folder",
            "there is something of that name already, and nothing is ever replaced",
        )
        .at(Place::whole(place))
        .help("choose another --out"));
    }
    folder::put(&kit.files, place).map_err(|error| {
        Diagnostic::error(
            "rerun-folder",
            format!("the trial folder cannot be written: {error}"),
        )
        .at(Place::whole(place))
        .help("look at the permissions and the space of the folder's place")
    })
}

fn listed(report: &EarlierReport, path: &str) -> bool {
    report.manifest.outputs.iter().any(|file| file.path == path)
}

/// A file the report kept, as it was written.
fn kept(report: &EarlierReport, path: &str) -> Result<Vec<u8>, Diagnostic> {
    let place = report.folder.join(path);
    let record = report
        .manifest
        .outputs
        .iter()
        .find(|file| file.path == path);
    let Some(record) = record else {
        return Err(Diagnostic::error(
            "rerun-report",
            "this report does not hold the trial file it was made from",
        )
        .at(Place::whole(&report.folder))
        .help(
            "run the trial again with this version, which keeps it, or copy the trial's folder",
        ));
    };
    let bytes = fs::read(&place).map_err(|error| {
        Diagnostic::error("rerun-report", format!("the file cannot be read: {error}"))
            .at(Place::whole(&place))
            .help("'caneplot verify' says what else is missing from the report")
    })?;
    match sha256(&bytes) == record.sha256 {
        true => Ok(bytes),
        false => Err(Diagnostic::error(
            "rerun-report",
            "the file was changed after the report was written",
        )
        .at(Place::whole(&place))
        .help("take the report as it was written: a kit must repeat what was analysed")),
    }
}

fn no_forms(report: &Path) -> Diagnostic {
    Diagnostic::error(
        "rerun-report",
        "this report holds no forms of its data files: the trial has too many records for that, or was read as a stream",
    )
    .at(Place::whole(report))
    .help("copy the trial's folder and put the new records into its data files")
}

fn no_seasons(report: &Path) -> Diagnostic {
    Diagnostic::error("rerun-report", "the trial of this report names no seasons")
        .at(Place::whole(report))
        .help("leave --seasons out: the records of another season go into the same files")
}

/// `[rerun]`: what the new trial repeats, and with which versions that was analysed.
fn record(report: &EarlierReport) -> String {
    let quoted = |text: &str| toml::Value::String(text.to_owned()).to_string();
    let manifest = &report.manifest;
    let mut lines = vec![
        "# What this trial repeats, and the versions that was analysed with.".to_owned(),
        "[rerun]".to_owned(),
        format!("of = {}", quoted(&manifest.trial)),
        format!("findings = {}", quoted(&report.input.sha256)),
        format!("program = {}", quoted(&manifest.version)),
        "[rerun.analyses]".to_owned(),
    ];
    for plugin in &manifest.plugins {
        lines.push(format!("{} = {}", plugin.name, quoted(&plugin.version)));
    }
    lines.join("\n") + "\n"
}

/// Mistakes without the place of the look at it, which is gone when they are read.
fn of_the_kit(mut faults: Vec<Diagnostic>) -> Vec<Diagnostic> {
    for place in faults.iter_mut().flat_map(|fault| &mut fault.places) {
        if let Place::Span { source, .. } = place {
            *source = Arc::new(Source {
                path: TRIAL_FILE.into(),
                text: source.text.clone(),
            });
        }
    }
    faults
}

fn no_room(error: &std::io::Error) -> Diagnostic {
    Diagnostic::error(
        "rerun-folder",
        format!("no room for a look at the new trial: {error}"),
    )
}

/// A form with other seasons.
fn exchanged(
    folder: &Path,
    name: &str,
    decimal: Option<DecimalMark>,
    column: &str,
    exchange: &Exchange,
) -> Result<Vec<u8>, Vec<Diagnostic>> {
    let opened = load::csv::plain(name, &folder.join(name))?;
    let columns = opened.cells().map_err(|fault| vec![fault])?;
    let mut out = forms::line(decimal, &opened.headings);
    let place = opened.headings.iter().position(|one| one == column);
    for row in 0..opened.lines.len() {
        let cells: Vec<String> = columns
            .iter()
            .map(|column| column[row].clone().unwrap_or_default())
            .collect();
        let Some(place) = place else {
            out.push_str(&forms::line(decimal, &cells));
            continue;
        };
        for label in exchange.labels(&cells[place]) {
            let mut cells = cells.clone();
            cells[place] = label;
            out.push_str(&forms::line(decimal, &cells));
        }
    }
    Ok(out.into_bytes())
}
