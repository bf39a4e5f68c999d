//! The tables of a ratio.

use caneplot_plugin::findings::{Column, Format, Table};
use caneplot_plugin::request::Canopy;

use crate::beside::range_words;
use crate::estimate::Estimate;
use crate::other_tables;
use crate::ranges::{Certainty, citation, of_index};
use crate::report::{Entry, Report};
use crate::treatments::{Group, level_words};
use crate::verdict::Verdict;

/// The tables of a section.
#[must_use]
pub fn tables(report: &Report<'_>) -> Vec<Table> {
    let mut found = Vec::new();
    if !report.is_never_complete() {
        found.push(by_treatment(report));
    }
    if !report.seasons.is_empty() {
        found.push(by_season(report));
    }
    found.extend(other_tables::tables(report));
    found.extend(published(report));
    found
}

/// "Yield to pruning weight by treatment, over the 4 seasons 2021 to 2024".
#[must_use]
pub fn title(report: &Report<'_>, what: &str) -> String {
    let when = report.when();
    let comma = if when.is_empty() { "" } else { ", " };
    format!("{} by {what}{comma}{when}", report.ratio.label)
}

/// The columns of numbers that both tables share.
fn numbers(report: &Report<'_>, estimates: &[&Estimate]) -> Vec<Column> {
    let format = Format::Decimals(report.decimals());
    let number = |name: &str, value: &dyn Fn(&Estimate) -> Option<f64>| {
        let values = estimates.iter().map(|estimate| value(estimate)).collect();
        Column::number(name, values, format).in_unit(&report.ratio.unit)
    };
    let level = report.level_words();
    // Over a fixed length the mean of the plots' ratios is the ratio of means.
    let coupled = report.ratio.per.is_some();
    let mut columns = vec![number("Ratio of means", &|e| Some(e.ratio))];
    // Without any estimate of error there is nothing to put into such columns.
    if estimates.iter().any(|estimate| estimate.set.is_some()) {
        columns.push(number(&format!("{level} from"), &|e| {
            e.interval().map(|(low, _)| low)
        }));
        columns.push(number(&format!("{level} to"), &|e| {
            e.interval().map(|(_, high)| high)
        }));
    }
    if coupled {
        columns.push(number("Mean of plot ratios", &|e| Some(e.mean_of_ratios)));
    }
    let error = if coupled { "SE of that mean" } else { "SE" };
    if estimates.iter().any(|e| e.standard_error.is_some()) {
        columns.push(number(error, &|e| e.standard_error));
    }
    let plots = estimates.iter().map(|e| Some(e.plots as i64)).collect();
    columns.push(Column::count("Plots", plots));
    columns
}

fn by_treatment(report: &Report<'_>) -> Table {
    let mut entries = Vec::new();
    let mut labels = Vec::new();
    let mut starts = Vec::new();
    for (at, group) in report.groups.iter().enumerate() {
        if report.groups.len() > 1 {
            starts.push(entries.len());
        }
        for entry in report.entries(&report.overall, at) {
            labels.push(row_label(report, group, &entry));
            entries.push(entry);
        }
    }
    let estimates: Vec<&Estimate> = entries.iter().map(|entry| entry.estimate).collect();
    let mut columns = vec![Column::text("Treatment", labels)];
    columns.extend(numbers(report, &estimates));
    if report
        .ratio
        .index
        .is_some_and(|index| of_index(index).next().is_some())
    {
        let verdicts = entries.iter().map(|entry| verdict_words(report, entry));
        columns.push(Column::text("Published range", verdicts));
    }
    let mut notes = Vec::new();
    if report.groups.len() > 1 {
        notes.push("Rows of one factor are means over the others.".to_owned());
    }
    notes.extend(unbounded_note(&estimates));
    Table {
        id: "treatments".to_owned(),
        title: title(report, "treatment"),
        columns,
        notes,
        groups: starts,
        file_only: false,
    }
}

fn unbounded_note(estimates: &[&Estimate]) -> Option<String> {
    let unbounded = |e: &&Estimate| e.set.is_some() && e.interval().is_none();
    estimates
        .iter()
        .any(unbounded)
        .then(|| "No interval stands where the data do not bound the ratio.".to_owned())
}

/// A treatment in the first column of a table.
#[must_use]
pub fn row_label(report: &Report<'_>, group: &Group, entry: &Entry<'_>) -> String {
    match group.factor {
        Some(factor) if report.groups.len() > 1 => format!(
            "{}: {}",
            report.trial.factors[factor].label, entry.treatment.label
        ),
        _ => entry.treatment.label.clone(),
    }
}

fn verdict_words(report: &Report<'_>, entry: &Entry<'_>) -> String {
    match report.verdict(entry) {
        Verdict::Beside(range, place) => format!(
            "{} {} ({})",
            place.short(),
            range_words(range),
            citation(range.source).0
        ),
        Verdict::None(why) => why.short().to_owned(),
    }
}

fn by_season(report: &Report<'_>) -> Table {
    let mut estimates = Vec::new();
    let (mut seasons, mut labels, mut starts) = (Vec::new(), Vec::new(), Vec::new());
    for (season, window) in &report.seasons {
        starts.push(estimates.len());
        for entry in report.entries(window, 0) {
            seasons.push(report.trial.seasons[*season].clone());
            labels.push(entry.treatment.label.clone());
            estimates.push(entry.estimate);
        }
    }
    let mut columns = vec![
        Column::text("Season", seasons),
        Column::text("Treatment", labels),
    ];
    columns.extend(numbers(report, &estimates));
    let mut notes: Vec<String> = unbounded_note(&estimates).into_iter().collect();
    let without = report
        .seasons
        .iter()
        .filter(|(_, window)| window.estimates.no_error.is_some());
    notes.extend(without.map(|(season, _)| {
        format!(
            "{}: no estimate of error, so no interval.",
            report.trial.seasons[*season]
        )
    }));
    Table {
        id: "seasons".to_owned(),
        title: format!("{} by season and treatment", report.ratio.label),
        notes,
        columns,
        groups: starts,
        file_only: false,
    }
}

/// The published ranges beside this trial.
fn published(report: &Report<'_>) -> Option<Table> {
    let ranges = report.ranges();
    if ranges.is_empty() {
        return None;
    }
    let canopy = |canopy: Option<Canopy>| match canopy {
        Some(Canopy::Single) => "single",
        Some(Canopy::Divided) => "divided",
        _ => "not told apart",
    };
    let checked = |certainty| match certainty {
        Certainty::Read => "read in the source",
        Certainty::FromMemory => "from memory, not checked",
    };
    Some(Table {
        id: "ranges".to_owned(),
        title: format!("{}: published ranges", report.ratio.label),
        columns: vec![
            Column::text("Range", ranges.iter().map(|r| range_words(r))),
            Column::text("Canopy", ranges.iter().map(|r| canopy(r.canopy))),
            Column::text("Holds for", ranges.iter().map(|r| r.conditions)),
            Column::text("Source", ranges.iter().map(|r| citation(r.source).0)),
            Column::text("Figures", ranges.iter().map(|r| checked(r.certainty))),
        ],
        notes: vec![
            "A range is its authors' experience in their region and with their grapes, not a limit of \
             the vine."
                .to_owned(),
        ],
        groups: Vec::new(),
        file_only: false,
    })
}

/// Names of the levels of a factor that occur, for axes and legends.
#[must_use]
pub fn level_names(report: &Report<'_>, factor: usize) -> Vec<String> {
    let factor = &report.trial.factors[factor];
    (0..factor.levels.len())
        .map(|level| level_words(factor, level))
        .collect()
}
