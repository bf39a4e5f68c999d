//! A report folder appears whole or not at all.
//!
//! Everything is written to a hidden sibling; then the sibling takes the report's name in one
//! step. A kill at any moment leaves the old report or the new one, never half of either.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use super::manifest::FileRecord;
use crate::hash::sha256;

/// File that marks a folder as a report of this program.
pub const MANIFEST: &str = "manifest.json";

/// Why a report could not be put in its place.
#[derive(Debug, thiserror::Error)]
pub enum FolderError {
    /// Occurs when something that is not a report has the report's name.
    #[error(
        "{0} is there already and is not a report of this program (it has no manifest.json); \
         nothing was replaced. Choose another place with --out, or move it away"
    )]
    NotAReport(PathBuf),
    /// Occurs when the system refuses a file operation.
    #[error("cannot {action} {path}: {error}")]
    Io {
        /// What was tried.
        action: &'static str,
        /// On what.
        path: PathBuf,
        /// What the system said.
        error: io::Error,
    },
}

fn io_error(action: &'static str, path: &Path) -> impl FnOnce(io::Error) -> FolderError {
    let path = path.to_owned();
    move |error| FolderError::Io {
        action,
        path,
        error,
    }
}

/// A report being written.
#[derive(Debug)]
pub struct Draft {
    place: PathBuf,
    part: PathBuf,
    files: Vec<FileRecord>,
}

impl Draft {
    /// Begins a report that will stand at `place`; leftovers of killed runs are removed.
    ///
    /// # Errors
    /// [`FolderError`] where `place` holds something else or cannot be written to.
    pub fn begin(place: &Path) -> Result<Self, FolderError> {
        if place.exists() && !place.join(MANIFEST).is_file() {
            return Err(FolderError::NotAReport(place.to_owned()));
        }
        let parent = place
            .parent()
            .filter(|p| !p.as_os_str().is_empty())
            .unwrap_or(Path::new("."));
        fs::create_dir_all(parent).map_err(io_error("make the folder", parent))?;
        let name = place
            .file_name()
            .unwrap_or_default()
            .to_string_lossy()
            .into_owned();
        remove_leftovers(parent, &name);
        let part = parent.join(format!(".{name}.part-{}", std::process::id()));
        fs::create_dir(&part).map_err(io_error("make the folder", &part))?;
        Ok(Self {
            place: place.to_owned(),
            part,
            files: Vec::new(),
        })
    }

    /// Writes one file, its path relative to the report with `/` between folders.
    ///
    /// # Errors
    /// [`FolderError::Io`] where the system refuses.
    pub fn write(&mut self, relative: &str, bytes: &[u8]) -> Result<(), FolderError> {
        let path = self.part.join(relative);
        if let Some(folder) = path.parent() {
            fs::create_dir_all(folder).map_err(io_error("make the folder", folder))?;
        }
        fs::write(&path, bytes).map_err(io_error("write", &path))?;
        self.files.push(FileRecord {
            path: relative.to_owned(),
            sha256: sha256(bytes),
            bytes: bytes.len() as u64,
        });
        Ok(())
    }

    /// Every file written so far, in the order of their paths.
    #[must_use]
    pub fn files(&self) -> Vec<FileRecord> {
        let mut files = self.files.clone();
        files.sort_by(|a, b| a.path.cmp(&b.path));
        files
    }

    /// Gives the report its name, replacing the one that had it.
    ///
    /// # Errors
    /// [`FolderError::Io`] where the system refuses; the old report then still stands.
    pub fn finish(mut self) -> Result<(), FolderError> {
        if self.place.exists() {
            exchange(&self.part, &self.place).map_err(io_error("replace", &self.place))?;
        } else {
            fs::rename(&self.part, &self.place).map_err(io_error("name", &self.place))?;
            self.part = PathBuf::new();
        }
        Ok(())
    }
}

/// Writes a file that stands by itself, whole or not at all.
///
/// # Errors
/// [`FolderError::Io`] where the system refuses; an earlier file then still stands.
pub fn write_whole(place: &Path, bytes: &[u8]) -> Result<(), FolderError> {
    let name = place.file_name().unwrap_or_default().to_string_lossy();
    let part = place.with_file_name(format!(".{name}.part-{}", std::process::id()));
    if let Some(parent) = place.parent().filter(|p| !p.as_os_str().is_empty()) {
        fs::create_dir_all(parent).map_err(io_error("make the folder", parent))?;
    }
    fs::write(&part, bytes).map_err(io_error("write", &part))?;
    let named = fs::rename(&part, place).map_err(io_error("name", place));
    if named.is_err() {
        let _ = fs::remove_file(&part);
    }
    named
}

/// Whatever has the hidden name at the end is not wanted: an unfinished draft, or the old report.
impl Drop for Draft {
    fn drop(&mut self) {
        if !self.part.as_os_str().is_empty() {
            let _ = fs::remove_dir_all(&self.part);
        }
    }
}

/// Swaps two folders in one step.
#[cfg(target_os = "linux")]
fn exchange(new: &Path, old: &Path) -> io::Result<()> {
    use rustix::fs::{CWD, RenameFlags, renameat_with};
    match renameat_with(CWD, new, CWD, old, RenameFlags::EXCHANGE) {
        Ok(()) => Ok(()),
        // File systems without the exchange (some network ones).
        Err(rustix::io::Errno::INVAL | rustix::io::Errno::NOSYS) => two_renames(new, old),
        Err(error) => Err(error.into()),
    }
}

#[cfg(not(target_os = "linux"))]
fn exchange(new: &Path, old: &Path) -> io::Result<()> {
    two_renames(new, old)
}

/// Two steps where one is not to be had; if the second fails the first is undone.
fn two_renames(new: &Path, old: &Path) -> io::Result<()> {
    let aside = new.with_extension("old");
    fs::rename(old, &aside)?;
    if let Err(error) = fs::rename(new, old) {
        fs::rename(&aside, old)?;
        return Err(error);
    }
    fs::rename(&aside, new)
}

/// Removes drafts of processes that are gone.
fn remove_leftovers(parent: &Path, name: &str) {
    let prefix = format!(".{name}.part-");
    let Ok(entries) = fs::read_dir(parent) else {
        return;
    };
    for entry in entries.flatten() {
        let file = entry.file_name().to_string_lossy().into_owned();
        let Some(process) = file.strip_prefix(&prefix) else {
            continue;
        };
        let alive = Path::new("/proc").is_dir() && Path::new("/proc").join(process).exists();
        if !alive && process.chars().all(|c| c.is_ascii_digit()) {
            let _ = fs::remove_dir_all(entry.path());
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn draft(place: &Path, text: &str) -> Draft {
        let mut draft = Draft::begin(place).unwrap();
        draft.write("a/b.txt", text.as_bytes()).unwrap();
        draft.write(MANIFEST, b"{}").unwrap();
        draft
    }

    #[test]
    fn an_unfinished_report_leaves_the_old_one_whole() {
        let folder = tempfile::tempdir().unwrap();
        let place = folder.path().join("trial");
        draft(&place, "old").finish().unwrap();
        drop(draft(&place, "new"));
        assert_eq!(fs::read_to_string(place.join("a/b.txt")).unwrap(), "old");
        draft(&place, "new").finish().unwrap();
        assert_eq!(fs::read_to_string(place.join("a/b.txt")).unwrap(), "new");
        assert_eq!(
            fs::read_dir(folder.path()).unwrap().count(),
            1,
            "no leftovers"
        );
    }

    #[test]
    fn the_fallback_replaces_too() {
        let folder = tempfile::tempdir().unwrap();
        let (new, old) = (folder.path().join("new.part-1"), folder.path().join("old"));
        fs::create_dir(&new).unwrap();
        fs::create_dir(&old).unwrap();
        fs::write(new.join("x"), "new").unwrap();
        fs::write(old.join("x"), "old").unwrap();
        two_renames(&new, &old).unwrap();
        assert_eq!(fs::read_to_string(old.join("x")).unwrap(), "new");
        assert_eq!(fs::read_to_string(new.join("x")).unwrap(), "old");
    }

    #[test]
    fn a_folder_that_is_not_a_report_is_never_replaced() {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("thesis.txt"), "years of work").unwrap();
        assert!(matches!(
            Draft::begin(folder.path()),
            Err(FolderError::NotAReport(_))
        ));
    }
}
