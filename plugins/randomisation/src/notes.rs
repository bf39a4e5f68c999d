//! What was exchanged, what it supposes, and how it was done.

use caneplot_numerics::randomise::Moves;
use caneplot_plugin::Call;
use caneplot_plugin::findings::{Format, Rank, Reference, Statement};

use crate::options::Options;
use crate::tested::Results;
use caneplot_plugin::words::{inside, list};

/// The notes of the section.
pub(crate) fn notes(call: &Call, results: &Results<'_>, options: &Options) -> Vec<Statement> {
    if results.tested.is_empty() {
        return results.left_out.clone();
    }
    let mut found = vec![exchanged(results)];
    let drawn = results.tested.iter().any(|t| t.shuffled.drawn.is_some());
    if drawn {
        found.push(
            Statement::new(format!(
                "Where more than a million arrangements are possible, {{drawn}} were drawn with seed {}; P counts the trial's own among them, so it is never below {{smallest}}.",
                call.request.seed
            ))
            .with("drawn", options.arrangements as f64, Format::Count)
            .with(
                "smallest",
                1.0 / (options.arrangements as f64 + 1.0),
                Format::Significant(2),
            ),
        );
    }
    found.push(Statement::new(
        "The test supposes that the layout was drawn by lot as declared, and asks whether treatments did nothing at all to any plot; it does not need values to be normal or equally variable for that.",
    ));
    if results.tested.iter().any(|tested| tested.interaction) {
        found.push(Statement::new(
            "For one of several factors or an interaction, a shuffle undoes the other effects that rest on the same plots as well, so it is exact only where those did nothing either; otherwise it is close.",
        ));
    }
    if results.seasons {
        found.push(Statement::new(
            "Every plot kept its seasons together; seasons themselves are not drawn by lot and have no such test.",
        ));
    }
    found.extend(results.left_out.iter().cloned());
    found
        .into_iter()
        .map(|note| note.rank(Rank::Detail))
        .collect()
}

/// What was exchanged for which terms.
fn exchanged(results: &Results<'_>) -> Statement {
    let mut kinds: Vec<(Moves, Vec<String>)> = Vec::new();
    for tested in &results.tested {
        let term = inside(&tested.term);
        match kinds
            .iter_mut()
            .find(|(known, _)| *known == tested.shuffled.moves)
        {
            Some((_, terms)) if terms.contains(&term) => {}
            Some((_, terms)) => terms.push(term),
            None => kinds.push((tested.shuffled.moves, vec![term])),
        }
    }
    let parts: Vec<String> = match kinds.as_slice() {
        [(moves, _)] => vec![moves.words().to_owned()],
        _ => kinds
            .iter()
            .map(|(moves, terms)| format!("{} for {}", moves.words(), list(terms)))
            .collect(),
    };
    Statement::new(format!(
        "Treatments were exchanged as the design drew them: {}.",
        parts.join("; ")
    ))
}

/// Sentences for the methods paragraph, and the works they cite.
pub(crate) fn methods(results: &Results<'_>, options: &Options) -> (Vec<String>, Vec<Reference>) {
    if results.tested.is_empty() {
        return (Vec::new(), Vec::new());
    }
    let mut sentences = vec![
        "Treatments were also judged by randomisation: F of each term, in its own stratum, was compared with its values over the arrangements that the design could have drawn [@fisher-1935], all of them where there are at most a million."
            .to_owned(),
    ];
    let mut references = vec![reference(
        "fisher-1935",
        "Fisher, R.A. 1935. The Design of Experiments. Oliver and Boyd, Edinburgh.",
    )];
    if results.tested.iter().any(|t| t.shuffled.drawn.is_some()) {
        sentences.push(format!(
            "Of more, {} were drawn, and P is (1 + those with as large an F)/(1 + those drawn) [@phipson-2010].",
            options.arrangements
        ));
        references.push(reference(
            "phipson-2010",
            "Phipson, B. and Smyth, G.K. 2010. Permutation P-values should never be zero: calculating exact P-values when permutations are randomly drawn. Statistical Applications in Genetics and Molecular Biology 9: 39.",
        ));
    }
    (sentences, references)
}

fn reference(key: &str, text: &str) -> Reference {
    Reference {
        key: key.to_owned(),
        text: text.to_owned(),
    }
}
