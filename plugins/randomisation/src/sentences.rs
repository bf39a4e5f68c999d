//! What came out, and where the two tests disagree.

use caneplot_plugin::findings::{Format, Rank, Statement};

use crate::options::Options;
use crate::tested::{Agreement, Results, Tested};
use caneplot_plugin::words::{inside, list, safe};

/// All statements, most important first.
pub(crate) fn statements(results: &Results<'_>, options: &Options) -> Vec<Statement> {
    let mut found: Vec<Statement> = headline(results, options).into_iter().collect();
    found.extend(
        results
            .tested
            .iter()
            .filter_map(|tested| disagreement(tested, options)),
    );
    found.extend(too_few(results, options));
    found.extend(results.refused.iter().cloned());
    found
}

/// Response and term in a sentence: "yield (nodes left)".
fn named(tested: &Tested<'_>) -> String {
    format!(
        "{} ({})",
        inside(&tested.response.label),
        inside(&tested.term)
    )
}

fn headline(results: &Results<'_>, options: &Options) -> Option<Statement> {
    let all = results.tested.len();
    let count = |which: &dyn Fn(&Tested<'_>) -> bool| {
        results.tested.iter().filter(|tested| which(tested)).count()
    };
    let apart = count(&|tested| !matches!(tested.agreement(options.level), Agreement::Both(_)));
    let clear = count(&|tested| tested.shuffled.p < options.level);
    let statement = match results.tested.as_slice() {
        [] => return None,
        [tested] if apart == 0 => Statement::new(format!(
            "Had the treatments done nothing, the lots drawn for the layout {} in {} ({{p}}); the F test says the same.",
            if clear == 1 {
                "would rarely have made them look so different"
            } else {
                "could well have made them look as different"
            },
            named(tested)
        ))
        .with("p", tested.shuffled.p, Format::Probability),
        _ if apart == 0 => {
            let so = "Had the treatments done nothing, the lots drawn for the layout";
            let agreed = "the F tests say the same";
            match clear {
                0 => Statement::new(format!(
                    "{so} could well have made them look as different as they did in all {{all}} comparisons: no clear difference, and {agreed}."
                )),
                _ if clear == all => Statement::new(format!(
                    "{so} would rarely have made them look so different, in any of {{all}} comparisons; {agreed}."
                )),
                _ => Statement::new(format!(
                    "{so} would rarely have made them look so different in {{clear}} of {{all}} comparisons, and the others show no clear difference; {agreed}."
                ))
                .with("clear", clear as f64, Format::Count),
            }
            .with("all", all as f64, Format::Count)
        }
        _ => Statement::new(
            "Shuffling the treatments as the trial drew its lots bears out the F tests in {same} of {all} comparisons; where the two part stands below.",
        )
        .with("same", (all - apart) as f64, Format::Count)
        .with("all", all as f64, Format::Count),
    };
    Some(statement.rank(Rank::Headline))
}

/// One sentence where the two tests disagree.
fn disagreement(tested: &Tested<'_>, options: &Options) -> Option<Statement> {
    let level = options.level_words();
    let advice = match tested.agreement(options.level) {
        Agreement::Both(_) => return None,
        Agreement::OnlyF if tested.shuffled.smallest() >= options.level => format!(
            "with so few arrangements a shuffle cannot reach {level}, so only the F test, with its assumptions, can tell"
        ),
        Agreement::OnlyF => {
            "the shuffle assumes nothing about how values spread, so do not count on this difference"
                .to_owned()
        }
        Agreement::OnlyShuffle => {
            "the shuffle assumes nothing about how values spread; look at the residuals for what makes the F test the more cautious"
                .to_owned()
        }
        Agreement::Open => format!(
            "the {{drawn}} arrangements drawn leave open on which side of {level} the first lies; more of them would settle it"
        ),
    };
    let mut statement = Statement::new(format!(
        "The two tests disagree on {}: {{shuffled}} by shuffling and {{f}} by F; {advice}.",
        named(tested)
    ))
    .with("shuffled", tested.shuffled.p, Format::Probability)
    .with("f", tested.p, Format::Probability);
    if let (Agreement::Open, Some(drawn)) = (tested.agreement(options.level), tested.shuffled.drawn)
    {
        statement = statement.with("drawn", drawn as f64, Format::Count);
    }
    Some(statement)
}

/// Terms whose arrangements are too few to show anything, a sentence for each smallest P.
fn too_few(results: &Results<'_>, options: &Options) -> Vec<Statement> {
    let mut kinds: Vec<(f64, Vec<String>)> = Vec::new();
    for tested in &results.tested {
        let smallest = tested.shuffled.smallest();
        if smallest < options.level {
            continue;
        }
        let term = inside(&tested.term);
        match kinds.iter_mut().find(|(known, _)| *known == smallest) {
            Some((_, terms)) if terms.contains(&term) => {}
            Some((_, terms)) => terms.push(term),
            None => kinds.push((smallest, vec![term])),
        }
    }
    kinds
        .into_iter()
        .map(|(smallest, terms)| {
            Statement::new(format!(
                "The trial has so few possible arrangements of {} that shuffling can give no P below {{smallest}}, however large the difference: it cannot reach {}.",
                list(&terms),
                safe(&options.level_words())
            ))
            .with("smallest", smallest, Format::Decimals(3))
        })
        .collect()
}
