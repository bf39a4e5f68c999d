//! `[[data]]`: the files of the trial.

use std::path::{Component, Path, PathBuf};

use toml::de::DeValue;

use crate::diagnostic::{Diagnostic, nearest};
use crate::trial::faults::Faults;
use crate::trial::file::names_in;
use crate::trial::keys;
use crate::trial::section::Section;
use crate::trial::words::WINTERS;
use crate::trial::{DataFile, Written};

/// Endings of files that can be read: texts separated by commas, semicolons or tabs.
const ENDINGS: &[&str] = &["csv", "tsv", "txt"];

/// Texts that mean "not recorded" where a file does not say; the empty cell always does.
const MISSING: &[&str] = &["", "NA", "-", "."];

/// The data files of a trial.
pub(super) fn files(root: &Section<'_>, folder: &Path, faults: &mut Faults) -> Vec<DataFile> {
    let example = "[[data]] and below it file = \"harvest.csv\"";
    let Some(value) = root.value("data") else {
        root.missing("data", example, faults);
        return Vec::new();
    };
    let DeValue::Array(list) = value.get_ref() else {
        root.wrong("data", value, "a list of tables", example, faults);
        return Vec::new();
    };
    if list.is_empty() {
        faults.add(
            &value.span(),
            Diagnostic::error("missing-key", "no data file is named")
                .help(format!("add {example}")),
        );
    }
    let mut files: Vec<DataFile> = Vec::new();
    for element in list.iter() {
        let DeValue::Table(table) = element.get_ref() else {
            root.wrong("data", element, "a list of tables", example, faults);
            continue;
        };
        let mut section = Section::new("data", element.span(), table);
        section.only(keys::DATA, faults);
        let Some(file) = file(&section, folder, faults) else {
            continue;
        };
        if let Some(first) = files.iter().find(|other| other.path == file.path) {
            let place = faults.place(&first.file.span);
            faults.add(
                &file.file.span,
                Diagnostic::error("data-file", format!("'{}' is named twice", file.file.value))
                    .at(place)
                    .help("name every file once; what it holds is told by its headings"),
            );
            continue;
        }
        files.push(file);
    }
    files
}

fn file(section: &Section<'_>, folder: &Path, faults: &mut Faults) -> Option<DataFile> {
    let winter = section.word("winter", &WINTERS, faults);
    let missing = missing(section, faults);
    let file = section.needed_text("file", "file = \"harvest.csv\"", faults)?;
    let path = match path(&file.value, folder) {
        Ok(path) => path,
        Err(fault) => {
            faults.add(&file.span, fault);
            return None;
        }
    };
    Some(DataFile {
        file,
        path,
        winter,
        missing,
    })
}

fn missing(section: &Section<'_>, faults: &mut Faults) -> Vec<String> {
    let example = "missing = [\"NA\", \"-999\"]";
    let written: Option<Vec<Written<String>>> = section.texts("missing", example, faults);
    let Some(written) = written else {
        return MISSING.iter().map(|&text| text.to_owned()).collect();
    };
    let mut codes = vec![String::new()];
    for code in written {
        let code = code.value.trim().to_owned();
        if !codes.contains(&code) {
            codes.push(code);
        }
    }
    codes
}

/// The absolute path of a file of the folder.
fn path(file: &str, folder: &Path) -> Result<PathBuf, Diagnostic> {
    let fault = |message: String| Diagnostic::error("data-file", message);
    let inside = "put the file into the trial folder and name it from there, as in \"harvest.csv\"";
    let relative = Path::new(file);
    let drive = file.as_bytes().get(1) == Some(&b':');
    if relative.is_absolute() || drive || file.starts_with('\\') || file.starts_with('~') {
        return Err(
            fault(format!("'{file}' is a path from outside the trial folder")).help(inside),
        );
    }
    if relative
        .components()
        .any(|part| !matches!(part, Component::Normal(_) | Component::CurDir))
        || file.contains("..\\")
    {
        return Err(fault(format!("'{file}' leads out of the trial folder")).help(inside));
    }
    let ending = relative
        .extension()
        .map(|ending| ending.to_string_lossy().to_lowercase());
    if !ending.is_some_and(|ending| ENDINGS.contains(&ending.as_str())) {
        return Err(fault(format!("'{file}' is not a kind of file that can be read")).help(
            "save it as CSV (from a spreadsheet: save as, CSV UTF-8) and name the .csv file here",
        ));
    }
    let whole = folder.canonicalize().unwrap_or_else(|_| folder.to_owned());
    let path = whole.join(relative);
    if !path.is_file() {
        return Err(absent(file, relative, &whole));
    }
    match path.canonicalize() {
        Ok(path) if path.starts_with(&whole) => Ok(path),
        Ok(_) => Err(fault(format!(
            "'{file}' is a link that leads out of the trial folder"
        ))
        .help("put a copy of the file into the trial folder, so that the folder is whole")),
        Err(error) => Err(fault(format!("'{file}' cannot be read: {error}"))
            .help("look at the file's permissions")),
    }
}

/// The file is not there: the nearest name in its folder is offered.
fn absent(file: &str, relative: &Path, folder: &Path) -> Diagnostic {
    let inner = relative.parent().unwrap_or(Path::new(""));
    let names: Vec<String> = names_in(&folder.join(inner))
        .into_iter()
        .filter(|name| {
            let ending = Path::new(name).extension();
            ending.is_some_and(|ending| {
                ENDINGS.contains(&ending.to_string_lossy().to_lowercase().as_str())
            })
        })
        .map(|name| inner.join(name).to_string_lossy().into_owned())
        .collect();
    let help = match nearest(file, names.iter().map(String::as_str)) {
        Some(near) => format!("write \"{near}\" if that is meant"),
        None if names.is_empty() => "put the file into the trial folder".to_owned(),
        None => format!("the folder holds {}", names.join(", ")),
    };
    Diagnostic::error(
        "data-file",
        format!("there is no file '{file}' in the trial folder"),
    )
    .help(help)
}
