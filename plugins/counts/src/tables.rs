//! Tables of a response: means, tests, comparisons, trends, what varies.

use caneplot_plugin::findings::{Column, Format, Table};

use crate::frame::{Dimension, Frame};
use crate::levels::{Adjusted, LevelMean, Levels};
use crate::model::Modelled;
use crate::section::{Set, Subjected};
use crate::subject::Kind;
use crate::words::capital;

/// All tables of a response that has a model.
#[must_use]
pub fn tables(subjected: &Subjected) -> Vec<Table> {
    if subjected.main().is_none() {
        return Vec::new();
    }
    let mut tables = vec![means(subjected)];
    tables.extend(
        [tests(subjected), comparisons(subjected), trends(subjected)]
            .into_iter()
            .flatten(),
    );
    tables.push(variation(subjected));
    tables
}

/// How a mean of this response is written.
#[must_use]
pub fn mean_format(kind: Kind, size: f64) -> Format {
    match kind {
        Kind::Share => Format::Percent(1),
        _ if size >= 10.0 => Format::Decimals(1),
        _ => Format::Decimals(2),
    }
}

/// "Odds ratio" or "Rate ratio".
#[must_use]
pub fn ratio_name(subjected: &Subjected) -> &'static str {
    if subjected.is_share() {
        "Odds ratio"
    } else {
        "Rate ratio"
    }
}

/// Interval heading: "Low, 95 %".
fn ends(level: f64) -> [String; 2] {
    let sure = interval_words(level);
    [format!("Low, {sure}"), format!("High, {sure}")]
}

/// "95 %".
#[must_use]
pub fn interval_words(level: f64) -> String {
    let sure = (1.0 - level) * 1000.0;
    format!("{} %", sure.round() / 10.0)
}

/// Rows of all fitted sets, with the season of each and where a set begins.
struct Rows<'a, T> {
    rows: Vec<(&'a Set, &'a Modelled, T)>,
    groups: Vec<usize>,
}

fn rows<'a, T>(
    subjected: &'a Subjected,
    of: impl Fn(&'a Set, &'a Modelled, &'a Levels) -> Vec<T>,
) -> Rows<'a, T> {
    let mut found = Rows {
        rows: Vec::new(),
        groups: Vec::new(),
    };
    for (set, model, levels) in subjected.fitted() {
        let start = found.rows.len();
        found.rows.extend(
            of(set, model, levels)
                .into_iter()
                .map(|row| (set, model, row)),
        );
        if found.rows.len() > start {
            found.groups.push(start);
        }
    }
    found
}

impl<T> Rows<'_, T> {
    /// A column of seasons, where the trial has them.
    fn seasons(&self) -> Option<Column> {
        let labelled = self.rows.iter().any(|(set, ..)| set.label.is_some());
        labelled.then(|| {
            let labels = self
                .rows
                .iter()
                .map(|(set, ..)| set.label.clone().unwrap_or_default());
            Column::text("Season", labels)
        })
    }

    fn text(&self, name: &str, of: impl Fn(&Set, &T) -> String) -> Column {
        Column::text(name, self.rows.iter().map(|(set, _, row)| of(set, row)))
    }

    fn number(&self, name: &str, format: Format, of: impl Fn(&T) -> Option<f64>) -> Column {
        Column::number(
            name,
            self.rows.iter().map(|(_, _, row)| of(row)).collect(),
            format,
        )
    }

    fn probability(&self, name: &str, of: impl Fn(&T) -> Option<f64>) -> Column {
        Column::probability(name, self.rows.iter().map(|(_, _, row)| of(row)).collect())
    }

    fn count(&self, name: &str, of: impl Fn(&T) -> f64) -> Column {
        Column::count(
            name,
            self.rows
                .iter()
                .map(|(_, _, row)| Some(of(row) as i64))
                .collect(),
        )
    }

    fn table(self, id: &str, title: String, columns: Vec<Column>) -> Table {
        let groups = if self.groups.len() > 1 {
            self.groups.clone()
        } else {
            Vec::new()
        };
        Table {
            id: id.to_owned(),
            title,
            columns: self.seasons().into_iter().chain(columns).collect(),
            groups,
            ..Table::default()
        }
    }
}

/// The treatment factors of all sets, by their label.
fn factor_labels(subjected: &Subjected) -> Vec<String> {
    let mut labels: Vec<String> = Vec::new();
    for (set, ..) in subjected.fitted() {
        for dimension in set.frame.dimensions.iter().filter(|d| d.factor.is_some()) {
            if !labels.contains(&dimension.label) {
                labels.push(dimension.label.clone());
            }
        }
    }
    labels
}

fn level_of(frame: &Frame, label: &str, levels: &[Option<usize>]) -> String {
    let at = frame
        .dimensions
        .iter()
        .position(|dimension| dimension.label == label);
    match at.map(|at| (&frame.dimensions[at], levels[at])) {
        Some((dimension, Some(level))) => dimension.labels[level].clone(),
        Some((_, None)) => "all".to_owned(),
        None => String::new(),
    }
}

fn means(subjected: &Subjected) -> Table {
    let rows = rows(subjected, |_, _, levels| levels.means.iter().collect());
    let words = &subjected.subject.words;
    let kind = subjected.subject.kind;
    let response = &subjected.subject.response;
    let largest = rows
        .rows
        .iter()
        .map(|(_, _, mean)| mean.mean)
        .fold(0.0, f64::max);
    let format = mean_format(kind, largest);
    let [low, high] = ends(subjected.level);
    let mut columns: Vec<Column> = factor_labels(subjected)
        .iter()
        .map(|label| {
            rows.text(label, |set, mean: &&LevelMean| {
                level_of(&set.frame, label, &mean.levels)
            })
        })
        .collect();
    for column in &mut columns {
        column.unit = unit_of(subjected, &column.name);
    }
    let plots = if subjected.sets.len() > 1 {
        "Plots and seasons"
    } else {
        "Plots"
    };
    columns.push(rows.count(plots, |mean| mean.plots as f64));
    columns.push(rows.count(&words.counted, |mean| mean.counted));
    let size = match kind {
        Kind::Share => words.total.clone(),
        Kind::PerPlot => String::new(),
        other => format!("{}s", capital(other.unit())),
    };
    if kind != Kind::PerPlot {
        columns.push(rows.count(&size, |mean| mean.size));
    }
    columns.push(rows.number("As counted", format, |mean| Some(mean.counted / mean.size)));
    columns.push(rows.number("Mean", format, |mean| Some(mean.mean)));
    columns.push(rows.number(&low, format, |mean| Some(mean.low)));
    columns.push(rows.number(&high, format, |mean| Some(mean.high)));
    let vines = kind == Kind::Share && rows.rows.iter().any(|(_, _, mean)| mean.vines.is_some());
    if vines {
        let name = format!("{} per vine, as counted", words.counted);
        columns.push(rows.number(&name, Format::Decimals(1), |mean| {
            Some(mean.counted / mean.vines?)
        }));
    }
    let what = match kind {
        Kind::Share => "shares".to_owned(),
        other => format!("{} per {}", words.items, other.unit()),
    };
    let sure = interval_words(subjected.level);
    let mut table = rows.table(
        "means",
        format!(
            "{}: {what} by the model, with {sure} intervals",
            capital(&response.label)
        ),
        columns,
    );
    if matches!(kind, Kind::PerVine | Kind::PerNode | Kind::PerPlot) {
        let unit = format!("per {}", kind.unit());
        for column in table.columns.iter_mut() {
            if ["As counted", "Mean", low.as_str(), high.as_str()].contains(&column.name.as_str()) {
                column.unit = Some(unit.clone());
            }
        }
    }
    table
}

fn unit_of(subjected: &Subjected, label: &str) -> Option<String> {
    let (set, ..) = subjected.main()?;
    let dimension = set
        .frame
        .dimensions
        .iter()
        .find(|dimension| dimension.label == label)?;
    dimension.values.as_ref()?;
    dimension.unit.clone()
}

fn tests(subjected: &Subjected) -> Option<Table> {
    let rows = rows(subjected, |_, model, _| model.tests.iter().collect());
    if rows.rows.is_empty() {
        return None;
    }
    let columns = vec![
        rows.text("Source of variation", |set, test| {
            test.term.words(&set.frame)
        }),
        rows.count("df", |test| test.df),
        rows.count("df of error", |test| test.error_df),
        rows.number("F", Format::Decimals(2), |test| Some(test.f)),
        rows.probability("P", |test| Some(test.probability)),
        rows.number("Chi-square", Format::Decimals(2), |test| Some(test.ratio)),
        rows.probability("P by chi-square", |test| Some(test.chi_square)),
    ];
    let label = capital(&subjected.subject.response.label);
    let mut table = rows.table("tests", format!("{label}: tests of treatments"), columns);
    table.notes.push(
        "F is judged with the df of the units the treatment was applied to; chi-square is the likelihood ratio of the line beside all others and by itself rejects too often with few blocks.".to_owned(),
    );
    Some(table)
}

fn comparisons(subjected: &Subjected) -> Option<Table> {
    let rows = rows(subjected, |_, _, levels| {
        levels.comparisons.iter().collect()
    });
    if rows.rows.is_empty() {
        return None;
    }
    let [low, high] = ends(subjected.level);
    let label = |set: &Set, dimension: usize, level: usize| {
        set.frame.dimensions[dimension].labels[level].clone()
    };
    let format = Format::Significant(3);
    let columns = vec![
        rows.text("Factor", |set, c| {
            set.frame.dimensions[c.dimension].label.clone()
        }),
        rows.text("Level", |set, c| label(set, c.dimension, c.level)),
        rows.text("Against", |set, c| label(set, c.dimension, c.against)),
        rows.number(ratio_name(subjected), format, |c| Some(c.ratio)),
        rows.number(&low, format, |c| Some(c.low)),
        rows.number(&high, format, |c| Some(c.high)),
        rows.probability("P", |c| Some(c.probability)),
        rows.text("Adjusted by", |_, c| match c.adjusted {
            Adjusted::Dunnett => "Dunnett".to_owned(),
            Adjusted::Holm => "Holm".to_owned(),
        }),
    ];
    let name = capital(&subjected.subject.response.label);
    let title = format!(
        "{name}: {} between levels",
        ratio_name(subjected).to_lowercase() + "s"
    );
    let mut table = rows.table("comparisons", title, columns);
    table.notes.push("A ratio of 1 means no difference. P and intervals hold for all comparisons of a factor in a season together.".to_owned());
    if subjected.is_share() {
        table.notes.push(
            "Odds are the share over one less the share: 80 % has odds of 4, 90 % odds of 9."
                .to_owned(),
        );
    }
    Some(table)
}

/// "12 nodes/vine" for the step of a trend.
#[must_use]
pub fn step_words(dimension: &Dimension, step: f64) -> String {
    match &dimension.unit {
        Some(unit) => format!("{step} {unit}"),
        None => format!("{step}"),
    }
}

fn trends(subjected: &Subjected) -> Option<Table> {
    let rows = rows(subjected, |_, _, levels| levels.trends.iter().collect());
    if rows.rows.is_empty() {
        return None;
    }
    let [low, high] = ends(subjected.level);
    let format = Format::Significant(3);
    let columns = vec![
        rows.text("Factor", |set, t| {
            set.frame.dimensions[t.dimension].label.clone()
        }),
        rows.text("For each", |set, t| {
            step_words(&set.frame.dimensions[t.dimension], t.step)
        }),
        rows.number(ratio_name(subjected), format, |t| Some(t.ratio)),
        rows.number(&low, format, |t| Some(t.low)),
        rows.number(&high, format, |t| Some(t.high)),
        rows.probability("P of the trend", |t| Some(t.probability)),
        rows.probability("P of bending", |t| t.curvature),
    ];
    let name = capital(&subjected.subject.response.label);
    let scale = if subjected.is_share() {
        "log odds"
    } else {
        "log of the rate"
    };
    Some(rows.table(
        "trends",
        format!("{name}: straight line on the scale of the {scale}"),
        columns,
    ))
}

/// One line of the table of what varies.
struct Varies {
    term: String,
    sd: f64,
    error: Option<f64>,
    dispersion: f64,
}

fn variation(subjected: &Subjected) -> Table {
    let rows = rows(subjected, |_, model, _| {
        let mut lines: Vec<Varies> = model
            .fit
            .random
            .iter()
            .map(|random| Varies {
                term: random.name.clone(),
                sd: random.sd,
                error: random.sd_error,
                dispersion: model.dispersion,
            })
            .collect();
        if lines.is_empty() {
            lines.push(Varies {
                term: "none".to_owned(),
                sd: 0.0,
                error: None,
                dispersion: model.dispersion,
            });
        }
        lines
    });
    let columns = vec![
        rows.text("Random term", |_, line| line.term.clone()),
        rows.number("Standard deviation", Format::Decimals(3), |line| {
            Some(line.sd)
        }),
        rows.number("Its standard error", Format::Decimals(3), |line| line.error),
        rows.number("Pearson chi-square over df", Format::Decimals(2), |line| {
            Some(line.dispersion)
        }),
    ];
    let name = capital(&subjected.subject.response.label);
    let mut table = rows.table(
        "variation",
        format!("{name}: what varies beside the treatments"),
        columns,
    );
    table.file_only = true;
    table
}
