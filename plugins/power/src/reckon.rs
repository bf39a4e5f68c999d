//! The power of every term's test, and the difference it can detect.

use caneplot_numerics::distribution::f_quantile;
use caneplot_numerics::noncentral::noncentral_f_upper;
use caneplot_numerics::power::{Plan, PowerError, TermPower, by_noncentral_f, noncentrality_for};
use caneplot_plugin::Refusal;

use crate::options::Options;
use crate::parts::Parts;
use crate::planned::{Frame, Planned};

/// Powers at which the detectable difference is given.
pub(crate) const TARGETS: [f64; 2] = [0.8, 0.9];

/// What one test can do.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Answer {
    /// The term, or the straight line over a factor's amounts.
    pub name: String,
    /// The error it is tested against.
    pub against: String,
    /// Its place among the terms of the plan; `None` for a straight line.
    pub term: Option<usize>,
    /// With the difference that matters in it.
    pub test: TermPower,
    /// The difference detected at each of [`TARGETS`].
    pub detectable: [f64; 2],
}

/// Tests of all terms with the difference that matters in each, in the order of the layout.
pub(crate) fn of_terms(
    planned: &Planned,
    parts: &Parts,
    vines: f64,
    options: &Options,
) -> Result<Vec<TermPower>, Refusal> {
    let expected: Vec<f64> = planned
        .expected()
        .iter()
        .map(|one| options.difference * one)
        .collect();
    let plan = Plan {
        layout: &planned.design.layout,
        expected: &expected,
        variances: &parts.of_strata(planned, vines),
    };
    by_noncentral_f(plan, options.level).map_err(refused)
}

/// Power as a refusal.
pub(crate) fn refused(error: PowerError) -> Refusal {
    let hint = match &error {
        PowerError::NoVariance(_) => {
            "give the standard deviations of its units; no trial is without error"
        }
        PowerError::NoError(_) => "plan more blocks",
        PowerError::Distribution(_) => {
            "the difference is enormous beside the spread of plots: check the units of both"
        }
        _ => "check the numbers of the plan",
    };
    Refusal::new(error.to_string()).hint(hint)
}

/// The difference that such a test detects with a power: it grows as the root of λ.
pub(crate) fn detectable(test: &TermPower, power: f64, options: &Options) -> Result<f64, Refusal> {
    let (df, error_df) = (test.df as f64, test.error_df as f64);
    let wanted = noncentrality_for(power, df, error_df, options.level).map_err(refused)?;
    Ok(options.difference * (wanted / test.noncentrality).sqrt())
}

/// Every test of the plan, straight lines over amounts behind the main effects they belong to.
pub(crate) fn answers(
    frame: &Frame,
    planned: &Planned,
    options: &Options,
) -> Result<Vec<Answer>, Refusal> {
    let vines = options.vines as f64;
    let tests = of_terms(planned, &options.parts, vines, options)?;
    let layout = &planned.design.layout;
    let mut found = Vec::new();
    let answer = |name: String, stratum: usize, term: Option<usize>, test: TermPower| {
        let [low, high] = TARGETS;
        Ok::<_, Refusal>(Answer {
            name,
            against: layout.strata()[stratum].name.clone(),
            term,
            detectable: [
                detectable(&test, low, options)?,
                detectable(&test, high, options)?,
            ],
            test,
        })
    };
    for (place, term) in planned.terms.iter().enumerate() {
        let stratum = layout.terms()[term.at].stratum;
        let test = tests[term.at];
        found.push(answer(term.name.clone(), stratum, Some(place), test)?);
        let [factor] = term.factors[..] else { continue };
        let values = frame.factors[factor].values.as_ref();
        let (Some(values), false) = (values.filter(|values| values.len() > 2), term.by_season)
        else {
            continue;
        };
        if let Some(line) = straight(values, &test, options)? {
            let name = format!("{}, straight line", frame.factors[factor].label);
            found.push(answer(name, stratum, None, line)?);
        }
    }
    Ok(found)
}

/// The test of a straight line with the difference that matters between its ends, from the test of
/// the term: of its levels two were that far apart, with effects ±½ and a sum of squares of ½.
fn straight(
    values: &[f64],
    term: &TermPower,
    options: &Options,
) -> Result<Option<TermPower>, Refusal> {
    let mean = values.iter().sum::<f64>() / values.len() as f64;
    let low = values.iter().copied().fold(f64::INFINITY, f64::min);
    let high = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if high <= low {
        return Ok(None);
    }
    let squares: f64 = values
        .iter()
        .map(|value| ((value - mean) / (high - low)).powi(2))
        .sum();
    let noncentrality = term.noncentrality * squares / 0.5;
    let error_df = term.error_df as f64;
    let computed = || {
        let critical = f_quantile(options.level, 1.0, error_df)?;
        let power = noncentral_f_upper(critical, 1.0, error_df, noncentrality)?;
        Ok::<_, caneplot_numerics::distribution::DistributionError>((critical, power))
    };
    let (critical, power) = computed().map_err(|error| refused(error.into()))?;
    Ok(Some(TermPower {
        noncentrality,
        df: 1,
        error_df: term.error_df,
        critical,
        power,
    }))
}
