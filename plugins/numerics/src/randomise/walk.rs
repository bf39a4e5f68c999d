//! All arrangements of a scheme of groups, one group after the other, keeping the totals so far, so
//! that an arrangement costs only its last group.

use std::ops::Range;

use super::arrangements::next_order;
use super::run::{Counts, Room, Test};

/// A walk through the orders of one group after the other, with the totals so far.
pub(super) struct Walk<'a> {
    test: &'a Test,
    groups: &'a [Range<usize>],
    items: &'a [Vec<Range<usize>>],
    /// Totals of the groups before each depth, for each stratum.
    totals: Vec<Vec<Vec<f64>>>,
    room: Room,
    /// The depth at which threads share the orders, this thread's number and how many there are.
    split: (usize, u64, u64),
}

impl<'a> Walk<'a> {
    /// A walk that has not begun; the items of each group in each stratum are known.
    pub fn new(test: &'a Test, groups: &'a [Range<usize>], items: &'a [Vec<Range<usize>>]) -> Self {
        Self {
            test,
            groups,
            items,
            totals: vec![test.room().totals; groups.len() + 1],
            room: test.room(),
            split: (0, 0, 1),
        }
    }

    /// Counts this thread's share; the first group keeps the trial's own order where it stands still.
    pub fn counts(mut self, still: bool, own: u64, threads: u64) -> Counts {
        let from = usize::from(still);
        self.split = (from, own, threads);
        if still {
            let test = self.test;
            self.put(0, &test.scheme.labels[self.groups[0].clone()]);
        }
        self.descend(from);
        self.room.counts
    }

    /// Adds a group with its labels to the totals of the groups before it.
    fn put(&mut self, depth: usize, labels: &[u16]) {
        let (before, after) = self.totals.split_at_mut(depth + 1);
        for (at, stratum) in self.test.strata.iter().enumerate() {
            let totals = &mut after[0][at];
            totals.copy_from_slice(&before[depth][at]);
            let items = self.items[depth][at].clone();
            stratum.add(items, self.groups[depth].start, labels, totals);
        }
    }

    fn descend(&mut self, depth: usize) {
        if depth == self.groups.len() {
            for at in 0..self.test.strata.len() {
                let (scratch, counts) = (&mut self.room.scratch[at], &mut self.room.counts[at]);
                self.test
                    .judge(at, &self.totals[depth][at], scratch, counts);
            }
            return;
        }
        let mut labels = self.test.scheme.labels[self.groups[depth].clone()].to_vec();
        labels.sort_unstable();
        let (at, own, threads) = self.split;
        let mut number = 0;
        loop {
            if depth != at || number % threads == own {
                self.put(depth, &labels);
                self.descend(depth + 1);
            }
            number += 1;
            if !next_order(&mut labels) {
                return;
            }
        }
    }
}
