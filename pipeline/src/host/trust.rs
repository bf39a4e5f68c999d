//! What may be loaded: what is shipped with the program, and what this user has trusted by its hash.
//!
//! The record is a text file of lines `hash  name`, one a plugin, which `sha256sum` can check. The
//! hash alone decides: where the file lies does not matter.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};

use sha2::{Digest, Sha256};

use super::error::PluginError;
use super::find::{Candidate, Origin};

const RECORD: &str = "trusted-plugins.txt";

/// SHA-256 of some bytes in lower-case hexadecimal.
#[must_use]
pub fn sha256(bytes: &[u8]) -> String {
    Sha256::digest(bytes)
        .iter()
        .fold(String::with_capacity(64), |mut text, byte| {
            // Writing into a String cannot fail.
            let _ = write!(text, "{byte:02x}");
            text
        })
}

/// The plugins this user has trusted.
#[derive(Debug, Default)]
pub struct Trusted {
    hashes: BTreeMap<String, String>,
}

impl Trusted {
    /// Reads the record in a data folder; an absent one is empty.
    ///
    /// # Errors
    /// A sentence where it is there and cannot be used.
    pub fn read(data_folder: &Path) -> Result<Self, String> {
        let path = data_folder.join(RECORD);
        let text = match std::fs::read_to_string(&path) {
            Ok(text) => text,
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => {
                return Ok(Self::default());
            }
            Err(error) => {
                return Err(format!(
                    "the record of trusted plugins {} cannot be read: {error}",
                    path.display()
                ));
            }
        };
        if let Some(open) = [path.as_path(), data_folder]
            .into_iter()
            .find(|path| world_writable(path))
        {
            return Err(format!(
                "the record of trusted plugins is not used because everyone on this machine can write {0}: run `chmod o-w {0}`",
                open.display()
            ));
        }
        let mut hashes = BTreeMap::new();
        for (index, line) in text.lines().enumerate() {
            if line.is_empty() || line.starts_with('#') {
                continue;
            }
            let Some((hash, name)) = line.split_once("  ") else {
                return Err(format!(
                    "line {} of {} is not a hash, two spaces and a name: correct or remove it",
                    index + 1,
                    path.display()
                ));
            };
            hashes.insert(name.to_owned(), hash.to_owned());
        }
        Ok(Self { hashes })
    }

    /// One plugin, as if recorded.
    #[must_use]
    pub fn of(name: &str, hash: &str) -> Self {
        Self {
            hashes: BTreeMap::from([(name.to_owned(), hash.to_owned())]),
        }
    }

    /// Records a plugin, in place of an earlier file of that name.
    ///
    /// # Errors
    /// A sentence where the record cannot be written.
    pub fn record(mut self, data_folder: &Path, name: &str, hash: &str) -> Result<(), String> {
        self.hashes.insert(name.to_owned(), hash.to_owned());
        let mut text =
            String::from("# Plugins trusted with `caneplot plugins trust`: SHA-256, name\n");
        for (name, hash) in &self.hashes {
            let _ = writeln!(text, "{hash}  {name}");
        }
        let path = data_folder.join(RECORD);
        let part = path.with_extension("part");
        std::fs::create_dir_all(data_folder)
            .and_then(|()| std::fs::write(&part, text))
            .and_then(|()| std::fs::rename(&part, &path))
            .map_err(|error| {
                format!(
                    "the record of trusted plugins {} cannot be written: {error}",
                    path.display()
                )
            })
    }

    /// The SHA-256 of a candidate that may be loaded.
    ///
    /// # Errors
    /// Why it may not.
    pub fn admitted(&self, candidate: &Candidate, bytes: &[u8]) -> Result<String, PluginError> {
        let plugin = candidate.name.clone();
        let path = candidate.path.clone();
        let hash = sha256(bytes);
        // Whoever can replace what is beside the program can replace the program.
        if candidate.origin == Origin::Shipped {
            return Ok(hash);
        }
        check_not_world_writable(candidate)?;
        match self.hashes.get(&candidate.name) {
            Some(known) if *known == hash => Ok(hash),
            Some(_) => Err(PluginError::Changed { plugin, path }),
            None => Err(PluginError::NotTrusted { plugin, path }),
        }
    }
}

/// Refuses a file that everyone may write, or that lies in a folder that everyone may write.
///
/// # Errors
/// [`PluginError::WorldWritable`].
pub fn check_not_world_writable(candidate: &Candidate) -> Result<(), PluginError> {
    let folder = candidate.path.parent().map(Path::to_path_buf);
    match std::iter::once(candidate.path.clone())
        .chain(folder)
        .find(|path| world_writable(path))
    {
        Some(path) => Err(PluginError::WorldWritable {
            plugin: candidate.name.clone(),
            path,
        }),
        None => Ok(()),
    }
}

#[cfg(unix)]
fn world_writable(path: &Path) -> bool {
    use std::os::unix::fs::PermissionsExt;
    std::fs::metadata(path).is_ok_and(|metadata| metadata.permissions().mode() & 0o002 != 0)
}

#[cfg(not(unix))]
fn world_writable(_path: &Path) -> bool {
    false
}

/// Where the record is, for messages.
#[must_use]
pub fn record_path(data_folder: &Path) -> PathBuf {
    data_folder.join(RECORD)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// "abc", from FIPS 180-2, appendix B.1.
    #[test]
    fn hashes_as_the_standard_says() {
        assert_eq!(
            sha256(b"abc"),
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
        );
    }

    #[test]
    fn a_record_is_read_back_and_replaced_by_name() {
        let folder = tempfile::tempdir().unwrap();
        let read = || Trusted::read(folder.path()).unwrap();
        assert!(read().hashes.is_empty());
        read().record(folder.path(), "one", "aa").unwrap();
        read().record(folder.path(), "two", "bb").unwrap();
        read().record(folder.path(), "one", "cc").unwrap();
        assert_eq!(read().hashes["one"], "cc");
        assert_eq!(read().hashes["two"], "bb");
    }
}
