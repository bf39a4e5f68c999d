//! What came out, in plain sentences: the difference and how sure it is before any test.

use caneplot_numerics::separation::{Difference, least_significant_difference};
use caneplot_plugin::findings::{Format, Rank, Statement};

use crate::study::Study;
use crate::trend::Trend;
use crate::words::{self, beginning, inside, list};

/// The sentences of a response, the most important first.
pub(crate) fn of(study: &Study<'_>) -> Vec<Statement> {
    if let Some(statement) = without_error(study) {
        return vec![statement.rank(Rank::Headline)];
    }
    let factors: Vec<usize> = (0..study.trial.factors.len()).collect();
    let mut all = Vec::new();
    let terms = 0..study.variance.lines.len();
    let mut joint: Vec<usize> = terms
        .clone()
        .filter(|&term| {
            study.clear(term)
                && study.factors_of(term).len() + usize::from(study.has_season(term)) > 1
        })
        .filter(|&term| !study.factors_of(term).is_empty())
        .collect();
    // What depends on the season comes first: it decides how everything else is read.
    joint.sort_by_key(|&term| (!study.has_season(term), study.factors_of(term).len()));
    for &term in &joint {
        all.push(
            match (study.has_season(term), study.factors_of(term).as_slice()) {
                (true, &[factor]) => season_by_season(study, factor, term),
                _ => combinations(study, term),
            },
        );
    }
    let mut effects: Vec<(bool, Statement)> = factors
        .iter()
        .filter_map(|&factor| effect(study, factor))
        .collect();
    effects.sort_by_key(|(clear, _)| !clear);
    all.extend(effects.into_iter().map(|(_, statement)| statement));
    all.extend(factors.iter().filter_map(|&factor| steady(study, factor)));
    all.extend(between_seasons(study));
    if let Some(first) = all.first_mut() {
        first.rank = Rank::Headline;
    }
    all
}

/// Cautions on how to read the tables, for the notes.
pub(crate) fn cautions(study: &Study<'_>) -> Vec<Statement> {
    let mut all = Vec::new();
    let clear = |season: bool| {
        (0..study.variance.lines.len()).filter(move |&term| {
            study.clear(term) && study.has_season(term) == season && {
                let factors = study.factors_of(term).len();
                factors > usize::from(!season)
            }
        })
    };
    for term in clear(true) {
        let name = term_words(study, term);
        all.push(
            Statement::new(format!(
                "Because {name} is clear ({{p}}), the means of each season are the result; the mean over seasons does not sum them up and should not be quoted alone."
            ))
            .with("p", study.line(term).p.unwrap_or(1.0), Format::Probability),
        );
    }
    for term in clear(false) {
        let name = term_words(study, term);
        all.push(
            Statement::new(format!(
                "Because {name} is clear ({{p}}), means of one factor over the levels of the other should be read with care: the table of combinations has the simple comparisons."
            ))
            .with("p", study.line(term).p.unwrap_or(1.0), Format::Probability),
        );
    }
    all.into_iter()
        .map(|statement| statement.rank(Rank::Detail))
        .collect()
}

/// "training × nodes" in a sentence.
fn term_words(study: &Study<'_>, term: usize) -> String {
    let layout = &study.planned.design.layout;
    let names: Vec<String> = layout.terms()[term]
        .classifiers
        .iter()
        .map(|&at| inside(&layout.classifiers()[at].name))
        .collect();
    names.join(" × ")
}

/// The sentence for a trial whose plots say nothing about error.
fn without_error(study: &Study<'_>) -> Option<Statement> {
    let plots = study.planned.design.plots;
    let error = study.variance.errors[plots];
    let name = beginning(&study.response.label);
    if error.df == 0 {
        return Some(Statement::new(format!(
            "{name}: no degrees of freedom are left for error, since every treatment (in every block) fills the trial with one plot. Means are shown without a test; a second block or replicate is needed for one."
        )));
    }
    (error.sum_of_squares == 0.0).then(|| {
        Statement::new(format!(
            "{name}: plots of the same treatment differ by exactly nothing, so the error is 0 and no test is possible. Check the data for copied values."
        ))
    })
}

/// Numbers of a response put into a sentence.
struct Numbers<'a, 'b>(&'a Study<'b>);

impl Numbers<'_, '_> {
    fn put(&self, statement: Statement, name: &str, value: f64) -> Statement {
        let format = words::of_means(self.0.response);
        if self.0.response.unit.is_empty() {
            statement.with(name, value, format)
        } else {
            statement.with_unit(name, value, format, &self.0.response.unit)
        }
    }

    /// Without the unit, where it has just been said.
    fn bare(&self, statement: Statement, name: &str, value: f64) -> Statement {
        statement.with(name, value, words::of_means(self.0.response))
    }

    /// A difference with its interval: "{d} ({confidence} interval {low} to {high})".
    fn interval(&self, statement: Statement, difference: &Difference, sign: f64) -> Statement {
        let half = self.0.half_width(difference).unwrap_or(0.0);
        let value = sign * difference.value;
        let statement = self.put(statement, "d", value);
        let statement = self.bare(statement, "low", value - half);
        self.bare(statement, "high", value + half)
    }
}

/// The main effect of a factor, and whether it is clear.
fn effect(study: &Study<'_>, factor: usize) -> Option<(bool, Statement)> {
    let term = study.term(&[factor], false)?;
    study.line(term).p?;
    if let Some(trend) = study.trend(factor) {
        if trend.degree(study.options.level) > 0 {
            return Some((true, rising(study, &trend)?));
        }
    }
    if study.clear(term) {
        return Some((true, differing(study, factor, term)?));
    }
    Some((false, unclear(study, factor, term)?))
}

fn scope(study: &Study<'_>) -> &'static str {
    if study.seasons().is_empty() {
        ""
    } else {
        ", mean of the seasons"
    }
}

/// "Yield rose from … at 12 nodes to … at 48".
fn rising(study: &Study<'_>, trend: &Trend) -> Option<Statement> {
    let (factor, term) = (trend.factor, trend.term);
    let last = trend.quantities.len() - 1;
    let by_quantity = {
        let mut order: Vec<usize> = (0..=last).collect();
        order.sort_by(|&a, &b| trend.quantities[a].total_cmp(&trend.quantities[b]));
        order
    };
    let (low, high) = (by_quantity[0], by_quantity[last]);
    let level = study.options.level;
    let numbers = Numbers(study);
    let name = beginning(&study.response.label);
    let (at_low, at_high) = (
        study.level_words(factor, low),
        study.level_words(factor, high),
    );
    let linear = trend.lines.first()?.p?;
    let quadratic = trend.lines.get(1).and_then(|line| line.p);
    let bends = trend.clear(2, level);
    let (best, worst) = {
        let order = study.by_mean(term);
        (*order.first()?, *order.last()?)
    };
    let inner = |cell: usize| cell != low && cell != high;
    let tests = match quadratic {
        Some(_) => "linear {p}, quadratic {q}",
        None => "linear {p}",
    };
    let with_tests = |statement: Statement| {
        let statement = statement.with("p", linear, Format::Probability);
        match quadratic {
            Some(q) => statement.with("q", q, Format::Probability),
            None => statement,
        }
    };
    let verb = |from: f64, to: f64| if to > from { "rose" } else { "fell" };
    let (first, second) = (study.mean(term, low), study.mean(term, high));
    if bends && (inner(best) || inner(worst)) {
        let turn = if inner(best) { best } else { worst };
        let middle = study.mean(term, turn);
        let statement = Statement::new(format!(
            "{name} {} from {{a}} at {at_low} to {{m}} at {} and was {{b}} at {at_high}{} ({tests}).",
            verb(first, middle),
            study.level_words(factor, turn),
            scope(study)
        ));
        let statement = numbers.put(statement, "a", first);
        let statement = numbers.put(statement, "m", middle);
        return Some(with_tests(numbers.put(statement, "b", second)));
    }
    let bend = match (bends, trend.clear(1, level)) {
        (true, _) => ", less steeply at one end than at the other",
        (false, true) => "",
        (false, false) => ", not along a straight line",
    };
    let difference = study.difference_of(term, high, low)?;
    let statement = Statement::new(format!(
        "{name} {} from {{a}} at {at_low} to {{b}} at {at_high}{bend}{} ({tests}): a difference of {{d}} ({} interval {{low}} to {{high}}).",
        verb(first, second),
        scope(study),
        study.options.confidence_words()
    ));
    let statement = numbers.put(statement, "a", first);
    let statement = numbers.put(statement, "b", second);
    Some(with_tests(numbers.interval(statement, &difference, 1.0)))
}

/// A clear effect of a factor of names.
fn differing(study: &Study<'_>, factor: usize, term: usize) -> Option<Statement> {
    let numbers = Numbers(study);
    let name = inside(&study.response.label);
    let order = study.by_mean(term);
    let (best, worst) = (*order.first()?, *order.last()?);
    let p = study.line(term).p?;
    if let Some(control) = study.control(factor) {
        // The level farthest from the control is the news.
        let far = [best, worst].into_iter().max_by(|&a, &b| {
            let size = |cell| study.difference(term, cell, control).abs();
            size(a).total_cmp(&size(b))
        })?;
        let difference = study.difference_of(term, far, control)?;
        let more = if difference.value >= 0.0 {
            "more"
        } else {
            "less"
        };
        let statement = Statement::new(format!(
            "{} gave {{d}} {more} {name} than the control, {} ({{a}} against {{c}}{}; {} interval of the difference {{low}} to {{high}}; all levels {{p}}).",
            beginning(&study.level_words(factor, far)),
            study.level_words(factor, control),
            scope(study),
            study.options.confidence_words()
        ));
        let statement = numbers.interval(statement, &difference, difference.value.signum());
        let statement = numbers.put(statement, "a", study.mean(term, far));
        let statement = numbers.put(statement, "c", study.mean(term, control));
        return Some(statement.with("p", p, Format::Probability));
    }
    let difference = study.difference_of(term, best, worst)?;
    let statement = Statement::new(format!(
        "{} was highest with {} ({{a}}) and lowest with {} ({{b}}){}: a difference of {{d}} ({} interval {{low}} to {{high}}; {{p}}).",
        beginning(&study.response.label),
        study.level_words(factor, best),
        study.level_words(factor, worst),
        scope(study),
        study.options.confidence_words()
    ));
    let statement = numbers.put(statement, "a", study.mean(term, best));
    let statement = numbers.put(statement, "b", study.mean(term, worst));
    let statement = numbers.interval(statement, &difference, 1.0);
    Some(statement.with("p", p, Format::Probability))
}

/// No clear effect: what the means were, and what the trial could have shown.
fn unclear(study: &Study<'_>, factor: usize, term: usize) -> Option<Statement> {
    let numbers = Numbers(study);
    let order = study.by_mean(term);
    let (best, worst) = (*order.first()?, *order.last()?);
    let difference = study.difference_of(term, best, worst)?;
    let least = least_significant_difference(
        difference.standard_error,
        study.options.level,
        difference.df,
    )
    .ok()?;
    let statement = Statement::new(format!(
        "No clear difference in {} between levels of {} ({{p}}): means ran from {{b}} ({}) to {{a}} ({}){}, and two means had to differ by {{least}} to be told apart.",
        inside(&study.response.label),
        inside(&study.factor(factor).label),
        study.level_words(factor, worst),
        study.level_words(factor, best),
        scope(study)
    ));
    let statement = numbers.put(statement, "b", study.mean(term, worst));
    let statement = numbers.put(statement, "a", study.mean(term, best));
    let statement = numbers.put(statement, "least", least);
    Some(statement.with("p", study.line(term).p?, Format::Probability))
}

/// A factor whose effect changes with the season: each season by itself.
fn season_by_season(study: &Study<'_>, factor: usize, crossed: usize) -> Statement {
    let numbers = Numbers(study);
    let mut parts = Vec::new();
    let mut values: Vec<(String, f64)> = Vec::new();
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
            let verb = if change >= 0.0 { "rose" } else { "fell" };
            parts.push(format!("{verb} by {{d{at}}} in {season}"));
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
                "in {season} it ran from {{b{at}}} ({}) to {{a{at}}} ({})",
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
fn combinations(study: &Study<'_>, term: usize) -> Statement {
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
        "The effect of {first} on {name} depended on {} ({{p}}): means ran from {{b}} ({}) to {{a}} ({}){}.",
        list(others),
        study.cell_words(term, worst),
        study.cell_words(term, best),
        scope(study)
    ))
    .with("p", p, Format::Probability);
    let statement = numbers.put(statement, "b", study.mean(term, worst));
    numbers.put(statement, "a", study.mean(term, best))
}

/// A factor whose effect did not clearly change with the season.
fn steady(study: &Study<'_>, factor: usize) -> Option<Statement> {
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
fn between_seasons(study: &Study<'_>) -> Option<Statement> {
    let term = study.term(&[], true)?;
    let p = study.line(term).p?;
    let order = study.by_mean(term);
    let (best, worst) = (*order.first()?, *order.last()?);
    let numbers = Numbers(study);
    let text = if study.clear(term) {
        "Seasons differed"
    } else {
        "Seasons did not clearly differ"
    };
    let season = |cell: usize| words::safe(&study.seasons()[study.cell_levels(term, cell)[0]]);
    let statement = Statement::new(format!(
        "{text} ({{p}}): mean {} ran from {{b}} in {} to {{a}} in {}.",
        inside(&study.response.label),
        season(worst),
        season(best)
    ))
    .with("p", p, Format::Probability)
    .rank(Rank::Detail);
    let statement = numbers.put(statement, "b", study.mean(term, worst));
    Some(numbers.put(statement, "a", study.mean(term, best)))
}
