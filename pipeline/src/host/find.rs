//! Where plugins are looked for: fixed folders, absolute paths, no recursion, first hit wins.
//!
//! Never the current folder, the trial's folder or `PATH`: a trial that was downloaded must not be
//! able to bring code along.

use std::collections::BTreeMap;
use std::ffi::OsStr;
use std::path::{Path, PathBuf};

use caneplot_plugin::manifest_check::is_name;

/// How a plugin came to be found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Origin {
    /// In a folder named by `--plugin-dir`.
    Named,
    /// Beside the program: part of it.
    Shipped,
    /// In the folder of plugins of this user.
    User,
}

impl Origin {
    /// In words, for listings.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Origin::Named => "from a folder named on the command line",
            Origin::Shipped => "beside the program",
            Origin::User => "from the user's folder of plugins",
        }
    }
}

/// A file that by its name and place is a plugin.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Candidate {
    /// Name of the plugin.
    pub name: String,
    /// Its file, absolute and without links.
    pub path: PathBuf,
    /// How it was found.
    pub origin: Origin,
}

/// The folder with this user's plugins and the record of what was trusted.
///
/// `CANEPLOT_DATA_DIR` overrides the platform's usual place; `None` where there is no home.
#[must_use]
pub fn data_folder() -> Option<PathBuf> {
    let variable = |name: &str| {
        std::env::var_os(name)
            .map(PathBuf::from)
            .filter(|path| path.is_absolute())
    };
    if let Some(folder) = variable("CANEPLOT_DATA_DIR") {
        return Some(folder);
    }
    let base = if cfg!(windows) {
        variable("LOCALAPPDATA")
    } else if cfg!(target_os = "macos") {
        variable("HOME").map(|home| home.join("Library/Application Support"))
    } else {
        variable("XDG_DATA_HOME").or_else(|| variable("HOME").map(|home| home.join(".local/share")))
    };
    base.map(|base| base.join("caneplot"))
}

/// This program's own file, without links.
///
/// # Errors
/// The system's, where it cannot tell.
pub fn own_file() -> std::io::Result<PathBuf> {
    std::env::current_exe()?.canonicalize()
}

/// The folders that are searched, in order: those named, those of the program, the user's.
#[must_use]
pub fn folders(named: &[PathBuf], program: &Path) -> Vec<(PathBuf, Origin)> {
    let mut wanted: Vec<(PathBuf, Origin)> = named
        .iter()
        .map(|folder| (folder.clone(), Origin::Named))
        .collect();
    if let Some(beside) = program.parent() {
        wanted.push((beside.to_owned(), Origin::Shipped));
        wanted.push((beside.join("../lib/caneplot/plugins"), Origin::Shipped));
    }
    if let Some(data) = data_folder() {
        wanted.push((data.join("plugins"), Origin::User));
    }
    let mut found: Vec<(PathBuf, Origin)> = Vec::new();
    for (folder, origin) in wanted {
        if let Ok(folder) = folder.canonicalize()
            && folder.is_dir()
            && !found.iter().any(|(known, _)| *known == folder)
        {
            found.push((folder, origin));
        }
    }
    found
}

/// The candidates in those folders by name; of two with one name the first.
#[must_use]
pub fn candidates(folders: &[(PathBuf, Origin)]) -> BTreeMap<String, Candidate> {
    let mut found = BTreeMap::new();
    for (folder, origin) in folders {
        let Ok(entries) = std::fs::read_dir(folder) else {
            continue;
        };
        for entry in entries.flatten() {
            let Some(name) = plugin_name(&entry.file_name()) else {
                continue;
            };
            let Ok(path) = entry.path().canonicalize() else {
                continue;
            };
            if path.is_file() {
                found.entry(name.clone()).or_insert(Candidate {
                    name,
                    path,
                    origin: *origin,
                });
            }
        }
    }
    found
}

/// The plugin's name of a file such as `libanova.so`, on each system in its own way of writing.
#[must_use]
pub fn plugin_name(file: &OsStr) -> Option<String> {
    let name = file
        .to_str()?
        .strip_prefix(std::env::consts::DLL_PREFIX)?
        .strip_suffix(std::env::consts::DLL_SUFFIX)?;
    (is_name(name) && libloading::library_filename(name) == *file).then(|| name.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_plain_names_are_plugins() {
        let name = |name: &str| plugin_name(&libloading::library_filename(name));
        assert_eq!(name("anova").as_deref(), Some("anova"));
        assert_eq!(name("two_words2").as_deref(), Some("two_words2"));
        assert_eq!(name("Anova"), None);
        assert_eq!(name("2nd"), None);
        assert_eq!(name("an-ova"), None);
        assert_eq!(name(""), None);
        assert_eq!(plugin_name(OsStr::new("anova.txt")), None);
    }
}
