//! Factors that cannot be told apart.

use std::collections::BTreeMap;

use super::{Facts, PRACTICE, Rule};
use crate::diagnostic::Diagnostic;
use crate::diagnostic::Severity;

/// Two factors of which one follows from the other.
pub const FACTORS_TOGETHER: Rule = Rule {
    name: "factors-together",
    severity: Severity::Warning,
    source: PRACTICE,
    summary: "two factors of which the level of one always says the level of the other",
    look: factors_together,
};

fn factors_together(facts: &Facts) -> Vec<Diagnostic> {
    let plots = facts.loaded.index.plots.iter();
    let treatments: Vec<Vec<u32>> = plots.filter_map(|plot| plot.treatment()).collect();
    let varies = |factor: usize| {
        let mut levels = treatments.iter().map(|levels| levels[factor]);
        let first = levels.next();
        levels.any(|level| Some(level) != first)
    };
    let factors = &facts.trial.factors;
    let mut found = Vec::new();
    for second in (0..factors.len()).filter(|&factor| varies(factor)) {
        for first in (0..second).filter(|&factor| varies(factor)) {
            let (forth, back) = (
                follows(&treatments, second, first),
                follows(&treatments, first, second),
            );
            if !forth && !back {
                continue;
            }
            let (leader, follower) = if forth {
                (&factors[first], &factors[second])
            } else {
                (&factors[second], &factors[first])
            };
            let how = if forth && back {
                "every level of one has one level of the other only".to_owned()
            } else {
                format!(
                    "every level of '{}' has one level of '{}' only",
                    leader.name, follower.name
                )
            };
            found.push(
                Diagnostic::warning(
                    FACTORS_TOGETHER.name,
                    format!(
                        "'{}' and '{}' always go together: {how}, so that what one did cannot be told from what the other did",
                        factors[first].name, factors[second].name
                    ),
                )
                .at(facts.trial.place(&factors[second].span))
                .help("check the levels in the data; if the trial was planted so, declare one factor that names the combinations"),
            );
        }
    }
    found
}

/// Whether plots that share a level of `from` share one of `factor`.
fn follows(treatments: &[Vec<u32>], factor: usize, from: usize) -> bool {
    let mut known = BTreeMap::new();
    treatments.iter().all(|levels| {
        known
            .insert(levels[from], levels[factor])
            .is_none_or(|before| before == levels[factor])
    })
}
