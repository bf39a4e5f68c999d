//! Units as text: how a text is read, and what to offer for one that is not.

use super::atoms::{ATOMS, Atom};
use super::{Dimension, Per, Unit, UnitError};
use crate::diagnostic::nearest;

/// Shown where no known unit is near what was written.
pub(super) const EXAMPLES: &str = "\"kg/vine\", \"lb/vine\", \"t/ha\", \"US ton/acre\", \"g\", \"Brix\", \"pH\", \"g/L\", \
     \"%\", \"clusters/vine\", \"count\", \"min/vine\", \"index\"";

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
