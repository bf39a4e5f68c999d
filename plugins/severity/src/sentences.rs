//! What is said of the pruning: whether it was done as meant, and what that means for response curves.

use caneplot_plugin::findings::{Format, Rank, Statement};
use caneplot_plugin::words;

use crate::cells::Cell;
use crate::deviations::outside;
use crate::section::Study;

const ONE: Format = Format::Decimals(1);

/// Most treatments, seasons or vines named in one sentence.
const NAMED: usize = 6;

/// The range of nodes left may differ by this share from the range meant before a curve is said to
/// mislead.
const RANGE: f64 = 0.1;

pub(crate) fn statements(study: &Study<'_>) -> Vec<Statement> {
    let mut all = vec![headline(study).rank(Rank::Headline)];
    all.extend(seasons(study));
    all.extend(scattered(study));
    if study.by_rule {
        all.extend(slips(study));
        all.push(outcome(study));
    } else {
        all.extend(curve(study));
    }
    all
}

/// "41.2 nodes where 48.0 were meant at 48 nodes/vine", with the numbers of a cell added.
fn pairs(study: &Study<'_>, cells: &[&Cell], statement: Statement) -> (String, Statement) {
    let mut statement = statement;
    let mut phrases = Vec::new();
    for (at, cell) in cells.iter().enumerate().take(NAMED) {
        let season = match cell.season {
            Some(season) => format!(" in {}", words::safe(study.register.season(season))),
            None => String::new(),
        };
        let asked = if study.by_rule {
            "the rule gives"
        } else {
            "were meant"
        };
        let number = if study.by_rule {
            format!("{asked} {{meant{at}}}")
        } else {
            format!("{{meant{at}}} {asked}")
        };
        phrases.push(format!(
            "{{left{at}}} where {number} at {}{season}",
            study.names[cell.treatment]
        ));
        statement = statement.with(&format!("left{at}"), cell.left, ONE).with(
            &format!("meant{at}"),
            cell.meant,
            ONE,
        );
    }
    let more = cells.len().saturating_sub(NAMED);
    let mut text = words::list(&phrases);
    if more > 0 {
        text.push_str(&format!(" ({more} more in the table)"));
    }
    (text, statement)
}

fn headline(study: &Study<'_>) -> Statement {
    let options = study.options;
    let cells = &study.cells.overall;
    let missed: Vec<&Cell> = cells
        .iter()
        .filter(|cell| cell.is_missed(options))
        .collect();
    let records: usize = cells.iter().map(|cell| cell.records).sum();
    let within: usize = cells.iter().map(|cell| cell.within).sum();
    let share = within as f64 / records as f64;
    let (shown, opening) = if missed.is_empty() {
        let all: Vec<&Cell> = cells.iter().collect();
        let opening = if study.by_rule {
            "The nodes left followed the rules"
        } else {
            "Vines were pruned as it was meant"
        };
        (all, opening)
    } else if study.by_rule {
        (missed, "The nodes left did not follow every rule")
    } else {
        (missed, "Not every treatment was pruned as it was meant")
    };
    let (pairs, statement) = pairs(study, &shown, Statement::default());
    let text = format!(
        "{opening}: on average {pairs}. Of {}, {{share}} had their number, give or take {{tolerance}} (one node at least).",
        study.counted()
    );
    Statement { text, ..statement }
        .with("share", share, Format::Percent(0))
        .with("tolerance", options.tolerance, Format::Percent(0))
}

/// Seasons in which a treatment was missed.
fn seasons(study: &Study<'_>) -> Option<Statement> {
    if study.seasons().len() < 2 {
        return None;
    }
    let cells = study.cells.by_season.iter();
    let missed: Vec<&Cell> = cells.filter(|cell| cell.is_missed(study.options)).collect();
    if missed.is_empty() {
        return None;
    }
    let (pairs, statement) = pairs(study, &missed, Statement::default());
    Some(Statement {
        text: format!("Season by season, treatments were missed: {pairs}."),
        ..statement
    })
}

/// Treatments that were met on average by vines that mostly missed them.
fn scattered(study: &Study<'_>) -> Option<Statement> {
    let cells = study.cells.overall.iter();
    let found: Vec<&Cell> = cells
        .filter(|cell| !cell.is_missed(study.options) && cell.share() < 0.5 && cell.records > 1)
        .collect();
    if found.is_empty() {
        return None;
    }
    let names: Vec<&str> = found
        .iter()
        .map(|cell| study.names[cell.treatment].as_str())
        .collect();
    Some(Statement::new(format!(
        "The mean was met, but fewer than half of the {}s had their number, at {}: too many on some make up for too few on others.",
        study.noun(),
        words::shortened(&names, NAMED)
    )))
}

/// Vines that lie farthest from their rule.
fn slips(study: &Study<'_>) -> Option<Statement> {
    let outside: Vec<_> = outside(study)
        .into_iter()
        .filter(|one| one.prunings_kg.is_some())
        .collect();
    if outside.is_empty() {
        return None;
    }
    let mut statement = Statement::default();
    let mut phrases = Vec::new();
    for (at, one) in outside.iter().enumerate().take(3) {
        phrases.push(format!(
            "{} ({{w{at}}}: the rule {} gives {{meant{at}}}, {{left{at}}} were left)",
            study.words(one),
            words::safe(&study.factor.levels[one.level].label)
        ));
        statement = statement
            .with_unit(
                &format!("w{at}"),
                one.prunings_kg.unwrap_or(0.0),
                Format::Significant(3),
                "kg of prunings",
            )
            .with(&format!("meant{at}"), one.meant, ONE)
            .with(&format!("left{at}"), one.left, ONE);
    }
    let text = format!(
        "{} away from the arithmetic of the rule by more than that; the farthest: {}. The file of this section lists them all.",
        if outside.len() == 1 {
            format!("1 {} is", study.noun())
        } else {
            format!("{} {}s are", outside.len(), study.noun())
        },
        words::list(&phrases)
    );
    Some(Statement { text, ..statement })
}

/// Under a rule the nodes left are a result.
fn outcome(study: &Study<'_>) -> Statement {
    let mut statement = Statement::default();
    let mut phrases = Vec::new();
    for (at, cell) in study.cells.overall.iter().enumerate() {
        phrases.push(format!("{{n{at}}} at {}", study.names[cell.treatment]));
        statement = statement.with_unit(&format!("n{at}"), cell.left, ONE, &study.response.unit);
    }
    Statement {
        text: format!(
            "The rule is the treatment and the nodes left follow from how the vines grew: {}. Treatments are compared by rule, not by nodes left.",
            words::list(&phrases)
        ),
        ..statement
    }
}

/// What achieved means do to a curve drawn over the levels.
fn curve(study: &Study<'_>) -> Vec<Statement> {
    let levels = achieved(study);
    let (Some(&(lowest, low)), Some(&(highest, high))) = (levels.first(), levels.last()) else {
        return Vec::new();
    };
    if levels.len() < 2 {
        return Vec::new();
    }
    let mut all = close(&levels, study);
    let (planned, done) = (highest - lowest, high - low);
    let ratio = done / planned;
    if ratio <= 0.0 {
        return all;
    }
    let statement = if (ratio - 1.0).abs() > RANGE {
        Statement::new(
            "From the lowest to the highest level {done} nodes more were left where {planned} more were meant. A response curve over the levels spreads its rise or fall over the nodes meant: for each node really left it is about {factor} times what such a curve says.",
        )
        .with("factor", 1.0 / ratio, Format::Decimals(2))
    } else {
        Statement::new(
            "From the lowest to the highest level {done} nodes more were left where {planned} more were meant, so a response curve over the levels can be read as one over the nodes left.",
        )
    };
    all.push(
        statement
            .with("done", done, ONE)
            .with("planned", planned, ONE),
    );
    all
}

/// Nodes meant and mean nodes left by level, in rising order of the nodes meant.
fn achieved(study: &Study<'_>) -> Vec<(f64, f64)> {
    let mut levels: Vec<(f64, Vec<f64>)> = Vec::new();
    for cell in &study.cells.overall {
        match levels.iter_mut().find(|(meant, _)| *meant == cell.meant) {
            Some((_, left)) => left.push(cell.left),
            None => levels.push((cell.meant, vec![cell.left])),
        }
    }
    levels.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mean = |left: Vec<f64>| caneplot_numerics::sum::mean(&left).unwrap_or_default();
    levels
        .into_iter()
        .map(|(meant, left)| (meant, mean(left)))
        .collect()
}

/// Neighbouring levels that came closer than half the distance meant.
fn close(levels: &[(f64, f64)], study: &Study<'_>) -> Vec<Statement> {
    let unit = study.factor.unit.as_deref().unwrap_or("nodes");
    let pairs = levels.windows(2).filter(|pair| {
        let (meant, left) = (pair[1].0 - pair[0].0, pair[1].1 - pair[0].1);
        left < 0.5 * meant
    });
    pairs
        .map(|pair| {
            Statement::new(
                "Between {low} and {high} nodes left differed by {left} on average where {meant} were meant: what is said of the difference between these two is said of less, or of nothing.",
            )
            .with("low", pair[0].0, Format::Significant(3))
            .with_unit("high", pair[1].0, Format::Significant(3), unit)
            .with("left", pair[1].1 - pair[0].1, ONE)
            .with("meant", pair[1].0 - pair[0].0, ONE)
        })
        .collect()
}
