//! The keys of a batch as groups: a number a record.

use std::hash::Hash;

use polars::prelude::{Column, DataType, PlHashMap, PolarsResult};

use super::layout::Holds;

/// A record that belongs to no group.
pub(super) const NONE: u32 = u32::MAX;

/// One column of keys: a code a record.
#[derive(Debug, Default)]
pub(super) struct Coded {
    codes: Vec<u32>,
    names: Vec<String>,
}

impl Coded {
    /// The same name for each record.
    pub(super) fn same(name: &str, height: usize, missing: &[String]) -> Self {
        let known = known(name, missing);
        let code = if known.is_some() { 0 } else { NONE };
        Self {
            codes: vec![code; height],
            names: known.into_iter().collect(),
        }
    }

    /// The names of a column; whole numbers and numbers are named as they are written.
    ///
    /// # Errors
    /// polars' own, where the column is not what it was said to hold.
    pub(super) fn of(column: &Column, holds: Holds, missing: &[String]) -> PolarsResult<Self> {
        let series = column.as_materialized_series();
        match holds {
            Holds::Wholes => {
                let cells = series.cast(&DataType::Int64)?;
                let name = |number: i64| known(&number.to_string(), missing);
                Ok(coded(cells.i64()?.iter(), name))
            }
            Holds::Numbers => {
                let cells = series.cast(&DataType::Float64)?;
                let bits = cells.f64()?.iter().map(|cell| cell.map(f64::to_bits));
                let name = |bits: u64| {
                    let number = f64::from_bits(bits);
                    let text = number.is_finite().then(|| number.to_string());
                    text.and_then(|text| known(&text, missing))
                };
                Ok(coded(bits, name))
            }
            _ => Ok(coded(series.str()?.iter(), |text| known(text, missing))),
        }
    }
}

/// A name without spaces at its ends; `None` where it means that there is none.
fn known(text: &str, missing: &[String]) -> Option<String> {
    let text = text.trim();
    let is_one = !text.is_empty() && missing.iter().all(|code| code != text);
    is_one.then(|| text.to_owned())
}

/// Codes in order of appearance. Records of one plot follow each other, so the last is looked at
/// first.
fn coded<K: Copy + Eq + Hash>(
    cells: impl Iterator<Item = Option<K>>,
    name: impl Fn(K) -> Option<String>,
) -> Coded {
    let mut names: Vec<String> = Vec::new();
    let mut codes: PlHashMap<K, u32> = PlHashMap::default();
    let mut last: Option<(K, u32)> = None;
    let of = cells.map(|cell| {
        let Some(cell) = cell else { return NONE };
        if let Some((known, code)) = last
            && known == cell
        {
            return code;
        }
        let code = *codes.entry(cell).or_insert_with(|| match name(cell) {
            None => NONE,
            Some(name) => {
                // " 7" and "7" are one name.
                let at = names.iter().position(|known| *known == name);
                at.unwrap_or_else(|| {
                    names.push(name);
                    names.len() - 1
                }) as u32
            }
        });
        last = Some((cell, code));
        code
    });
    let codes = of.collect();
    Coded { codes, names }
}

/// The groups of a batch.
#[derive(Debug, Default)]
pub(super) struct Groups {
    /// Group of each record, or [`NONE`].
    pub(super) of: Vec<u32>,
    /// The names of the keys of each group.
    pub(super) names: Vec<Vec<String>>,
    /// Records without a name, by key: the first key without one counts.
    pub(super) without: Vec<u64>,
}

/// Puts the keys of a batch together.
pub(super) fn groups(keys: &[Coded], height: usize) -> Groups {
    let mut groups = Groups {
        of: Vec::with_capacity(height),
        names: Vec::new(),
        without: vec![0; keys.len()],
    };
    let mut known: PlHashMap<u128, u32> = PlHashMap::default();
    let mut last = (u128::MAX, NONE);
    'records: for row in 0..height {
        // No batch has so many names that five keys of them leave 128 bits.
        let mut number: u128 = 0;
        for (at, key) in keys.iter().enumerate() {
            let code = key.codes[row];
            if code == NONE {
                groups.without[at] += 1;
                groups.of.push(NONE);
                continue 'records;
            }
            number = number * (key.names.len() as u128) + u128::from(code);
        }
        if number != last.0 {
            let names = &mut groups.names;
            let group = *known.entry(number).or_insert_with(|| {
                names.push(
                    keys.iter()
                        .map(|key| key.names[key.codes[row] as usize].clone())
                        .collect(),
                );
                (names.len() - 1) as u32
            });
            last = (number, group);
        }
        groups.of.push(last.1);
    }
    groups
}
