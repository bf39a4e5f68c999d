//! Published ranges of the balance indices, each with the canopy it was made for and its source.
//!
//! A range is a rule of its authors' region and grapes, not a law: it is never used without its
//! source. Figures that have been read in the source stand as [`Certainty::Read`]; figures known from
//! memory only are listed as such and judge nothing.

use caneplot_plugin::request::{Canopy, Index};

/// How sure the figures are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Certainty {
    /// Read in the source.
    Read,
    /// From memory, not checked.
    FromMemory,
}

/// Which grapes a range speaks of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Grapes {
    /// Vinifera in general.
    Vinifera,
    /// Concord in general.
    Concord,
    /// One trial or one variety: listed beside a result, never used to judge it.
    OneTrial,
}

/// A published range.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range {
    /// The index it is about.
    pub index: Index,
    /// The canopy it is about; `None` where the source does not tell canopies apart.
    pub canopy: Option<Canopy>,
    /// Lower edge.
    pub low: Option<f64>,
    /// Upper edge.
    pub high: Option<f64>,
    /// Unit of the edges.
    pub unit: &'static str,
    /// Key in [`citation`].
    pub source: &'static str,
    /// Which grapes.
    pub grapes: Grapes,
    /// What the source says it holds for.
    pub conditions: &'static str,
    /// How sure.
    pub certainty: Certainty,
}

const KLIEWER: &str = "kliewer-dokoozlian-2005";
const REYNOLDS: &str = "reynolds-2004";
const SMART: &str = "smart-robinson-1991";

const fn general(index: Index, canopy: Canopy, low: f64, high: f64, unit: &'static str) -> Range {
    Range {
        index,
        canopy: Some(canopy),
        low: Some(low),
        high: Some(high),
        unit,
        source: KLIEWER,
        grapes: Grapes::Vinifera,
        conditions: "trellised vinifera in California",
        certainty: Certainty::Read,
    }
}

const fn listed(
    index: Index,
    low: Option<f64>,
    high: Option<f64>,
    unit: &'static str,
    source: &'static str,
    conditions: &'static str,
) -> Range {
    Range {
        index,
        canopy: None,
        low,
        high,
        unit,
        source,
        grapes: Grapes::OneTrial,
        conditions,
        certainty: Certainty::Read,
    }
}

const fn remembered(range: Range) -> Range {
    Range {
        certainty: Certainty::FromMemory,
        ..range
    }
}

use Canopy::{Divided, Single};
use Index::{
    LeafAreaToFruit, MeanCaneWeight, PruningWeightPerCanopy, ShootsPerCanopy, YieldToPruningWeight,
};

/// All ranges, those that can judge first.
pub const RANGES: &[Range] = &[
    general(YieldToPruningWeight, Single, 4.0, 10.0, "kg/kg"),
    general(YieldToPruningWeight, Divided, 5.0, 10.0, "kg/kg"),
    Range {
        grapes: Grapes::Concord,
        ..listed(
            YieldToPruningWeight,
            Some(10.0),
            Some(20.0),
            "kg/kg",
            "bates-lergp",
            "Concord at Lake Erie: below 10 undercropped, about 15 balanced, above 20 overcropped",
        )
    },
    listed(
        YieldToPruningWeight,
        Some(5.0),
        None,
        "kg/kg",
        "kurtural-2012",
        "called acceptable from here up; an upper limit is not known to us",
    ),
    listed(
        YieldToPruningWeight,
        None,
        Some(12.0),
        "kg/kg",
        "bravdo-1984",
        "Carignane: overcropped above",
    ),
    listed(
        YieldToPruningWeight,
        None,
        Some(12.0),
        "kg/kg",
        REYNOLDS,
        "10 to 12 taken as the ceiling; five training systems at three spacings",
    ),
    general(PruningWeightPerCanopy, Single, 0.5, 1.0, "kg/m"),
    general(PruningWeightPerCanopy, Divided, 0.4, 0.8, "kg/m"),
    listed(
        PruningWeightPerCanopy,
        Some(0.32),
        Some(0.65),
        "kg/m",
        REYNOLDS,
        "five training systems at three spacings",
    ),
    listed(
        PruningWeightPerCanopy,
        Some(0.3),
        None,
        "kg/m",
        "kurtural-2006",
        "Chambourcin: vine size kept up",
    ),
    remembered(listed(
        PruningWeightPerCanopy,
        Some(0.3),
        Some(0.6),
        "kg/m",
        SMART,
        "vinifera in general",
    )),
    listed(
        MeanCaneWeight,
        Some(15.4),
        Some(34.5),
        "g",
        REYNOLDS,
        "five training systems at three spacings",
    ),
    remembered(listed(
        MeanCaneWeight,
        Some(20.0),
        Some(40.0),
        "g",
        SMART,
        "vinifera in general",
    )),
    general(LeafAreaToFruit, Single, 0.8, 1.2, "m²/kg"),
    general(LeafAreaToFruit, Divided, 0.5, 0.8, "m²/kg"),
    listed(
        LeafAreaToFruit,
        Some(1.1),
        Some(1.4),
        "m²/kg",
        "kliewer-weaver-1971",
        "Tokay: best colour and soluble solids",
    ),
    listed(
        ShootsPerCanopy,
        Some(16.0),
        Some(26.0),
        "shoots/m",
        "reynolds-1994",
        "Riesling: recommended",
    ),
];

/// Author and year as they stand in a sentence, and the full reference.
#[must_use]
pub fn citation(key: &str) -> (&'static str, &'static str) {
    match key {
        KLIEWER => (
            "Kliewer & Dokoozlian 2005",
            "Kliewer W.M., Dokoozlian N.K. 2005. Am. J. Enol. Vitic. 56:170-181.",
        ),
        REYNOLDS => (
            "Reynolds et al. 2004",
            "Reynolds A.G. et al. 2004. Am. J. Enol. Vitic. 55:96.",
        ),
        SMART => (
            "Smart & Robinson 1991",
            "Smart R., Robinson M. 1991. Sunlight into Wine. (Cited from memory.)",
        ),
        "bates-lergp" => (
            "T. Bates, extension note",
            "Bates T. Cornell Lake Erie Regional Grape Program, extension note on vine balance of Concord, without date.",
        ),
        "kurtural-2012" => (
            "Kurtural et al. 2012",
            "Kurtural S.K. et al. 2012. HortTechnology 22:509.",
        ),
        "kurtural-2006" => (
            "Kurtural, Dami & Taylor 2006",
            "Kurtural S.K., Dami I.E., Taylor B.H. 2006. HortTechnology 16:233.",
        ),
        "bravdo-1984" => (
            "Bravdo et al. 1984",
            "Bravdo B. et al. 1984. Am. J. Enol. Vitic. 35:247.",
        ),
        "kliewer-weaver-1971" => (
            "Kliewer & Weaver 1971",
            "Kliewer W.M., Weaver R.J. 1971. Am. J. Enol. Vitic. 22:172.",
        ),
        "reynolds-1994" => (
            "Reynolds et al. 1994",
            "Reynolds A.G. et al. 1994. J. Am. Soc. Hortic. Sci. 119:874.",
        ),
        "clingeleffer-krake-1992" => (
            "Clingeleffer & Krake 1992",
            "Clingeleffer P.R., Krake L.R. 1992. Am. J. Enol. Vitic. 43:31.",
        ),
        _ => ("", ""),
    }
}

/// The ranges of an index.
pub fn of_index(index: Index) -> impl Iterator<Item = &'static Range> {
    RANGES.iter().filter(move |range| range.index == index)
}

/// How many of a range's unit one of `unit` is; `None` where the two do not measure alike.
#[must_use]
pub fn conversion(unit: &str, range: &Range) -> Option<f64> {
    // Pound, foot and ounce are exact by definition (0.45359237 kg, 0.3048 m, 1/16 lb).
    let plain = unit.replace('2', "²");
    Some(match (plain.as_str(), range.unit) {
        (same, wanted) if same == wanted => 1.0,
        ("lb/lb" | "g/g" | "t/t", "kg/kg") => 1.0,
        ("g/m", "kg/m") => 1e-3,
        ("lb/ft", "kg/m") => 0.453_592_37 / 0.3048,
        ("oz", "g") => 453.592_37 / 16.0,
        ("kg", "g") => 1e3,
        ("lb", "g") => 453.592_37,
        ("cm²/g", "m²/kg") => 0.1,
        ("shoots/ft", "shoots/m") => 1.0 / 0.3048,
        _ => return None,
    })
}
