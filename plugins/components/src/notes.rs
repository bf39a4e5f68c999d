//! What the reader must know to use the tables.

use caneplot_plugin::findings::{Rank, Statement};
use caneplot_plugin::words;

use crate::decompose::{Compared, Decomposed};

pub(crate) fn of(found: &Decomposed<'_>) -> Vec<Statement> {
    let crop = &found.chain.crop;
    let mut all = vec![
        format!(
            "The parts say where a change in {crop} came from; they do not say that one part changed because of another. Vines with more shoots may set fewer clusters because of them, or because of what both share."
        ),
        "Changes are ratios of geometric means: every plot counts by its logarithm, so they may differ a little from ratios of the arithmetic means in other sections.".to_owned(),
    ];
    all.extend(found.chain.remarks.iter().map(|remark| words::safe(remark)));
    let treatments = found.treatments();
    all.extend(treatments.control_note());
    all.extend(treatments.margin_note());
    if found.overall.occasion.seasons.len() == 1 && found.register.seasons() == 1 {
        all.push(
            "These are results of one season; parts that balance over years cannot be seen in it."
                .to_owned(),
        );
    }
    all.extend(left_out(found, &found.overall));
    for season in &found.seasons {
        all.extend(left_out(found, season));
    }
    for (season, why) in &found.failed {
        all.push(format!(
            "{} is not shown by itself: {}.",
            words::safe(found.register.season(*season)),
            words::safe(why.trim_end_matches('.'))
        ));
    }
    if !found.overall.complete {
        all.push("The set is not complete, so means are adjusted for the plots that are missing by least squares.".to_owned());
    }
    all.into_iter()
        .map(|text| Statement::new(text).rank(Rank::Detail))
        .collect()
}

/// Plots without all amounts.
fn left_out(found: &Decomposed<'_>, compared: &Compared<'_>) -> Option<String> {
    let names: Vec<String> = compared
        .occasion
        .left_out
        .iter()
        .map(|&plot| words::safe(&found.register.words(plot)))
        .collect();
    if names.is_empty() {
        return None;
    }
    let from = match compared.occasion.season {
        Some(season) => format!("of {}", words::safe(found.register.season(season))),
        None => "of the comparison over seasons".to_owned(),
    };
    let verb = if names.len() == 1 { "lacks" } else { "lack" };
    Some(format!(
        "Left out {from}, because {verb_subject} {verb} an amount: {}.",
        words::shortened(&names, 6),
        verb_subject = if names.len() == 1 { "it" } else { "they" },
    ))
}
