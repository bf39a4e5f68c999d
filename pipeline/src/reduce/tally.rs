//! What is added up: exact sums, so that it does not matter which thread takes which batch first.
//!
//! A double times 2^64 is a whole number where the double is 2^-12 or larger; what is cut off from
//! smaller ones is below 2^-64. Such whole numbers of 128 bits add up without rounding until a sum
//! leaves 2^63 (9.2e18), which is an error and not a wrong sum.

use polars::prelude::{DataFrame, Float64Chunked, PlHashMap, PolarsResult};

use super::keys::{Groups, NONE};
use super::plan::{Plan, Value};

/// 2^64.
const SCALE: f64 = 18_446_744_073_709_551_616.0;

/// Most groups that are told apart; a column of places or times taken for a plot has more.
pub(super) const MOST_GROUPS: usize = 1_000_000;

/// Why a batch cannot be added.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Stop {
    /// More groups than [`MOST_GROUPS`].
    Groups,
    /// The sum of the value with this index is too large.
    Sum(usize),
}

/// The sums of groups.
#[derive(Debug)]
pub(super) struct Tally {
    known: PlHashMap<Vec<String>, usize>,
    /// Names of the keys of each group.
    pub(super) names: Vec<Vec<String>>,
    /// Records of each group.
    pub(super) records: Vec<u64>,
    /// Sums by value.
    pub(super) sums: Vec<Sums>,
    /// Records in all, those of no group too.
    pub(super) read: u64,
    /// Records without a name, by key.
    pub(super) without: Vec<u64>,
    /// Why adding up ended.
    pub(super) stop: Option<Stop>,
}

/// The sums of one column of values.
#[derive(Debug, Clone)]
pub(super) struct Sums {
    /// Sum of each group, times 2^64.
    pub(super) sums: Vec<i128>,
    /// Values in the sum of each group.
    pub(super) counts: Vec<u64>,
    /// Cells without a value.
    pub(super) missing: u64,
    /// Values that cannot be, left out.
    pub(super) impossible: u64,
    /// Lowest and highest of them.
    pub(super) outside: (f64, f64),
}

impl Sums {
    fn new(groups: usize) -> Self {
        Self {
            sums: vec![0; groups],
            counts: vec![0; groups],
            missing: 0,
            impossible: 0,
            outside: (f64::INFINITY, f64::NEG_INFINITY),
        }
    }

    /// The sum of a group as a double.
    pub(super) fn sum(&self, group: usize) -> f64 {
        self.sums[group] as f64 / SCALE
    }
}

impl Tally {
    /// Nothing added up yet.
    pub(super) fn new(plan: &Plan) -> Self {
        Self {
            known: PlHashMap::default(),
            names: Vec::new(),
            records: Vec::new(),
            sums: vec![Sums::new(0); plan.values.len()],
            read: 0,
            without: vec![0; plan.keys.len()],
            stop: None,
        }
    }

    /// Adds the sums of a batch.
    pub(super) fn add(&mut self, groups: &Groups, sums: &[Sums]) {
        self.read += groups.of.len() as u64;
        for (all, here) in self.without.iter_mut().zip(&groups.without) {
            *all += here;
        }
        let places: Vec<usize> = groups.names.iter().map(|names| self.place(names)).collect();
        for group in groups.of.iter().filter(|group| **group != NONE) {
            self.records[places[*group as usize]] += 1;
        }
        for (at, (all, here)) in self.sums.iter_mut().zip(sums).enumerate() {
            all.missing += here.missing;
            all.impossible += here.impossible;
            all.outside.0 = all.outside.0.min(here.outside.0);
            all.outside.1 = all.outside.1.max(here.outside.1);
            for (group, place) in places.iter().enumerate() {
                all.counts[*place] += here.counts[group];
                match all.sums[*place].checked_add(here.sums[group]) {
                    Some(sum) => all.sums[*place] = sum,
                    None => self.stop = Some(Stop::Sum(at)),
                }
            }
        }
        if self.names.len() > MOST_GROUPS {
            self.stop = Some(Stop::Groups);
        }
    }

    fn place(&mut self, names: &Vec<String>) -> usize {
        if let Some(place) = self.known.get(names) {
            return *place;
        }
        let place = self.names.len();
        self.known.insert(names.clone(), place);
        self.names.push(names.clone());
        self.records.push(0);
        for sums in &mut self.sums {
            sums.sums.push(0);
            sums.counts.push(0);
        }
        place
    }
}

/// The sums of the values of a batch, each under the name that `scan` gave it.
///
/// # Errors
/// polars' own, where a column is not there; [`Stop`] inside where a sum is too large.
pub(super) fn sums(
    plan: &Plan,
    groups: &Groups,
    frame: &DataFrame,
) -> PolarsResult<Result<Vec<Sums>, Stop>> {
    let mut all = Vec::with_capacity(plan.values.len());
    for (at, value) in plan.values.iter().enumerate() {
        let column = frame.column(&super::scan::value_name(at))?;
        let cells = column.as_materialized_series().f64()?;
        match of_column(cells, value, &plan.codes, groups) {
            Some(sums) => all.push(sums),
            None => return Ok(Err(Stop::Sum(at))),
        }
    }
    Ok(Ok(all))
}

/// The sums of one column; `None` where one is too large.
fn of_column(
    cells: &Float64Chunked,
    value: &Value,
    codes: &[f64],
    groups: &Groups,
) -> Option<Sums> {
    let mut sums = Sums::new(groups.names.len());
    for (cell, group) in cells.iter().zip(&groups.of) {
        if *group == NONE {
            continue;
        }
        let Some(number) = cell.filter(|number| !number.is_nan() && !codes.contains(number)) else {
            sums.missing += 1;
            continue;
        };
        if number < value.low || number > value.high {
            sums.impossible += 1;
            sums.outside.0 = sums.outside.0.min(number);
            sums.outside.1 = sums.outside.1.max(number);
            continue;
        }
        let group = *group as usize;
        // Casting holds at the largest whole number, which no sum survives.
        sums.sums[group] = sums.sums[group].checked_add((number * SCALE) as i128)?;
        sums.counts[group] += 1;
    }
    Some(sums)
}
