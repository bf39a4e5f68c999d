//! From a request to the values of one response with their treatments, seasons, plots and random
//! terms.

use std::collections::BTreeMap;

use caneplot_numerics::design::{Applied, Kind, Sheet};
use caneplot_numerics::strata::Classifier;
use caneplot_plugin::findings::{Format, Rank, Statement};
use caneplot_plugin::request::{DesignKind, Response, Role};
use caneplot_plugin::words::safe;
use caneplot_plugin::{Call, Refusal, Table};

use crate::covariates::{self, Covariate};
use crate::margins::{Margin, classifier, left_out, margins};
use crate::options::{Options, Seasons};
use crate::sources::{Source, sources};

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
    pub covariates: Vec<Adjusted>,
    /// For the analysis of variance in strata; combinations that do not cross have none.
    pub sheet: Option<Sheet>,
    pub notes: Vec<Statement>,
}

/// Checks that hold for every response.
pub(crate) fn possible(call: &Call) -> Result<(), Refusal> {
    let trial = &call.request.trial;
    if trial.factors.is_empty() {
        return Err(Refusal::new("the trial declares no treatment factor")
            .hint("describe the treatments under [factors] in trial.toml"));
    }
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
    Ok(())
}

/// The values of a response in the plots.
pub(crate) fn of(
    call: &Call,
    options: &Options,
    covariates: &[Covariate],
    response: &Response,
) -> Result<Readings, Refusal> {
    let trial = &call.request.trial;
    let data = call.table("plots")?;
    let mut notes = Vec::new();
    let (rows, values) = rows(data, options, covariates, response, &mut notes)?;
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
    let keys = covariates::plot_keys(data)?;
    let names: Vec<String> = rows.iter().map(|&row| keys[row].clone()).collect();
    let plots = Classifier::from_texts("plot", &names, &[]);
    once_a_season(&plots, season.as_ref())?;
    keeps_treatment(&plots, &treatments)?;

    let margins = margins(&trial.factors, &treatments, &mut notes)?;
    let sources = sources(
        trial.design.kind,
        block.as_ref(),
        [row.as_ref(), column.as_ref()],
        &treatments,
        season
            .as_ref()
            .filter(|_| options.season == Seasons::Random),
        &margins,
    )?;
    let (times, dated) = match &season {
        Some(season) => times(&season.levels),
        None => (vec![0.0], true),
    };
    let adjusted = covariates
        .iter()
        .map(|covariate| centred(covariate, &rows))
        .collect::<Result<Vec<Adjusted>, Refusal>>()?;
    let sheet = Sheet {
        kind: kind(trial.design.kind),
        block,
        row,
        column,
        plot: Classifier::from_texts("plot", &pick("plot")?, &[]),
        season: season.clone(),
        vines: false,
        treatments: treatments
            .iter()
            .map(|(factor, role)| (factor.clone(), applied(*role)))
            .collect(),
        block_by_season: false,
    };
    Ok(Readings {
        values,
        sheet: (margins.len() == trial.factors.len()).then_some(sheet),
        margins,
        season,
        times,
        dated,
        plot: plots.codes,
        plot_names: plots.levels,
        sources,
        covariates: adjusted,
        notes,
    })
}

/// Rows of the table with a value of the response and of every covariate, and those values.
fn rows(
    data: &Table,
    options: &Options,
    covariates: &[Covariate],
    response: &Response,
    notes: &mut Vec<Statement>,
) -> Result<(Vec<usize>, Vec<f64>), Refusal> {
    let column = data.numbers(&response.name)?;
    let baseline = match covariates::baseline_season(options) {
        Some(season) => Some((season, data.texts("season")?)),
        None => None,
    };
    let after = |row: &usize| match &baseline {
        Some((season, texts)) => texts[*row].as_deref() != Some(*season),
        None => true,
    };
    if let Some((season, _)) = &baseline {
        notes.push(
            Statement::new(format!(
                "Season {} came before the treatments: it gives the covariates and is left out of the analysis.",
                safe(season)
            ))
            .rank(Rank::Detail),
        );
    }
    let recorded: Vec<usize> = (0..data.rows)
        .filter(after)
        .filter(|&row| column[row].is_some())
        .collect();
    let missing = (0..data.rows).filter(after).count() - recorded.len();
    if recorded.is_empty() {
        return Err(
            Refusal::new(format!("'{}' has no value at all", response.label))
                .column(&response.name),
        );
    }
    if missing > 0 {
        notes.push(
            Statement::new(
                "{missing} of {all} plot records have no value. The analysis rests on the others and is right as long as a value is missing for a reason that has nothing to do with what it would have been.",
            )
            .with("missing", missing as f64, Format::Count)
            .with("all", (missing + recorded.len()) as f64, Format::Count)
            .rank(Rank::Detail),
        );
    }
    let complete = |row: &usize| covariates.iter().all(|c| c.by_row[*row].is_some());
    let kept: Vec<usize> = recorded.iter().copied().filter(complete).collect();
    if kept.is_empty() {
        return Err(Refusal::new(
            "no plot has both a value of the response and of every covariate",
        ));
    }
    if kept.len() < recorded.len() {
        notes.push(
            Statement::new("{lost} values are left out because their plot lacks a covariate.")
                .with("lost", (recorded.len() - kept.len()) as f64, Format::Count),
        );
    }
    let values = kept.iter().filter_map(|&row| column[row]).collect();
    Ok((kept, values))
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

fn keeps_treatment(plots: &Classifier, treatments: &[(Classifier, Role)]) -> Result<(), Refusal> {
    for (factor, _) in treatments {
        let mut of_plot: BTreeMap<usize, usize> = BTreeMap::new();
        for (plot, level) in plots.codes.iter().zip(&factor.codes) {
            let first = *of_plot.entry(*plot).or_insert(*level);
            if first != *level {
                return Err(Refusal::new(format!(
                    "{} has two levels of '{}' ({} and {}); a plot keeps its treatment",
                    plots.levels[*plot], factor.name, factor.levels[first], factor.levels[*level]
                )));
            }
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

fn centred(covariate: &Covariate, rows: &[usize]) -> Result<Adjusted, Refusal> {
    let raw: Vec<f64> = rows
        .iter()
        .filter_map(|&row| covariate.by_row[row])
        .collect();
    let mean = caneplot_numerics::sum::mean(&raw).unwrap_or_default();
    let values: Vec<f64> = raw.iter().map(|value| value - mean).collect();
    if values.iter().all(|value| value.abs() <= 1e-12 * mean.abs()) {
        return Err(Refusal::new(format!(
            "the covariate '{}' is the same in every plot that has a value: there is nothing to adjust for",
            covariate.name
        ))
        .column(&covariate.name));
    }
    Ok(Adjusted {
        about: covariate.clone(),
        values,
        mean: covariate.offset + mean,
    })
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

fn kind(kind: DesignKind) -> Kind {
    match kind {
        DesignKind::CompletelyRandomised => Kind::CompletelyRandomised,
        DesignKind::RandomisedBlock => Kind::RandomisedBlock,
        DesignKind::LatinSquare => Kind::LatinSquare,
        DesignKind::SplitPlot => Kind::SplitPlot,
        DesignKind::StripPlot => Kind::StripPlot,
        DesignKind::SplitSplitPlot => Kind::SplitSplitPlot,
    }
}

fn applied(role: Role) -> Applied {
    match role {
        Role::Treatment => Applied::Plot,
        Role::WholePlot => Applied::WholePlot,
        Role::SubPlot => Applied::SubPlot,
        Role::SubSubPlot => Applied::SubSubPlot,
        Role::RowStrip => Applied::RowStrip,
        Role::CrossStrip => Applied::CrossStrip,
    }
}
