//! Units as text: which words are known, how they are read and how they print.
//!
//! Sources of the factors: the pound is 0.45359237 kg, the foot 0.3048 m and the acre (international)
//! 4046.8564224 m² exactly (international yard and pound agreement of 1959; NIST Special Publication
//! 811, 2008, appendix B); the US (short) ton is 2000 lb, the ounce a sixteenth of a pound, the US
//! gallon 231 cubic inches.

use super::{Degrees, Dimension, Per, Unit, UnitError};
use crate::diagnostic::nearest;

/// Shown where no known unit is near what was written.
pub(super) const EXAMPLES: &str = "\"kg/vine\", \"lb/vine\", \"t/ha\", \"US ton/acre\", \"g\", \"Brix\", \"pH\", \"g/L\", \
     \"%\", \"clusters/vine\", \"count\", \"min/vine\", \"index\"";

/// A word for a unit that can stand above the line, below it, or both.
struct Atom {
    /// How it prints.
    printed: &'static str,
    /// Every spelling read, beside the printed one.
    spellings: &'static [&'static str],
    dimension: Dimension,
    /// In the dimension's base unit.
    size: f64,
}

const fn atom(
    printed: &'static str,
    spellings: &'static [&'static str],
    dimension: Dimension,
    size: f64,
) -> Atom {
    Atom {
        printed,
        spellings,
        dimension,
        size,
    }
}

const ATOMS: &[Atom] = &[
    atom(
        "kg",
        &["kilogram", "kilograms", "kilos"],
        Dimension::Mass,
        1e3,
    ),
    atom("g", &["gram", "grams"], Dimension::Mass, 1.0),
    atom("mg", &["milligram", "milligrams"], Dimension::Mass, 1e-3),
    atom(
        "t",
        &["tonne", "tonnes", "metric ton", "metric tons", "Mg"],
        Dimension::Mass,
        1e6,
    ),
    atom(
        "lb",
        &["lbs", "pound", "pounds"],
        Dimension::Mass,
        453.592_37,
    ),
    atom("oz", &["ounce", "ounces"], Dimension::Mass, 28.349_523_125),
    atom(
        "US ton",
        &["US tons", "short ton", "short tons"],
        Dimension::Mass,
        907_184.74,
    ),
    atom(
        "mm",
        &["millimetre", "millimetres", "millimeter", "millimeters"],
        Dimension::Length,
        1.0,
    ),
    atom(
        "cm",
        &["centimetre", "centimetres", "centimeter", "centimeters"],
        Dimension::Length,
        10.0,
    ),
    atom(
        "m",
        &["metre", "metres", "meter", "meters"],
        Dimension::Length,
        1e3,
    ),
    atom("in", &["inch", "inches"], Dimension::Length, 25.4),
    atom("ft", &["foot", "feet"], Dimension::Length, 304.8),
    atom("cm²", &["cm2", "cm^2"], Dimension::Area, 1.0),
    atom("m²", &["m2", "m^2"], Dimension::Area, 1e4),
    atom("ha", &["hectare", "hectares"], Dimension::Area, 1e8),
    atom("ft²", &["ft2", "ft^2"], Dimension::Area, 929.030_4),
    atom("acre", &["acres", "ac"], Dimension::Area, 40_468_564.224),
    atom(
        "mL",
        &["millilitre", "millilitres", "milliliter", "milliliters"],
        Dimension::Volume,
        1.0,
    ),
    atom(
        "L",
        &["litre", "litres", "liter", "liters"],
        Dimension::Volume,
        1e3,
    ),
    atom("m³", &["m3", "m^3"], Dimension::Volume, 1e6),
    atom(
        "US gal",
        &["US gallon", "US gallons"],
        Dimension::Volume,
        3_785.411_784,
    ),
    atom("min", &["minute", "minutes"], Dimension::Time, 1.0),
    atom("s", &["second", "seconds"], Dimension::Time, 1.0 / 60.0),
    atom("h", &["hour", "hours", "hr"], Dimension::Time, 60.0),
    atom(
        "day",
        &["days", "d", "day of year", "DOY"],
        Dimension::Time,
        1440.0,
    ),
    atom("count", &["counts", "number"], Dimension::Count(""), 1.0),
    atom(
        "clusters",
        &["cluster", "bunch", "bunches"],
        Dimension::Count("clusters"),
        1.0,
    ),
    atom("nodes", &["node"], Dimension::Count("nodes"), 1.0),
    atom("buds", &["bud"], Dimension::Count("buds"), 1.0),
    atom("shoots", &["shoot"], Dimension::Count("shoots"), 1.0),
    atom("canes", &["cane"], Dimension::Count("canes"), 1.0),
    atom("spurs", &["spur"], Dimension::Count("spurs"), 1.0),
    atom("berries", &["berry"], Dimension::Count("berries"), 1.0),
    atom("leaves", &["leaf"], Dimension::Count("leaves"), 1.0),
    atom(
        "wounds",
        &["wound", "cuts", "cut"],
        Dimension::Count("wounds"),
        1.0,
    ),
    atom("vines", &["vine"], Dimension::Count("vines"), 1.0),
    atom("plots", &["plot"], Dimension::Count("plots"), 1.0),
    atom(
        "%",
        &["percent", "per cent", "pct"],
        Dimension::Fraction,
        1.0,
    ),
    atom("fraction", &["proportion"], Dimension::Fraction, 100.0),
    atom(
        "°Brix",
        &["Brix", "degBrix", "deg Brix", "degrees Brix"],
        Dimension::SolubleSolids,
        1.0,
    ),
    atom("pH", &[], Dimension::Ph, 1.0),
    atom(
        "°C",
        &["degC", "deg C", "C"],
        Dimension::Temperature(Degrees::Celsius),
        1.0,
    ),
    atom(
        "°F",
        &["degF", "deg F", "F"],
        Dimension::Temperature(Degrees::Fahrenheit),
        1.0,
    ),
    atom("index", &["score", "1"], Dimension::Plain, 1.0),
];

/// The unit a text means.
pub(super) fn parse(text: &str) -> Result<Unit, UnitError> {
    let written = text.trim();
    let tidy = tidied(written);
    let Some((above, below)) = tidy.split_once('/') else {
        let atom = above_line(&tidy, None).map_err(|fault| fault.in_whole(written, &tidy, None))?;
        return Ok(Unit {
            dimension: atom.dimension,
            per: Per::Nothing,
            above: atom.size,
            below: 1.0,
            printed: atom.printed.to_owned(),
        });
    };
    let (above, below) = (above.trim(), below.trim());
    let upper = above_line(above, Some(below))
        .map_err(|fault| fault.in_whole(written, above, Some(Side::Above(below))))?;
    let lower = below_line(below)
        .map_err(|fault| fault.in_whole(written, below, Some(Side::Below(upper.printed))))?;
    let divisible = matches!(
        upper.dimension,
        Dimension::Mass
            | Dimension::Length
            | Dimension::Area
            | Dimension::Volume
            | Dimension::Time
            | Dimension::Count(_)
    );
    if !divisible {
        return Err(UnitError::Unknown {
            written: written.to_owned(),
            nearest: Some(upper.printed.to_owned()),
        });
    }
    Ok(Unit {
        dimension: upper.dimension,
        per: lower.per,
        above: upper.size,
        below: lower.size,
        printed: format!("{}/{}", upper.printed, lower.printed),
    })
}

/// The text with "per" as a line and single spaces.
fn tidied(text: &str) -> String {
    let words: Vec<&str> = text.split_whitespace().collect();
    words
        .join(" ")
        .replace(" per cent", " percent")
        .replace(" per ", "/")
}

/// Why one side of the line was not understood.
enum Fault {
    Unknown,
    Ambiguous(&'static str, &'static str),
}

/// The side of the line that was not understood, with the other side.
enum Side<'a> {
    Above(&'a str),
    Below(&'a str),
}

impl Fault {
    fn in_whole(self, written: &str, part: &str, side: Option<Side<'_>>) -> UnitError {
        match self {
            Fault::Ambiguous(first, second) => UnitError::Ambiguous {
                written: written.to_owned(),
                first,
                second,
            },
            Fault::Unknown => {
                // Below the line a vine or a hectare is likelier meant than an inch.
                let likely: &[&str] = match side {
                    Some(Side::Below(_)) => &["vine", "plot", "ha", "acre", "cluster"],
                    _ => &[],
                };
                let near = nearest(part, likely.iter().copied().chain(spellings()));
                UnitError::Unknown {
                    written: written.to_owned(),
                    nearest: near.map(|near| match side {
                        None => near.to_owned(),
                        Some(Side::Above(below)) => format!("{near}/{below}"),
                        Some(Side::Below(above)) => format!("{above}/{near}"),
                    }),
                }
            }
        }
    }
}

fn spellings() -> impl Iterator<Item = &'static str> {
    ATOMS
        .iter()
        .flat_map(|atom| std::iter::once(atom.printed).chain(atom.spellings.iter().copied()))
}

/// The atom of a word: by exact spelling, else without regard to case where one atom only fits
/// ("mg" and "Mg" are not the same).
fn found(word: &str) -> Option<&'static Atom> {
    let spelt = |atom: &Atom, same: &dyn Fn(&str) -> bool| {
        same(atom.printed) || atom.spellings.iter().any(|spelling| same(spelling))
    };
    if let Some(atom) = ATOMS
        .iter()
        .find(|atom| spelt(atom, &|spelling| spelling == word))
    {
        return Some(atom);
    }
    let lower = word.to_lowercase();
    let mut fits = ATOMS
        .iter()
        .filter(|atom| spelt(atom, &|spelling| spelling.to_lowercase() == lower));
    match (fits.next(), fits.next()) {
        (Some(atom), None) => Some(atom),
        _ => None,
    }
}

/// The atom above the line. A bare "ton" is the US ton where it stands over acres; anywhere else it
/// may as well be the tonne.
fn above_line(word: &str, below: Option<&str>) -> Result<&'static Atom, Fault> {
    if matches!(word.to_lowercase().as_str(), "ton" | "tons") {
        let over_acres = below
            .and_then(found)
            .is_some_and(|atom| atom.printed == "acre");
        return match found("US ton") {
            Some(us_ton) if over_acres => Ok(us_ton),
            _ => Err(Fault::Ambiguous("t", "US ton")),
        };
    }
    found(word).ok_or(Fault::Unknown)
}

/// What stands below the line.
struct Lower {
    per: Per,
    size: f64,
    printed: String,
}

/// What a text below the line means: "vine", "ha", "100 mL".
fn below_line(text: &str) -> Result<Lower, Fault> {
    let digits = text.bytes().take_while(u8::is_ascii_digit).count();
    let (number, word) = text.split_at(digits);
    let times = match number {
        "" => 1.0,
        _ => number.parse::<f64>().map_err(|_| Fault::Unknown)?,
    };
    if times == 0.0 {
        return Err(Fault::Unknown);
    }
    let atom = found(word.trim()).ok_or(Fault::Unknown)?;
    let per = match atom.dimension {
        Dimension::Count("vines") => Per::Vine,
        Dimension::Count("plots") => Per::Plot,
        Dimension::Count("") => return Err(Fault::Unknown),
        Dimension::Count(things) => Per::Thing(things),
        Dimension::Length => Per::Canopy,
        Dimension::Area => Per::Ground,
        Dimension::Mass => Per::Mass,
        Dimension::Volume => Per::Volume,
        _ => return Err(Fault::Unknown),
    };
    let printed = match (number, atom.dimension) {
        ("", Dimension::Count(things)) => singular(things).to_owned(),
        ("", _) => atom.printed.to_owned(),
        _ => format!("{number} {}", atom.printed),
    };
    Ok(Lower {
        per,
        size: times * atom.size,
        printed,
    })
}

/// The word for one of the things counted.
pub(super) fn singular(things: &'static str) -> &'static str {
    match things {
        "berries" => "berry",
        "leaves" => "leaf",
        _ => things.strip_suffix('s').unwrap_or(things),
    }
}
