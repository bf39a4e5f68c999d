//! The randomisation each design wants, over plots already placed.

use caneplot_plugin::request::{DesignKind, Role};

use super::chance::Chance;
use super::place::Shape;
use super::{Field, Plan, Site, Treatment, square};
use crate::diagnostic::Diagnostic;

/// Layouts drawn at most until one keeps the same treatments apart.
pub const MOST_TRIES: u64 = 200_000;

/// A randomisation.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Drawn {
    /// Treatment of each site.
    pub treatments: Vec<Treatment>,
    /// Layouts drawn, this one included.
    pub tries: u64,
}

/// The treatments of the sites. Where the plan keeps the same treatment apart, whole layouts are
/// drawn until one does: every layout that does is then equally likely.
///
/// # Errors
/// No layout that keeps them apart was found.
pub fn drawn(plan: &Plan, field: &Field, sites: &[Site]) -> Result<Drawn, Box<Diagnostic>> {
    let apart = plan.apart.as_ref().filter(|apart| apart.value);
    let neighbours = match apart {
        Some(_) => neighbours(plan, field, sites),
        None => Vec::new(),
    };
    for attempt in 0..MOST_TRIES {
        let treatments = once(plan, sites.len(), &mut Chance::new(plan.seed, attempt));
        if neighbours
            .iter()
            .all(|&(a, b)| treatments[a] != treatments[b])
        {
            return Ok(Drawn {
                treatments,
                tries: attempt + 1,
            });
        }
    }
    let span = apart.map_or(0..0, |apart| apart.span.clone());
    Err(Box::new(
        Diagnostic::error(
            "plan-apart",
            format!(
                "{MOST_TRIES} layouts were drawn, and in each the same treatment stands side by side \
                 in neighbouring blocks at one of the {} places where blocks touch",
                neighbours.len()
            ),
        )
        .at(plan.place(&span))
        .help(
            "take apart out: the wish leaves hardly any layout to choose from, and a layout that is \
             hardly random supports no test; or separate the blocks by guard rows",
        ),
    ))
}

/// One randomisation, unconstrained.
#[must_use]
pub fn once(plan: &Plan, sites: usize, chance: &mut Chance) -> Vec<Treatment> {
    let shape = Shape::of(plan);
    let blank = vec![0; plan.factors.len()];
    let combined = |parts: &[&[(usize, usize)]]| {
        let mut treatment = blank.clone();
        for &(factor, level) in parts.iter().copied().flatten() {
            treatment[factor] = level;
        }
        treatment
    };
    let of = |role| plan.combinations(role);
    let mut all = Vec::with_capacity(sites);
    match plan.kind.value {
        DesignKind::CompletelyRandomised => {
            let treatments = of(Role::Treatment);
            let mut order: Vec<usize> = (0..shape.units).map(|at| at % treatments.len()).collect();
            chance.shuffle(&mut order);
            all.extend(order.iter().map(|&at| combined(&[&treatments[at]])));
        }
        DesignKind::RandomisedBlock => {
            let treatments = of(Role::Treatment);
            for _ in 0..shape.blocks {
                let order = chance.order(treatments.len());
                all.extend(order.iter().map(|&at| combined(&[&treatments[at]])));
            }
        }
        DesignKind::LatinSquare => {
            let treatments = of(Role::Treatment);
            for row in square::drawn(treatments.len(), chance) {
                all.extend(row.iter().map(|&at| combined(&[&treatments[at]])));
            }
        }
        DesignKind::SplitPlot | DesignKind::SplitSplitPlot => {
            let (whole, sub) = (of(Role::WholePlot), of(Role::SubPlot));
            let least = of(Role::SubSubPlot);
            for _ in 0..shape.blocks {
                for w in chance.order(whole.len()) {
                    for s in chance.order(sub.len()) {
                        // Without sub-sub plots there is one empty combination.
                        for l in chance.order(least.len()) {
                            all.push(combined(&[&whole[w], &sub[s], &least[l]]));
                        }
                    }
                }
            }
        }
        DesignKind::StripPlot => {
            let (rows, across) = (of(Role::RowStrip), of(Role::CrossStrip));
            for _ in 0..shape.blocks {
                let (lines, places) = (chance.order(rows.len()), chance.order(across.len()));
                for &line in &lines {
                    for &at in &places {
                        all.push(combined(&[&rows[line], &across[at]]));
                    }
                }
            }
        }
    }
    all
}

/// Pairs of plots that stand side by side across the edge of two blocks (anywhere, in a completely
/// randomised trial): next to each other in a row, or facing each other in two rows with nothing
/// between.
#[must_use]
pub fn neighbours(plan: &Plan, field: &Field, sites: &[Site]) -> Vec<(usize, usize)> {
    let blockless = plan.kind.value == DesignKind::CompletelyRandomised;
    let mut pairs = Vec::new();
    for (a, one) in sites.iter().enumerate() {
        for (b, other) in sites.iter().enumerate().skip(a + 1) {
            if one.block == other.block && !blockless {
                continue;
            }
            let ((from, to), (begin, end)) = (one.reach(), other.reach());
            let beside = if one.row == other.row {
                let (left, right) = if to < begin { (to, begin) } else { (end, from) };
                !sites.iter().any(|third| {
                    third.row == one.row && third.reach().0 > left && third.reach().1 < right
                })
            } else {
                let near = one.row.abs_diff(other.row) == 1
                    && field.rows[one.row]
                        .number
                        .abs_diff(field.rows[other.row].number)
                        == 1;
                let shared = (to.min(end) + 1).saturating_sub(from.max(begin));
                // Plots that face each other over less than half their length touch at a corner.
                near && 2 * shared >= (to - from + 1).min(end - begin + 1)
            };
            if beside {
                pairs.push((a, b));
            }
        }
    }
    pairs
}
