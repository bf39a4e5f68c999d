//! Whether the seasons of a plot go together as tests within plots suppose, and those tests with
//! their degrees of freedom reduced where they do not.

use caneplot_numerics::distribution::f_upper;
use caneplot_numerics::sphericity::{Sphericity, sphericity};
use caneplot_plugin::findings::{Format, Statement};

use crate::methods::Used;
use crate::study::Study;
use crate::words;

/// A sentence on the supposition and, where it fails, one on what reduced degrees of freedom change.
pub(crate) fn statements(study: &Study<'_>, used: &mut Used) -> Vec<Statement> {
    let Some((stratum, found)) = found(study) else {
        return Vec::new();
    };
    used.sphericity = true;
    let reduced = reduced(study, stratum, found.greenhouse_geisser);
    let Some(mauchly) = found.mauchly else {
        let mut all = vec![Statement::new(
            "There are too few plots to test whether any two seasons of a plot are equally correlated, as tests within plots suppose.",
        )];
        all.extend(told(study, &reduced, found.greenhouse_geisser));
        return all;
    };
    let unequal = mauchly.p < study.options.level;
    let text = if unequal {
        "Seasons of a plot are not all equally correlated (Mauchly's W = {w}, {p}), which tests within plots suppose."
    } else {
        "Nothing speaks against any two seasons of a plot being equally correlated (Mauchly's W = {w}, {p}), as tests within plots suppose."
    };
    let mut all = vec![
        Statement::new(text)
            .with("w", mauchly.w, Format::Decimals(3))
            .with("p", mauchly.p, Format::Probability),
    ];
    if unequal {
        all.extend(told(study, &reduced, found.greenhouse_geisser));
    }
    all
}

/// The stratum of seasons within plots, and what its residuals show.
fn found(study: &Study<'_>) -> Option<(usize, Sphericity)> {
    let design = &study.planned.design;
    let (stratum, season) = (design.within_plots?, design.season?);
    if !study.has_error(stratum) {
        return None;
    }
    let layout = &design.layout;
    let seasons = layout.classifiers()[season].levels.len();
    let contrasts = seasons.checked_sub(1).filter(|&k| k > 0)?;
    let plots = &layout.strata()[design.plots].cells;
    let cells = &layout.strata()[stratum].cells;
    let effects = &study.variance.swept.residuals[stratum];
    let mut rows = vec![vec![0.0; seasons]; plots.count()];
    let codes = &layout.classifiers()[season].codes;
    for (unit, &plot) in plots.of_unit().iter().enumerate() {
        rows[plot][codes[unit]] = effects[cells.of_unit()[unit]];
    }
    let df = study.variance.errors[stratum].df;
    // Each contrast between seasons has its share of the degrees of freedom.
    if !df.is_multiple_of(contrasts) {
        return None;
    }
    sphericity(&rows, df / contrasts).map(|found| (stratum, found))
}

/// A term within plots with its P as it stands and with reduced degrees of freedom.
struct Reduced {
    name: String,
    as_it_stands: f64,
    reduced: f64,
}

fn reduced(study: &Study<'_>, stratum: usize, factor: f64) -> Vec<Reduced> {
    let layout = &study.planned.design.layout;
    let error = study.variance.errors[stratum].df as f64;
    let inside = (0..layout.terms().len()).filter(|&term| layout.terms()[term].stratum == stratum);
    inside
        .filter_map(|term| {
            let line = study.line(term);
            Some(Reduced {
                name: words_of(&layout.term_name(term)),
                as_it_stands: line.p?,
                reduced: f_upper(line.f?, factor * line.df as f64, factor * error).ok()?,
            })
        })
        .collect()
}

/// A term inside a sentence: "nodes left × season".
fn words_of(name: &str) -> String {
    let parts: Vec<String> = name.split(" × ").map(words::inside).collect();
    parts.join(" × ")
}

fn told(study: &Study<'_>, terms: &[Reduced], factor: f64) -> Option<Statement> {
    if terms.is_empty() {
        return None;
    }
    let level = study.options.level;
    let parts: Vec<String> = terms
        .iter()
        .enumerate()
        .map(|(at, term)| format!("{{p{at}}} for {}", term.name))
        .collect();
    let turned: Vec<&str> = terms
        .iter()
        .filter(|term| term.as_it_stands < level && term.reduced >= level)
        .map(|term| term.name.as_str())
        .collect();
    let verdict = if turned.is_empty() {
        "no verdict changes".to_owned()
    } else {
        format!(
            "with that {} can no longer be called clear",
            words::list(&turned)
        )
    };
    let mut statement = Statement::new(format!(
        "With degrees of freedom reduced for it (Greenhouse and Geisser's factor {{factor}}): {}; {verdict}.",
        words::list(&parts)
    ))
    .with("factor", factor, Format::Decimals(3));
    for (at, term) in terms.iter().enumerate() {
        statement = statement.with(&format!("p{at}"), term.reduced, Format::Probability);
    }
    Some(statement)
}
