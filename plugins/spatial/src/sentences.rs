//! What was found in one response, in sentences.

use caneplot_numerics::mixed::kenward_roger::FTest;
use caneplot_plugin::findings::{Format, Rank, Statement};
use caneplot_plugin::words::{beginning, decimals, inside, list, of_errors, safe, shortened};

use crate::field::Field;
use crate::look::{Look, Slope, Way};
use crate::options::{Options, Trend};
use crate::tables::ends;
use crate::words::{parts, taken_out};

/// Plots named in one sentence.
const NAMED: usize = 6;

/// The sentences of a response, the main one first.
pub(crate) fn statements(options: &Options, look: &Look<'_>) -> Vec<Statement> {
    let mut all = vec![headline(options, look).rank(Rank::Headline)];
    all.extend(likeness(options, look));
    all.extend(untested(look));
    all.extend(treatments(options, look));
    all.extend(advice(options, look));
    all
}

/// What the main sentence says, without numbers, for one who cannot see the map.
pub(crate) fn seen(look: &Look<'_>, options: &Options) -> &'static str {
    match (
        look.has_slope(options.level) || look.has_bend(options.level),
        look.has_patches(options.level),
    ) {
        (true, true) => "A slope is left, and neighbours are alike.",
        (true, false) => "A slope is left.",
        (false, true) => "Neighbours are alike: patches are left.",
        (false, false) => "No clear slope and no clear patches are left.",
    }
}

fn headline(options: &Options, look: &Look<'_>) -> Statement {
    let level = options.level;
    let name = look.name();
    let taken = taken_out(look.trial);
    if look.has_slope(level) {
        return slope(look, level);
    }
    if look.has_bend(level) {
        let test = look.curved.map_or(1.0, |test| test.p);
        return Statement::new(format!(
            "{} changes over the field in a bend ({{p}}), beyond what {taken} take up: plots in the middle differ from those at the ends.",
            beginning(&look.response.label)
        ))
        .with("p", test, Format::Probability);
    }
    match look.patches().filter(|likeness| likeness.p < level) {
        Some(likeness) => Statement::new(format!(
            "Neighbouring plots are alike in {name} beyond {taken} (correlation {{r}}, {{p}}): good and poor patches are left in the field.",
        ))
        .with("r", likeness.correlation, Format::Decimals(2))
        .with("p", likeness.p, Format::Probability),
        None => {
            let p = look.straight.map(|test| test.p);
            let patches = look.patches().map(|likeness| likeness.p);
            let (text, p) = match (p, patches) {
                (Some(_), Some(_)) => ("no clear slope ({p}) and no clear patches ({q}) were", p),
                (Some(_), None) => ("no clear slope ({p}) was", p),
                (None, Some(_)) => ("no clear patches ({q}) were", None),
                (None, None) => ("nothing that can be tested was", None),
            };
            let mut statement = Statement::new(format!(
                "In {name} {text} left in the field after {taken}.",
            ));
            if let Some(p) = p {
                statement = statement.with("p", p, Format::Probability);
            }
            if let Some(q) = patches {
                statement = statement.with("q", q, Format::Probability);
            }
            statement
        }
    }
}

/// The main sentence of a slope: the clear ways, or the clearest where only both together are clear.
fn slope(look: &Look<'_>, level: f64) -> Statement {
    let mut ways: Vec<(&Way, bool, Slope)> = look
        .ways
        .iter()
        .zip([true, false])
        .filter_map(|(way, across)| Some((way, across, way.slope?)))
        .collect();
    ways.sort_by(|a, b| a.2.test.p.total_cmp(&b.2.test.p));
    let clear = ways
        .iter()
        .filter(|(.., slope)| slope.test.p < level)
        .count();
    ways.truncate(clear.max(1));
    let errors = ways.iter().map(|(.., slope)| slope.error);
    let format = Format::Decimals(decimals(look.response, errors));
    let mut statement = Statement::default();
    let mut parts = Vec::new();
    for (at, (way, across, slope)) in ways.iter().enumerate() {
        let verb = if slope.change < 0.0 { "falls" } else { "rises" };
        parts.push(format!(
            "{verb} by {{by{at}}} {} ({{p{at}}})",
            ends(way, *across)
        ));
        let p = format!("p{at}");
        statement = statement
            .with_unit(&format!("by{at}"), slope.change.abs(), format, look.unit())
            .with(&p, slope.test.p, Format::Probability);
    }
    statement.text = format!(
        "{} {}, beyond what {} take up: a slope is left in the field.",
        beginning(&look.response.label),
        list(&parts),
        taken_out(look.trial)
    );
    statement
}

/// How alike neighbours are in each direction, where the main sentence does not say it.
fn likeness(options: &Options, look: &Look<'_>) -> Option<Statement> {
    let mut statement = Statement::default();
    let mut parts = Vec::new();
    let ways = ["in the row", "across rows"];
    for (at, (way, likeness)) in ways.into_iter().zip(&look.likeness).enumerate() {
        if let Some(likeness) = likeness {
            parts.push(format!("{{r{at}}} {way} ({{n{at}}} pairs, {{p{at}}})"));
            statement = statement
                .with(&format!("r{at}"), likeness.correlation, Format::Decimals(2))
                .with(&format!("n{at}"), likeness.pairs as f64, Format::Count)
                .with(&format!("p{at}"), likeness.p, Format::Probability);
        }
    }
    if parts.is_empty() {
        return Some(Statement::new(
            "No two plots with values are neighbours, so nothing can be said of patches.",
        ));
    }
    let verdict = match look.has_patches(options.level) {
        true => "; taken together they are more alike than chance makes them",
        false => "",
    };
    statement.text = format!(
        "What {} leave of neighbouring plots has a correlation of {}{verdict}.",
        taken_out(look.trial),
        list(&parts)
    );
    Some(statement)
}

/// What could not be tested, and why.
fn untested(look: &Look<'_>) -> Option<Statement> {
    // Larger units are random where slopes are judged, so they take up none.
    let taken = match parts(look.trial) {
        Some(parts) => format!("treatments and {parts}"),
        None => "treatments".to_owned(),
    };
    let ways: Vec<&str> = look
        .ways
        .iter()
        .zip(["across the rows", "along the rows"])
        .filter(|(way, _)| way.slope.is_none())
        .map(|(_, name)| name)
        .collect();
    let text = match ways.as_slice() {
        [] => return None,
        [one] => format!(
            "A slope {one} is not tested: {taken} already take up every difference that way."
        ),
        _ => format!(
            "Slopes are not tested: {taken} take up every difference of row and position, or leave too few plots for it."
        ),
    };
    Some(Statement::new(text).rank(Rank::Detail))
}

/// What changes for the treatments when row and position are taken into account.
fn treatments(options: &Options, look: &Look<'_>) -> Vec<Statement> {
    let with = match options.field_trend {
        Trend::Linear => "row and position",
        Trend::Quadratic => "row, position and their squares",
    };
    let mut all = Vec::new();
    for compared in &look.compared {
        let factor = inside(&look.trial.factors[compared.factor].label);
        let clear = |test: &FTest| test.p < options.level;
        let verdict = match (clear(&compared.without), clear(&compared.with)) {
            (true, true) => "the differences stay clear",
            (false, false) => "there is no clear difference either way",
            (true, false) => "the differences are no longer clear",
            (false, true) => "the differences become clear",
        };
        let own = look
            .differences
            .iter()
            .filter(|one| one.factor == compared.factor);
        let most = own
            .map(|one| (one.with.value - one.without.value).abs())
            .fold(0.0, f64::max);
        let format = of_errors(look.decimals, std::iter::once(most));
        all.push(
            Statement::new(format!(
                "With {with} taken into account, differences between levels of {factor} change by at most {{most}} ({{p}} without, {{q}} with): {verdict}.",
            ))
            .with_unit("most", most, format, look.unit())
            .with("p", compared.without.p, Format::Probability)
            .with("q", compared.with.p, Format::Probability),
        );
    }
    if !look.compared.is_empty() {
        let [without, with] = look.errors;
        let statement = match with < without {
            true => Statement::new("It takes {share} off the error variance of a plot.").with(
                "share",
                1.0 - with / without,
                Format::Percent(0),
            ),
            false => Statement::new("It does not make the error of a plot smaller."),
        };
        all.push(statement.rank(Rank::Detail));
    }
    all
}

/// What to do about it.
fn advice(options: &Options, look: &Look<'_>) -> Option<Statement> {
    let (slope, bend) = (look.has_slope(options.level), look.has_bend(options.level));
    let text = match (slope || bend, look.has_patches(options.level)) {
        (true, _) => format!(
            "The analysis `mixed` with field_trend = \"{}\" compares treatments at equal places, season by season as well. Decide on it before looking at what it does to the treatments.",
            if bend { "quadratic" } else { "linear" }
        ),
        (false, true) => "Row and position cannot take up patches: smaller blocks, laid along them, would in a next trial.".to_owned(),
        (false, false) => return None,
    };
    Some(Statement::new(text).rank(Rank::Detail))
}

/// What the reader must know.
pub(crate) fn notes(field: &Field<'_>, look: &Look<'_>) -> Vec<Statement> {
    let mut all = Vec::new();
    let names = |plots: &[usize]| -> String {
        let names: Vec<String> = plots
            .iter()
            .map(|&plot| safe(&field.register.words(plot)))
            .collect();
        shortened(&names, NAMED)
    };
    if look.seasons.len() > 1 {
        all.push(Statement::new(
            "A plot counts once, with the mean of its seasons: seasons are no replicates of a place.",
        ));
    }
    if !look.left_out.is_empty() {
        all.push(Statement::new(format!(
            "Left out for want of a value in some season: {}.",
            names(&look.left_out)
        )));
    }
    if look.larger_units {
        all.push(Statement::new(
            "Patches are looked for inside the larger units of the design (whole plots, strips), whose own differences are taken out; slopes are judged with both errors.",
        ));
    }
    let taken = taken_out(look.trial);
    all.push(Statement::new(format!(
        "P of neighbours: residuals were exchanged {}, and freed of {taken} again; tested is whether plots that {taken} make equal are alike because they lie near each other.",
        match look.exchanged_in_groups {
            true if look.larger_units => "inside the smallest units that hold several plots",
            true => "inside blocks",
            false => "over the whole trial",
        }
    )));
    all.into_iter()
        .map(|note| note.rank(Rank::Detail))
        .collect()
}
