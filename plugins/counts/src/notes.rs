//! What a reader must know: spread, boundaries, separation, what was left out.

use caneplot_numerics::counts::Family;
use caneplot_plugin::findings::{Format, Statement};

use crate::frame::level_words;
use crate::model::Modelled;
use crate::section::{Set, Subjected};
use crate::spread::Spread;
use crate::subject::Kind;
use crate::terms::{Term, stratum, terms};
use crate::words::{capital, listed, literal, some_of};

/// The notes of a response.
#[must_use]
pub fn notes(subjected: &Subjected) -> Vec<Statement> {
    let mut notes: Vec<Statement> = subjected
        .subject
        .left_out
        .iter()
        .map(|text| Statement::new(text.clone()))
        .collect();
    if subjected.subject.kind == Kind::PerNode {
        notes.push(Statement::new(
            "Counts exceed the nodes in places, so they are analysed as shoots for each node (a rate with the log of the nodes as an offset); 1 is one shoot a node, not a ceiling.",
        ));
    }
    notes.extend(grouped(subjected, |_, model| Some(spread(model))));
    notes.extend(grouped(subjected, |_, model| boundary(model)));
    notes.extend(grouped(subjected, |set, model| {
        separation(subjected, set, model)
    }));
    notes.extend(grouped(subjected, |set, _| apart(set)));
    notes.extend(grouped(subjected, |set, _| gaps(set)));
    notes.extend(grouped(subjected, untested));
    if let Some((_, model, _)) = subjected.main() {
        notes.push(small_sample());
        notes.push(typical(subjected, model));
    }
    notes
}

/// A sentence on one set, with the place of its number as `{}`.
struct Noted {
    text: String,
    value: Option<f64>,
}

impl Noted {
    fn plain(text: String) -> Option<Self> {
        Some(Self { text, value: None })
    }
}

/// One sentence for all sets of which the same is to be said.
fn grouped(subjected: &Subjected, of: impl Fn(&Set, &Modelled) -> Option<Noted>) -> Vec<Statement> {
    let mut groups: Vec<(String, Vec<String>, Vec<f64>)> = Vec::new();
    for (set, model, _) in subjected.fitted() {
        let Some(Noted { text, value }) = of(set, model) else {
            continue;
        };
        let at = groups
            .iter()
            .position(|(known, ..)| *known == text)
            .unwrap_or_else(|| {
                groups.push((text, Vec::new(), Vec::new()));
                groups.len() - 1
            });
        groups[at].1.extend(set.label.clone());
        groups[at].2.extend(value);
    }
    groups
        .into_iter()
        .map(|(text, labels, values)| {
            let names: Vec<String> = (0..values.len())
                .map(|at| format!("{{value{at}}}"))
                .collect();
            let text = text.replace("{}", &listed(&names));
            let text = if labels.is_empty() {
                capital(&text)
            } else {
                format!("{}: {text}", capital(&literal(&listed(&labels))))
            };
            values
                .iter()
                .enumerate()
                .fold(Statement::new(text), |statement, (at, value)| {
                    statement.with(&format!("value{at}"), *value, Format::Decimals(1))
                })
        })
        .collect()
}

fn spread(model: &Modelled) -> Noted {
    let chance = match model.family {
        Family::Binomial => "drawing so many at random",
        Family::Poisson | Family::NegativeBinomial => "independent counting",
    };
    let mut text = match model.spread() {
        Spread::Beyond => {
            format!(
                "counts of plots treated alike vary {{}} times as much as {chance} would make them"
            )
        }
        Spread::Below => format!(
            "counts of plots treated alike vary less than {chance} would make them ({{}} times as much): intervals here are too wide and tests too cautious; the analysis of variance of plot means is the better one"
        ),
        Spread::Chance => format!(
            "counts of plots treated alike vary about as much as {chance} would make them ({{}} times)"
        ),
    };
    text.push_str(match (model.plot_effect, model.family) {
        (true, _) => ", so each count has a random effect of its own in the model.",
        (false, Family::NegativeBinomial) => ", which the negative binomial takes up.",
        _ => ".",
    });
    if model.fell_to_poisson {
        text.push_str(" The negative binomial was asked for, but does not apply to these counts (they vary no more than Poisson counts, or a treatment has none at all); Poisson was used.");
    }
    Noted {
        text,
        value: Some(model.dispersion),
    }
}

/// Random terms without variance.
fn boundary(model: &Modelled) -> Option<Noted> {
    let random = model.fit.random.iter().filter(|random| random.at_boundary);
    let names: Vec<&str> = random.map(|random| random.name.as_str()).collect();
    if names.is_empty() {
        return None;
    }
    Noted::plain(format!(
        "no variation between units of {} is seen beyond chance (variance estimated as 0, at its boundary); the degrees of freedom stay those of the design.",
        listed(&names)
    ))
}

fn separation(subjected: &Subjected, set: &Set, model: &Modelled) -> Option<Noted> {
    if model.separated.is_empty() {
        return None;
    }
    let cells: Vec<String> = model
        .separated
        .iter()
        .map(|cell| {
            let levels = set.frame.cells[*cell].iter().zip(&set.frame.dimensions);
            let words: Vec<String> = levels
                .map(|(level, dimension)| level_words(dimension, *level))
                .collect();
            words.join(" / ")
        })
        .collect();
    let (what, scale) = if subjected.is_share() {
        ("0 or 100 % in all plots", "odds")
    } else {
        ("a count of 0 in all plots", "rate ratios")
    };
    Noted::plain(format!(
        "there is {what} of {}, so that plain estimates of {scale} would be infinite. Means, ratios and intervals here are from the penalised likelihood of Firth (1993), which keeps them finite, as half a count more and half a count less would; F is made from the likelihood ratio, which stays finite by itself.",
        some_of(&cells, 6)
    ))
}

/// Factors whose levels stand in blocks of their own.
fn apart(set: &Set) -> Option<Noted> {
    let in_block = |term: &Term| {
        let unit = set.frame.groupings.get(stratum(&set.frame, term));
        unit.is_some_and(|unit| unit.name == "block")
    };
    let found: Vec<String> = terms(&set.frame)
        .iter()
        .filter(|term| !term.has_season(&set.frame) && in_block(term))
        .map(|term| literal(&caneplot_plugin::words::inside(&term.words(&set.frame))))
        .collect();
    if found.is_empty() {
        return None;
    }
    Noted::plain(format!(
        "no block holds two levels of {}, so they are compared as whole blocks, with the few degrees of freedom that blocks leave: what the blocks did cannot be told from what the treatment did.",
        listed(&found)
    ))
}

/// Combinations without a count.
fn gaps(set: &Set) -> Option<Noted> {
    let empty = set.frame.empty_cells();
    if empty.is_empty() {
        return None;
    }
    Noted::plain(format!(
        "there is no count for {}, so main effects and interactions are not tested; the means that do not need these are given.",
        literal(&some_of(&empty, 6))
    ))
}

/// Terms that could not be tested.
fn untested(set: &Set, model: &Modelled) -> Option<Noted> {
    if model.untested.is_empty() {
        return None;
    }
    let terms: Vec<String> = model
        .untested
        .iter()
        .map(|term| literal(&term.words(&set.frame)))
        .collect();
    Noted::plain(format!(
        "no test of {}, because the model without it has no finite estimates to compare with.",
        listed(&terms)
    ))
}

/// The rates are those of numerics, tests/counts_size.rs.
fn small_sample() -> Statement {
    let text = "Chi-square tests of counts suppose many blocks: in simulated trials of 4 to 6 blocks without any difference but with plots that vary, they called 8 to 12 % significant at the 5 % level, F as used here 4 to 5 %, and fewer where plots vary by chance alone. Intervals of means and ratios use t with the same degrees of freedom and the same standard errors.";
    Statement::new(text)
}

fn typical(subjected: &Subjected, model: &Modelled) -> Statement {
    let how = if model.quadrature {
        "adaptive quadrature (25 points)"
    } else if model.fit.random.is_empty() {
        "no approximation"
    } else {
        "Laplace's approximation"
    };
    let scale = if subjected.is_share() {
        "log odds"
    } else {
        "log of the rate"
    };
    Statement::new(format!(
        "Means are worked out on the scale of the {scale} and taken back: they are those of a typical block and plot, and may differ a little from the share or rate as counted. Random effects were integrated out with {how}; the largest slope left at the maximum is {{slope}} standard errors."
    ))
    .with("slope", model.fit.certificate.largest_slope, Format::Significant(1))
}
