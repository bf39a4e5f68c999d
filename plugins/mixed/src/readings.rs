//! From a request to the values of one response with their treatments, seasons, plots and random
//! terms.

use std::collections::{BTreeMap, BTreeSet};

use caneplot_numerics::design::Sheet;
use caneplot_numerics::strata::Classifier;
use caneplot_plugin::findings::{Format, Rank, Statement};
use caneplot_plugin::request::{DesignKind, Response, TrialInfo};
use caneplot_plugin::words::{inside, list, safe, shortened};
use caneplot_plugin::{Call, Refusal, Table};

use crate::covariates::{self, Covariate};
use crate::margins::{Margin, classifier, left_out, margins};
use crate::options::{BlockSeasons, Options, Seasons};
use crate::sources::{Layout, Source, block_seasons, sources};
use crate::usable::{Useless, complete, useless};
use caneplot_readings::{Register, design};

/// Plots named in one sentence.
const NAMED: usize = 6;

/// A covariate over the values used, centred on their mean.
#[derive(Debug, Clone)]
pub(crate) struct Adjusted {
    pub about: Covariate,
    pub values: Vec<f64>,
    /// Mean with its offset.
    pub mean: f64,
}

/// Everything about the values of a response.
pub(crate) struct Readings {
    /// Row of each value in the table of plots.
    pub rows: Vec<usize>,
    pub values: Vec<f64>,
    pub margins: Vec<Margin>,
    /// Seasons repeated on plots.
    pub season: Option<Classifier>,
    pub times: Vec<f64>,
    /// Whether the names of the seasons gave their distance in time.
    pub dated: bool,
    pub plot: Vec<usize>,
    pub plot_names: Vec<String>,
    pub sources: Vec<Source>,
    /// Blocks in each season, where the fit may take them in.
    pub block_seasons: Option<Source>,
    pub covariates: Vec<Adjusted>,
    /// For the analysis of variance in strata; combinations that do not cross have none.
    pub sheet: Option<Sheet>,
    pub notes: Vec<Statement>,
}

impl Readings {
    /// Plot and season of a value in words.
    pub fn place(&self, unit: usize) -> String {
        let plot = safe(&self.plot_names[self.plot[unit]]);
        match &self.season {
            Some(season) => format!("{plot} in {}", safe(&season.levels[season.codes[unit]])),
            None => plot,
        }
    }
}

/// The plot of each row of the table of plots, in words; refuses what holds for every response.
pub(crate) fn plot_names(call: &Call) -> Result<Vec<String>, Refusal> {
    let trial = &call.request.trial;
    let needs_block = matches!(
        trial.design.kind,
        DesignKind::SplitPlot | DesignKind::StripPlot | DesignKind::SplitSplitPlot
    );
    if needs_block && !trial.design.block {
        return Err(Refusal::new(
            "whole plots and strips are found inside blocks, but the design declares no blocks",
        )
        .hint("name the column of the blocks in [design] in trial.toml"));
    }
    let register = Register::of(call)?;
    let rows = register.rows(call.table("plots")?)?;
    Ok(rows.iter().map(|&(plot, _)| register.words(plot)).collect())
}

/// The values of a response in the plots.
pub(crate) fn of(
    call: &Call,
    options: &Options,
    keys: &[String],
    covariates: &[Covariate],
    response: &Response,
) -> Result<Readings, Refusal> {
    let trial = &call.request.trial;
    let data = call.table("plots")?;
    let mut notes = Vec::new();
    let recorded = recorded(data, options, response, keys, trial, &mut notes)?;
    let mut places = Vec::new();
    for factor in &trial.factors {
        places.push(data.texts(&factor.name)?);
    }
    if trial.design.season {
        places.push(data.texts("season")?);
    }
    let cell = |row: usize| places.iter().map(|column| column[row].clone()).collect();
    let (rows, covariates) = complete(&recorded, covariates, keys, &cell, &mut notes);
    if rows.is_empty() {
        return Err(Refusal::new(
            "no plot has both a value of the response and of every covariate",
        ));
    }
    let column = data.numbers(&response.name)?;
    let values: Vec<f64> = rows.iter().filter_map(|&row| column[row]).collect();
    let pick = |name: &str| texts(data, name, &rows);
    let classified = |name: &str, order: &[String]| -> Result<Option<Classifier>, Refusal> {
        match data.has(name) {
            true => Ok(Some(Classifier::from_texts(name, &pick(name)?, order))),
            false => Ok(None),
        }
    };
    let block = classified("block", &[])?;
    let row = classified("row", &[])?;
    let column = classified("column", &[])?;
    let season = match trial.design.season {
        true => classified("season", &trial.seasons)?.filter(|season| season.levels.len() > 1),
        false => None,
    };
    let mut treatments = Vec::new();
    for factor in &trial.factors {
        treatments.push((classifier(factor, &pick(&factor.name)?)?, factor.role));
    }
    for ((found, _), factor) in treatments.iter().zip(&trial.factors) {
        left_out(factor, found, &mut notes);
    }
    let names: Vec<String> = rows.iter().map(|&row| keys[row].clone()).collect();
    let plots = Classifier::from_texts("plot", &names, &[]);
    once_a_season(&plots, season.as_ref())?;

    let margins = margins(&trial.factors, &treatments, &mut notes)?;
    let layout = Layout {
        kind: trial.design.kind,
        block: block.as_ref(),
        rows_columns: [row.as_ref(), column.as_ref()],
        treatments: &treatments,
        season: season.as_ref(),
        sampled: options.season == Seasons::Random,
        margins: &margins,
    };
    let sources = sources(&layout)?;
    let block_seasons = match options.block_seasons {
        BlockSeasons::Pool => None,
        _ => block_seasons(&layout)
            .filter(|new| sources.iter().all(|old| old.term.name != new.term.name)),
    };
    if let Some(block) = &block {
        lonely_blocks(block, &plots.codes, &mut notes);
    }
    let (times, dated) = match &season {
        Some(season) => times(&season.levels),
        None => (vec![0.0], true),
    };
    let combinations = combinations(&margins, values.len());
    let adjusted = adjusted(
        &covariates,
        &rows,
        &combinations,
        block.as_ref(),
        &mut notes,
    )?;
    let sheet = Sheet {
        kind: design::kind(trial.design.kind),
        block,
        row,
        column,
        plot: Classifier::from_texts("plot", &pick("plot")?, &[]),
        season: season.clone(),
        vines: false,
        treatments: treatments
            .iter()
            .map(|(factor, role)| (factor.clone(), design::applied(*role)))
            .collect(),
        block_by_season: false,
    };
    Ok(Readings {
        rows,
        values,
        sheet: (margins.len() == trial.factors.len()).then_some(sheet),
        margins,
        season,
        times,
        dated,
        plot: plots.codes,
        plot_names: plots.levels,
        sources,
        block_seasons,
        covariates: adjusted,
        notes,
    })
}

/// The combination of treatments of each value.
pub(crate) fn combinations(margins: &[Margin], units: usize) -> Classifier {
    let words = |unit: usize| {
        let parts: Vec<&str> = margins
            .iter()
            .map(|margin| margin.words[margin.codes[unit]].as_str())
            .collect();
        parts.join(", ")
    };
    let mut met: Vec<(Vec<usize>, String)> = (0..units)
        .map(|unit| (margins.iter().map(|m| m.codes[unit]).collect(), words(unit)))
        .collect();
    let units = met.clone();
    met.sort();
    met.dedup();
    Classifier {
        name: "combinations".to_owned(),
        codes: units
            .iter()
            .map(|unit| met.binary_search(unit).unwrap_or_default())
            .collect(),
        levels: met.into_iter().map(|(_, words)| words).collect(),
    }
}

/// Rows of the table with a value of the response, those before the treatments left out.
fn recorded(
    data: &Table,
    options: &Options,
    response: &Response,
    keys: &[String],
    trial: &TrialInfo,
    notes: &mut Vec<Statement>,
) -> Result<Vec<usize>, Refusal> {
    let column = data.numbers(&response.name)?;
    let seasons = match trial.design.season {
        true => Some(data.texts("season")?),
        false => None,
    };
    let baseline = covariates::baseline_season(options);
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
    let (recorded, missing): (Vec<usize>, Vec<usize>) = (0..data.rows)
        .filter(after)
        .partition(|&row| column[row].is_some());
    if recorded.is_empty() {
        return Err(
            Refusal::new(format!("'{}' has no value at all", response.label))
                .column(&response.name),
        );
    }
    if !missing.is_empty() {
        let names: Vec<String> = missing
            .iter()
            .map(
                |&row| match seasons.and_then(|seasons| seasons[row].as_deref()) {
                    Some(season) => format!("{} in {}", safe(&keys[row]), safe(season)),
                    None => safe(&keys[row]),
                },
            )
            .collect();
        notes.push(
            Statement::new(format!(
                "{{missing}} of {{all}} plot records have no value ({}). The analysis rests on the others and is right as long as a value is missing for a reason that has nothing to do with what it would have been.",
                shortened(&names, NAMED)
            ))
            .with("missing", missing.len() as f64, Format::Count)
            .with("all", (missing.len() + recorded.len()) as f64, Format::Count)
            .rank(Rank::Detail),
        );
    }
    Ok(recorded)
}

/// Names blocks with a single plot: nothing is compared inside them.
fn lonely_blocks(block: &Classifier, plots: &[usize], notes: &mut Vec<Statement>) {
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

fn once_a_season(plots: &Classifier, season: Option<&Classifier>) -> Result<(), Refusal> {
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
fn times(seasons: &[String]) -> (Vec<f64>, bool) {
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

/// The covariates over the values used, those left out that can tell nothing.
fn adjusted(
    covariates: &[Covariate],
    rows: &[usize],
    combinations: &Classifier,
    block: Option<&Classifier>,
    notes: &mut Vec<Statement>,
) -> Result<Vec<Adjusted>, Refusal> {
    let mut all: Vec<Adjusted> = Vec::new();
    for covariate in covariates {
        let raw: Vec<f64> = rows
            .iter()
            .filter_map(|&row| covariate.by_row[row])
            .collect();
        let mean = caneplot_numerics::sum::mean(&raw).unwrap_or_default();
        let values: Vec<f64> = raw.iter().map(|value| value - mean).collect();
        let others: Vec<Vec<f64>> = all.iter().map(|one| one.values.clone()).collect();
        match useless(&raw, combinations, block, &others) {
            // Between blocks is still something, if little, to one who named it in the options.
            found if found.is_none() || (found == Some(Useless::Blocks) && !covariate.declared) => {
                all.push(Adjusted {
                    about: covariate.clone(),
                    values,
                    mean: covariate.offset + mean,
                })
            }
            Some(why) if covariate.declared => notes.push(Statement::new(format!(
                "Not adjusted for {}: it {}.",
                inside(&covariate.label),
                why.words()
            ))),
            why => {
                return Err(Refusal::new(format!(
                    "the covariate '{}' {}: there is nothing to adjust for",
                    covariate.name,
                    why.map_or("serves nothing", Useless::words)
                ))
                .column(&covariate.name)
                .hint("leave it out of the option 'covariates'"));
            }
        }
    }
    Ok(all)
}

/// The names in a column at these rows.
fn texts(table: &Table, name: &str, rows: &[usize]) -> Result<Vec<String>, Refusal> {
    let column = table.texts(name)?;
    rows.iter()
        .map(|&row| {
            column[row].clone().ok_or_else(|| {
                Refusal::new(format!(
                    "the column '{name}' of the plots has an empty cell"
                ))
                .column(name)
                .rows(vec![row])
            })
        })
        .collect()
}
