//! Which factor is one of training systems. A name is no proof of it ("system" may be one of weed
//! control), so the rule is what was declared: a factor of names, some of whose levels say what canopy
//! they make. Whoever compares systems of one canopy names the factor in the options.

use caneplot_plugin::Refusal;
use caneplot_plugin::request::{Factor, TrialInfo};

/// The factors of training systems, by their place in the trial.
///
/// # Errors
/// There is none, or the trial has no factor of the name that was given.
pub(crate) fn factors(trial: &TrialInfo, named: Option<&str>) -> Result<Vec<usize>, Refusal> {
    let all = || trial.factors.iter().enumerate();
    if let Some(named) = named {
        let names: Vec<&str> = trial.factors.iter().map(|one| one.name.as_str()).collect();
        let found = all().find(|(_, factor)| factor.name == named);
        return found.map(|(at, _)| vec![at]).ok_or_else(|| {
            Refusal::new(format!("the trial has no factor '{named}'")).hint(format!(
                "write one of {} as the option 'factor' of 'scorecard'",
                names.join(", ")
            ))
        });
    }
    let found: Vec<usize> = all()
        .filter(|(_, factor)| makes_canopies(factor))
        .map(|(at, _)| at)
        .collect();
    match found.is_empty() {
        false => Ok(found),
        true => Err(Refusal::new(
            "no factor of this trial is one of training systems: none of its levels says what canopy it makes",
        )
        .hint("declare canopies under [factors.NAME], or name the factor: scorecard = { factor = \"…\" }")),
    }
}

/// Whether its levels are names, and some of them say what canopy they make.
fn makes_canopies(factor: &Factor) -> bool {
    !factor.is_numeric() && factor.levels.iter().any(|level| level.canopy.is_some())
}
