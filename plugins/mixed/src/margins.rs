//! What means are made over: the treatment factors, or the combinations that were planted.

use caneplot_numerics::design::Applied;
use caneplot_numerics::strata::Classifier;
use caneplot_numerics::together::{follows, together};
use caneplot_plugin::Refusal;
use caneplot_plugin::findings::{Format, Rank, Statement};
use caneplot_plugin::request::Factor;
use caneplot_plugin::words::{self, beginning, inside, list, safe};

/// A set of treatments that means are made over: a factor, or combinations of factors that do not
/// cross completely.
#[derive(Debug, Clone)]
pub(crate) struct Margin {
    pub id: String,
    pub label: String,
    pub unit: String,
    /// Names of the factors whose levels these are.
    pub factors: Vec<String>,
    /// Names of the levels of those factors in each.
    pub names: Vec<Vec<String>>,
    /// Levels as they stand in tables.
    pub labels: Vec<String>,
    /// Levels as they read in a sentence.
    pub words: Vec<String>,
    pub quantities: Option<Vec<f64>>,
    pub control: Option<usize>,
    pub codes: Vec<usize>,
}

/// Refuses a factor with a single level.
pub(crate) fn several(factor: &Factor, found: &Classifier) -> Result<(), Refusal> {
    match found.levels.as_slice() {
        [only] => Err(Refusal::new(format!(
            "'{}' has one level ({only}) in these values; it cannot be tested",
            factor.label
        ))
        .column(&factor.name)
        .hint("leave the factor out of trial.toml or add the data of its other levels")),
        _ => Ok(()),
    }
}

/// Notes the declared levels that have no value.
pub(crate) fn left_out(factor: &Factor, found: &Classifier, notes: &mut Vec<Statement>) {
    for level in &factor.levels {
        if !found.levels.contains(&level.name) {
            notes.push(
                Statement::new(format!(
                    "{} {} has no value and is left out.",
                    safe(&factor.label),
                    safe(&level.name)
                ))
                .rank(Rank::Detail),
            );
        }
    }
}

/// Notes the factors whose levels stand in blocks (or rows or columns) of their own.
pub(crate) fn in_blocks(
    factors: &[Factor],
    treatments: &[(Classifier, Applied)],
    groups: &[(&str, Option<&Classifier>)],
    notes: &mut Vec<Statement>,
) {
    for (word, group) in groups {
        let Some(group) = group.filter(|group| group.levels.len() > 1) else {
            continue;
        };
        let apart: Vec<String> = factors
            .iter()
            .zip(treatments)
            .filter(|(_, (found, _))| follows(found, group))
            .map(|(factor, _)| inside(&factor.label))
            .collect();
        if !apart.is_empty() {
            notes.push(Statement::new(format!(
                "No {word} holds two levels of {}, so they are compared as whole {word}s, with the few degrees of freedom that {word}s leave: what the {word}s did cannot be told from what the treatment did.",
                list(&apart)
            )));
        }
    }
}

/// A margin for each factor, or one over the combinations where some combination was never planted.
pub(crate) fn margins(
    factors: &[Factor],
    treatments: &[(Classifier, Applied)],
    notes: &mut Vec<Statement>,
) -> Result<Vec<Margin>, Refusal> {
    let margins: Vec<Margin> = factors
        .iter()
        .zip(treatments)
        .map(|(factor, (found, _))| margin(factor, found))
        .collect();
    let mut met: Vec<Vec<usize>> = (0..margins[0].codes.len())
        .map(|unit| margins.iter().map(|margin| margin.codes[unit]).collect())
        .collect();
    let units = met.clone();
    met.sort();
    met.dedup();
    let all: usize = margins.iter().map(|margin| margin.labels.len()).product();
    if met.len() == all {
        return Ok(margins);
    }
    let join = |pick: &dyn Fn(&Margin) -> &Vec<String>, combination: &[usize]| {
        let parts: Vec<String> = margins
            .iter()
            .zip(combination)
            .map(|(margin, &level)| pick(margin)[level].clone())
            .collect();
        parts.join(", ")
    };
    let names: Vec<String> = factors.iter().map(|factor| inside(&factor.label)).collect();
    notes.push(
        Statement::new(format!(
            "Only {{met}} of the {{all}} combinations of {} have values. Effects of one factor averaged over the others do not exist then, so the combinations are compared as one set of treatments.",
            list(&names)
        ))
        .with("met", met.len() as f64, Format::Count)
        .with("all", all as f64, Format::Count),
    );
    let found: Vec<&Classifier> = treatments.iter().map(|(factor, _)| factor).collect();
    for pair in together(&found) {
        notes.push(Statement::new(format!(
            "{}.",
            beginning(&pair.words(&names))
        )));
    }
    let controls: Vec<Option<usize>> = margins.iter().map(|margin| margin.control).collect();
    Ok(vec![Margin {
        id: "combination".to_owned(),
        label: "Combination".to_owned(),
        unit: String::new(),
        factors: factors.iter().map(|factor| factor.name.clone()).collect(),
        names: met
            .iter()
            .map(|levels| {
                let each = margins.iter().zip(levels);
                each.flat_map(|(margin, &level)| margin.names[level].clone())
                    .collect()
            })
            .collect(),
        labels: met
            .iter()
            .map(|levels| join(&|m| &m.labels, levels))
            .collect(),
        words: met
            .iter()
            .map(|levels| join(&|m| &m.words, levels))
            .collect(),
        quantities: None,
        control: met.iter().position(|levels| {
            levels
                .iter()
                .zip(&controls)
                .all(|(level, control)| Some(*level) == *control)
        }),
        codes: units
            .iter()
            .map(|levels| met.binary_search(levels).unwrap_or_default())
            .collect(),
    }])
}

fn margin(factor: &Factor, found: &Classifier) -> Margin {
    let of = |name: &String| factor.levels.iter().find(|level| &level.name == name);
    let known: Vec<_> = found.levels.iter().filter_map(of).collect();
    Margin {
        id: words::id(&factor.name),
        label: factor.label.clone(),
        unit: factor.unit.clone().unwrap_or_default(),
        factors: vec![factor.name.clone()],
        names: known.iter().map(|level| vec![level.name.clone()]).collect(),
        labels: known.iter().map(|level| level.label.clone()).collect(),
        words: known
            .iter()
            .map(|level| words::level(factor, level))
            .collect(),
        quantities: match factor.is_numeric() {
            true => known.iter().map(|level| level.value).collect(),
            false => None,
        },
        control: factor
            .control
            .as_ref()
            .and_then(|name| found.levels.iter().position(|level| level == name)),
        codes: found.codes.clone(),
    }
}
