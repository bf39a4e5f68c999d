//! The trial folder of a layout: everything the trial needs until its records come in.
//!
//! It is written to a hidden sibling and then takes its name in one step; a folder that is there
//! already is never touched.

use std::fs;
use std::io;
use std::path::Path;

use super::{Layout, records};
use crate::diagnostic::{Diagnostic, Place};

mod guide;
mod labels;
mod map;
mod record;
mod sheets;
mod trial_file;
pub(crate) mod workbook;
pub(crate) mod xml;

/// The files of a layout's folder, by their path in it.
///
/// # Errors
/// What a drawing or a workbook could not hold.
pub fn files(layout: &Layout) -> Result<Vec<(String, Vec<u8>)>, String> {
    let sheets = records::sheets(&layout.plan);
    let mut files = vec![
        ("plan.toml".to_owned(), record::text(layout).into_bytes()),
        (
            "trial.toml".to_owned(),
            trial_file::text(layout, &sheets).into_bytes(),
        ),
        (
            "layout.csv".to_owned(),
            sheets::layout_csv(layout).into_bytes(),
        ),
        (
            "README.md".to_owned(),
            guide::text(layout, &sheets).into_bytes(),
        ),
    ];
    for sheet in &sheets {
        let csv = sheets::csv(layout, sheet);
        files.push((sheet.file.clone(), csv.into_bytes()));
    }
    for (name, workbook) in workbook::workbooks(layout, &sheets)? {
        files.push((format!("sheets/{name}.xlsx"), workbook));
    }
    let map = map::drawing(layout)?;
    files.push(("field-map.svg".to_owned(), map.svg.into_bytes()));
    files.push(("field-map.png".to_owned(), map.png));
    files.push(("field-map.pdf".to_owned(), map.pdf));
    files.push(("labels.pdf".to_owned(), labels::pdf(layout)?));
    Ok(files)
}

/// Writes the folder of a layout.
///
/// # Errors
/// Something has the folder's name already, a file cannot be made or the system refuses.
pub fn write(layout: &Layout, place: &Path) -> Result<(), Diagnostic> {
    let whole = || Place::whole(place);
    if place.symlink_metadata().is_ok() {
        return Err(
            Diagnostic::error("plan-folder", "there is something of that name already, and a plan never replaces anything")
                .at(whole())
                .help("choose another --out: a layout that is in use must not be drawn again, and records in the folder would be lost"),
        );
    }
    let fault = |error: String| {
        Diagnostic::error(
            "plan-folder",
            format!("the trial folder cannot be written: {error}"),
        )
        .at(whole())
        .help("look at the permissions and the space of the folder's place")
    };
    let files = files(layout).map_err(fault)?;
    put(&files, place).map_err(|error| fault(error.to_string()))
}

/// Files into a new folder that appears whole or not at all.
///
/// # Errors
/// The system refuses.
pub(crate) fn put(files: &[(String, Vec<u8>)], place: &Path) -> io::Result<()> {
    let parent = place
        .parent()
        .filter(|parent| !parent.as_os_str().is_empty())
        .unwrap_or(Path::new("."));
    fs::create_dir_all(parent)?;
    let part = tempfile::Builder::new()
        .prefix(".plan-")
        .tempdir_in(parent)?;
    for (name, bytes) in files {
        let path = part.path().join(name);
        if let Some(folder) = path.parent() {
            fs::create_dir_all(folder)?;
        }
        fs::write(path, bytes)?;
    }
    readable(part.path())?;
    // A folder cannot take the name of one with files in it, should one have appeared meanwhile.
    fs::rename(part.path(), place)?;
    // Nothing of that name is left to be removed.
    let _ = part.keep();
    Ok(())
}

/// Temporary folders are their owner's alone; a trial folder is like any other.
#[cfg(unix)]
fn readable(folder: &Path) -> io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    fs::set_permissions(folder, fs::Permissions::from_mode(0o755))
}

#[cfg(not(unix))]
fn readable(_: &Path) -> io::Result<()> {
    Ok(())
}
