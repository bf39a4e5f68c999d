//! Trial folders for tests: a trial file, data files, and what comes of them.

use std::fs;

use tempfile::TempDir;

use super::{Loaded, load};
use crate::derive::{Derived, derive};
use crate::diagnostic::{Diagnostic, Severity};
use crate::trial::{Trial, read};

/// A trial of four blocks and three node numbers, its data to be added.
pub const HEAD: &str = r#"[trial]
title = "Nodes"
question = "How many?"
[vineyard]
row_spacing = "2.5 m"
vine_spacing = "1.6 m"
canopy_per_vine = "1.6 m"
"#;

/// Trial file of a randomised block with 12, 24 and 36 nodes and one yield.
pub fn blocks(more_design: &str, rest: &str) -> String {
    format!(
        "{HEAD}[design]\nkind = \"randomised block\"\nblock = \"block\"\nplot = \"plot\"\n{more_design}\n\
         [factors.nodes]\nlevels = [12, 24, 36]\nunit = \"nodes/vine\"\n{rest}"
    )
}

/// The trial over several seasons.
pub fn in_seasons(trial: &str, seasons: &str) -> String {
    trial.replacen(
        "[trial]\n",
        &format!("[trial]\nseasons = \"{seasons}\"\n"),
        1,
    )
}

/// One data file with yields.
pub const HARVEST: &str =
    "[[data]]\nfile = \"harvest.csv\"\n[responses.yield]\ncolumn = \"kg\"\nunit = \"kg/vine\"\n";

/// `block,plot,nodes,kg` for four blocks, plots named uniquely.
pub fn harvest() -> String {
    let mut text = String::from("block,plot,nodes,kg\n");
    for block in 1..=4 {
        for (at, nodes) in [12, 24, 36].iter().enumerate() {
            text.push_str(&format!(
                "B{block},{block}0{},{nodes},{}.{block}\n",
                at + 1,
                at + 3
            ));
        }
    }
    text
}

/// A folder on disk that vanishes with this.
pub struct Bench {
    pub folder: TempDir,
}

impl Bench {
    pub fn new(trial: &str, files: &[(&str, &str)]) -> Self {
        let folder = TempDir::new().unwrap();
        fs::write(folder.path().join("trial.toml"), trial).unwrap();
        for (name, text) in files {
            fs::write(folder.path().join(name), text).unwrap();
        }
        Self { folder }
    }

    pub fn trial(&self) -> Trial {
        read(self.folder.path()).unwrap_or_else(|faults| panic!("{}", shown(&faults)))
    }

    pub fn loaded(&self) -> Loaded {
        load(&self.trial()).unwrap_or_else(|faults| panic!("{}", shown(&faults)))
    }

    /// Errors of loading.
    pub fn load_errors(&self) -> Vec<Diagnostic> {
        load(&self.trial()).map(|_| ()).unwrap_err()
    }

    /// What the rules found.
    pub fn checked(&self) -> Vec<Diagnostic> {
        crate::check::check(&self.trial(), &self.loaded())
    }

    /// The derived tables of data without an error.
    pub fn derived(&self) -> Derived {
        let errors: Vec<Diagnostic> = self
            .checked()
            .into_iter()
            .filter(|one| one.severity == Severity::Error)
            .collect();
        assert!(errors.is_empty(), "{}", shown(&errors));
        derive(&self.trial(), &self.loaded()).unwrap_or_else(|faults| panic!("{}", shown(&faults)))
    }
}

/// Columns of one file, opened for a trial that speaks of none of them.
pub fn frame_of(path: &std::path::Path, wanted: &[usize]) -> polars::prelude::DataFrame {
    let bench = Bench::new(&blocks("", HARVEST), &[("harvest.csv", "")]);
    let mut trial = bench.trial();
    trial.data[0].header_row = Some(crate::trial::Written {
        value: 1,
        span: 0..0,
    });
    let file = super::heads::Wanted {
        trial: &trial,
        data: &trial.data[0],
    };
    let opened = super::csv::opened(fs::read(path).unwrap(), &file).unwrap();
    opened.columns(wanted).unwrap()
}

pub fn shown(faults: &[Diagnostic]) -> String {
    faults.iter().map(ToString::to_string).collect()
}

/// The one diagnostic of a rule.
pub fn only<'a>(found: &'a [Diagnostic], rule: &str) -> &'a Diagnostic {
    let of: Vec<&Diagnostic> = found.iter().filter(|one| one.rule == rule).collect();
    assert_eq!(of.len(), 1, "{rule}:\n{}", shown(found));
    of[0]
}

/// Rules that found something, without the notes.
pub fn grave(found: &[Diagnostic]) -> Vec<&'static str> {
    found
        .iter()
        .filter(|one| one.severity > Severity::Note)
        .map(|one| one.rule)
        .collect()
}
