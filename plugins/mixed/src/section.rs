//! The section of one response: what goes in, and in which order.

use caneplot_plugin::Refusal;
use caneplot_plugin::findings::{Rank, Section, Statement, Table};
use caneplot_plugin::request::{Basis, Response};
use caneplot_plugin::words::{beginning, id, list, safe};
use caneplot_readings::together;

use crate::checks;
use crate::estimates;
use crate::figures;
use crate::methods::Used;
use crate::options::Separation;
use crate::study::Study;

/// The section of a response that has no analysis, with the reason.
pub(crate) fn refused(response: &Response, refusal: &Refusal) -> Section {
    let mut text = format!(
        "{} is not analysed: {}.",
        beginning(&response.label),
        safe(refusal.message.trim_end_matches('.'))
    );
    if let Some(hint) = &refusal.hint {
        text.push_str(&format!(" {}.", beginning(hint.trim_end_matches('.'))));
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
    let mut tables = vec![study.tests_table()];
    let mut files = Vec::new();
    let margins: Vec<usize> = (0..study.margins().len()).collect();
    let mut simple = Vec::new();
    for &factor in &margins {
        tables.extend(study.margin_table(factor));
        tables.extend(study.season_table(factor));
        if let Some(season) = study.season()
            && (study.clear(&[factor, season]) || study.empty_cells().is_some())
        {
            simple.extend(study.simple_effects(factor, season));
        }
        for &other in &margins {
            if other != factor && study.clear(&[factor.min(other), factor.max(other)]) {
                simple.extend(study.simple_effects(factor, other));
            }
        }
    }
    for set in together(&margins) {
        match study.combinations_by_season(&set) {
            Some(table) if table.file_only => files.push(table),
            Some(table) => tables.push(table),
            None => {}
        }
        match study.combination_table(&set) {
            Some(table) if table.file_only => files.push(table),
            Some(table) => tables.push(table),
            None => {}
        }
    }
    tables.extend(study.simple_table(&simple));
    tables.extend(study.differences_table());
    for &factor in &margins {
        if let Some(trend) = study.trend(factor) {
            used.trend = true;
            tables.push(study.trend_table(&trend));
        }
        if let Some(table) = study.control_table(factor) {
            used.dunnett = true;
            tables.push(table);
        }
        files.extend(study.pairs_table(factor));
    }
    used.letters |= tables.iter().any(Table::has_letters);
    tables.extend(study.slopes_table());
    tables.push(study.components_table());
    tables.extend(study.spreads_table());
    tables.extend(study.structures_table());
    if let Some(table) = study.predictions_table() {
        used.predictions = true;
        tables.push(table);
    }
    let checks = checks::of(study);
    used.note(study, &checks);
    files.extend(checks.tables);
    tables.extend(files);
    let mut notes = study.readings.notes.clone();
    notes.extend(study.scale_notes());
    notes.extend(study.scope_note());
    notes.extend(study.agreement_note());
    notes.extend(study.zero_notes());
    notes.extend(study.seasons_note());
    if study.trial.design.vine {
        notes.push(match study.vines {
            Some(vines) => vines.note(),
            None => Statement::new("Each plot counts once, by the mean of its vines: vines are samples of their plot, not replicates, and plots with fewer vines have the same weight.").rank(Rank::Detail),
        });
    }
    notes.extend(about(study));
    notes.extend(checks.notes);
    Section {
        id: id(&study.response.name),
        title: study.response.label.clone(),
        response: Some(study.response.name.clone()),
        statements: study.statements(),
        tables,
        figures: figures::of(study),
        notes,
        estimates: estimates::of(study),
    }
}

/// What the reader must know about the response and the letters.
fn about(study: &Study<'_>) -> Vec<Statement> {
    let mut all = Vec::new();
    let mut say = |text: String| all.push(Statement::new(text).rank(Rank::Detail));
    if let Some(how) = &study.response.derived {
        say(format!(
            "Not recorded but reckoned: {}.",
            safe(how.trim_end_matches('.'))
        ));
    }
    let amounts: Vec<String> = study
        .margins()
        .iter()
        .enumerate()
        .filter(|(_, margin)| margin.quantities.as_ref().is_some_and(|q| q.len() > 2))
        .map(|(at, _)| study.factor_words(at))
        .collect();
    if !amounts.is_empty() && study.options.separation != Separation::None {
        say(format!(
            "Levels of {} are amounts: the trend over them is the result, so they carry no letters.",
            list(&amounts)
        ));
    }
    if study.options.separation == Separation::Dunnett
        && study
            .margins()
            .iter()
            .all(|margin| margin.control.is_none())
    {
        say("The option asks for comparisons with a control, but no factor declares one: means are shown without comparison.".to_owned());
    }
    if study.response.counts.is_some() {
        say("These are percentages of counts, analysed plot by plot with equal weight. Where they come near 0 or 100, or the counts are small, a model for counts is the better tool.".to_owned());
    }
    if study.response.basis == Basis::PlantedSpace {
        say("Reckoned over planted spaces: a gap counts as nothing harvested.".to_owned());
    }
    all
}
