//! The answer in sentences.

use caneplot_plugin::findings::{Format, Rank, Statement};
use caneplot_plugin::sentence::Sentence;
use caneplot_plugin::words;

use crate::growth::MOST_BLOCKS;
use crate::money::cheapest;
use crate::study::{Study, inside};
use crate::tables::vines_words;

const AMOUNT: Format = Format::Significant(3);
const POWER: Format = Format::Decimals(2);
/// Power by drawing trials, with its Monte Carlo error.
const DRAWN: Format = Format::Decimals(3);

pub(crate) fn statements(study: &Study) -> Vec<Statement> {
    let mut found = vec![headline(study), detectable(study)];
    found.extend(fewest(study));
    found.extend(lines(study));
    found.extend(crossed(study));
    found.push(seasons(study));
    found.extend(lasting(study));
    found.extend(losses(study));
    found.extend(money(study));
    found
}

/// The plan in words: "5 blocks of 4 plots with 4 vines, 3 seasons".
fn plan_words(study: &Study) -> String {
    let plots = study.frame.treatments();
    let vines = words::counted(study.options.vines, "vine");
    let place = if !study.frame.has_blocks() {
        format!("a square of {plots} rows and columns, plots of {vines}")
    } else if study.frame.kind == caneplot_numerics::design::Kind::CompletelyRandomised {
        format!(
            "{} plots of each of {plots} treatments, {vines} a plot",
            study.planned.blocks
        )
    } else {
        format!(
            "{} of {plots} plots with {vines}",
            words::counted(study.planned.blocks, "block")
        )
    };
    format!(
        "{place} over {}",
        words::counted(study.planned.seasons, "season")
    )
}

fn headline(study: &Study) -> Statement {
    let (options, judged) = (&study.options, study.judged());
    let enough = judged.test.power >= options.wanted;
    let start = format!(
        "{} would find a difference of ",
        words::beginning(&plan_words(study))
    );
    let start = Sentence::new(&start)
        .number_in(options.difference, AMOUNT, &options.unit)
        .text(&format!(
            " in {} between two levels of {} in ",
            options.response,
            inside(&judged.name)
        ))
        .number(100.0 * judged.test.power, Format::Decimals(0))
        .text(" of 100 such trials");
    start
        .text(if enough {
            ": enough for what was asked."
        } else {
            ": too seldom for what was asked."
        })
        .ranked(Rank::Headline)
}

fn detectable(study: &Study) -> Statement {
    let (options, judged) = (&study.options, study.judged());
    let mut sentence = Sentence::new("As planned it detects ")
        .number_in(judged.detectable[0], AMOUNT, &options.unit)
        .text(" with a power of 0.8 and ")
        .number_in(judged.detectable[1], AMOUNT, &options.unit)
        .text(" with a power of 0.9");
    if let Some(mean) = options.mean.filter(|mean| *mean > 0.0) {
        sentence = sentence
            .text(" (")
            .number(judged.detectable[0] / mean, Format::Percent(0))
            .text(" and ")
            .number(judged.detectable[1] / mean, Format::Percent(0))
            .text(" of the mean)");
    }
    sentence
        .text("; a smaller difference may be there and not be found, so 'no clear difference' from such a trial will not mean 'no difference'.")
        .statement()
}

fn fewest(study: &Study) -> Vec<Statement> {
    let options = &study.options;
    let (unit, plural) =
        if study.frame.kind == caneplot_numerics::design::Kind::CompletelyRandomised {
            ("plots of each treatment", "plots of each treatment")
        } else {
            ("blocks", "blocks")
        };
    let mut found = Vec::new();
    for (vines, blocks) in &study.fewest {
        let start = Sentence::new(&format!("With {} a power of ", vines_words(*vines)))
            .number(options.wanted, POWER);
        found.push(match blocks {
            Some(blocks) => start
                .text(" needs ")
                .number(*blocks as f64, Format::Count)
                .text(&format!(" {unit}."))
                .statement(),
            None => start
                .text(&format!(" needs more than {MOST_BLOCKS} {plural}: the difference is too small, or plots vary too much, for a field trial."))
                .statement(),
        });
    }
    found
}

/// Straight lines over amounts, which find more than the comparison of levels.
fn lines(study: &Study) -> Vec<Statement> {
    let lines = study.answers.iter().filter(|answer| answer.term.is_none());
    lines
        .map(|line| {
            Sentence::new(&format!(
                "Where the response follows {} steadily, the test of it finds the same difference between the ends with a power of ",
                inside(line.name.trim_end_matches(", straight line"))
            ))
            .number(line.test.power, POWER)
            .text(".")
            .statement()
        })
        .collect()
}

/// Interactions of factors, which need far more.
fn crossed(study: &Study) -> Vec<Statement> {
    let answers = study.answers.iter().filter(|answer| {
        answer.term.is_some_and(|at| {
            let term = &study.planned.terms[at];
            term.factors.len() == 2 && !term.by_season
        })
    });
    answers
        .map(|answer| {
            Sentence::new(&format!(
                "Whether one changes the effect of the other ({}) is harder to see: a difference of differences must be ",
                inside(&answer.name)
            ))
            .number_in(answer.detectable[0], AMOUNT, &study.options.unit)
            .text(" to be found with a power of 0.8.")
            .statement()
        })
        .collect()
}

fn seasons(study: &Study) -> Statement {
    let unit = &study.options.unit;
    let at = |wanted: usize| study.seasons.iter().find(|row| row.seasons == wanted);
    let planned = study.planned.seasons;
    match (at(planned), at(planned + 1)) {
        (Some(now), Some(more)) => Sentence::new("One season more on the same plots would bring the difference detected from ")
            .number_in(now.detectable, AMOUNT, unit)
            .text(" to ")
            .number_in(more.detectable, AMOUNT, unit)
            .text(": seasons average what is new in a plot every year, not what stays with its soil and its vines; only blocks do that.")
            .statement(),
        _ => Statement::new("How much a plot changes from season to season was not given, so what more seasons would buy is not known; they average what is new in a plot every year, not what stays with its soil and its vines."),
    }
}

fn lasting(study: &Study) -> Option<Statement> {
    let (options, by_season) = (&study.options, study.options.parts.treatments_by_season);
    let row = study
        .seasons
        .iter()
        .find(|row| row.seasons == study.planned.seasons)?;
    if by_season <= 0.0 {
        return None;
    }
    let floor = (2.0 * by_season / study.planned.seasons as f64).sqrt();
    let mut sentence = Sentence::new("For the difference that lasts, over seasons like these, the standard error is ")
        .number_in(row.lasting_error, AMOUNT, &options.unit)
        .text(", of which ")
        .number_in(floor, AMOUNT, &options.unit)
        .text(" would remain with any number of blocks: a treatment that does better in one season than in another is not averaged by blocks, only by seasons");
    sentence = match row.lasting {
        Some(drawn) => sentence
            .text("; the difference that matters is found with a power of ")
            .number(drawn.power(), DRAWN)
            .text(" ± ")
            .number(1.96 * drawn.standard_error(), DRAWN)
            .text("."),
        None => sentence.text(", and one season cannot tell it from the season itself."),
    };
    Some(sentence.statement())
}

fn losses(study: &Study) -> Option<Statement> {
    let lossful = study.lossful.as_ref()?;
    let mains = lossful
        .planned
        .main()
        .find(|term| term.factors == [study.factor])?;
    let drawn = lossful.found.terms[mains.at];
    Some(
        Sentence::new("With ")
            .number(study.options.loss, Format::Percent(0))
            .text(" of the vines lost the power is ")
            .number(drawn.power(), DRAWN)
            .text(" ± ")
            .number(1.96 * drawn.standard_error(), DRAWN)
            .text(" (Monte Carlo error); ")
            .number(
                lossful.found.lost_plots as f64 / drawn.draws as f64,
                Format::Percent(0),
            )
            .text(" of such trials lose a whole plot.")
            .statement(),
    )
}

fn money(study: &Study) -> Vec<Statement> {
    let options = &study.options;
    let Some(prices) = options.prices else {
        return Vec::new();
    };
    if options.plots_hold_vines {
        return vec![Statement::new(
            "Prices cannot be weighed against each other: how much vines of one plot vary was not given, so that nobody knows what more of them would bring.",
        )];
    }
    let mut found = Vec::new();
    let best = options
        .parts
        .best_vines(study.planned.seasons as f64, prices.plot, prices.vine);
    found.push(match best {
        Some(best) => Sentence::new("For the money a plot's mean is known best with ")
            .number(best, Format::Decimals(1))
            .text(" vines a plot (at least one): what vines add falls with their number, what plots add does not.")
            .statement(),
        None => Statement::new(
            "By these numbers plots do not vary but for their vines, or vines cost nothing: the more vines a plot the better, within reason.",
        ),
    });
    if let Some(cheapest) = cheapest(&study.offers) {
        found.push(
            Sentence::new("The cheapest trial with a power of ")
                .number(options.wanted, POWER)
                .text(" has ")
                .number(cheapest.blocks as f64, Format::Count)
                .text(" blocks of plots with ")
                .number(cheapest.vines as f64, Format::Count)
                .text(" vines and costs ")
                .number(cheapest.cost, Format::Decimals(0))
                .text(".")
                .statement(),
        );
    }
    found
}
