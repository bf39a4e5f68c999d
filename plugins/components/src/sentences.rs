//! What came out, in sentences.

use caneplot_numerics::fieller::FiellerSet;
use caneplot_plugin::findings::{Format, Rank, Statement};
use caneplot_plugin::words;

use crate::decompose::{Change, Decomposed};

/// Most treatments that get a sentence of their own.
const MOST: usize = 8;

/// The sentences of a section, the treatment that changed yield most first among equals in rank.
pub(crate) fn of(found: &Decomposed<'_>) -> Vec<Statement> {
    let changes = &found.overall.changes;
    let strength = |change: &&Change| change.estimate.values[change.whole()].abs();
    let main = changes
        .iter()
        .filter(|change| change.clear(change.whole()))
        .max_by(|a, b| strength(a).total_cmp(&strength(b)));
    // Combinations repeat what the factors by themselves have said on the first page.
    let rank = match found.treatments().compared.factors.len() {
        1 => Rank::Headline,
        _ => Rank::Result,
    };
    let mut all = Vec::new();
    match main {
        Some(change) => all.push(sentence(found, change).rank(rank)),
        None => all.push(no_change(found).rank(rank)),
    }
    let others = changes
        .iter()
        .filter(|change| main.is_none_or(|main| main.treatment != change.treatment));
    all.extend(others.take(MOST).map(|change| sentence(found, change)));
    for change in changes.iter().take(MOST) {
        all.extend(compensation(found, change));
    }
    all.extend(main.and_then(|change| seasons(found, change)));
    all
}

/// A sentence with percentages named in order.
struct Writer {
    statement: Statement,
}

impl Writer {
    fn new(text: impl Into<String>) -> Self {
        Self {
            statement: Statement::new(text),
        }
    }

    fn text(mut self, text: &str) -> Self {
        self.statement.text.push_str(text);
        self
    }

    /// A share as a percentage, its sign left out.
    fn size(mut self, share: f64) -> Self {
        let name = format!("v{}", self.statement.values.len() + 1);
        self.statement.text.push_str(&format!("{{{name}}}"));
        self.statement = self.statement.with(&name, share.abs(), Format::Percent(0));
        self
    }

    /// A share as a percentage with a sign only where it is negative.
    fn share(self, share: f64) -> Self {
        let sign = if share < -0.005 { "−" } else { "" };
        self.text(sign).size(share)
    }

    /// A share as a percentage with its sign.
    fn signed(self, share: f64) -> Self {
        // Half a per cent is written as nothing, which has no sign.
        let sign = match share {
            share if share.abs() < 0.005 => "",
            share if share < 0.0 => "−",
            _ => "+",
        };
        self.text(sign).size(share)
    }
}

/// "Doubling nodes left from 24 to 48 nodes/vine raised yield by 38 % (95 % interval …): nodes +100 %, …"
fn sentence(found: &Decomposed<'_>, change: &Change) -> Statement {
    let whole = change.whole();
    let [low, value, high] = change.shares(whole);
    let start = Writer::new(beginning(found, change));
    let crop = found.chain.crop.clone();
    let level = words::percent(found.level);
    let mut writer = if change.clear(whole) {
        let (verb, from, to) = if value > 0.0 {
            ("raised", low, high)
        } else {
            ("lowered", high, low)
        };
        start
            .text(&format!(" {verb} {crop} by "))
            .size(value)
            .text(&format!(" ({level} interval "))
            .size(from)
            .text(" to ")
            .size(to)
            .text(")")
    } else {
        start
            .text(&format!(" made no clear difference to {crop} ("))
            .signed(value)
            .text(&format!(", {level} interval "))
            .signed(low)
            .text(" to ")
            .signed(high)
            .text(")")
    };
    writer = writer.text(&over(found)).text(": ");
    for (part, name) in found.chain.factors.iter().enumerate() {
        let between = if part == 0 { "" } else { ", " };
        writer = writer
            .text(&format!("{between}{} ", words::safe(name)))
            .signed(change.shares(part)[1]);
    }
    let clear: Vec<String> = (0..whole)
        .filter(|&part| change.clear(part))
        .map(|part| words::safe(&found.chain.factors[part]))
        .collect();
    let end = match clear.len() {
        0 => ". None of these parts changed clearly.".to_owned(),
        all if all == whole => ". All of these changes are clear.".to_owned(),
        1 => format!(". Of these only the change in {} is clear.", clear[0]),
        _ => format!(
            ". Of these the changes in {} are clear.",
            words::list(&clear)
        ),
    };
    writer.text(&end).statement
}

fn beginning(found: &Decomposed<'_>, change: &Change) -> String {
    let treatments = found.treatments();
    let control = treatments.control;
    if let (Some(from), Some(to)) = (
        treatments.quantity(control),
        treatments.quantity(change.treatment),
    ) {
        let act = if from > 0.0 && to == 2.0 * from {
            "Doubling"
        } else if from > 0.0 && 2.0 * to == from {
            "Halving"
        } else if to > from {
            "Raising"
        } else {
            "Lowering"
        };
        let unit = treatments
            .unit()
            .map_or_else(String::new, |unit| format!(" {}", words::safe(unit)));
        return format!(
            "{act} {} from {} to {}{unit}",
            words::inside(&treatments.heading()),
            words::safe(&treatments.label(control)),
            words::safe(&treatments.label(change.treatment)),
        );
    }
    format!(
        "{} instead of {}",
        words::beginning(&treatments.words(change.treatment)),
        treatments.words(control)
    )
}

fn no_change(found: &Decomposed<'_>) -> Statement {
    let treatments = found.treatments();
    Statement::new(format!(
        "No treatment's {} differed clearly from that of {}{}.",
        found.chain.crop.clone(),
        treatments.words(treatments.control),
        over(found)
    ))
}

fn over(found: &Decomposed<'_>) -> String {
    match found.overall.occasion.seasons.len() {
        0 | 1 => String::new(),
        seasons => format!(" over {seasons} seasons"),
    }
}

/// How far the later factors made up for more, or fewer, nodes.
fn compensation(found: &Decomposed<'_>, change: &Change) -> Option<Statement> {
    let nodes = found.chain.nodes?;
    let back = found.compensation(change)?;
    let more = change.estimate.values[nodes] > 0.0;
    let level = words::percent(found.level);
    let at = found.treatments().words(change.treatment);
    let crop = found.chain.crop.clone();
    let writer = match (more, back.share >= 0.0) {
        (true, true) => Writer::new(format!("With {at} the parts after nodes took back "))
            .size(back.share)
            .text(&format!(
                " of the {crop} that more nodes alone would have added"
            )),
        (false, true) => Writer::new(format!("With {at} the parts after nodes made up for "))
            .size(back.share)
            .text(&format!(
                " of the {crop} that fewer nodes alone would have cost"
            )),
        (more, false) => {
            let way = if more { "more" } else { "fewer" };
            return Some(
                Writer::new(format!(
                    "With {at} nothing made up for {way} nodes: the parts after nodes moved {crop} the same way, by "
                ))
                .size(back.share)
                .text(" of what nodes alone did, on the scale of logarithms.")
                .statement,
            );
        }
    };
    let writer = match back.set {
        FiellerSet::Bounded { low, high } => writer
            .text(&format!(" ({level} interval "))
            .share(low)
            .text(" to ")
            .share(high)
            .text(")"),
        FiellerSet::Outside { .. } | FiellerSet::All => {
            writer.text(" (the data do not bound this share)")
        }
    };
    Some(writer.text(", on the scale of logarithms.").statement)
}

/// Seasons in which the main treatment changed yield least and most.
fn seasons(found: &Decomposed<'_>, main: &Change) -> Option<Statement> {
    let by_season: Vec<(&str, f64)> = found
        .seasons
        .iter()
        .filter_map(|season| {
            let change = season.changes.iter().find(|change| {
                season.treatments.levels[change.treatment]
                    == found.treatments().levels[main.treatment]
            })?;
            let name = found.register.season(season.occasion.season?);
            Some((name, change.shares(change.whole())[1]))
        })
        .collect();
    let least = by_season.iter().min_by(|a, b| a.1.total_cmp(&b.1))?;
    let most = by_season.iter().max_by(|a, b| a.1.total_cmp(&b.1))?;
    // Changes that are written alike did not run from one to the other.
    if most.1 - least.1 < 0.01 {
        return None;
    }
    Some(
        Writer::new(format!(
            "Season by season the change with {} ran from ",
            found.treatments().words(main.treatment)
        ))
        .signed(least.1)
        .text(&format!(" ({}) to ", words::safe(least.0)))
        .signed(most.1)
        .text(&format!(" ({}).", words::safe(most.0)))
        .statement
        .rank(Rank::Detail),
    )
}
