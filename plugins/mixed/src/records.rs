//! Records of plots: which have a value, which blocks stand alone, which seasons are how far apart.

use std::collections::{BTreeMap, BTreeSet};

use caneplot_numerics::strata::Classifier;
use caneplot_plugin::findings::{Format, Rank, Statement};
use caneplot_plugin::request::Response;
use caneplot_plugin::words::{list, safe};
use caneplot_plugin::{Refusal, Table};

use crate::covariates;
use crate::study::Given;

/// Plots named in one sentence.
const NAMED: usize = 6;

/// Rows of the table with a value of the response, those before the treatments left out, and whether
/// any are missing in the seasons it was recorded in.
pub(crate) fn recorded(
    data: &Table,
    given: &Given<'_>,
    response: &Response,
    notes: &mut Vec<Statement>,
) -> Result<(Vec<usize>, bool), Refusal> {
    let keys = &given.keys;
    let column = data.numbers(&response.name)?;
    let seasons = match given.call.request.trial.design.season {
        true => Some(data.texts("season")?),
        false => None,
    };
    let baseline = covariates::baseline_season(&given.options);
    let after = |row: &usize| match (baseline, seasons) {
        (Some(baseline), Some(texts)) => texts[*row].as_deref() != Some(baseline),
        _ => true,
    };
    if let Some(season) = baseline {
        notes.push(
            Statement::new(format!(
                "Season {} came before the treatments: it gives the covariates and is left out of the analysis.",
                safe(season)
            ))
            .rank(Rank::Detail),
        );
    }
    let (recorded, mut missing): (Vec<usize>, Vec<usize>) = (0..data.rows)
        .filter(after)
        .partition(|&row| column[row].is_some());
    if recorded.is_empty() {
        return Err(
            Refusal::new(format!("'{}' has no value at all", response.label))
                .column(&response.name),
        );
    }
    if let Some(texts) = seasons {
        let met: BTreeSet<&str> = recorded
            .iter()
            .filter_map(|&r| texts[r].as_deref())
            .collect();
        let never: Vec<String> = given
            .call
            .request
            .trial
            .seasons
            .iter()
            .filter(|season| !met.contains(season.as_str()) && Some(season.as_str()) != baseline)
            .map(|season| safe(season))
            .collect();
        if !never.is_empty() {
            notes.push(
                Statement::new(format!("Not recorded in {}.", list(&never))).rank(Rank::Detail),
            );
        }
        missing.retain(|&row| {
            texts[row]
                .as_deref()
                .is_some_and(|season| met.contains(season))
        });
    }
    if !missing.is_empty() {
        let mut of_plot: BTreeMap<&str, Vec<String>> = BTreeMap::new();
        for &row in &missing {
            let season = seasons
                .and_then(|seasons| seasons[row].as_deref())
                .map(safe);
            of_plot.entry(&keys[row]).or_default().extend(season);
        }
        let names: Vec<String> = of_plot
            .iter()
            .map(|(plot, seasons)| match seasons.as_slice() {
                [] => safe(plot),
                seasons => format!("{} in {}", safe(plot), list(seasons)),
            })
            .collect();
        notes.push(
            Statement::new(format!(
                "{{missing}} of {{all}} plot records have no value ({}). The analysis rests on the others and is right as long as a value is missing for a reason that has nothing to do with what it would have been.",
                names_of(&names)
            ))
            .with("missing", missing.len() as f64, Format::Count)
            .with("all", (missing.len() + recorded.len()) as f64, Format::Count)
            .rank(Rank::Detail),
        );
    }
    Ok((recorded, !missing.is_empty()))
}

/// Plots with their seasons, the first few of many.
fn names_of(names: &[String]) -> String {
    let more = match names.len() > NAMED {
        true => format!("; and {} more", names.len() - NAMED),
        false => String::new(),
    };
    let shown: Vec<&str> = names.iter().take(NAMED).map(String::as_str).collect();
    format!("{}{more}", shown.join("; "))
}

/// Names blocks with a single plot: nothing is compared inside them.
pub(crate) fn lonely_blocks(block: &Classifier, plots: &[usize], notes: &mut Vec<Statement>) {
    let mut of_block: BTreeMap<usize, BTreeSet<usize>> = BTreeMap::new();
    for (&block, &plot) in block.codes.iter().zip(plots) {
        of_block.entry(block).or_default().insert(plot);
    }
    let names: Vec<String> = of_block
        .iter()
        .filter(|(_, plots)| plots.len() == 1)
        .map(|(&at, _)| safe(&block.levels[at]))
        .collect();
    if !names.is_empty() && of_block.len() > 1 {
        notes.push(
            Statement::new(format!(
                "{} {} has a single plot with a value: nothing is compared inside it, and it tells next to nothing about the treatments.",
                match names.len() {
                    1 => "Block",
                    _ => "Each of the blocks",
                },
                list(&names)
            ))
            .rank(Rank::Detail),
        );
    }
}

/// Refuses two values of a plot in one season.
pub(crate) fn once_a_season(
    plots: &Classifier,
    season: Option<&Classifier>,
) -> Result<(), Refusal> {
    let mut met = BTreeMap::new();
    for (unit, plot) in plots.codes.iter().enumerate() {
        let at = season.map(|season| season.codes[unit]);
        if met.insert((*plot, at), unit).is_some() {
            let when = match (season, at) {
                (Some(season), Some(at)) => format!(" in season {}", season.levels[at]),
                _ => String::new(),
            };
            return Err(Refusal::new(format!(
                "{} has two values{when}; one is expected",
                plots.levels[*plot]
            ))
            .hint("declare the column of the seasons in [design], or remove the duplicate"));
        }
    }
    Ok(())
}

/// Times of the seasons: the year or number in their names, else their order.
pub(crate) fn times(seasons: &[String]) -> (Vec<f64>, bool) {
    let number = |name: &String| -> Option<f64> {
        let digits: String = name
            .chars()
            .skip_while(|c| !c.is_ascii_digit())
            .take_while(char::is_ascii_digit)
            .collect();
        digits.parse().ok()
    };
    let found: Option<Vec<f64>> = seasons.iter().map(number).collect();
    let apart = |times: &Vec<f64>| {
        let mut sorted = times.clone();
        sorted.sort_by(f64::total_cmp);
        sorted.windows(2).all(|pair| pair[0] < pair[1])
    };
    match found.filter(apart) {
        Some(times) => (times, true),
        None => ((0..seasons.len()).map(|at| at as f64).collect(), false),
    }
}
