//! `[vineyard]`: the geometry that everything per area is derived from.

use std::ops::{Range, RangeInclusive};

use toml::de::DeValue;

use crate::diagnostic::Diagnostic;
use crate::trial::faults::Faults;
use crate::trial::keys;
use crate::trial::scalar::scalar_text;
use crate::trial::section::Section;
use crate::trial::unit::{Length, UnitError};
use crate::trial::words::{CANOPIES, HEMISPHERES};
use crate::trial::{Hemisphere, Vineyard};

/// Spacings a vineyard can have, in metres: outside it a number stands in the wrong unit.
const POSSIBLE_M: RangeInclusive<f64> = 0.2..=20.0;

/// Vines a plot can have.
const POSSIBLE_VINES: RangeInclusive<u32> = 1..=1000;

/// The geometry of a trial.
pub(super) fn vineyard(root: &Section<'_>, faults: &mut Faults) -> Vineyard {
    let Some(mut section) = root.section("vineyard", faults) else {
        // With the table misspelt or no table, its lengths are not missing one by one as well.
        let hemisphere = latitude(root, faults).map(|(half, _)| half);
        let vineyard = match root.speaks_of("vineyard") {
            true => stand_in(),
            false => Vineyard::default(),
        };
        return Vineyard {
            hemisphere,
            ..vineyard
        };
    };
    section.only(keys::VINEYARD, faults);
    let row = length(&section, "row_spacing", faults);
    let vine = length(&section, "vine_spacing", faults);
    let canopy = length(&section, "canopy_per_vine", faults);
    let written_in = [&row, &vine, &canopy]
        .into_iter()
        .flatten()
        .next()
        .map(|length| match length.written_in.as_str() {
            "ft" | "in" => "ft".to_owned(),
            _ => "m".to_owned(),
        });
    let metres = |length: Option<Length>| length.map(|length| length.metres);
    Vineyard {
        row_spacing_m: metres(row),
        vine_spacing_m: metres(vine),
        canopy_per_vine_m: metres(canopy),
        vines_per_plot: vines(&section, faults),
        hemisphere: hemisphere(root, &section, faults),
        canopy: section
            .word("canopy", &CANOPIES, faults)
            .map(|word| word.value),
        grape: section.words("grape", "grape = \"vinifera\"", faults),
        written_in,
    }
}

/// The half of the world, by name or by latitude.
fn hemisphere(
    root: &Section<'_>,
    section: &Section<'_>,
    faults: &mut Faults,
) -> Option<Hemisphere> {
    let named = section.word("hemisphere", &HEMISPHERES, faults);
    let told = latitude(root, faults);
    if let (Some(named), Some((told, span))) = (&named, &told)
        && named.value != *told
    {
        let place = faults.place(span);
        faults.add(
            &named.span,
            Diagnostic::error(
                "hemisphere",
                "the latitude in [about] lies in the other hemisphere",
            )
            .at(place)
            .help("correct the one that is wrong; latitudes south of the equator are negative"),
        );
    }
    named
        .map(|named| named.value)
        .or(told.map(|(half, _)| half))
}

/// The half of the world a latitude in `[about]` lies in, in degrees: 47.9, -34.5, "34.5 S".
fn latitude(root: &Section<'_>, faults: &mut Faults) -> Option<(Hemisphere, Range<usize>)> {
    let DeValue::Table(table) = root.value("about")?.get_ref() else {
        return None;
    };
    let value = table.get("latitude")?;
    let text = scalar_text(value.get_ref())?.to_lowercase();
    let (number, south) = match text.trim().strip_suffix(['s', 'n']) {
        Some(number) => (number, text.trim().ends_with('s')),
        None => (text.trim(), false),
    };
    let degrees = number.trim().trim_end_matches('°').trim().parse::<f64>();
    match degrees {
        Ok(degrees) if degrees.abs() <= 90.0 => {
            let half = match south || degrees < 0.0 {
                true => Hemisphere::South,
                false => Hemisphere::North,
            };
            Some((half, value.span()))
        }
        _ => {
            faults.add(
                &value.span(),
                Diagnostic::error("hemisphere", "this is no latitude in degrees")
                    .help("write latitude = 47.9, or -34.5 south of the equator"),
            );
            None
        }
    }
}

/// Lengths that let conversions be looked at where the written ones are wrong.
fn stand_in() -> Vineyard {
    Vineyard {
        row_spacing_m: Some(1.0),
        vine_spacing_m: Some(1.0),
        canopy_per_vine_m: Some(1.0),
        vines_per_plot: Some(1),
        ..Vineyard::default()
    }
}

/// A length; a stand-in where a wrong one is written.
fn length(section: &Section<'_>, key: &str, faults: &mut Faults) -> Option<Length> {
    if !section.speaks_of(key) {
        return None;
    }
    Some(right_length(section, key, faults).unwrap_or(Length {
        metres: 1.0,
        written_in: "m".to_owned(),
    }))
}

fn right_length(section: &Section<'_>, key: &str, faults: &mut Faults) -> Option<Length> {
    let value = section.value(key)?;
    let text = match value.get_ref() {
        // A bare number is a length whose unit was forgotten: say so rather than "wrong type".
        DeValue::String(_) | DeValue::Integer(_) | DeValue::Float(_) => {
            scalar_text(value.get_ref())?
        }
        _ => {
            section.wrong(
                key,
                value,
                "a length",
                &format!("{key} = \"2.4 m\""),
                faults,
            );
            return None;
        }
    };
    let add = |fault: &UnitError, faults: &mut Faults| {
        faults.add(
            &value.span(),
            Diagnostic::error("length", fault.to_string()).help(fault.help()),
        );
    };
    match Length::parse(&text) {
        Ok(length) if POSSIBLE_M.contains(&length.metres) => Some(length),
        Ok(length) => {
            faults.add(
                &value.span(),
                Diagnostic::error(
                    "length",
                    format!(
                        "a {key} of {text} is {:.2} m, which no vineyard has",
                        length.metres
                    ),
                )
                .help("look at the number and at its unit: m, cm, ft or in"),
            );
            None
        }
        Err(fault) => {
            add(&fault, faults);
            None
        }
    }
}

fn vines(section: &Section<'_>, faults: &mut Faults) -> Option<u32> {
    if !section.has("vines_per_plot") && section.speaks_of("vines_per_plot") {
        return stand_in().vines_per_plot;
    }
    let value = section.value("vines_per_plot")?;
    let vines = match value.get_ref() {
        DeValue::Integer(_) => scalar_text(value.get_ref())?.parse::<u32>().ok(),
        _ => None,
    };
    let vines = vines.filter(|vines| POSSIBLE_VINES.contains(vines));
    if vines.is_none() {
        let wanted = "a whole number from 1 to 1000";
        section.wrong(
            "vines_per_plot",
            value,
            wanted,
            "vines_per_plot = 5",
            faults,
        );
    }
    vines.or(stand_in().vines_per_plot)
}
