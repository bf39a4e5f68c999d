//! The options of trial.toml for this analysis.

use serde::Deserialize;

/// The options, complete.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Options {
    /// Share of the nodes meant by which a vine may miss them.
    pub tolerance: f64,
}

impl Options {
    /// Nodes by which a vine may miss its number: a pruner leaves whole nodes, so one at least.
    pub fn allowed(&self, meant: f64) -> f64 {
        (self.tolerance * meant).max(1.0)
    }

    /// Whether so many nodes are as good as those meant; the last digits of centred numbers do not
    /// decide it.
    pub fn within(&self, left: f64, meant: f64) -> bool {
        (left - meant).abs() <= self.allowed(meant) + 1e-9
    }
}
