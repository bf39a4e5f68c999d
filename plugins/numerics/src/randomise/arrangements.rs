//! How many arrangements a design could have had, and all of them one after the other.

use std::ops::Range;

use super::scheme::{Exchange, Grid, Labels, Scheme, rename};

/// Up to so many arrangements all are counted.
pub const MOST_COUNTED: u64 = 1_000_000;

/// The arrangements of a scheme.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Arrangements {
    /// How many there are, where all of them can be counted.
    pub number: Option<u64>,
    /// The same as a power of ten, for any number.
    pub log10: f64,
    /// Those among them that only exchange the names of treatments, so that F is the same in all.
    pub alike: u64,
}

impl Arrangements {
    /// Of a scheme.
    pub(super) fn of(scheme: &Scheme) -> Self {
        let log10 = match &scheme.exchange {
            Exchange::Groups(groups) => groups
                .iter()
                .map(|group| log10_orders(&scheme.labels[group.clone()]))
                .sum::<f64>(),
            Exchange::Lines { grids, names } => {
                let lines: f64 = grids
                    .iter()
                    .map(|grid| log10_factorial(grid.rows) + log10_factorial(grid.columns))
                    .sum();
                let named = if *names { scheme.kinds } else { 0 };
                lines + log10_factorial(named)
            }
        };
        let countable = log10 < (MOST_COUNTED as f64).log10() + 0.01;
        let number = countable.then(|| 10_f64.powf(log10).round() as u64);
        let number = number.filter(|&number| number <= MOST_COUNTED);
        Self {
            number,
            log10,
            alike: alike(scheme, number.is_some()),
        }
    }

    /// The smallest P that counting all arrangements can give: one that is alike to the trial's own
    /// in all but the names of treatments always counts.
    #[must_use]
    pub fn smallest(&self) -> f64 {
        let number = self.number.map(|number| number as f64);
        self.alike as f64 / number.unwrap_or_else(|| 10_f64.powf(self.log10))
    }
}

fn log10_factorial(n: usize) -> f64 {
    (2..=n).map(|k| (k as f64).log10()).sum()
}

/// Different orders of labels, some of which are the same.
fn log10_orders(labels: &[u16]) -> f64 {
    let mut sorted = labels.to_vec();
    sorted.sort_unstable();
    log10_factorial(labels.len())
        - sorted
            .chunk_by(|a, b| a == b)
            .map(|same| log10_factorial(same.len()))
            .sum::<f64>()
}

fn factorial(n: usize) -> u64 {
    (2..=n as u64).fold(1, u64::saturating_mul)
}

/// Arrangements that differ from the trial's in the names of treatments only.
fn alike(scheme: &Scheme, countable: bool) -> u64 {
    let Exchange::Lines { grids, .. } = &scheme.exchange else {
        return names_in_groups(scheme);
    };
    match (scheme.factors.as_slice(), grids.as_slice()) {
        // Of a square, those orders of its lines that bring the same letters together.
        ([_], [_]) if countable => {
            let mut found = 0;
            every(scheme, |labels| {
                found += u64::from(renamed(&scheme.labels, labels))
            });
            found
        }
        // Strips that carry one factor each: its names, exchanged in all blocks alike.
        ([first, second], _) => {
            let position = |factor: usize| scheme.factors.iter().position(|&at| at == factor);
            [first, second]
                .into_iter()
                .filter_map(|&factor| position(factor))
                .map(|at| {
                    let levels = scheme.levels.iter().map(|levels| levels[at]);
                    factorial(levels.max().map_or(0, |most| most + 1))
                })
                .product()
        }
        _ => 1,
    }
}

/// Names of one factor that can be exchanged because they stand equally often in every group; with
/// several factors, those of each that can be exchanged whatever the others.
fn names_in_groups(scheme: &Scheme) -> u64 {
    let Exchange::Groups(groups) = &scheme.exchange else {
        return 1;
    };
    let counts = |label: usize| -> Vec<usize> {
        groups
            .iter()
            .map(|group| {
                let labels = scheme.labels[group.clone()].iter();
                labels.filter(|&&l| usize::from(l) == label).count()
            })
            .collect()
    };
    let of_label: Vec<Vec<usize>> = (0..scheme.kinds).map(counts).collect();
    if let [_] = scheme.factors.as_slice() {
        let mut sorted = of_label;
        sorted.sort_unstable();
        return sorted
            .chunk_by(|a, b| a == b)
            .map(|same| factorial(same.len()))
            .product();
    }
    if of_label.iter().any(|counts| *counts != of_label[0]) {
        return 1;
    }
    (0..scheme.factors.len())
        .map(|at| {
            let levels = scheme.levels.iter().map(|levels| levels[at]);
            factorial(levels.max().map_or(0, |most| most + 1))
        })
        .product()
}

/// Whether one arrangement is another with labels renamed.
fn renamed(first: &[u16], second: &[u16]) -> bool {
    let most = first
        .iter()
        .chain(second)
        .copied()
        .max()
        .map_or(0, usize::from);
    let (mut there, mut back) = (vec![None; most + 1], vec![None; most + 1]);
    first.iter().zip(second).all(|(&a, &b)| {
        *there[usize::from(a)].get_or_insert(b) == b && *back[usize::from(b)].get_or_insert(a) == a
    })
}

/// Every different order of the labels, from the sorted one on.
pub(super) fn orders(labels: &[u16]) -> Vec<Labels> {
    let mut current = labels.to_vec();
    current.sort_unstable();
    let mut found = vec![current.clone()];
    while next_order(&mut current) {
        found.push(current.clone());
    }
    found
}

/// The next order in the sense of a dictionary; `false` after the last.
pub(super) fn next_order<T: Ord>(values: &mut [T]) -> bool {
    let Some(turn) = values.windows(2).rposition(|pair| pair[0] < pair[1]) else {
        return false;
    };
    if let Some(next) = values.iter().rposition(|value| *value > values[turn]) {
        values.swap(turn, next);
    }
    values[turn + 1..].reverse();
    true
}

/// All orders of so many lines.
fn line_orders(lines: usize) -> Vec<Vec<usize>> {
    let mut current: Vec<usize> = (0..lines).collect();
    let mut found = vec![current.clone()];
    while next_order(&mut current) {
        found.push(current.clone());
    }
    found
}

/// Visits every arrangement of a scheme of lines; one of groups is visited by sums instead.
pub(super) fn every(scheme: &Scheme, mut visit: impl FnMut(&Labels)) {
    let Exchange::Lines { grids, names } = &scheme.exchange else {
        return;
    };
    let names: Option<Vec<Labels>> =
        names.then(|| orders(&(0..scheme.kinds as u16).collect::<Labels>()));
    type Orders = Vec<Vec<usize>>;
    let choices: Vec<(Grid, Orders, Orders)> = grids
        .iter()
        .map(|&grid| (grid, line_orders(grid.rows), line_orders(grid.columns)))
        .collect();
    let mut at: Vec<(usize, usize)> = vec![(0, 0); choices.len()];
    let mut labels = scheme.labels.clone();
    loop {
        match &names {
            None => visit(&labels),
            Some(names) => {
                for name in names {
                    let mut renamed = labels.clone();
                    rename(&mut renamed, name);
                    visit(&renamed);
                }
            }
        }
        let mut turned = false;
        for ((grid, rows, columns), at) in choices.iter().zip(&mut at) {
            at.1 += 1;
            if at.1 == columns.len() {
                *at = (at.0 + 1, 0);
            }
            turned = at.0 < rows.len();
            if !turned {
                *at = (0, 0);
            }
            scheme.exchange_lines(*grid, &rows[at.0], &columns[at.1], &mut labels);
            if turned {
                break;
            }
        }
        if !turned {
            return;
        }
    }
}

/// Groups in the order of their units.
pub(super) fn groups_of(scheme: &Scheme) -> &[Range<usize>] {
    match &scheme.exchange {
        Exchange::Groups(groups) => groups,
        Exchange::Lines { .. } => &[],
    }
}
