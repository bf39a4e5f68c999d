//! Counts and proportions: bud break, survival, clusters, shoots, by models made for counts.

mod analysis;
mod apparent;
mod compare;
mod effects;
mod estimates;
mod figures;
mod frame;
mod headline;
mod levels;
mod lost;
mod methods;
mod model;
mod notes;
mod options;
mod rates;
mod section;
mod spread;
mod subject;
mod tables;
mod terms;
#[cfg(test)]
mod testing;
#[cfg(test)]
mod tests;
mod trend;
mod units;
mod vines;
mod words;

use caneplot_plugin::{Analysis, Call, Findings, Refusal, export_plugin};

/// The analysis of counts.
struct CountsAnalysis;

impl Analysis for CountsAnalysis {
    const MANIFEST: &'static str = include_str!("manifest.json");

    fn analyse(&self, call: &Call) -> Result<Findings, Refusal> {
        analysis::findings(call)
    }
}

export_plugin!(CountsAnalysis);
