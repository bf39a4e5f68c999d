//! From a request to the values of one response with their treatments, seasons, plots and random
//! terms.

use std::collections::BTreeMap;

use caneplot_numerics::design::{Applied, Kind, Sheet};
use caneplot_numerics::mixed::RandomTerm;
use caneplot_numerics::strata::Classifier;
use caneplot_plugin::findings::{Format, Rank, Statement};
use caneplot_plugin::request::{DesignKind, Factor, Response, Role};
use caneplot_plugin::words::{self, inside, list, safe};
use caneplot_plugin::{Call, Refusal, Table};

use crate::covariates::{self, Covariate};
use crate::options::{Options, Seasons};

/// A set of treatments that means are made over: a factor, or combinations of factors that do not
/// cross completely.
#[derive(Debug, Clone)]
pub(crate) struct Margin {
    pub id: String,
    pub label: String,
    pub unit: String,
    /// Levels as they stand in tables.
    pub labels: Vec<String>,
    /// Levels as they read in a sentence.
    pub words: Vec<String>,
    pub quantities: Option<Vec<f64>>,
    pub control: Option<usize>,
    pub codes: Vec<usize>,
}

/// A random term with the names of its levels.
#[derive(Debug, Clone)]
pub(crate) struct Source {
    pub term: RandomTerm,
    pub levels: Vec<String>,
}

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

fn classifier(factor: &Factor, all: &[String]) -> Result<Classifier, Refusal> {
    let order: Vec<String> = factor
        .levels
        .iter()
        .map(|level| level.name.clone())
        .collect();
    if let Some(unknown) = all.iter().find(|level| !order.contains(level)) {
        return Err(Refusal::new(format!(
            "'{unknown}' is not a level of the factor '{}'",
            factor.name
        ))
        .column(&factor.name)
        .hint(format!("the levels declared are {}", list(&order))));
    }
    let found = Classifier::from_texts(&factor.label, all, &order);
    match found.levels.as_slice() {
        [only] => Err(Refusal::new(format!(
            "'{}' has one level ({only}) in these values; it cannot be tested",
            factor.label
        ))
        .column(&factor.name)
        .hint("leave the factor out of trial.toml or add the data of its other levels")),
        _ => Ok(found),
    }
}

fn left_out(factor: &Factor, found: &Classifier, notes: &mut Vec<Statement>) {
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

/// A margin for each factor, or one over the combinations where some combination was never planted.
fn margins(
    factors: &[Factor],
    treatments: &[(Classifier, Role)],
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
            "Only {{met}} of the {{all}} combinations of {} were planted. Effects of one factor averaged over the others do not exist then, so the combinations are compared as one set of treatments.",
            list(&names)
        ))
        .with("met", met.len() as f64, Format::Count)
        .with("all", all as f64, Format::Count),
    );
    let controls: Vec<Option<usize>> = margins.iter().map(|margin| margin.control).collect();
    Ok(vec![Margin {
        id: "combination".to_owned(),
        label: "Combination".to_owned(),
        unit: String::new(),
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

/// The random terms that the design implies; seasons where they are a sample.
fn sources(
    kind: DesignKind,
    block: Option<&Classifier>,
    rows_columns: [Option<&Classifier>; 2],
    treatments: &[(Classifier, Role)],
    season: Option<&Classifier>,
    margins: &[Margin],
) -> Result<Vec<Source>, Refusal> {
    let mut all = Vec::new();
    let carried = |roles: &[Role]| -> Vec<&Classifier> {
        treatments
            .iter()
            .filter(|(_, role)| roles.contains(role))
            .map(|(factor, _)| factor)
            .collect()
    };
    let mut add = |name: &str, parts: Vec<&Classifier>| {
        let source = crossing(name, &parts);
        // A single level is the overall mean.
        if source.levels.len() > 1 {
            all.push(source);
        }
    };
    match kind {
        DesignKind::CompletelyRandomised => {}
        DesignKind::LatinSquare => {
            for (classifier, name) in rows_columns.into_iter().zip(["rows", "columns"]) {
                add(name, classifier.into_iter().collect());
            }
        }
        _ => add("blocks", block.into_iter().collect()),
    }
    let mut inside = |name: &str, roles: &[Role]| -> Result<(), Refusal> {
        let factors = carried(roles);
        if factors.is_empty() {
            return Err(
                Refusal::new(format!("no factor is declared to be applied to {name}"))
                    .hint("give each factor its role in trial.toml"),
            );
        }
        add(name, block.into_iter().chain(factors).collect());
        Ok(())
    };
    match kind {
        DesignKind::SplitPlot => inside("whole plots", &[Role::WholePlot])?,
        DesignKind::StripPlot => {
            inside("row strips", &[Role::RowStrip])?;
            inside("cross strips", &[Role::CrossStrip])?;
        }
        DesignKind::SplitSplitPlot => {
            inside("whole plots", &[Role::WholePlot])?;
            inside("sub plots", &[Role::WholePlot, Role::SubPlot])?;
        }
        _ => {}
    }
    if let Some(season) = season {
        all.push(crossing("seasons", &[season]));
        for mask in 1_usize..1 << margins.len() {
            let chosen: Vec<Classifier> = margins
                .iter()
                .enumerate()
                .filter(|(at, _)| mask & (1 << at) != 0)
                .map(|(_, margin)| Classifier {
                    name: margin.label.clone(),
                    levels: margin.labels.clone(),
                    codes: margin.codes.clone(),
                })
                .collect();
            let names: Vec<String> = chosen.iter().map(|one| inside_name(&one.name)).collect();
            let parts: Vec<&Classifier> = chosen.iter().chain([season]).collect();
            all.push(crossing(
                &format!("{} × seasons", names.join(" × ")),
                &parts,
            ));
        }
    }
    Ok(all)
}

fn inside_name(name: &str) -> String {
    inside(name)
}

/// Every combination of some classifiers that occurs.
fn crossing(name: &str, parts: &[&Classifier]) -> Source {
    let units = parts.first().map_or(0, |part| part.codes.len());
    let mut known: BTreeMap<Vec<usize>, usize> = BTreeMap::new();
    for unit in 0..units {
        known.insert(parts.iter().map(|part| part.codes[unit]).collect(), 0);
    }
    for (at, code) in known.values_mut().enumerate() {
        *code = at;
    }
    let codes = (0..units)
        .map(|unit| {
            known[&parts
                .iter()
                .map(|part| part.codes[unit])
                .collect::<Vec<_>>()]
        })
        .collect();
    let levels = known
        .keys()
        .map(|levels| {
            let names: Vec<&str> = parts
                .iter()
                .zip(levels)
                .map(|(part, &level)| part.levels[level].as_str())
                .collect();
            names.join(", ")
        })
        .collect();
    Source {
        term: RandomTerm {
            name: name.to_owned(),
            codes,
        },
        levels,
    }
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
