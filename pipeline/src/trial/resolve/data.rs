//! `[[data]]`: the files of the trial.

use std::path::{Component, Path, PathBuf};

use toml::de::DeValue;

use crate::diagnostic::{Diagnostic, nearest};
use crate::trial::faults::Faults;
use crate::trial::file::names_in;
use crate::trial::keys;
use crate::trial::scalar::scalar_text;
use crate::trial::section::Section;
use crate::trial::words::{DECIMAL_MARKS, SUMMARIES, SUMMARISED, WINTERS};
use crate::trial::{DataFile, HeadingPattern, Written};

mod kinds;
mod sheets;
mod summary;

/// Endings of files that can be read: texts of separated cells, workbooks, tables with types.
const ENDINGS: &[&str] = &[
    "csv", "tsv", "txt", "xlsx", "xlsm", "ods", "parquet", "arrow", "feather",
];

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
        for file in file(&section, folder, faults) {
            if let Some(first) = files.iter().find(|other| is_same(other, &file)) {
                faults.add(&file.file.span.clone(), twice(first, &file, faults));
            } else {
                files.push(file);
            }
        }
    }
    files
}

/// Whether two are one table: sheets of one workbook are told apart by their names.
fn is_same(one: &DataFile, other: &DataFile) -> bool {
    let apart = matches!((&one.sheet, &other.sheet), (Some(a), Some(b)) if a.value != b.value);
    one.path == other.path && !apart
}

fn twice(first: &DataFile, again: &DataFile, faults: &Faults) -> Diagnostic {
    let sheet = |file: &DataFile| match &file.sheet {
        Some(sheet) => format!("sheet '{}' of ", sheet.value),
        None => String::new(),
    };
    Diagnostic::error(
        "data-file",
        format!("{}'{}' is named twice", sheet(again), again.file.value),
    )
    .at(faults.place(&first.file.span))
    .help(match (&first.sheet, &again.sheet) {
        (None, None) => "name every file once; what it holds is told by its headings",
        _ => "name every sheet once; what it holds is told by its headings",
    })
}

/// The file of a table, once a sheet.
fn file(section: &Section<'_>, folder: &Path, faults: &mut Faults) -> Vec<DataFile> {
    let winter = section.word("winter", &WINTERS, faults);
    let decimal = section.word("decimal", &DECIMAL_MARKS, faults);
    let header_row = row(section, faults);
    let units_row = truth(section, "units_row", faults);
    let headings = headings(section, faults);
    let missing = missing(section, faults);
    let sheets = sheets::sheets(section, faults);
    let Some(file) = section.needed_text("file", "file = \"harvest.csv\"", faults) else {
        return Vec::new();
    };
    let how = section.word("summary", &SUMMARIES, faults);
    let of = section.word("summary_of", &SUMMARISED, faults);
    let found = match how {
        Some(how) => summary::summary(&file.value, folder, how, of),
        None => {
            summary::idle(section, faults);
            path(&file.value, folder).map(|path| (path, None))
        }
    };
    let (path, summary) = match found {
        Ok(found) => found,
        Err(fault) => {
            faults.add(&file.span, fault);
            return Vec::new();
        }
    };
    if summary.is_some() {
        summary::fit(section, faults);
        return vec![DataFile {
            file,
            path,
            winter,
            missing,
            sheet: None,
            season: None,
            header_row: None,
            units_row: None,
            decimal: decimal.map(|mark| mark.value),
            headings: None,
            summary,
        }];
    }
    sheets::fit(section, &file, faults);
    kinds::fit(section, &file, faults);
    let one = DataFile {
        file,
        path,
        winter,
        missing,
        sheet: None,
        season: None,
        header_row,
        units_row,
        decimal: decimal.map(|mark| mark.value),
        headings,
        summary,
    };
    if sheets.is_empty() {
        return vec![one];
    }
    let of = |(sheet, season)| DataFile {
        sheet: Some(sheet),
        season,
        ..one.clone()
    };
    sheets.into_iter().map(of).collect()
}

/// The declared row of headings.
fn row(section: &Section<'_>, faults: &mut Faults) -> Option<Written<usize>> {
    let value = section.value("header_row")?;
    let number = match value.get_ref() {
        DeValue::Integer(_) => scalar_text(value.get_ref())?.parse().ok(),
        _ => None,
    };
    match number.filter(|row| (1..=1_000_000).contains(row)) {
        Some(row) => Some(Written {
            value: row,
            span: value.span(),
        }),
        None => {
            section.wrong(
                "header_row",
                value,
                "a whole number from 1",
                "header_row = 3",
                faults,
            );
            None
        }
    }
}

fn truth(section: &Section<'_>, key: &str, faults: &mut Faults) -> Option<bool> {
    let value = section.value(key)?;
    match value.get_ref() {
        DeValue::Boolean(truth) => Some(*truth),
        _ => {
            section.wrong(
                key,
                value,
                "true or false",
                &format!("{key} = true"),
                faults,
            );
            None
        }
    }
}

/// How headings are made of a column and a season.
fn headings(section: &Section<'_>, faults: &mut Faults) -> Option<Written<HeadingPattern>> {
    let example = "seasons_in_headings = \"{column}_{season}\"";
    let written = section.text("seasons_in_headings", example, faults)?;
    let Some(value) = HeadingPattern::parse(&written.value) else {
        faults.add(
            &written.span,
            Diagnostic::error(
                "headings-pattern",
                format!(
                    "'{}' does not say where a heading has its column and its season",
                    written.value
                ),
            )
            .help(format!(
                "write {{column}} and {{season}} where they stand in the headings, each once: {example} for crop_kg_2021"
            )),
        );
        return None;
    };
    Some(Written {
        value,
        span: written.span,
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

fn fault(message: String) -> Diagnostic {
    Diagnostic::error("data-file", message)
}

/// What was written as a path from the trial folder.
fn relative(file: &str) -> Result<&Path, Diagnostic> {
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
    Ok(relative)
}

/// The absolute path of a file of the folder.
fn path(file: &str, folder: &Path) -> Result<PathBuf, Diagnostic> {
    if file.contains("://") {
        return Err(fault(format!("'{file}' is an address in a network"))
            .help("copy the file into the trial folder; only a file with summary = \"mean\" can be read from an address"));
    }
    let relative = relative(file)?;
    let several = file.contains(['*', '?']) || folder.join(relative).is_dir();
    if several {
        return Err(fault(format!("'{file}' names several files"))
            .help("name each file in a [[data]] of its own, or add summary = \"mean\" if they hold many records of each plot"));
    }
    let ending = relative
        .extension()
        .map(|ending| ending.to_string_lossy().to_lowercase());
    if !ending.is_some_and(|ending| ENDINGS.contains(&ending.as_str())) {
        return Err(fault(format!("'{file}' is not a kind of file that can be read")).help(
            "save it as CSV (from a spreadsheet: save as, CSV UTF-8), .xlsx or .ods and name that file here",
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
