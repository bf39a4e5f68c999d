//! The words that units are made of, and their exact sizes.
//!
//! Sources of the factors: the pound is 0.45359237 kg, the foot 0.3048 m and the acre (international)
//! 4046.8564224 m² exactly (international yard and pound agreement of 1959; NIST Special Publication
//! 811, 2008, appendix B); the US (short) ton is 2000 lb, the ounce a sixteenth of a pound, the US
//! gallon 231 cubic inches.

use super::{Degrees, Dimension};

/// A word for a unit that can stand above the line, below it, or both.
pub(super) struct Atom {
    /// How it prints.
    pub(super) printed: &'static str,
    /// Every spelling read, beside the printed one.
    pub(super) spellings: &'static [&'static str],
    /// What it measures.
    pub(super) dimension: Dimension,
    /// In the dimension's base unit.
    pub(super) size: f64,
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

/// Every word known.
pub(super) const ATOMS: &[Atom] = &[
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
