//! Effects that change with the season or with another factor, in sentences.

use caneplot_plugin::findings::{Format, Rank, Statement};

use crate::sentences::Numbers;
use crate::study::Study;
use crate::words::{self, inside, list};

/// A factor whose effect changes with the season: each season by itself.
pub(crate) fn season_by_season(study: &Study<'_>, factor: usize, crossed: usize) -> Statement {
    let numbers = Numbers(study);
    let mut parts = Vec::new();
    let mut values: Vec<(String, f64)> = Vec::new();
    let mut last = "";
    let quantities = study.quantities(factor);
    let ends = quantities.as_ref().map(|quantities| {
        let by = |a: &usize, b: &usize| quantities[*a].total_cmp(&quantities[*b]);
        let places = || 0..quantities.len();
        (
            places().min_by(by).unwrap_or(0),
            places().max_by(by).unwrap_or(0),
        )
    });
    for (at, season) in study.seasons().iter().enumerate() {
        let cells = study.season_cells(crossed, at);
        let season = words::safe(season);
        if let Some((low, high)) = ends {
            let change = study.difference(crossed, cells[high], cells[low]);
            let verb = if change >= 0.0 {
                "rose by "
            } else {
                "fell by "
            };
            // The verb is said once while it stays the same.
            let said = if verb == last { "" } else { verb };
            last = verb;
            parts.push(format!("{said}{{d{at}}} in {season}"));
            values.push((format!("d{at}"), change.abs()));
        } else {
            let by = |a: &usize, b: &usize| {
                let mean = |place: usize| study.tables[crossed].means[cells[place]];
                mean(*a).total_cmp(&mean(*b))
            };
            let places = || 0..cells.len();
            let best = places().max_by(by).unwrap_or(0);
            let worst = places().min_by(by).unwrap_or(0);
            parts.push(format!(
                "in {season} {}from {{b{at}}} ({}) to {{a{at}}} ({})",
                if at == 0 { "it ran " } else { "" },
                study.level_words(factor, worst),
                study.level_words(factor, best)
            ));
            values.push((format!("b{at}"), study.mean(crossed, cells[worst])));
            values.push((format!("a{at}"), study.mean(crossed, cells[best])));
        }
    }
    let name = inside(&study.response.label);
    let label = inside(&study.factor(factor).label);
    let text = match ends {
        Some((low, high)) => format!(
            "The effect of {label} on {name} changed with the season ({{p}}): from {} to {} it {}.",
            study.level_words(factor, low),
            study.level_words(factor, high),
            list(&parts)
        ),
        None => format!(
            "The effect of {label} on {name} changed with the season ({{p}}): {}.",
            parts.join("; ")
        ),
    };
    let statement = Statement::new(text).with(
        "p",
        study.line(crossed).p.unwrap_or(1.0),
        Format::Probability,
    );
    values
        .into_iter()
        .fold(statement, |statement, (key, value)| {
            numbers.put(statement, &key, value)
        })
}

/// A clear interaction of factors (and perhaps the season).
pub(crate) fn combinations(study: &Study<'_>, term: usize) -> Statement {
    let numbers = Numbers(study);
    let factors = study.factors_of(term);
    let names: Vec<String> = factors
        .iter()
        .map(|&at| inside(&study.factor(at).label))
        .collect();
    let name = inside(&study.response.label);
    let p = study.line(term).p.unwrap_or(1.0);
    if study.has_season(term) {
        return Statement::new(format!(
            "How {} together act on {name} changed with the season ({{p}}).",
            list(&names)
        ))
        .with("p", p, Format::Probability);
    }
    let order = study.by_mean(term);
    let (best, worst) = (order[0], order[order.len() - 1]);
    let (first, others) = (&names[names.len() - 1], &names[..names.len() - 1]);
    let statement = Statement::new(format!(
        "The effect of {first} on {name} depended on {} ({{p}}): {}means ran from {{b}} ({}) to {{a}} ({}).",
        list(others),
        if study.seasons().is_empty() { "" } else { "over all seasons " },
        study.cell_words(term, worst),
        study.cell_words(term, best)
    ))
    .with("p", p, Format::Probability);
    let statement = numbers.put(statement, "b", study.mean(term, worst));
    numbers.put(statement, "a", study.mean(term, best))
}

/// A factor whose effect did not clearly change with the season.
pub(crate) fn steady(study: &Study<'_>, factor: usize) -> Option<Statement> {
    let crossed = study.term(&[factor], true)?;
    let p = study.line(crossed).p?;
    (!study.clear(crossed)).then(|| {
        Statement::new(format!(
            "There is no clear sign that the effect of {} changed with the season ({{p}}), so means over seasons may be used.",
            inside(&study.factor(factor).label)
        ))
        .with("p", p, Format::Probability)
    })
}

/// How far seasons lay apart.
pub(crate) fn between_seasons(study: &Study<'_>) -> Option<Statement> {
    let term = study.term(&[], true)?;
    let p = study.line(term).p?;
    let name = inside(&study.response.label);
    if !study.clear(term) {
        let text = format!("Seasons did not clearly differ in mean {name} ({{p}}).");
        let statement = Statement::new(text).with("p", p, Format::Probability);
        return Some(statement.rank(Rank::Detail));
    }
    let order = study.by_mean(term);
    let (best, worst) = (*order.first()?, *order.last()?);
    let numbers = Numbers(study);
    let season = |cell: usize| words::safe(&study.seasons()[study.cell_levels(term, cell)[0]]);
    let statement = Statement::new(format!(
        "Seasons differed ({{p}}): mean {name} ran from {{b}} in {} to {{a}} in {}.",
        season(worst),
        season(best)
    ))
    .with("p", p, Format::Probability)
    .rank(Rank::Detail);
    let statement = numbers.put(statement, "b", study.mean(term, worst));
    Some(numbers.put(statement, "a", study.mean(term, best)))
}

/// Two factors that give no clear sign of depending on each other.
pub(crate) fn apart(study: &Study<'_>, term: usize) -> Option<Statement> {
    let p = study.line(term).p?;
    let &[first, second] = study.factors_of(term).as_slice() else {
        return None;
    };
    (!study.clear(term) && !study.has_season(term)).then(|| {
        Statement::new(format!(
            "There is no clear sign that the effect of {} depended on {} ({{p}}).",
            inside(&study.factor(second).label),
            inside(&study.factor(first).label)
        ))
        .with("p", p, Format::Probability)
    })
}
