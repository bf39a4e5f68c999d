//! The treatment tests of all responses together, with false discoveries controlled.

use caneplot_numerics::discovery::false_discovery;
use caneplot_numerics::separation::holm;
use caneplot_plugin::findings::{Format, Rank, Section, Statement};
use caneplot_plugin::request::{Basis, Response};
use caneplot_plugin::words;

use crate::analysed::Test;
use crate::measures::Measure;
use crate::plan::Planner;
use crate::study::{Study, inside, named};
use crate::tables;

/// A treatment test of one response, means over its seasons.
#[derive(Debug, Clone)]
pub(crate) struct Line {
    pub response: String,
    pub factors: Vec<usize>,
    pub test: Test,
    pub primary: bool,
    /// Adjusted by the rule of false discoveries and by Holm; `None` for the primary response.
    pub adjusted: Option<(f64, f64)>,
}

/// The lines, the primary response first, then in the order of the trial.
fn lines(planner: &Planner<'_>, studies: &[Study<'_>]) -> Vec<Line> {
    let primary = planner.options.primary.as_deref();
    let mut all = Vec::new();
    for study in studies
        .iter()
        .filter(|study| counts(study.response(), studies))
    {
        let Ok(whole) = &study.whole else { continue };
        let Some(column) = whole.column(Measure::Mean) else {
            continue;
        };
        for (term, about) in whole.analysed.planned.terms.iter().enumerate() {
            if let Some(test) = whole.analysed.test(term, column) {
                all.push(Line {
                    response: study.response().label.clone(),
                    factors: about.factors.clone(),
                    test,
                    primary: primary == Some(study.response().name.as_str()),
                    adjusted: None,
                });
            }
        }
    }
    all.sort_by_key(|line| !line.primary);
    let raw: Vec<f64> = all
        .iter()
        .filter(|line| !line.primary)
        .map(|line| line.test.p)
        .collect();
    if let (Ok(discovery), Ok(stepwise)) = (false_discovery(&raw), holm(&raw)) {
        let adjusted = discovery.into_iter().zip(stepwise);
        let others = all.iter_mut().filter(|line| !line.primary);
        for (line, adjusted) in others.zip(adjusted) {
            line.adjusted = Some(adjusted);
        }
    }
    all
}

/// Whether a response has tests of its own: the same crop per planted space and per living vine is one
/// question, not two.
fn counts(response: &Response, studies: &[Study<'_>]) -> bool {
    let twin = |other: &Study<'_>| {
        let other = other.response();
        response.name == format!("{}_per_space", other.name) && other.quantity == response.quantity
    };
    !(response.basis == Basis::PlantedSpace
        && response.derived.is_some()
        && studies.iter().any(twin))
}

/// The section; `None` with a single response.
pub(crate) fn section(planner: &Planner<'_>, studies: &[Study<'_>]) -> Option<Section> {
    let lines = lines(planner, studies);
    let responses = studies
        .iter()
        .filter(|study| counts(study.response(), studies))
        .count();
    if responses < 2 || lines.is_empty() {
        return None;
    }
    Some(Section {
        id: "responses-together".to_owned(),
        title: "All responses together".to_owned(),
        statements: statements(planner, &lines),
        tables: vec![tables::family(planner, &lines)],
        notes: notes(planner, studies),
        ..Section::default()
    })
}

fn statements(planner: &Planner<'_>, lines: &[Line]) -> Vec<Statement> {
    let level = planner.options.level;
    let mut all = Vec::new();
    let primary: Vec<&Line> = lines.iter().filter(|line| line.primary).collect();
    if let Some(first) = primary.first() {
        let parts: Vec<String> = primary
            .iter()
            .enumerate()
            .map(|(at, line)| format!("{} {{p{at}}}", term_words(planner, &line.factors)))
            .collect();
        let text = format!(
            "{} was declared as the primary response, and its tests stand as they are: {}.",
            words::beginning(&inside(&first.response)),
            words::list(&parts)
        );
        let statement = primary
            .iter()
            .enumerate()
            .fold(Statement::new(text), |made, (at, line)| {
                made.with(&format!("p{at}"), line.test.p, Format::Probability)
            });
        all.push(statement);
    }
    let others: Vec<&Line> = lines.iter().filter(|line| !line.primary).collect();
    if others.is_empty() {
        return all;
    }
    let clear = |p: &dyn Fn(&Line) -> Option<f64>| {
        others
            .iter()
            .filter(|line| p(line).is_some_and(|p| p < level))
            .count() as f64
    };
    all.push(
        Statement::new(format!(
            "Of {{n}} treatment tests of {} responses, {{raw}} lay below {} by themselves, {{kept}} after control of false discoveries and {{strict}} by Holm's rule.",
            if primary.is_empty() { "all" } else { "the other" },
            words::percent(level)
        ))
        .with("n", others.len() as f64, Format::Count)
        .with("raw", clear(&|line| Some(line.test.p)), Format::Count)
        .with("kept", clear(&|line| Some(line.adjusted?.0)), Format::Count)
        .with("strict", clear(&|line| Some(line.adjusted?.1)), Format::Count),
    );
    all
}

/// "training system × nodes left" in a sentence.
fn term_words(planner: &Planner<'_>, factors: &[usize]) -> String {
    let label = |&at: &usize| words::inside(&planner.trial().factors[at].label);
    let names: Vec<String> = factors.iter().map(label).collect();
    names.join(" × ")
}

fn notes(planner: &Planner<'_>, studies: &[Study<'_>]) -> Vec<Statement> {
    let mut all = vec![
        "Tests are of means over the seasons with the treatments in force. Among those called clear after control of false discoveries, a share of no more than the level is expected to be false; Holm's rule is stricter and holds the risk of even one.".to_owned(),
    ];
    if planner.options.primary.is_none() {
        all.push("No primary response is declared, so all tests count alike. Where a trial was laid out for one response, naming it before the data are seen keeps its test unadjusted.".to_owned());
    }
    let absent: Vec<&Study<'_>> = studies
        .iter()
        .filter(|study| study.whole.is_err())
        .collect();
    for study in absent {
        let why = match &study.whole {
            Err(_) if !study.lacking.is_empty() => named(&study.lacking),
            Err(refusal) => words::safe(&refusal.message),
            Ok(_) => continue,
        };
        all.push(format!(
            "{} is not among the tests: {why}.",
            study.beginning()
        ));
    }
    let twins: Vec<String> = studies
        .iter()
        .filter(|study| !counts(study.response(), studies))
        .map(|study| study.name())
        .collect();
    if !twins.is_empty() {
        all.push(format!(
            "Left out, since the same records are tested over living vines: {}.",
            words::list(&twins)
        ));
    }
    all.into_iter()
        .map(|text| Statement::new(text).rank(Rank::Detail))
        .collect()
}
