//! The section of one response: what goes in, and in which order.

use caneplot_plugin::Refusal;
use caneplot_plugin::findings::{Rank, Section, Statement, Table};
use caneplot_plugin::request::{Basis, Response};
use caneplot_readings::together;

use crate::methods::Used;
use crate::options::{BlockSeason, Separation};
pub(crate) use crate::words::id;

use crate::study::Study;
use crate::tables::{self, differences};
use crate::{checks, estimates, figures, influence, scale, sentences, words};

/// The section of a response that has no analysis, with the reason.
pub(crate) fn refused(response: &Response, refusal: &Refusal) -> Section {
    let mut text = format!(
        "{} is not analysed: {}.",
        words::beginning(&response.label),
        words::safe(refusal.message.trim_end_matches('.'))
    );
    if let Some(hint) = &refusal.hint {
        text.push_str(&format!(
            " {}.",
            words::beginning(hint.trim_end_matches('.'))
        ));
    }
    Section {
        id: id(&response.name),
        title: response.label.clone(),
        response: Some(response.name.clone()),
        statements: vec![Statement::new(text)],
        ..Section::default()
    }
}

/// The section of an analysed response.
pub(crate) fn of(study: &Study<'_>, used: &mut Used) -> Section {
    used.note_design(study);
    let factors: Vec<usize> = (0..study.trial.factors.len()).collect();
    let mut tables = vec![tables::of(study)];
    let mut files = Vec::new();
    let mut compared = Vec::new();
    for &factor in &factors {
        tables.extend(study.factor_table(factor));
        compared.extend(study.term(&[factor], false));
        compared.extend(study.term(&[factor], true));
    }
    for set in together(&factors) {
        if let Some(found) = study.combination_table(&set) {
            if !found.file_only {
                compared.extend(study.term(&set, false));
            }
            push(found, &mut tables, &mut files);
        }
        if let Some(found) = study.combinations_by_season(&set) {
            push(found, &mut tables, &mut files);
        }
    }
    tables.extend(differences::differences(study, &compared));
    for &factor in &factors {
        if let Some(trend) = study.trend(factor) {
            let table = study.trend_table(&trend);
            used.trend |= table.is_some();
            tables.extend(table);
        }
        files.extend(study.demoted_letters(factor));
        files.extend(study.pairs_table(factor));
        let wanted = study.options.separation != Separation::None;
        if let Some(found) = study.control_table(factor).filter(|_| wanted) {
            used.dunnett = true;
            tables.push(found);
        }
    }
    let beside = scale::of(study, used);
    tables.extend(beside.tables);
    let weighed = influence::of(study, used);
    files.extend(weighed.table);
    used.letters |= tables.iter().chain(&files).any(Table::has_letters);
    tables.extend(files);
    let mut statements = sentences::of(study);
    statements.extend(beside.statements);
    statements.extend(weighed.statements);
    let mut notes = notes(study, used);
    notes.extend(beside.notes);
    Section {
        id: id(&study.response.name),
        title: study.response.label.clone(),
        response: Some(study.response.name.clone()),
        statements,
        tables,
        figures: figures::of(study),
        notes,
        estimates: estimates::of(study),
    }
}

fn push(table: Table, shown: &mut Vec<Table>, files: &mut Vec<Table>) {
    if table.file_only {
        files.push(table);
    } else {
        shown.push(table);
    }
}

fn notes(study: &Study<'_>, used: &mut Used) -> Vec<Statement> {
    let mut notes = study.notes.clone();
    if let Some(how) = &study.response.derived {
        let text = format!(
            "Not recorded but reckoned: {}.",
            words::safe(how.trim_end_matches('.'))
        );
        notes.push(Statement::new(text).rank(Rank::Detail));
    }
    let mut say = |text: String| notes.push(Statement::new(text).rank(Rank::Detail));
    if study.planned.design.vines.is_some() {
        say("Vines are samples of their plot: treatments are tested against plots, never against vines.".to_owned());
    }
    if study.planned.design.within_plots.is_some() {
        let pooled = pooled(study);
        let errors = match pooled.as_slice() {
            [] => String::new(),
            [one] => format!(" {one} × seasons is part of that error."),
            several => format!(
                " {} are parts of that error.",
                words::list(
                    &several
                        .iter()
                        .map(|one| format!("{one} × seasons"))
                        .collect::<Vec<_>>()
                )
            ),
        };
        say(format!(
            "Seasons repeat on the same plots, so they and their interactions are tested within plots.{errors} This supposes that any two seasons of a plot are equally correlated; where neighbouring seasons are more alike, those tests are too sure of themselves, while the test of the treatments over all seasons stands."
        ));
    }
    let numeric: Vec<String> = (0..study.trial.factors.len())
        .filter(|&at| study.factor(at).is_numeric() && study.levels(at).len() > 2)
        .map(|at| words::inside(&study.factor(at).label))
        .collect();
    if !numeric.is_empty() && study.options.separation != Separation::None {
        used.chew = true;
        let first = (0..study.trial.factors.len()).find(|&at| study.factor(at).is_numeric());
        let levels = first.map_or_else(String::new, |at| study.levels(at).join(" from "));
        say(format!(
            "Levels of {} are amounts: the trend over them is the result. Telling {} by letters is a classic mistake (Chew 1976), because every amount between them has its place on the curve.",
            words::list(&numeric),
            words::safe(&levels)
        ));
    }
    if study.options.separation == Separation::Dunnett
        && (0..study.trial.factors.len()).all(|at| study.control(at).is_none())
    {
        say("The option asks for comparisons with a control, but no factor declares one: means are shown without comparison.".to_owned());
    }
    if study.response.counts.is_some() {
        say("These are percentages of counts, analysed plot by plot with equal weight. Where they come near 0 or 100, or the counts are small, a model for counts is the better tool.".to_owned());
    }
    if study.response.basis == Basis::PlantedSpace {
        say("Reckoned over planted spaces: a missing vine counts as nothing harvested.".to_owned());
    }
    notes.extend(sentences::cautions(study));
    notes.extend(tables::variation(study));
    notes.extend(checks::statements(study, used));
    notes
}

/// Groups and larger units whose interaction with the seasons is pooled within plots.
fn pooled(study: &Study<'_>) -> Vec<String> {
    let design = &study.planned.design;
    let separate = study.options.block_season == BlockSeason::Separate;
    let mut names: Vec<String> = design.layout.strata()[..design.plots]
        .iter()
        .filter_map(|stratum| stratum.name.strip_prefix("Between "))
        .filter(|name| !(separate && *name == "blocks"))
        .map(str::to_owned)
        .collect();
    if let Some(first) = names.first_mut() {
        *first = words::beginning(first);
    }
    names
}
