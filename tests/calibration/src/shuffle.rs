//! How often the randomisation test rejects at 5 % where there is nothing to find.
//!
//! Its P is a share of arrangements, so P ≤ 5 % comes about in at most 5 % of trials, whatever the errors
//! look like; with few arrangements in less.

use caneplot_numerics::design::Design;
use caneplot_numerics::randomise::{Settings, randomised};

use crate::null::LEVEL;
use crate::plan::Plan;
use crate::table::{Row, Table};
use crate::tally::{Outcome, Run, Tally, tallies};

/// Arrangements drawn where they are not counted.
const DRAWS: u64 = 999;

/// Rejections of one term.
#[derive(Debug, Clone, Copy)]
pub struct Rejections {
    /// By the randomisation test.
    pub shuffled: Tally,
    /// By F, for comparison.
    pub by_f: Tally,
}

/// The rejections of every term whose treatments were randomised; `skewed` errors have a long tail.
#[must_use]
pub fn rejections(run: Run, plan: &Plan, skewed: bool) -> Vec<Rejections> {
    let units = plan.units();
    let sheet = plan.sheet(&units);
    let design: Option<Design> = sheet.design().ok();
    let terms = plan.terms();
    let found = tallies(run, "arrangements", 2 * terms.len(), |stream| {
        let Some(design) = &design else {
            return vec![Outcome::NoAnswer; 2 * terms.len()];
        };
        let seed = u64::from(stream.below(u32::MAX));
        let mut values = plan.errors(&units, stream);
        if skewed {
            // Lognormal about one third of the errors' own scale: a few plots far above the rest.
            values
                .iter_mut()
                .for_each(|value| *value = (*value / 12.0).exp());
        }
        let variance = design.layout.analyse(&values);
        let classifiers: Vec<usize> = design
            .treatments
            .iter()
            .copied()
            .chain(design.season)
            .collect();
        let places: Vec<Option<usize>> = terms
            .iter()
            .map(|(_, factors)| {
                let of: Vec<usize> = factors.iter().map(|&at| classifiers[at]).collect();
                design.layout.term_of(&of)
            })
            .collect();
        let wanted: Vec<usize> = places.iter().copied().flatten().collect();
        let settings = Settings {
            seed,
            draws: DRAWS,
            threads: 1,
        };
        let tests = randomised(&sheet, design, &wanted, &[&variance], settings);
        places
            .iter()
            .flat_map(|place| {
                let at = place.and_then(|place| wanted.iter().position(|term| *term == place));
                let shuffled = at.and_then(|at| Some(tests[at][0]?.p <= LEVEL));
                let by_f = place.and_then(|term| Some(variance.lines[term].p? <= LEVEL));
                [Outcome::of(shuffled), Outcome::of(by_f)]
            })
            .collect()
    });
    found
        .chunks(2)
        .map(|of| Rejections {
            shuffled: of[0],
            by_f: of[1],
        })
        .collect()
}

/// The table of several designs.
#[must_use]
pub fn table(run: Run) -> Table {
    let small = |levels: usize| Plan {
        levels: vec![levels],
        ..Plan::blocks()
    };
    let mut rows = Vec::new();
    for (words, plan, skewed) in [
        ("randomised block, 4 × 2, 16 arrangements", small(2), false),
        ("randomised block, 4 × 3, 1296 counted", small(3), false),
        ("randomised block, 4 × 3, skewed errors", small(3), true),
        ("randomised block, 4 × 6, 999 drawn", small(6), false),
        ("randomised block, 4 × 6, skewed errors", small(6), true),
        ("split plot, 4 × 3 × 4", Plan::split(), false),
        ("split plot, 4 × 3 × 4, skewed errors", Plan::split(), true),
    ] {
        for ((term, _), r) in plan.terms().iter().zip(rejections(run, &plan, skewed)) {
            rows.push(Row {
                labels: [words, term].map(str::to_owned).to_vec(),
                tallies: vec![r.shuffled, r.by_f],
            });
        }
    }
    Table {
        title: "Rejections of the randomisation test at 5 % without any difference",
        labels: vec!["design", "term"],
        figures: vec![("randomisation", Some(LEVEL)), ("F", Some(LEVEL))],
        rows,
    }
}
