//! Whether the assumptions look right, in words with their numbers.

use std::collections::BTreeMap;

use caneplot_numerics::diagnose::{brown_forsythe, shapiro_wilk};
use caneplot_numerics::mixed::influence::Influence;
use caneplot_plugin::findings::{Format, Rank, Statement, Table};
use caneplot_plugin::words::{list, safe};

use crate::influence;
use crate::study::Study;

/// A standardized residual beyond this is named.
const FAR: f64 = 3.0;
/// Most values named in one sentence.
const NAMED: usize = 6;

/// What the checks found.
pub(crate) struct Checks {
    pub notes: Vec<Statement>,
    pub tables: Vec<Table>,
    pub shapiro: bool,
    pub brown: bool,
}

/// All checks of a study.
pub(crate) fn of(study: &Study<'_>) -> Checks {
    let mut checks = Checks {
        notes: Vec::new(),
        tables: Vec::new(),
        shapiro: false,
        brown: false,
    };
    let Ok(laid_open) = Influence::new(&study.problem, &study.choice.fit) else {
        return checks;
    };
    let standardized = laid_open.standardized();
    checks.notes.extend(far_values(study, &standardized));
    let known: Vec<f64> = standardized.iter().flatten().copied().collect();
    if let Ok(found) = shapiro_wilk(&known) {
        checks.shapiro = true;
        let text = match found.p < study.options.level {
            true => {
                "Standardized residuals stray from a normal distribution (Shapiro-Wilk W = {w}, {p}): look for single plots that stand apart, or for a scale on which the spread is even."
            }
            false => {
                "Standardized residuals give no sign against a normal distribution (Shapiro-Wilk W = {w}, {p})."
            }
        };
        checks.notes.push(
            Statement::new(text)
                .with("w", found.w, Format::Decimals(3))
                .with("p", found.p, Format::Probability),
        );
    }
    if let Some(statement) = spread(study, &standardized) {
        checks.brown = true;
        checks.notes.push(statement);
    }
    checks.notes.extend(study.parallel());
    let deletions = influence::deletions(study, &laid_open);
    checks.notes.extend(influence::note(study, &deletions));
    checks.tables.extend(influence::table(study, &deletions));
    for note in &mut checks.notes {
        if note.rank == Rank::Result {
            note.rank = Rank::Detail;
        }
    }
    checks
}

/// Values far from what all others predict.
fn far_values(study: &Study<'_>, standardized: &[Option<f64>]) -> Option<Statement> {
    let mut far: Vec<(usize, f64)> = standardized
        .iter()
        .enumerate()
        .filter_map(|(unit, value)| value.map(|value| (unit, value)))
        .filter(|(_, value)| value.abs() > FAR)
        .collect();
    if far.is_empty() {
        return None;
    }
    far.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()));
    let mut statement = Statement::default();
    let mut parts = Vec::new();
    for (at, (unit, value)) in far.iter().take(NAMED).enumerate() {
        let name = format!("r{at}");
        let season = match study.seasons() {
            [] => String::new(),
            seasons => format!(
                " in {}",
                safe(&seasons[study.problem.residual.season[*unit]])
            ),
        };
        parts.push(format!(
            "{}{season} ({{{name}}})",
            safe(&study.readings.plot_names[study.readings.plot[*unit]])
        ));
        statement = statement.with(&name, *value, Format::Decimals(1));
    }
    let more = match far.len() > NAMED {
        true => " and others",
        false => "",
    };
    statement.text = format!(
        "Values more than 3 standard errors from what all others predict: {}{more}. Look at the field notes of these plots; nothing was left out.",
        list(&parts)
    );
    Some(statement)
}

/// Whether standardized residuals spread alike in all treatments.
fn spread(study: &Study<'_>, standardized: &[Option<f64>]) -> Option<Statement> {
    let mut groups: BTreeMap<Vec<usize>, Vec<f64>> = BTreeMap::new();
    for (unit, value) in standardized.iter().enumerate() {
        let key: Vec<usize> = study.margins().iter().map(|m| m.codes[unit]).collect();
        groups.entry(key).or_default().extend(value);
    }
    if groups.values().any(|group| group.len() < 3) {
        return None;
    }
    let slices: Vec<&[f64]> = groups.values().map(Vec::as_slice).collect();
    let found = brown_forsythe(&slices).ok()?;
    let text = match found.p < study.options.level {
        true if study.spreads.is_some() => {
            "Residuals spread differently in different treatments even with error variances of their own (Brown-Forsythe F = {f}, {p})."
        }
        true => {
            "Residuals spread differently in different treatments (Brown-Forsythe F = {f}, {p}): differences between the more variable treatments are less sure than their standard error says. The option variance = \"by treatment\" gives each its own error variance; where spread grows with the mean, scale = \"log\" may even it out."
        }
        false => "Residuals spread much alike in all treatments (Brown-Forsythe F = {f}, {p}).",
    };
    Some(
        Statement::new(text)
            .with("f", found.f, Format::Decimals(2))
            .with("p", found.p, Format::Probability),
    )
}
