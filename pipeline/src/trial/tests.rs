//! One trial file that is right, and every way it can be made wrong.

use std::fs;
use std::path::Path;

use caneplot_plugin::request::{Canopy, DesignKind, Index, Quantity, Role};
use tempfile::TempDir;

use super::*;
use crate::diagnostic::{Diagnostic, Severity};

mod balanced;
mod mistakes;
mod whole;

/// A trial without a mistake; its lines are counted in the tests of mistakes.
const GOOD: &str = r#"[trial]
title = "Node number, terrace block"
question = "How many nodes should be left per vine?"
seasons = "2021-2023"

[about]
site = "Terrace"
planted = 1998

[vineyard]
row_spacing = "2.4 m"
vine_spacing = "1.5 m"
canopy_per_vine = "1.5 m"
canopy = "single"

[design]
kind = "randomised block"
block = "block"
plot = "plot"
vine = "vine"
season = "season"

[factors.nodes]
levels = [36, 12, 24]
unit = "nodes/vine"
control = 24

[[data]]
file = "harvest.csv"

[[data]]
file = "pruning.csv"
winter = "after harvest"
missing = ["NA", -999]

[status]
column = "state"
dead = ["dead", "kaput"]

[responses.yield]
column = "crop_kg"
unit = "kg/vine"
report_in = "t/ha"
possible = [0, 30]

[responses.pruning_weight]
column = "prunings_kg"
unit = "kg/vine"

[responses.brix]
unit = "Brix"

[responses.broken_buds]
column = "buds_broken"
of = "buds_left"

[ratios]
load = { of = "yield", per = "pruning_weight" }

[analyses]
anova = { separation = "tukey", level = 0.05 }
ratios = {}
"#;

/// A folder with a trial file and the data files it names, empty.
fn folder(text: &str) -> TempDir {
    let folder = TempDir::new().unwrap();
    fs::write(folder.path().join("trial.toml"), text).unwrap();
    for file in ["harvest.csv", "pruning.csv", "notes.pdf"] {
        fs::write(folder.path().join(file), "").unwrap();
    }
    folder
}

fn mistakes_of(text: &str) -> Vec<Diagnostic> {
    let folder = folder(text);
    let faults = read(folder.path()).map(|_| ()).unwrap_err();
    for fault in &faults {
        assert!(
            RULES.iter().any(|(name, _)| *name == fault.rule),
            "{}",
            fault.rule
        );
    }
    faults
}

/// The good trial with one text replaced, which must be there once.
fn with(from: &str, to: &str) -> String {
    assert_eq!(GOOD.matches(from).count(), 1, "{from}");
    GOOD.replace(from, to)
}
