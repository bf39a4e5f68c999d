//! Parts of variance from the report of an earlier trial.
//!
//! From an analysis of variance: the expected mean square of a stratum is that of the stratum inside
//! it and the variance of its own units times the values of a unit, which is solved from the finest
//! stratum up; a negative part counts as 0. Treatments × seasons likewise from the line of the first
//! factor. From a table of variance components: as they stand; a plot's correlation between seasons
//! is its lasting part, and one that falls with time counts by its average over the trial's seasons,
//! which leaves the variance of a plot's mean as it is.

use caneplot_plugin::Refusal;
use caneplot_plugin::findings::{Cells, Section, Table};
use caneplot_plugin::request::{DesignKind, Role, TrialInfo};
use caneplot_plugin::words;
use serde::Deserialize;

use crate::parts::Parts;

/// What the program hands over.
#[derive(Debug, Deserialize)]
struct Report {
    trial: TrialInfo,
    analysis: String,
    section: Section,
}

/// What was taken from it.
#[derive(Debug, Clone)]
pub(crate) struct Earlier {
    pub parts: Parts,
    /// Mean of the response.
    pub mean: Option<f64>,
    /// Vines of its plots.
    pub vines: Option<f64>,
    /// What was taken, in sentences.
    pub taken: Vec<String>,
}

impl Earlier {
    pub fn read(text: &str) -> Result<Self, Refusal> {
        let report: Report = serde_json::from_str(text)
            .map_err(|error| Refusal::new(format!("the earlier report cannot be read: {error}")))?;
        let tables = &report.section.tables;
        let table = |id: &str| tables.iter().find(|table| table.id == id);
        let mut earlier = match (table("anova"), table("components")) {
            (Some(anova), _) => of_variance(&report.trial, anova)?,
            (None, Some(components)) => of_components(&report.trial, components)?,
            (None, None) => {
                return Err(Refusal::new(format!(
                    "the earlier report's analysis '{}' of {} has neither an analysis of variance nor variance components",
                    report.analysis, report.section.title
                )));
            }
        };
        earlier.mean = tables.iter().find_map(mean);
        earlier.vines = report.trial.vineyard.vines_per_plot.map(f64::from);
        earlier.taken.insert(
            0,
            format!(
                "Variances come from the analysis '{}' of {} in the earlier trial \"{}\".",
                report.analysis,
                words::inside(&report.section.title),
                report.trial.title
            ),
        );
        Ok(earlier)
    }
}

/// The average of a table of means, over its last column of numbers called so.
fn mean(table: &Table) -> Option<f64> {
    if !table.id.starts_with("means") {
        return None;
    }
    let wanted = ["All seasons", "Mean", "Adjusted mean"];
    let column = table
        .columns
        .iter()
        .find(|column| wanted.contains(&column.name.as_str()))?;
    let values = match &column.cells {
        Cells::Number { values, .. } | Cells::Lettered { values, .. } => values,
        _ => return None,
    };
    let known: Vec<f64> = values.iter().flatten().copied().collect();
    (!known.is_empty()).then(|| known.iter().sum::<f64>() / known.len() as f64)
}

fn texts(table: &Table) -> Option<&[Option<String>]> {
    table.columns.iter().find_map(|column| match &column.cells {
        Cells::Text { values } => Some(values.as_slice()),
        _ => None,
    })
}

fn numbers<'a>(table: &'a Table, name: &str) -> Option<&'a [Option<f64>]> {
    let column = table.columns.iter().find(|column| column.name == name)?;
    match &column.cells {
        Cells::Number { values, .. } => Some(values),
        _ => None,
    }
}

/// Values a unit of a role's plots holds in a balanced trial.
fn values_of(trial: &TrialInfo, roles: &[Role]) -> f64 {
    let inner = trial
        .factors
        .iter()
        .filter(|factor| roles.contains(&factor.role));
    inner
        .map(|factor| factor.levels.len() as f64)
        .product::<f64>()
        * trial.seasons.len().max(1) as f64
}

fn of_variance(trial: &TrialInfo, table: &Table) -> Result<Earlier, Refusal> {
    let unknown =
        || Refusal::new("the analysis of variance of the earlier report has another form");
    let names = texts(table).ok_or_else(unknown)?;
    let squares = numbers(table, "Mean square").ok_or_else(unknown)?;
    let line = |wanted: &str| {
        let at = names
            .iter()
            .position(|name| name.as_deref() == Some(wanted))?;
        squares.get(at).copied().flatten()
    };
    let error = |place: &str| line(&format!("Residual ({place})"));
    let kind = trial.design.kind;
    let finest = match kind {
        DesignKind::CompletelyRandomised | DesignKind::LatinSquare => "between plots",
        DesignKind::RandomisedBlock => "between plots within blocks",
        DesignKind::SplitPlot => "between sub plots",
        DesignKind::StripPlot => "between plots where strips cross",
        DesignKind::SplitSplitPlot => "between sub-sub plots",
    };
    let plots = error(finest).ok_or_else(unknown)?;
    let within = error("between seasons within plots");
    let mut parts = Parts::default();
    let mut taken = Vec::new();
    let mut part = |what: &str, coarse: f64, fine: f64, values: f64| {
        let variance = (coarse - fine) / values;
        if variance < 0.0 {
            taken.push(format!(
                "The variance of {what} came out below 0 in the earlier trial and counts as 0."
            ));
        }
        variance.max(0.0)
    };
    let plot_values = trial.seasons.len().max(1) as f64;
    match within {
        Some(within) => {
            parts.seasons = within;
            parts.plots = part("plots", plots, within, plot_values);
        }
        None => parts.plots = plots,
    }
    let small = [Role::SubPlot, Role::SubSubPlot];
    match kind {
        DesignKind::SplitPlot => {
            let whole = error("between whole plots").ok_or_else(unknown)?;
            parts.whole_plots = part("whole plots", whole, plots, values_of(trial, &small));
        }
        DesignKind::SplitSplitPlot => {
            let whole = error("between whole plots").ok_or_else(unknown)?;
            let sub = error("between sub plots").ok_or_else(unknown)?;
            let inside = values_of(trial, &[Role::SubSubPlot]);
            parts.sub_plots = part("sub plots", sub, plots, inside);
            parts.whole_plots = part("whole plots", whole, sub, values_of(trial, &small));
        }
        DesignKind::StripPlot => {
            let rows = error("between row strips").ok_or_else(unknown)?;
            let cross = error("between cross strips").ok_or_else(unknown)?;
            let across = values_of(trial, &[Role::CrossStrip]);
            parts.row_strips = part("row strips", rows, plots, across);
            let along = values_of(trial, &[Role::RowStrip]);
            parts.cross_strips = part("cross strips", cross, plots, along);
        }
        _ => {}
    }
    if let (Some(within), Some(factor)) = (within, trial.factors.first()) {
        let total = table.columns.iter().find_map(|column| match &column.cells {
            Cells::Count { values } => values.last().copied().flatten(),
            _ => None,
        });
        let crossed = line(&format!("{} × Season", factor.label));
        if let (Some(total), Some(crossed)) = (total, crossed) {
            let each = (total + 1) as f64 / (plot_values * factor.levels.len() as f64);
            let what = format!("{} by seasons", words::inside(&factor.label));
            parts.treatments_by_season = part(&what, crossed, within, each);
        }
    }
    Ok(Earlier {
        parts,
        mean: None,
        vines: None,
        taken,
    })
}

fn of_components(trial: &TrialInfo, table: &Table) -> Result<Earlier, Refusal> {
    let unknown = || {
        Refusal::new(
            "the variance components of the earlier report are not of a kind that a plan can use",
        )
        .hint("type the standard deviations in, or take a report with the analysis of variance")
    };
    let names = texts(table).ok_or_else(unknown)?;
    let variances = numbers(table, "Variance").ok_or_else(unknown)?;
    let correlations = numbers(table, "Correlation").unwrap_or(&[]);
    let mut parts = Parts::default();
    let mut taken = Vec::new();
    let (mut error, mut lasting, mut any) = (None, None, false);
    for (at, name) in names.iter().enumerate() {
        let variance = variances.get(at).copied().flatten();
        let correlation = correlations.get(at).copied().flatten();
        match (name.as_deref().unwrap_or_default(), variance, correlation) {
            ("plots (error)", Some(value), _) => {
                parts.plots = value;
                any = true;
            }
            ("plots", Some(value), _) => parts.plots = value,
            ("seasons within plots (error)", Some(value), _) => {
                parts.seasons = value;
                any = true;
            }
            ("a plot in a season (error)", Some(value), _) => error = Some(value),
            ("whole plots", Some(value), _) => parts.whole_plots = value,
            ("sub plots", Some(value), _) => parts.sub_plots = value,
            ("row strips", Some(value), _) => parts.row_strips = value,
            ("cross strips", Some(value), _) => parts.cross_strips = value,
            ("any two seasons of a plot", _, Some(value)) => lasting = Some(value),
            ("seasons of a plot one apart", _, Some(value)) => {
                lasting = Some(average_correlation(value, trial.seasons.len()));
                taken.push(
                    "Its seasons are the less alike the further apart; a plan counts their average likeness.".to_owned(),
                );
            }
            ("blocks" | "rows" | "columns", _, _) => {}
            _ => return Err(unknown()),
        }
    }
    match (error, lasting) {
        (Some(error), Some(lasting)) => {
            parts.plots += error * lasting.max(0.0);
            parts.seasons = error * (1.0 - lasting.max(0.0));
        }
        (Some(_), None) => return Err(unknown()),
        (None, _) if any => {}
        (None, _) => return Err(unknown()),
    }
    taken.push(
        "The table says nothing of how treatments change from season to season; give treatments_by_season if it is known.".to_owned(),
    );
    Ok(Earlier {
        parts,
        mean: None,
        vines: None,
        taken,
    })
}

/// The average of ρ to the power of the distance over all pairs of so many seasons.
fn average_correlation(rho: f64, seasons: usize) -> f64 {
    if seasons < 2 {
        return rho;
    }
    let pairs: f64 = (1..seasons)
        .map(|apart| (seasons - apart) as f64 * rho.powi(apart as i32))
        .sum();
    2.0 * pairs / (seasons * (seasons - 1)) as f64
}
