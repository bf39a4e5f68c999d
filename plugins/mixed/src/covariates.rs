//! What the plots were before the treatments began.
//!
//! Only a covariate that the treatments cannot have changed may be adjusted for: one recorded in a
//! season before they began, or a constant of the plot. One of the same season as the response lies
//! on the way from treatment to response (a mediator); adjusting for it takes part of the effect away
//! (Rosenbaum 1984, J. Roy. Stat. Soc. A 147:656), so it needs an express word.
//!
//! Covariates that the trial file declares are from before the treatments by their nature: every
//! response is adjusted for all of them, a rule made before the data are seen. Picking covariates by
//! response, or by their P, would make the comparison look surer than it is.

use std::collections::BTreeMap;

use caneplot_plugin::request::Response;
use caneplot_plugin::{Call, Refusal, Table};

use crate::options::Options;

/// The word of the option `baseline` for columns that hold nothing but records from before.
const BEFORE: &str = "before";

/// A covariate over the rows of the table of plots.
#[derive(Debug, Clone)]
pub(crate) struct Covariate {
    pub name: String,
    pub label: String,
    pub unit: String,
    /// As in the table: centred on `offset`.
    pub by_row: Vec<Option<f64>>,
    pub offset: f64,
    pub decimals: u8,
    /// When it was recorded, in words behind its name; empty for a mediator.
    pub when: String,
    /// The treatments may have changed it.
    pub mediator: bool,
    /// Declared as a covariate by the trial itself: where it cannot serve, the analysis goes on
    /// without it; one named in the options is refused.
    pub declared: bool,
    /// A place in the field.
    pub place: bool,
}

/// The covariates of the options.
pub(crate) fn of(
    call: &Call,
    options: &Options,
    keys: &[String],
) -> Result<Vec<Covariate>, Refusal> {
    let plots = call.table("plots")?;
    let seasons = &call.request.trial.seasons;
    if let Some(baseline) = options.baseline.as_deref().filter(|text| *text != BEFORE)
        && !(call.request.trial.design.season && seasons.iter().any(|season| season == baseline))
    {
        return Err(Refusal::new(format!(
            "the option 'baseline' names '{baseline}', which is not a season of the trial"
        ))
        .hint(format!(
            "the seasons are {}; write \"{BEFORE}\" where the covariates have columns of their own",
            caneplot_plugin::words::list(seasons)
        )));
    }
    let mut all = Vec::new();
    for name in options.covariates.iter().flatten() {
        let known = call.request.trial.responses.iter();
        if let Some(response) = known.clone().find(|response| &response.name == name) {
            all.push(covariate(plots, options, keys, response)?);
        }
    }
    for declared in &call.request.trial.covariates {
        if options.use_covariates {
            all.push(Covariate {
                by_row: plots.numbers(&declared.name)?.to_vec(),
                when: "before the treatments".to_owned(),
                declared: true,
                ..named(declared)
            });
        }
    }
    all.extend(crate::places::covariates(call, options.field_trend)?);
    Ok(all)
}

fn named(response: &Response) -> Covariate {
    Covariate {
        name: response.name.clone(),
        label: response.label.clone(),
        unit: response.unit.clone(),
        by_row: Vec::new(),
        offset: response.offset,
        decimals: response.decimals,
        when: String::new(),
        mediator: false,
        declared: false,
        place: false,
    }
}

/// The season left out of the analysis because it came before the treatments.
pub(crate) fn baseline_season(options: &Options) -> Option<&str> {
    options.baseline.as_deref().filter(|text| *text != BEFORE)
}

fn covariate(
    plots: &Table,
    options: &Options,
    keys: &[String],
    response: &Response,
) -> Result<Covariate, Refusal> {
    let column = plots.numbers(&response.name)?;
    let seasons = match plots.has("season") {
        true => Some(plots.texts("season")?),
        false => None,
    };
    let mut found = Covariate {
        by_row: vec![None; plots.rows],
        when: match &options.baseline {
            Some(season) if season != BEFORE => {
                format!(
                    "in {}, before the treatments",
                    caneplot_plugin::words::safe(season)
                )
            }
            Some(_) => "before the treatments".to_owned(),
            None => "a constant of each plot".to_owned(),
        },
        ..named(response)
    };
    // One value a plot, from the rows that count.
    let wanted = baseline_season(options);
    let counts = |row: usize| match (wanted, seasons) {
        (Some(wanted), Some(seasons)) => seasons[row].as_deref() == Some(wanted),
        _ => true,
    };
    let mut of_plot: BTreeMap<&str, Vec<f64>> = BTreeMap::new();
    for row in (0..plots.rows).filter(|&row| counts(row)) {
        if let Some(value) = column[row] {
            of_plot.entry(keys[row].as_str()).or_default().push(value);
        }
    }
    let steady = of_plot
        .values()
        .all(|values| values.iter().all(|value| value == &values[0]));
    let repeated = !of_plot.is_empty() && of_plot.values().all(|values| values.len() > 1);
    let before = options.baseline.is_some();
    if before && !steady {
        return Err(Refusal::new(format!(
            "the covariate '{}' has different values in one plot, so it is not a record from before the treatments",
            response.name
        ))
        .column(&response.name)
        .hint("name in the option 'baseline' the season it was recorded in"));
    }
    if before || (steady && repeated) {
        for (row, key) in keys.iter().enumerate() {
            found.by_row[row] = of_plot.get(key.as_str()).map(|values| values[0]);
        }
    } else if options.allow_mediator {
        found.by_row = column.to_vec();
        found.mediator = true;
        found.when.clear();
    } else {
        return Err(Refusal::new(format!(
            "the covariate '{}' was recorded in the same season as the responses: the treatments may have changed it (it is a mediator), and adjusting for it would take away part of their effect",
            response.name
        ))
        .column(&response.name)
        .hint(format!(
            "name in 'baseline' the season before the treatments in which it was recorded, write baseline = \"{BEFORE}\" where its column holds nothing else, or set allow_mediator = true to compare treatments at an equal value of it"
        )));
    }
    let mut values = found.by_row.iter().flatten();
    let first = values.next().copied();
    if values.all(|value| Some(*value) == first) {
        return Err(Refusal::new(format!(
            "the covariate '{}' is the same in every plot: there is nothing to adjust for",
            response.name
        ))
        .column(&response.name)
        .hint("leave it out of the option 'covariates'"));
    }
    Ok(found)
}
