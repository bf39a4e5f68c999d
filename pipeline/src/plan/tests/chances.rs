//! Every layout that the design allows is equally likely.

use super::*;
use crate::plan::{draw, square};

/// Treatment of every site for many seeds.
fn draws(plan: &Plan, sites: usize, many: u64) -> impl Iterator<Item = Vec<Treatment>> + '_ {
    (0..many).map(move |seed| draw::once(plan, sites, &mut Chance::new(seed, 0)))
}

#[test]
fn every_order_of_a_block_is_equally_likely_and_blocks_do_not_depend_on_each_other() {
    let plan = plan(&text(
        "kind = \"randomised block\"\nblocks = 3\nvines = 4",
        NODES,
    ));
    let mut places = [[[0_u32; 4]; 4]; 3];
    let mut orders: BTreeMap<Vec<usize>, u32> = BTreeMap::new();
    let mut pairs = [[0_u32; 4]; 4];
    for treatments in draws(&plan, 12, 12_000) {
        for (site, treatment) in treatments.iter().enumerate() {
            places[site / 4][site % 4][treatment[0]] += 1;
        }
        let order = treatments[4..8]
            .iter()
            .map(|treatment| treatment[0])
            .collect();
        *orders.entry(order).or_default() += 1;
        pairs[treatments[0][0]][treatments[4][0]] += 1;
    }
    for block in places {
        // Counts of a permutation are tied in rows and columns: 3/4 of the sum has 9 degrees of
        // freedom, whose upper 0.1 % point is 27.88.
        let sum = chi_square(block.iter().flatten().copied());
        assert!(sum * 0.75 < 27.88, "{sum}: {block:?}");
    }
    assert_eq!(orders.len(), 24);
    // The upper 0.1 % points of chi-square with 23 and 15 degrees of freedom are 49.73 and 37.70.
    assert!(chi_square(orders.into_values()) < 49.73);
    assert!(chi_square(pairs.iter().flatten().copied()) < 37.70);
}

#[test]
fn reduced_squares_are_as_many_as_are_known() {
    // Fisher & Yates (1934), Proc. Camb. Phil. Soc. 30:492.
    for (order, many) in [(2, 1), (3, 1), (4, 4), (5, 56), (6, 9408)] {
        assert_eq!(square::reduced(order).len(), many, "order {order}");
    }
}

/// The upper 0.1 % point of chi-square with 575 degrees of freedom (Wilson & Hilferty 1931).
const SQUARES: f64 = 685.5;

#[test]
fn every_square_of_order_four_is_equally_likely() {
    let mut seen: BTreeMap<Vec<Vec<usize>>, u32> = BTreeMap::new();
    for seed in 0..57_600 {
        let drawn = square::drawn(4, &mut Chance::new(seed, 0));
        *seen.entry(drawn).or_default() += 1;
    }
    // All 576 squares: 4! · 3! · 4 reduced ones.
    assert_eq!(seen.len(), 576);
    let sum = chi_square(seen.into_values());
    assert!(sum < SQUARES, "{sum}");
}

#[test]
fn the_walk_for_large_squares_favours_none_of_order_four() {
    let mut seen: BTreeMap<Vec<Vec<usize>>, u32> = BTreeMap::new();
    for seed in 0..5_760 {
        let walked = square::walked(4, 100, &mut Chance::new(seed, 0));
        *seen.entry(walked).or_default() += 1;
    }
    assert_eq!(seen.len(), 576);
    let sum = chi_square(seen.into_values());
    assert!(sum < SQUARES, "{sum}");
}

#[test]
fn large_squares_are_latin() {
    for (seed, order) in [(1, 7), (2, 8), (3, 9), (4, 5), (5, 6), (6, 3)] {
        let drawn = square::drawn(order, &mut Chance::new(seed, 0));
        for at in 0..order {
            let mut row = drawn[at].clone();
            let mut column: Vec<usize> = drawn.iter().map(|row| row[at]).collect();
            row.sort_unstable();
            column.sort_unstable();
            let all: Vec<usize> = (0..order).collect();
            assert_eq!((row, column), (all.clone(), all), "{drawn:?}");
        }
    }
}

#[test]
fn whole_plots_and_sub_plots_are_both_drawn() {
    let split = format!("{SYSTEM}{SUB}");
    let plan = plan(&text(
        "kind = \"split plot\"\nblocks = 2\nvines = 4",
        &split,
    ));
    let (mut wholes, mut subs) = ([[0_u32; 3]; 3], [0_u32; 64]);
    for treatments in draws(&plan, 12, 6_000) {
        let mut sub = 0;
        for (whole, plots) in treatments.chunks(2).enumerate() {
            assert_eq!(plots[0][0], plots[1][0], "a whole plot has one system");
            assert_ne!(plots[0][1], plots[1][1], "and every number of nodes once");
            if whole < 3 {
                wholes[whole][plots[0][0]] += 1;
            }
            sub = sub * 2 + plots[0][1];
        }
        subs[sub] += 1;
    }
    // 2/3 of the sum has 4 degrees of freedom (upper 0.1 % point 18.47); the six sub-plot orders are
    // 64 alike, 63 degrees of freedom (103.4).
    assert!(chi_square(wholes.iter().flatten().copied()) * 2.0 / 3.0 < 18.47);
    assert!(chi_square(subs.into_iter()) < 103.4);
}

#[test]
fn strips_cross_in_every_block() {
    let strips = format!("{SYSTEM}{SUB}")
        .replace("whole plot", "row strip")
        .replace("sub plot", "cross strip");
    let plan = plan(&text(
        "kind = \"strip plot\"\nblocks = 2\nvines = 4",
        &strips,
    ));
    let mut first = [[0_u32; 2]; 3];
    for treatments in draws(&plan, 12, 3_000) {
        for block in treatments.chunks(6) {
            let lines: Vec<&[Treatment]> = block.chunks(2).collect();
            for line in &lines {
                assert!(line.iter().all(|treatment| treatment[0] == line[0][0]));
                let across = |line: &[Treatment]| line.iter().map(|t| t[1]).collect::<Vec<_>>();
                assert_eq!(
                    across(line),
                    across(lines[0]),
                    "cross strips run through the block"
                );
            }
        }
        first[treatments[0][0]][treatments[0][1]] += 1;
    }
    // 5 degrees of freedom, upper 0.1 % point.
    assert!(chi_square(first.iter().flatten().copied()) < 20.52);
}

#[test]
fn a_completely_randomised_trial_has_every_arrangement_alike() {
    let two = "[factors.cut]\nlevels = [\"early\", \"late\"]\n";
    let plan = plan(&text(
        "kind = \"completely randomised\"\nreplicates = 3\nvines = 4",
        two,
    ));
    let mut seen: BTreeMap<Vec<usize>, u32> = BTreeMap::new();
    for treatments in draws(&plan, 6, 10_000) {
        *seen
            .entry(treatments.iter().map(|t| t[0]).collect())
            .or_default() += 1;
    }
    // 6!/(3!3!) = 20 arrangements; the upper 0.1 % point of chi-square with 19 degrees is 43.82.
    assert_eq!(seen.len(), 20);
    assert!(chi_square(seen.into_values()) < 43.82);
}

#[test]
fn kept_apart_every_allowed_layout_is_alike() {
    let three = "[factors.cut]\nlevels = [\"a\", \"b\", \"c\"]\n";
    let with = |seed: u64| {
        let design = "kind = \"randomised block\"\nblocks = 2\nvines = 4\napart = true";
        text(design, three).replace("seed = 1", &format!("seed = {seed}"))
    };
    let mut seen: BTreeMap<Vec<usize>, u32> = BTreeMap::new();
    for seed in 0..1_200 {
        let laid = layout(&with(seed));
        let order: Vec<usize> = laid.plots.iter().map(|plot| plot.treatment[0]).collect();
        assert!((0..3).all(|at| order[at] != order[at + 3]), "{order:?}");
        *seen.entry(order).or_default() += 1;
    }
    // 6 orders of the first row, and 2 below each that agree with it nowhere: 12 layouts, 11
    // degrees of freedom, upper 0.1 % point 31.26.
    assert_eq!(seen.len(), 12);
    assert!(chi_square(seen.into_values()) < 31.26);
}
