//! What a plugin says about itself before it runs.

use serde::{Deserialize, Serialize};
use serde_json::Value as Json;

/// The manifest: static JSON in the plugin's table.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Manifest {
    /// Name, `[a-z][a-z0-9_]*`: the file is `lib<name>.so` (or the platform's like).
    pub name: String,
    /// Version of the plugin.
    pub version: String,
    /// One line: what question it answers.
    pub purpose: String,
    /// Options a trial file may set.
    #[serde(default)]
    pub options: Vec<OptionSpec>,
    /// What the trial must have, checked before anything runs.
    #[serde(default)]
    pub needs: Needs,
    /// Which trials get it where the trial file names no analyses: those that meet its needs, unless
    /// it says more here.
    #[serde(default)]
    pub suits: Suits,
    /// Whether it reads the table `vines`, which is not handed over otherwise. One that needs vines
    /// does in any case.
    #[serde(default = "yes")]
    pub uses_vines: bool,
    /// Whether it reckons on what other analyses found: it then runs after them and finds their
    /// results for programs in [`crate::request::TrialInfo::estimates`].
    #[serde(default)]
    pub uses_estimates: bool,
    /// Where what it found stands in a report.
    #[serde(default)]
    pub place: Place,
    /// What comes out, in words: "ANOVA table", "means".
    #[serde(default)]
    pub gives: Vec<String>,
    /// Works it rests on.
    #[serde(default)]
    pub citations: Vec<String>,
}

/// One option.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OptionSpec {
    /// Name in the trial file.
    pub name: String,
    /// What it does, one line.
    pub help: String,
    /// Its kind and range.
    #[serde(flatten)]
    pub kind: OptionKind,
    /// Used where the trial file says nothing; `null` means "left out".
    pub default: Json,
}

/// Kind and range of an option.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "type", rename_all = "lowercase")]
pub enum OptionKind {
    /// A number.
    Number {
        /// Smallest.
        #[serde(default)]
        min: Option<f64>,
        /// Largest.
        #[serde(default)]
        max: Option<f64>,
    },
    /// A whole number.
    Integer {
        /// Smallest.
        #[serde(default)]
        min: Option<i64>,
        /// Largest.
        #[serde(default)]
        max: Option<i64>,
    },
    /// true or false.
    Boolean,
    /// One of some words.
    Choice {
        /// The words.
        of: Vec<String>,
    },
    /// Any text.
    Text,
    /// A list of names of responses of the trial.
    Responses,
}

fn yes() -> bool {
    true
}

/// Which trials an analysis is chosen for where the trial file names none, beside what it needs.
/// Whoever names it gets it whatever stands here.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Suits {
    /// None: it is run only where it is asked for.
    pub on_request: bool,
    /// Trials in which every plot has its values, treatments are balanced over the blocks and no
    /// covariate is declared.
    pub complete: bool,
    /// The others: trials in which values or plots are missing, treatments are not balanced or a covariate is
    /// declared.
    pub incomplete: bool,
    /// Trials with a count out of a count, or with clusters or shoots counted on vines.
    pub counted: bool,
    /// Trials with a crop and at least one of its parts: nodes, shoots, clusters, berries.
    pub yield_parts: bool,
    /// Trials whose treatments say how many nodes to leave on a vine, and that record the nodes left.
    pub nodes_meant: bool,
    /// Trials with a factor of training systems: one of names, some of whose levels say what canopy
    /// they make.
    pub systems: bool,
}

/// Where an analysis stands in a report that many analyses share.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Place {
    /// Chapters come in rising order of this number, those of one number as the trial names them.
    pub chapter: u8,
    /// Where several analyses have a main result on one response, the summary takes that of the one
    /// with the lowest number; main results of an analysis without a number all stand there.
    pub voice: Option<u8>,
}

impl Default for Place {
    fn default() -> Self {
        Self {
            chapter: 90,
            voice: None,
        }
    }
}

/// What the trial must have.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Needs {
    /// At least one response.
    pub response: bool,
    /// At least one ratio.
    pub ratio: bool,
    /// At least one numeric factor.
    pub numeric_factor: bool,
    /// Records of single vines.
    pub vines: bool,
    /// A count out of a count.
    pub counts: bool,
    /// Several seasons on the same plots.
    pub seasons: bool,
    /// Places of plots in the field.
    pub field: bool,
    /// Prices and costs (prices.toml).
    pub prices: bool,
}
