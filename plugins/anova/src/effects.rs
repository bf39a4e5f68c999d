//! The effect of one factor in a sentence: the difference, how sure it is, and only then the test.

use caneplot_numerics::separation::least_significant_difference;
use caneplot_plugin::findings::{Format, Statement};

use crate::sentences::{Numbers, subject};
use crate::study::Study;
use crate::trend::Trend;
use crate::words::{inside, was};

/// The main effect of a factor, and whether it is clear.
pub(crate) fn effect(study: &Study<'_>, factor: usize) -> Option<(bool, Statement)> {
    let term = study.term(&[factor], false)?;
    study.line(term).p?;
    if let Some(trend) = study.trend(factor)
        && trend.degree(study.options.level) > 0
    {
        return Some((true, rising(study, &trend)?));
    }
    if study.clear(term) {
        return Some((true, differing(study, factor, term)?));
    }
    Some((false, unclear(study, factor, term)?))
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
    let name = subject(study);
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
    let mut tests = match quadratic {
        Some(_) => "linear {p}, quadratic {q}",
        None => "{p}",
    }
    .to_owned();
    if !study.clear(term) {
        tests.push_str(", all levels together {all}");
    }
    let with_tests = |statement: Statement| {
        let statement = statement.with("p", linear, Format::Probability);
        let statement = match quadratic {
            Some(q) => statement.with("q", q, Format::Probability),
            None => statement,
        };
        match study.line(term).p {
            Some(all) if !study.clear(term) => statement.with("all", all, Format::Probability),
            _ => statement,
        }
    };
    let verb = |from: f64, to: f64| if to > from { "rose" } else { "fell" };
    let (first, second) = (study.mean(term, low), study.mean(term, high));
    if bends && (inner(best) || inner(worst)) {
        let turn = if inner(best) { best } else { worst };
        let middle = study.mean(term, turn);
        let statement = Statement::new(format!(
            "{name} {} from {{a}} at {at_low} to {{m}} at {} and {} {{b}} at {at_high} ({tests}).",
            verb(first, middle),
            study.level_words(factor, turn),
            was(&study.response.label)
        ));
        let statement = numbers.put(statement, "a", first);
        let statement = numbers.put(statement, "m", middle);
        return Some(with_tests(numbers.put(statement, "b", second)));
    }
    let bend = match (bends, trend.clear(1, level)) {
        (true, _) => bending(study, trend, &by_quantity),
        (false, true) => "",
        (false, false) => ", not along a straight line",
    };
    let difference = study.difference_of(term, high, low)?;
    let statement = Statement::new(format!(
        "{name} {} from {{a}} at {at_low} to {{b}} at {at_high}{bend} ({tests}): a difference of {{d}} ({} interval {{low}} to {{high}}).",
        verb(first, second),
        study.options.confidence_words()
    ));
    let statement = numbers.put(statement, "a", first);
    let statement = numbers.put(statement, "b", second);
    let sign = difference.value.signum();
    Some(with_tests(numbers.interval(statement, &difference, sign)))
}

/// A clear effect of a factor of names.
fn differing(study: &Study<'_>, factor: usize, term: usize) -> Option<Statement> {
    let numbers = Numbers(study);
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
            "higher"
        } else {
            "lower"
        };
        let statement = Statement::new(format!(
            "{} with {} than with the control, {}: by {{d}} ({{a}} against {{c}}; {} interval of the difference {{low}} to {{high}}; all levels {{p}}).",
            format_args!("{} {} {more}", subject(study), was(&study.response.label)),
            study.level_words(factor, far),
            study.level_words(factor, control),
            study.options.confidence_words()
        ));
        let statement = numbers.interval(statement, &difference, difference.value.signum());
        let statement = numbers.put(statement, "a", study.mean(term, far));
        let statement = numbers.put(statement, "c", study.mean(term, control));
        return Some(statement.with("p", p, Format::Probability));
    }
    let difference = study.difference_of(term, best, worst)?;
    let statement = Statement::new(format!(
        "{} {} highest with {} ({{a}}) and lowest with {} ({{b}}): a difference of {{d}} ({} interval {{low}} to {{high}}; {{p}}).",
        subject(study),
        was(&study.response.label),
        study.level_words(factor, best),
        study.level_words(factor, worst),
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
        "No clear difference in {} between levels of {} ({{p}}): {}means ran from {{b}} ({}) to {{a}} ({}), and two means had to differ by {{least}} to be told apart.",
        inside(&study.response.label),
        inside(&study.factor(factor).label),
        if study.seasons().is_empty() {
            ""
        } else {
            "over all seasons "
        },
        study.level_words(factor, worst),
        study.level_words(factor, best)
    ));
    let statement = numbers.put(statement, "b", study.mean(term, worst));
    let statement = numbers.put(statement, "a", study.mean(term, best));
    let statement = numbers.put_difference(statement, "least", least);
    Some(statement.with("p", study.line(term).p?, Format::Probability))
}

/// Where a curve that keeps its direction is steeper.
fn bending(study: &Study<'_>, trend: &Trend, by_quantity: &[usize]) -> &'static str {
    let slope = |from: usize, to: usize| {
        study.difference(trend.term, to, from).abs()
            / (trend.quantities[to] - trend.quantities[from]).abs()
    };
    let last = by_quantity.len() - 1;
    let first = slope(by_quantity[0], by_quantity[1]);
    if slope(by_quantity[last - 1], by_quantity[last]) < first {
        ", ever less steeply"
    } else {
        ", ever more steeply"
    }
}
