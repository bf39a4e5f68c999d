//! Season by season: means of every treatment, and the test of that season alone.

use caneplot_plugin::findings::{Column, Table};
use caneplot_plugin::words;

use super::in_unit;
use crate::measures::digits;
use crate::study::{BySeason, Study};

/// Most levels that stand side by side; more go down the page.
const MOST_ACROSS: usize = 6;

const ALONE: &str = "F and P are of each season by itself. Seasons of the same plots are not independent: they are not replications of the trial, and several small P are not several proofs.";

/// A table a factor, and with several factors one of the tests of their crossings.
pub(crate) fn tables(study: &Study<'_>) -> Vec<Table> {
    let factors = study.planner.trial().factors.len();
    let mut tables = Vec::new();
    for factor in 0..factors {
        let levels = levels(study, factor);
        if levels.len() <= MOST_ACROSS {
            tables.push(across(study, factor, &levels));
        } else {
            tables.push(down(study, factor, &levels));
            tables.push(tests(
                study,
                &[factor],
                &format!("tests-{}", id(study, factor)),
            ));
        }
    }
    let crossed = study
        .by_season
        .iter()
        .filter_map(|season| season.analysed.as_ref().ok())
        .flat_map(|analysed| &analysed.planned.terms)
        .find(|term| term.factors.len() > 1);
    if crossed.is_some() {
        let all: Vec<usize> = (0..factors).collect();
        tables.push(tests(study, &all, "tests-together"));
    }
    tables
}

fn id(study: &Study<'_>, factor: usize) -> String {
    words::id(&study.planner.trial().factors[factor].name)
}

/// Declared levels of a factor that occur in some season.
fn levels(study: &Study<'_>, factor: usize) -> Vec<usize> {
    let declared = study.planner.trial().factors[factor].levels.len();
    let occurs = |level: &usize| {
        study
            .by_season
            .iter()
            .any(|s| mean(study, s, factor, *level).is_some())
    };
    (0..declared).filter(occurs).collect()
}

/// Mean of a level in a season, with its offset.
fn mean(study: &Study<'_>, season: &BySeason<'_>, factor: usize, level: usize) -> Option<f64> {
    let analysed = season.analysed.as_ref().ok()?;
    let treatments = analysed.treatments(factor)?;
    let at = treatments
        .levels
        .iter()
        .position(|cell| cell.as_slice() == [level])?;
    Some(study.response().offset + analysed.mean(factor, 0, at))
}

/// Seasons and years of treatment.
fn head(study: &Study<'_>) -> Vec<Column> {
    let calendar = study.planner.calendar;
    let seasons = || study.by_season.iter().map(|season| season.season);
    vec![
        Column::text("Season", seasons().map(|season| calendar.label(season))),
        Column::count(
            if calendar.dated {
                "Year of treatment"
            } else {
                "Season of treatment"
            },
            seasons()
                .map(|season| Some(calendar.year_of_treatment(season)))
                .collect(),
        ),
    ]
}

/// Seasons down, levels across.
fn across(study: &Study<'_>, factor: usize, levels: &[usize]) -> Table {
    let about = &study.planner.trial().factors[factor];
    let smallest = study
        .by_season
        .iter()
        .filter_map(|season| season.analysed.as_ref().ok()?.smallest_error(0))
        .reduce(f64::min);
    let decimals = study.response().decimals;
    let mut columns = head(study);
    for &level in levels {
        let values = study
            .by_season
            .iter()
            .map(|s| mean(study, s, factor, level))
            .collect();
        let heading = match (&about.unit, about.levels[level].value) {
            (Some(unit), Some(_)) => format!("{} {unit}", about.levels[level].label),
            _ => about.levels[level].label.clone(),
        };
        let column = Column::number(&heading, values, digits(smallest, decimals));
        columns.push(in_unit(column, study.unit()));
    }
    let of_season = |value: &dyn Fn(&BySeason<'_>) -> Option<f64>| {
        study.by_season.iter().map(value).collect::<Vec<_>>()
    };
    let errors = of_season(&|s| s.analysed.as_ref().ok()?.error_of_difference(factor, 0));
    let format = digits(
        errors.iter().flatten().copied().reduce(f64::min),
        decimals.saturating_add(1),
    );
    columns.push(in_unit(
        Column::number("SE of difference", errors, format),
        study.unit(),
    ));
    let test = |s: &BySeason<'_>| s.analysed.as_ref().ok()?.test(factor, 0);
    columns.push(Column::number(
        "F",
        of_season(&|s| Some(test(s)?.f)),
        caneplot_plugin::findings::Format::Decimals(2),
    ));
    columns.push(Column::probability("P", of_season(&|s| Some(test(s)?.p))));
    Table {
        id: format!("seasons-{}", id(study, factor)),
        title: title(study, factor),
        columns,
        notes: notes(study),
        ..Table::default()
    }
}

/// Levels down, seasons across.
fn down(study: &Study<'_>, factor: usize, levels: &[usize]) -> Table {
    let about = &study.planner.trial().factors[factor];
    let labels = levels
        .iter()
        .map(|&level| about.levels[level].label.clone());
    let mut columns = vec![in_unit(
        Column::text(&about.label, labels),
        about.unit.as_deref().unwrap_or(""),
    )];
    for season in &study.by_season {
        let values = levels
            .iter()
            .map(|&level| mean(study, season, factor, level))
            .collect();
        let format = match &season.analysed {
            Ok(analysed) => study.of_means(analysed, 0),
            Err(_) => digits(None, study.response().decimals),
        };
        let name = study.planner.calendar.label(season.season);
        columns.push(in_unit(Column::number(name, values, format), study.unit()));
    }
    Table {
        id: format!("seasons-{}", id(study, factor)),
        title: title(study, factor),
        columns,
        notes: notes(study),
        ..Table::default()
    }
}

/// Tests season by season of all terms made of these factors.
fn tests(study: &Study<'_>, factors: &[usize], id: &str) -> Table {
    let trial = study.planner.trial();
    let mut columns = head(study);
    let terms = study
        .by_season
        .iter()
        .filter_map(|season| season.analysed.as_ref().ok())
        .max_by_key(|analysed| analysed.planned.terms.len())
        .map_or(Vec::new(), |analysed| {
            analysed
                .planned
                .terms
                .iter()
                .map(|term| term.factors.clone())
                .collect()
        });
    let wanted = |term: &[usize]| {
        term.iter().all(|factor| factors.contains(factor)) && (factors.len() == 1 || term.len() > 1)
    };
    for term in terms.iter().filter(|term| wanted(term)) {
        let name = names(trial, term);
        let test = |season: &BySeason<'_>| {
            let analysed = season.analysed.as_ref().ok()?;
            let at = analysed
                .planned
                .terms
                .iter()
                .position(|other| other.factors == *term)?;
            analysed.test(at, 0)
        };
        let values = study.by_season.iter().map(|s| Some(test(s)?.f)).collect();
        let format = caneplot_plugin::findings::Format::Decimals(2);
        columns.push(Column::number(&format!("{name}: F"), values, format));
        let values = study.by_season.iter().map(|s| Some(test(s)?.p)).collect();
        columns.push(Column::probability(&format!("{name}: P"), values));
    }
    Table {
        id: id.to_owned(),
        title: format!("{}: tests season by season", study.response().label),
        columns,
        notes: vec![ALONE.to_owned()],
        ..Table::default()
    }
}

/// "Training system × nodes left".
pub(super) fn names(trial: &caneplot_plugin::request::TrialInfo, factors: &[usize]) -> String {
    let labels: Vec<&str> = factors
        .iter()
        .map(|&at| trial.factors[at].label.as_str())
        .collect();
    labels.join(" × ")
}

fn title(study: &Study<'_>, factor: usize) -> String {
    let label = &study.planner.trial().factors[factor].label;
    format!(
        "{} by {}, season by season",
        study.response().label,
        words::inside(label)
    )
}

fn notes(study: &Study<'_>) -> Vec<String> {
    let mut notes = vec![ALONE.to_owned()];
    let adjusted = study.by_season.iter().any(|season| {
        season
            .analysed
            .as_ref()
            .is_ok_and(|analysed| !analysed.planned.plots.complete())
    });
    if adjusted {
        notes.push("Where plots are missing, means are adjusted to all blocks.".to_owned());
    }
    notes
}
