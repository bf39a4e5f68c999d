//! Everything brought to a hectare: crop in tonnes, work in hours.

use caneplot_plugin::prices::{Area, CostPer};
use caneplot_plugin::request::Vineyard;

/// Square metres of a hectare.
const HECTARE: f64 = 10_000.0;
/// Square metres of an acre (international, exactly).
const ACRE: f64 = 4_046.856_422_4;

/// Tonnes of a US (short) ton: 2000 pounds, exactly (international agreement of 1959).
pub(crate) const US_TON: f64 = 0.907_184_74;

/// Hectares of an area.
pub(crate) fn hectares(area: Area) -> f64 {
    match area {
        Area::Hectare => 1.0,
        Area::Acre => ACRE / HECTARE,
    }
}

/// "ha" or "acre".
pub(crate) fn word(area: Area) -> &'static str {
    match area {
        Area::Hectare => "ha",
        Area::Acre => "acre",
    }
}

/// The other of the two.
pub(crate) fn other(area: Area) -> Area {
    match area {
        Area::Hectare => Area::Acre,
        Area::Acre => Area::Hectare,
    }
}

/// Planted spaces on a hectare.
pub(crate) fn vines_a_hectare(vineyard: &Vineyard) -> Result<f64, String> {
    let space = vineyard.row_spacing_m.zip(vineyard.vine_spacing_m);
    space
        .map(|(row, vine)| HECTARE / (row * vine))
        .ok_or_else(|| {
            "row_spacing and vine_spacing under [vineyard] are needed to bring vines to an area"
                .to_owned()
        })
}

/// A cost on a hectare from one on its own basis.
pub(crate) fn on_a_hectare(cost: f64, per: CostPer, vineyard: &Vineyard) -> Result<f64, String> {
    Ok(match per {
        CostPer::Hectare => cost,
        CostPer::Acre => cost / hectares(Area::Acre),
        CostPer::Vine => cost * vines_a_hectare(vineyard)?,
    })
}

/// Tonnes a hectare of one of a unit of crop, such as "kg/vine" or "US ton/acre".
pub(crate) fn tonnes_a_hectare(unit: &str, vineyard: &Vineyard) -> Result<f64, String> {
    let wrong = || format!("its unit ({unit}) is not a weight per vine, hectare or acre");
    let (weight, basis) = unit.split_once('/').ok_or_else(wrong)?;
    // A pound is a two-thousandth of a US ton.
    let tonnes = match weight.trim() {
        "t" => 1.0,
        "kg" => 1e-3,
        "g" => 1e-6,
        "lb" => 0.453_592_37e-3,
        "oz" => 0.453_592_37e-3 / 16.0,
        "US ton" => US_TON,
        _ => return Err(wrong()),
    };
    Ok(tonnes * bases(basis, vineyard)?.ok_or_else(wrong)?)
}

/// Hours a hectare of one of a unit of work, such as "min/vine" or "h/ha".
pub(crate) fn hours_a_hectare(unit: &str, vineyard: &Vineyard) -> Result<f64, String> {
    let wrong = || format!("its unit ({unit}) is not a time per vine, hectare or acre");
    let (time, basis) = unit.split_once('/').ok_or_else(wrong)?;
    let hours = match time.trim() {
        "h" => 1.0,
        "min" => 1.0 / 60.0,
        "s" => 1.0 / 3600.0,
        _ => return Err(wrong()),
    };
    Ok(hours * bases(basis, vineyard)?.ok_or_else(wrong)?)
}

/// How many of a basis a hectare has; `None` for one that is no part of it.
fn bases(basis: &str, vineyard: &Vineyard) -> Result<Option<f64>, String> {
    Ok(match basis.trim() {
        "ha" => Some(1.0),
        "acre" => Some(HECTARE / ACRE),
        "vine" => Some(vines_a_hectare(vineyard)?),
        _ => None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn feet(row: f64, vine: f64) -> Vineyard {
        Vineyard {
            row_spacing_m: Some(row * 0.3048),
            vine_spacing_m: Some(vine * 0.3048),
            ..Vineyard::default()
        }
    }

    #[test]
    fn vines_an_acre_are_those_of_the_handbooks() {
        // 8 × 9 ft: 605; 7 × 10 ft: 622; 6 × 9 ft: 807 vines an acre (extension budgets).
        for (row, vine, want) in [(8.0, 9.0, 605.0), (7.0, 10.0, 622.0), (6.0, 9.0, 807.0)] {
            let found = vines_a_hectare(&feet(row, vine)).unwrap() * hectares(Area::Acre);
            assert_eq!(found.round(), want);
        }
    }

    #[test]
    fn crops_and_hours_come_to_a_hectare() {
        let none = Vineyard::default();
        // 1 short ton an acre is 2.2417023 t/ha.
        let one = tonnes_a_hectare("US ton/acre", &none).unwrap();
        assert!((one - 2.241_702_3).abs() < 5e-8, "{one}");
        assert_eq!(tonnes_a_hectare("t/ha", &none), Ok(1.0));
        // Zoecklein et al. 2008: 10.5 kg/vine at 2.4 × 3.0 m are 14.58 t/ha.
        let spaced = Vineyard {
            row_spacing_m: Some(2.4),
            vine_spacing_m: Some(3.0),
            ..none.clone()
        };
        let crop = 10.5 * tonnes_a_hectare("kg/vine", &spaced).unwrap();
        assert!((crop - 14.58).abs() < 5e-3, "{crop}");
        // 605 vines an acre at 24 an hour take 25.2 h/acre (SARE FNE01-356).
        let hours = 2.5 * hours_a_hectare("min/vine", &feet(8.0, 9.0)).unwrap();
        assert!((hours * hectares(Area::Acre) - 25.208).abs() < 5e-4);
    }

    #[test]
    fn what_is_no_area_says_so() {
        let none = Vineyard::default();
        assert!(
            tonnes_a_hectare("kg/vine", &none)
                .unwrap_err()
                .contains("row_spacing")
        );
        assert!(
            tonnes_a_hectare("kg/plot", &none)
                .unwrap_err()
                .contains("kg/plot")
        );
        assert!(
            hours_a_hectare("kg/vine", &none)
                .unwrap_err()
                .contains("not a time")
        );
    }
}
