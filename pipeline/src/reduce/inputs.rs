//! The files of a summary: their sizes when they were read, and their hashes when a report is written.

use std::fs::File;
use std::io::{self, Read};
use std::path::PathBuf;
use std::time::SystemTime;

use sha2::{Digest, Sha256};

use crate::diagnostic::Diagnostic;
use crate::load::csv::cell;
use crate::parallel;
use crate::trial::SourceFile;
use crate::write::manifest::FileRecord;

/// A file as it was found.
#[derive(Debug, Clone)]
pub struct Input {
    /// From the trial folder, `/` between folders.
    pub name: String,
    /// Size in bytes.
    pub bytes: u64,
    path: PathBuf,
    modified: Option<SystemTime>,
}

impl Input {
    /// A file as it is now.
    ///
    /// # Errors
    /// The system's.
    pub(super) fn of(source: &SourceFile) -> io::Result<Self> {
        let about = std::fs::metadata(&source.path)?;
        Ok(Self {
            name: source.name.clone(),
            bytes: about.len(),
            path: source.path.clone(),
            modified: about.modified().ok(),
        })
    }

    /// Whether the file is as it was found.
    fn is_unchanged(&self) -> io::Result<bool> {
        let about = std::fs::metadata(&self.path)?;
        Ok(about.len() == self.bytes && about.modified().ok() == self.modified)
    }

    fn sha256(&self) -> io::Result<String> {
        let mut file = File::open(&self.path)?;
        let mut digest = Sha256::new();
        let mut piece = vec![0; 1 << 20];
        loop {
            let read = file.read(&mut piece)?;
            if read == 0 {
                break;
            }
            digest.update(&piece[..read]);
        }
        Ok(digest
            .finalize()
            .iter()
            .map(|byte| format!("{byte:02x}"))
            .collect())
    }
}

/// The files with the hashes of their whole contents, for the record of a run.
///
/// # Errors
/// A file that is gone, or was changed after its records were read.
pub fn records(inputs: &[Input], threads: usize) -> Result<Vec<FileRecord>, Vec<Diagnostic>> {
    let hashed = parallel::map(inputs, threads, |_, input| {
        let sha256 = input.sha256()?;
        Ok((sha256, input.is_unchanged()?))
    });
    let (mut records, mut faults) = (Vec::new(), Vec::new());
    for (input, hashed) in inputs.iter().zip(hashed) {
        let fault = match hashed {
            Ok((sha256, true)) => {
                records.push(FileRecord {
                    path: input.name.clone(),
                    sha256,
                    bytes: input.bytes,
                });
                continue;
            }
            Ok((_, false)) => format!("{} was changed while the trial was computed", input.name),
            Err(error) => {
                let error: io::Error = error;
                format!("{} cannot be read any more: {error}", input.name)
            }
        };
        faults.push(
            Diagnostic::error("unreadable-file", fault)
                .at(cell(&input.name, None, None))
                .help("run the program again when nothing writes to the file"),
        );
    }
    if faults.is_empty() {
        Ok(records)
    } else {
        Err(faults)
    }
}
