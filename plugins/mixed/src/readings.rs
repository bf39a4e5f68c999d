//! From a request to the values of one response with their treatments, seasons, plots and random
//! terms.

use caneplot_numerics::design::Sheet;
use caneplot_numerics::strata::Classifier;
use caneplot_plugin::findings::Statement;
use caneplot_plugin::request::{DesignKind, Response};
use caneplot_plugin::words::{inside, safe};
use caneplot_plugin::{Call, Refusal};
use caneplot_readings::Register;
use caneplot_readings::sheets::sheet;

use crate::covariates::Covariate;
use crate::margins::{Margin, in_blocks, left_out, margins, several};
use crate::options::{BlockSeasons, Seasons};
use crate::records::{lonely_blocks, once_a_season, recorded, times};
use crate::sources::{Layout, Source, block_seasons, sources};
use crate::study::Given;
use crate::usable::{Useless, complete, useless};

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
    /// Some plots lack a value in a season that others have.
    pub missing: bool,
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
    given: &Given<'_>,
    covariates: &[Covariate],
    response: &Response,
) -> Result<Readings, Refusal> {
    let Given {
        call,
        options,
        keys,
        ..
    } = given;
    let trial = &call.request.trial;
    let data = call.table("plots")?;
    let mut notes = Vec::new();
    let (recorded, missing) = recorded(data, given, response, &mut notes)?;
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
    let sheet = sheet(trial, data, &rows, false)?;
    for ((found, _), factor) in sheet.treatments.iter().zip(&trial.factors) {
        several(factor, found)?;
        left_out(factor, found, &mut notes);
    }
    let names: Vec<String> = rows.iter().map(|&row| keys[row].clone()).collect();
    let plots = Classifier::from_texts("plot", &names, &[]);
    once_a_season(&plots, sheet.season.as_ref())?;

    let margins = margins(&trial.factors, &sheet.treatments, &mut notes)?;
    let groups: &[(&str, Option<&Classifier>)] = match trial.design.kind {
        DesignKind::CompletelyRandomised => &[],
        DesignKind::LatinSquare => &[
            ("row", sheet.row.as_ref()),
            ("column", sheet.column.as_ref()),
        ],
        _ => &[("block", sheet.block.as_ref())],
    };
    in_blocks(&trial.factors, &sheet.treatments, groups, &mut notes);
    let layout = Layout {
        kind: trial.design.kind,
        block: sheet.block.as_ref(),
        rows_columns: [sheet.row.as_ref(), sheet.column.as_ref()],
        treatments: &sheet.treatments,
        season: sheet.season.as_ref(),
        sampled: options.season == Seasons::Random,
        margins: &margins,
    };
    let sources = sources(&layout)?;
    let block_seasons = match options.block_seasons {
        BlockSeasons::Pool => None,
        _ => block_seasons(&layout)
            .filter(|new| sources.iter().all(|old| old.term.name != new.term.name)),
    };
    if let Some(block) = &sheet.block {
        lonely_blocks(block, &plots.codes, &mut notes);
    }
    let (times, dated) = match &sheet.season {
        Some(season) => times(&season.levels),
        None => (vec![0.0], true),
    };
    let combinations = combinations(&margins, values.len());
    let adjusted = adjusted(
        &covariates,
        &rows,
        &combinations,
        sheet.block.as_ref(),
        &mut notes,
    )?;
    Ok(Readings {
        rows,
        values,
        missing,
        season: sheet.season.clone(),
        sheet: (margins.len() == trial.factors.len()).then_some(sheet),
        margins,
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
