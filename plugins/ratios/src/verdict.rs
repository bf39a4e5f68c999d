//! Where a ratio's interval lies beside the published range of its canopy, or why none is used.
//!
//! Minimally pruned and hedged vines get no range at all: one-year-old wood does not measure what such
//! vines can do (Clingeleffer & Krake 1992). Free-standing vines get no verdict, because the ranges
//! were made on trellised canopies.

use caneplot_plugin::request::{Canopy, Index};

use crate::estimate::Estimate;
use crate::ranges::{Certainty, Grapes, Range, conversion, of_index};
use crate::treatments::CanopyOf;

/// Where an interval lies beside a range.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Place {
    /// Wholly below.
    Below,
    /// Over the lower edge.
    AcrossLow,
    /// Wholly inside.
    Inside,
    /// Over the upper edge.
    AcrossHigh,
    /// Wholly above.
    Above,
    /// Over both edges.
    AcrossBoth,
}

impl Place {
    /// In words, to be read as "the interval lies …".
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Place::Below => "below it",
            Place::AcrossLow => "across its lower edge",
            Place::Inside => "inside it",
            Place::AcrossHigh => "across its upper edge",
            Place::Above => "above it",
            Place::AcrossBoth => "across both its edges",
        }
    }

    /// In a word or two before the range, for a table.
    #[must_use]
    pub fn short(self) -> &'static str {
        match self {
            Place::Below => "below",
            Place::AcrossLow => "across lower edge of",
            Place::Inside => "inside",
            Place::AcrossHigh => "across upper edge of",
            Place::Above => "above",
            Place::AcrossBoth => "across both edges of",
        }
    }
}

/// Why there is no verdict.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum NoVerdict {
    /// The vines are minimally pruned: no range at all.
    MinimallyPruned,
    /// The vines are hedged: no range at all.
    Hedged,
    /// The vines stand free of a trellis.
    FreeStanding,
    /// The canopy is not declared.
    CanopyUnknown,
    /// The mean is over several canopies.
    SeveralCanopies,
    /// The ranges are of other grapes.
    OtherGrapes,
    /// No general range is published, or not in this unit.
    NoRange,
    /// There is no finite interval to hold against the range.
    NoInterval,
}

impl NoVerdict {
    /// In a few words, for a table.
    #[must_use]
    pub fn short(self) -> &'static str {
        match self {
            NoVerdict::MinimallyPruned => "no range for minimally pruned vines",
            NoVerdict::Hedged => "no range for hedged vines",
            NoVerdict::FreeStanding => "no verdict: free-standing vines",
            NoVerdict::CanopyUnknown => "no verdict: canopy not declared",
            NoVerdict::SeveralCanopies => "no verdict: several canopies",
            NoVerdict::OtherGrapes => "no verdict: other grapes",
            NoVerdict::NoRange => "no general range",
            NoVerdict::NoInterval => "no verdict: no finite interval",
        }
    }
}

/// A verdict with its range, or why there is none.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Verdict {
    /// Where the interval lies beside a range.
    Beside(&'static Range, Place),
    /// Why there is none.
    None(NoVerdict),
}

/// The range that may judge a treatment.
///
/// # Errors
/// Why none may.
pub fn judging_range(
    index: Option<Index>,
    unit: &str,
    canopy: CanopyOf,
    grape: Option<&str>,
) -> Result<&'static Range, NoVerdict> {
    if index.is_none_or(|index| of_index(index).next().is_none()) {
        return Err(NoVerdict::NoRange);
    }
    match canopy {
        CanopyOf::One(Canopy::MinimallyPruned) => return Err(NoVerdict::MinimallyPruned),
        CanopyOf::One(Canopy::Hedged) => return Err(NoVerdict::Hedged),
        _ => {}
    }
    let usable = || {
        let ranges = index.into_iter().flat_map(of_index);
        ranges.filter(|range| {
            range.certainty == Certainty::Read
                && range.grapes != Grapes::OneTrial
                && conversion(unit, range).is_some()
        })
    };
    if usable().next().is_none() {
        return Err(NoVerdict::NoRange);
    }
    let canopy = match canopy {
        CanopyOf::One(Canopy::FreeStanding) => return Err(NoVerdict::FreeStanding),
        CanopyOf::Several => return Err(NoVerdict::SeveralCanopies),
        CanopyOf::Unknown => return Err(NoVerdict::CanopyUnknown),
        CanopyOf::One(canopy) => canopy,
    };
    let grapes = grapes(grape).ok_or(NoVerdict::OtherGrapes)?;
    usable()
        .find(|range| range.grapes == grapes && range.canopy.is_none_or(|of| of == canopy))
        .ok_or(NoVerdict::OtherGrapes)
}

/// Whether no range at all may be held against such vines.
#[must_use]
pub fn unrated(canopy: CanopyOf) -> bool {
    matches!(
        canopy,
        CanopyOf::One(Canopy::MinimallyPruned | Canopy::Hedged)
    )
}

/// Whether an index is made with the weight of one-year-old wood.
#[must_use]
pub fn rests_on_prunings(index: Index) -> bool {
    matches!(
        index,
        Index::YieldToPruningWeight | Index::PruningWeightPerCanopy | Index::MeanCaneWeight
    )
}

/// Whether a range of these grapes is worth showing for the grapes declared.
#[must_use]
pub fn may_be_of(range: Grapes, grape: Option<&str>) -> bool {
    range == Grapes::OneTrial || grape.is_none() || grapes(grape) == Some(range)
}

/// The grapes a range must speak of; vinifera where nothing is declared.
fn grapes(grape: Option<&str>) -> Option<Grapes> {
    let Some(grape) = grape.map(str::to_lowercase) else {
        return Some(Grapes::Vinifera);
    };
    if grape.contains("concord") {
        Some(Grapes::Concord)
    } else if grape.contains("vinifera") {
        Some(Grapes::Vinifera)
    } else {
        None
    }
}

/// The verdict on one estimate.
#[must_use]
pub fn verdict(
    index: Option<Index>,
    unit: &str,
    canopy: CanopyOf,
    grape: Option<&str>,
    estimate: &Estimate,
) -> Verdict {
    let range = match judging_range(index, unit, canopy, grape) {
        Ok(range) => range,
        Err(why) => return Verdict::None(why),
    };
    match (estimate.interval(), conversion(unit, range)) {
        (Some((low, high)), Some(factor)) => {
            Verdict::Beside(range, place(low * factor, high * factor, range))
        }
        _ => Verdict::None(NoVerdict::NoInterval),
    }
}

/// Where an interval in the range's unit lies.
#[must_use]
pub fn place(low: f64, high: f64, range: &Range) -> Place {
    let bottom = range.low.unwrap_or(f64::NEG_INFINITY);
    let top = range.high.unwrap_or(f64::INFINITY);
    if high < bottom {
        Place::Below
    } else if low > top {
        Place::Above
    } else {
        match (low < bottom, high > top) {
            (false, false) => Place::Inside,
            (true, false) => Place::AcrossLow,
            (false, true) => Place::AcrossHigh,
            (true, true) => Place::AcrossBoth,
        }
    }
}
