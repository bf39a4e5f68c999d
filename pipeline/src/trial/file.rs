//! trial.toml as written: found, read as UTF-8 and parsed with the span of every key and value.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use toml::Spanned;
use toml::de::DeTable;

use super::faults::Faults;
use crate::diagnostic::{Diagnostic, Place, Source, nearest};

/// Name of the file that makes a folder a trial folder.
pub const TRIAL_FILE: &str = "trial.toml";

const WHAT_A_FOLDER_IS: &str = "a trial folder holds a file trial.toml, which declares the design, \
     the factors and the responses, beside the CSV files it names; trials/README.md explains every key";

/// The text of a folder's trial.toml, without a byte order mark.
///
/// # Errors
/// The folder or its trial.toml is not there or cannot be read, or the file is not UTF-8.
pub fn source(folder: &Path) -> Result<Arc<Source>, Diagnostic> {
    let path = folder.join(TRIAL_FILE);
    let bytes = fs::read(&path).map_err(|fault| unreadable(folder, &path, &fault))?;
    text_of(path, &bytes)
}

/// A file's bytes as text, without a byte order mark.
///
/// # Errors
/// They are not UTF-8.
pub(super) fn text_of(path: PathBuf, bytes: &[u8]) -> Result<Arc<Source>, Diagnostic> {
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    match std::str::from_utf8(bytes) {
        Ok(text) => Ok(Arc::new(Source {
            path,
            text: text.to_owned(),
        })),
        Err(fault) => {
            let name = path.file_name().unwrap_or_default().to_string_lossy();
            let message = format!("{name} is not written in UTF-8");
            let line = 1 + bytes[..fault.valid_up_to()]
                .iter()
                .filter(|byte| **byte == b'\n')
                .count();
            Err(Diagnostic::error("trial-encoding", message)
                .at(Place::Cell {
                    path,
                    line: Some(line),
                    column: None,
                    sheet: None,
                })
                .help("save the file as UTF-8 in the editor; the letter on this line is not"))
        }
    }
}

/// Why a folder's trial.toml cannot be read.
fn unreadable(folder: &Path, path: &Path, fault: &io::Error) -> Diagnostic {
    let whole = |path: &Path| Place::whole(path);
    if folder.is_file() {
        return Diagnostic::error("trial-folder", "a trial is a folder, and this is a file")
            .at(whole(folder))
            .help("give the folder that holds trial.toml");
    }
    if !folder.exists() {
        return Diagnostic::error("trial-folder", "there is no such folder")
            .at(whole(folder))
            .help(WHAT_A_FOLDER_IS);
    }
    if fault.kind() != io::ErrorKind::NotFound {
        return Diagnostic::error(
            "trial-folder",
            format!("trial.toml cannot be read: {fault}"),
        )
        .at(whole(path))
        .help("look at the file's permissions");
    }
    let names = names_in(folder);
    let help = match nearest(TRIAL_FILE, names.iter().map(String::as_str)) {
        Some(near) => format!("rename {near} to trial.toml if that is it; {WHAT_A_FOLDER_IS}"),
        None => WHAT_A_FOLDER_IS.to_owned(),
    };
    Diagnostic::error("trial-folder", "this folder holds no trial.toml")
        .at(whole(folder))
        .help(help)
}

/// Names of the files in a folder, in order.
pub(super) fn names_in(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(folder)
        .into_iter()
        .flatten()
        .flatten()
        .filter(|entry| entry.path().is_file())
        .filter_map(|entry| entry.file_name().into_string().ok())
        .collect();
    names.sort();
    names
}

/// The document of a text. A key or table written twice is reported and the reading goes on, so
/// that the other mistakes are found too; any other break of TOML's rules ends it.
pub(super) fn tables<'a>(source: &'a Source, faults: &mut Faults) -> Option<Spanned<DeTable<'a>>> {
    let (root, errors) = DeTable::parse_recoverable(&source.text);
    let twice = |message: &str| message == "duplicate key";
    if let Some(error) = errors.iter().find(|error| !twice(error.message())) {
        let at = error.span().unwrap_or(0..0);
        faults.add(
            &at,
            Diagnostic::error(
                "trial-syntax",
                format!("this is not TOML: {}", error.message()),
            )
            .help("names stand left of =, texts stand in \"quotes\", tables in [brackets]"),
        );
        return None;
    }
    for error in &errors {
        let at = error.span().unwrap_or(0..0);
        let written = source.text.get(at.clone()).unwrap_or_default();
        faults.add(
            &at,
            Diagnostic::error("duplicate-key", format!("{written} is written twice"))
                .help("keep one of the two, and put everything that belongs to it there"),
        );
    }
    Some(root)
}

/// The text of a file that is read as a trial file is, such as a plan, without a byte order mark. It
/// is called `what` in messages, and `help` says where its form is explained.
///
/// # Errors
/// The file cannot be read or is not UTF-8.
pub fn other(
    path: &Path,
    rule: &'static str,
    what: &str,
    help: &str,
) -> Result<Arc<Source>, Diagnostic> {
    let whole = || Place::whole(path);
    let bytes = fs::read(path).map_err(|error| {
        Diagnostic::error(rule, format!("{what} cannot be read: {error}"))
            .at(whole())
            .help(help)
    })?;
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(&bytes);
    let text = std::str::from_utf8(bytes).map_err(|_| {
        Diagnostic::error(rule, format!("{what} is not written in UTF-8"))
            .at(whole())
            .help("save the file as UTF-8 in the editor")
    })?;
    Ok(Arc::new(Source {
        path: path.to_owned(),
        text: text.to_owned(),
    }))
}
