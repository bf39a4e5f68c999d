//! The test itself: all arrangements counted, or many of them drawn.

use std::ops::Range;

use crate::design::{Design, Sheet};
use crate::random::Streams;
use crate::variance::Variance;

use super::arrangements::{Arrangements, every, groups_of, next_order};
use super::moves::Moves;
use super::scheme::{Labels, Scheme};
use super::statistic::{Scratch, Stratum, TIE, factors_of};

/// Work, in additions, from which a second thread is worth starting.
const WORTH_A_THREAD: f64 = 4e6;

/// How to test.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Settings {
    /// Seed of the arrangements that are drawn.
    pub seed: u64,
    /// How many are drawn where they are too many to be counted.
    pub draws: u64,
    /// Threads at most; the result does not depend on it.
    pub threads: usize,
}

/// The randomisation test of one term for one response.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Randomised {
    /// What was exchanged.
    pub moves: Moves,
    /// The arrangements there are.
    pub arrangements: Arrangements,
    /// Arrangements drawn; `None` where all of them were counted.
    pub drawn: Option<u64>,
    /// Arrangements with an F at least the trial's.
    pub as_large: u64,
    /// Their share, the trial's own arrangement being one of those drawn.
    pub p: f64,
}

impl Randomised {
    /// Standard error of P as a share of arrangements drawn; 0 where all were counted.
    #[must_use]
    pub fn standard_error(&self) -> f64 {
        match self.drawn {
            Some(drawn) => (self.p * (1.0 - self.p) / drawn as f64).sqrt(),
            None => 0.0,
        }
    }

    /// P ± 1.96 standard errors, within 0 and 1.
    #[must_use]
    pub fn interval(&self) -> (f64, f64) {
        let reach = 1.96 * self.standard_error();
        ((self.p - reach).max(0.0), (self.p + reach).min(1.0))
    }

    /// The smallest P this test could have given.
    #[must_use]
    pub fn smallest(&self) -> f64 {
        match self.drawn {
            Some(drawn) => self.arrangements.smallest().max(1.0 / (1.0 + drawn as f64)),
            None => self.arrangements.smallest(),
        }
    }
}

/// The tests of these terms for responses of one design, a row of responses for each term; `None`
/// where a term has no F or cannot be randomised.
///
/// All responses and terms see the same arrangements.
#[must_use]
pub fn randomised(
    sheet: &Sheet,
    design: &Design,
    terms: &[usize],
    variances: &[&Variance],
    settings: Settings,
) -> Vec<Vec<Option<Randomised>>> {
    let mut found = vec![vec![None; variances.len()]; terms.len()];
    let moves_of = |term: usize| {
        let roles: Vec<_> = factors_of(design, term)
            .into_iter()
            .map(|at| sheet.treatments[at].1)
            .collect();
        (!roles.is_empty()).then(|| Moves::of(sheet.kind, &roles))
    };
    let mut all: Vec<Moves> = terms.iter().filter_map(|&term| moves_of(term)).collect();
    all.sort_unstable();
    all.dedup();
    for moves in all {
        let Some(scheme) = Scheme::new(sheet, design, moves) else {
            continue;
        };
        let wanted: Vec<usize> = terms
            .iter()
            .copied()
            .filter(|&term| moves_of(term) == Some(moves))
            .collect();
        let mut strata: Vec<usize> = wanted
            .iter()
            .map(|&term| design.layout.terms()[term].stratum)
            .collect();
        strata.sort_unstable();
        strata.dedup();
        let strata: Vec<Stratum> = strata
            .into_iter()
            .map(|at| Stratum::new(sheet, design, &scheme, at, &wanted, variances))
            .collect();
        let arrangements = Arrangements::of(&scheme);
        let test = Test::new(scheme, strata);
        let (counts, drawn) = match arrangements.number {
            Some(number) => (test.count(number, settings.threads), None),
            None => (test.draw(moves, settings), Some(settings.draws)),
        };
        for (stratum, counts) in test.strata.iter().zip(counts) {
            for (row, &(_, term)) in stratum.tested.iter().enumerate() {
                let Some(place) = terms.iter().position(|&wanted| wanted == term) else {
                    continue;
                };
                for (response, variance) in variances.iter().enumerate() {
                    if variance.lines[term].f.is_none() {
                        continue;
                    }
                    let as_large = counts[row * variances.len() + response];
                    let p = match (drawn, arrangements.number) {
                        (None, Some(number)) => as_large as f64 / number as f64,
                        _ => (as_large + 1) as f64 / (settings.draws + 1) as f64,
                    };
                    found[place][response] = Some(Randomised {
                        moves,
                        arrangements,
                        drawn,
                        as_large,
                        p,
                    });
                }
            }
        }
    }
    found
}

/// A scheme with the strata it is judged in and the shares of the trial's own arrangement.
struct Test {
    scheme: Scheme,
    strata: Vec<Stratum>,
    /// The shares to reach, for each stratum.
    limits: Vec<Vec<f64>>,
}

/// Arrangements at least as extreme, for each stratum a row of responses for each tested term.
type Counts = Vec<Vec<u64>>;

/// Room for one thread.
struct Room {
    totals: Vec<Vec<f64>>,
    scratch: Vec<Scratch>,
    counts: Counts,
}

impl Test {
    fn new(scheme: Scheme, strata: Vec<Stratum>) -> Self {
        let limits = strata
            .iter()
            .map(|stratum| {
                let (mut totals, mut scratch) = (stratum.totals(), stratum.scratch());
                stratum.fill(&scheme.labels, &mut totals);
                stratum.share(&totals, &mut scratch);
                scratch.shares.iter().map(|share| share - TIE).collect()
            })
            .collect();
        Self {
            scheme,
            strata,
            limits,
        }
    }

    fn room(&self) -> Room {
        Room {
            totals: self.strata.iter().map(Stratum::totals).collect(),
            scratch: self.strata.iter().map(Stratum::scratch).collect(),
            counts: self.limits.iter().map(|row| vec![0; row.len()]).collect(),
        }
    }

    /// Judges the totals of an arrangement of one stratum.
    #[inline]
    fn judge(&self, at: usize, totals: &[f64], scratch: &mut Scratch, counts: &mut [u64]) {
        self.strata[at].share(totals, scratch);
        let pairs = scratch.shares.iter().zip(&self.limits[at]);
        for (count, (share, limit)) in counts.iter_mut().zip(pairs) {
            *count += u64::from(share >= limit);
        }
    }

    fn judge_labels(&self, labels: &Labels, room: &mut Room) {
        for at in 0..self.strata.len() {
            self.strata[at].fill(labels, &mut room.totals[at]);
            self.judge(
                at,
                &room.totals[at],
                &mut room.scratch[at],
                &mut room.counts[at],
            );
        }
    }

    /// Shares the work between threads; what each does depends on its number among them only.
    fn shared(
        &self,
        arrangements: u64,
        threads: usize,
        work: impl Fn(u64, u64) -> Counts + Sync,
    ) -> Counts {
        let cost: usize = self.strata.iter().map(Stratum::cost).sum();
        let worth = (arrangements as f64 * cost as f64 / WORTH_A_THREAD) as usize;
        let threads = threads.min(worth).max(1) as u64;
        if threads == 1 {
            return work(0, 1);
        }
        let work = &work;
        let parts: Vec<Counts> = std::thread::scope(|scope| {
            let running: Vec<_> = (0..threads)
                .map(|own| scope.spawn(move || work(own, threads)))
                .collect();
            let finished = running.into_iter().map(|thread| thread.join());
            finished
                .map(|part| part.unwrap_or_else(|panic| std::panic::resume_unwind(panic)))
                .collect()
        });
        let mut sum = self.room().counts;
        for part in parts {
            for (sums, counts) in sum.iter_mut().zip(part) {
                for (sum, count) in sums.iter_mut().zip(counts) {
                    *sum += count;
                }
            }
        }
        sum
    }

    /// Draws arrangements.
    fn draw(&self, moves: Moves, settings: Settings) -> Counts {
        let streams = Streams::new(settings.seed, &format!("shuffle {moves:?}"));
        self.shared(settings.draws, settings.threads, |own, threads| {
            let mut room = self.room();
            let mut labels = Labels::new();
            for replicate in (own..settings.draws).step_by(threads as usize) {
                self.scheme
                    .draw(&mut streams.replicate(replicate), &mut labels);
                self.judge_labels(&labels, &mut room);
            }
            room.counts
        })
    }

    /// Counts all arrangements.
    fn count(&self, number: u64, threads: usize) -> Counts {
        let groups = groups_of(&self.scheme);
        if groups.is_empty() {
            let mut room = self.room();
            every(&self.scheme, |labels| self.judge_labels(labels, &mut room));
            return room.counts;
        }
        // Where every group holds every treatment once, giving treatments each other's names changes
        // no F, so the first group may stand still and every arrangement counts for all its orders.
        let once = |group: &Range<usize>| {
            let mut labels = self.scheme.labels[group.clone()].to_vec();
            labels.sort_unstable();
            labels.len() == self.scheme.kinds
                && labels
                    .iter()
                    .enumerate()
                    .all(|(at, &label)| at == usize::from(label))
        };
        let still = self.scheme.factors.len() == 1 && groups.len() > 1 && groups.iter().all(once);
        let times: u64 = if still {
            (2..=self.scheme.kinds as u64).product()
        } else {
            1
        };
        let items: Vec<Vec<Range<usize>>> = groups
            .iter()
            .map(|group| self.strata.iter().map(|s| s.items_of(group)).collect())
            .collect();
        let mut counts = self.shared(number / times, threads, |own, threads| {
            let mut walk = Walk {
                test: self,
                groups,
                items: &items,
                totals: vec![self.room().totals; groups.len() + 1],
                room: self.room(),
                split: (usize::from(still), own, threads),
            };
            let from = usize::from(still);
            if still {
                walk.put(0, &self.scheme.labels[groups[0].clone()]);
            }
            walk.descend(from);
            walk.room.counts
        });
        for count in counts.iter_mut().flatten() {
            *count *= times;
        }
        counts
    }
}

/// A walk through the orders of one group after the other, with the totals so far.
struct Walk<'a> {
    test: &'a Test,
    groups: &'a [Range<usize>],
    items: &'a [Vec<Range<usize>>],
    /// Totals of the groups before each depth, for each stratum.
    totals: Vec<Vec<Vec<f64>>>,
    room: Room,
    /// The depth at which threads share the orders, this thread's number and how many there are.
    split: (usize, u64, u64),
}

impl Walk<'_> {
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
