//! `summary` and `summary_of`: many records, in one file, in all files of a folder, or in those that a
//! pattern fits.

use std::path::{Path, PathBuf};

use super::{fault, path, relative};
use crate::diagnostic::Diagnostic;
use crate::trial::faults::Faults;
use crate::trial::section::Section;
use crate::trial::{How, SourceFile, Summary, Written};

/// Endings of files whose records can be reduced.
const ENDINGS: &[&str] = &["csv", "tsv", "txt", "parquet"];

/// Keys that say how single cells are found, which nobody looks for among millions.
const IDLE: &[&str] = &[
    "header_row",
    "units_row",
    "sheet",
    "sheets",
    "season_from",
    "seasons_in_headings",
];

/// The summary of what `file` names, with the path it stands for.
pub(super) fn summary(
    file: &str,
    folder: &Path,
    how: Written<How>,
    of: Option<Written<bool>>,
) -> Result<(PathBuf, Option<Summary>), Diagnostic> {
    let of_plots = of.is_some_and(|of| of.value);
    let mut summary = Summary {
        how,
        of_plots,
        sources: Vec::new(),
        address: None,
    };
    if file.contains("://") {
        summary.address = Some(file.to_owned());
        return Ok((PathBuf::from(file), Some(summary)));
    }
    let whole = folder.canonicalize().unwrap_or_else(|_| folder.to_owned());
    let place = whole.join(relative(file)?);
    let pattern = if place.is_dir() {
        format!("{}/**/*", glob::Pattern::escape(file.trim_end_matches('/')))
    } else if file.contains(['*', '?']) {
        file.to_owned()
    } else {
        // One file: an absent one is told as any other.
        if !is_readable(&place) && place.is_file() {
            return Err(no_kind(file));
        }
        summary.sources.push(SourceFile {
            name: file.to_owned(),
            path: path(file, folder)?,
        });
        return Ok((place, Some(summary)));
    };
    summary.sources = matching(file, &pattern, &whole)?;
    Ok((place, Some(summary)))
}

/// The files that a pattern fits, in the order of their names.
fn matching(file: &str, pattern: &str, whole: &Path) -> Result<Vec<SourceFile>, Diagnostic> {
    let root = glob::Pattern::escape(&whole.to_string_lossy());
    let found = glob::glob(&format!("{root}/{pattern}")).map_err(|error| {
        fault(format!("'{file}' is no pattern of file names: {error}"))
            .help("write * for any letters of a name and ** for any folders")
    })?;
    let mut sources = Vec::new();
    let mut other = None;
    for entry in found {
        let path = entry.map_err(|error| {
            fault(format!("'{file}' cannot be looked through: {error}"))
                .help("look at the permissions of the folder")
        })?;
        let name = name_of(&path, whole);
        // Programs leave marks such as _SUCCESS and .crc files beside what they write.
        let is_hidden = name.split('/').any(|part| part.starts_with(['.', '_']));
        if is_hidden || !path.is_file() {
            continue;
        }
        if !is_readable(&path) {
            other = Some(name);
            continue;
        }
        let inside = path
            .canonicalize()
            .is_ok_and(|path| path.starts_with(whole));
        if !inside {
            return Err(fault(format!(
                "'{name}' is a link that leads out of the trial folder"
            ))
            .help("put a copy of the file into the trial folder, so that the folder is whole"));
        }
        sources.push(SourceFile { name, path });
    }
    if sources.is_empty() {
        return Err(match other {
            Some(other) => no_kind(&other),
            None => fault(format!("no file of the trial folder is named as '{file}'"))
                .help("write * for any letters of a name and ** for any folders, as in \"sensor/**/*.parquet\""),
        });
    }
    sources.sort_by(|a, b| a.name.cmp(&b.name));
    let is_text = |source: &SourceFile| !is_parquet(&source.path);
    if sources.iter().any(is_text) && !sources.iter().all(is_text) {
        return Err(fault(format!("'{file}' names texts and Parquet files"))
            .help("name the kinds apart: \"sensor/*.parquet\" and, in another [[data]], \"sensor/*.csv\""));
    }
    Ok(sources)
}

fn name_of(path: &Path, whole: &Path) -> String {
    let inside = path.strip_prefix(whole).unwrap_or(path);
    let parts = inside
        .iter()
        .map(|part| part.to_string_lossy().into_owned());
    parts.collect::<Vec<_>>().join("/")
}

fn is_readable(path: &Path) -> bool {
    let ending = path.extension().and_then(|ending| ending.to_str());
    ending.is_some_and(|ending| ENDINGS.contains(&ending.to_lowercase().as_str()))
}

fn is_parquet(path: &Path) -> bool {
    path.extension()
        .is_some_and(|ending| ending.eq_ignore_ascii_case("parquet"))
}

fn no_kind(file: &str) -> Diagnostic {
    Diagnostic::error(
        "summary",
        format!("'{file}' is not a kind of file whose records can be reduced"),
    )
    .help("write the records as Parquet (.parquet) or as text (.csv)")
}

/// Reports keys that a summary has no use for.
pub(super) fn fit(section: &Section<'_>, faults: &mut Faults) {
    for key in IDLE {
        if let Some(written) = section.key(key) {
            faults.add(
                &written.span,
                Diagnostic::error("summary", format!("{key} does not go with summary")).help(
                    format!("take {key} out: the first row of a text must hold the headings"),
                ),
            );
        }
    }
}

/// Reports `summary_of` where there is no summary.
pub(super) fn idle(section: &Section<'_>, faults: &mut Faults) {
    if let Some(written) = section.key("summary_of") {
        faults.add(
            &written.span,
            Diagnostic::error(
                "summary",
                "summary_of speaks of a summary, and there is none",
            )
            .help("add summary = \"mean\", \"sum\" or \"count\", or take summary_of out"),
        );
    }
}
