//! Conversions against published numbers.

use super::*;

fn unit(text: &str) -> Unit {
    Unit::parse(text).unwrap()
}

fn spaced(row: &str, vine: &str) -> Vineyard {
    Vineyard {
        row_spacing_m: Some(Length::parse(row).unwrap().metres),
        vine_spacing_m: Some(Length::parse(vine).unwrap().metres),
        ..Vineyard::default()
    }
}

fn factor(from: &str, to: &str, vineyard: &Vineyard) -> f64 {
    unit(from).factor_to(&unit(to), vineyard).unwrap()
}

/// Asserts that a number prints as expected at the decimals of its source.
fn reads(value: f64, printed: &str) {
    let decimals = printed.split_once('.').map_or(0, |(_, part)| part.len());
    assert_eq!(format!("{value:.decimals$}"), printed);
}

#[test]
fn every_unit_of_the_trade_is_read_and_prints() {
    for (written, printed) in [
        ("kg/vine", "kg/vine"),
        ("lb/vine", "lb/vine"),
        ("g/vine", "g/vine"),
        ("kg", "kg"),
        ("g", "g"),
        ("lb", "lb"),
        ("oz", "oz"),
        ("t/ha", "t/ha"),
        ("US ton/acre", "US ton/acre"),
        ("ton/acre", "US ton/acre"),
        ("tons per acre", "US ton/acre"),
        ("tonnes/ha", "t/ha"),
        ("Mg/ha", "t/ha"),
        ("kg/m", "kg/m"),
        ("lb/ft", "lb/ft"),
        ("Brix", "°Brix"),
        ("°Brix", "°Brix"),
        ("ph", "pH"),
        ("g/L", "g/L"),
        ("g/l", "g/L"),
        ("g/100 mL", "g/100 mL"),
        ("g/100mL", "g/100 mL"),
        ("count", "count"),
        ("clusters/vine", "clusters/vine"),
        ("bunches/vine", "clusters/vine"),
        ("nodes/vine", "nodes/vine"),
        ("shoots/vine", "shoots/vine"),
        ("canes/vine", "canes/vine"),
        ("berries/cluster", "berries/cluster"),
        ("g/100 berries", "g/100 berries"),
        ("cm2", "cm²"),
        ("m2/vine", "m²/vine"),
        ("m2/kg", "m²/kg"),
        ("min/vine", "min/vine"),
        ("h/ha", "h/ha"),
        ("%", "%"),
        ("per cent", "%"),
        ("mm", "mm"),
        ("cm", "cm"),
        ("m", "m"),
        ("degC", "°C"),
        ("day", "day"),
        ("index", "index"),
    ] {
        assert_eq!(unit(written).to_string(), printed, "{written}");
        // What prints reads back as the same unit.
        assert_eq!(unit(printed), unit(written), "{written}");
    }
}

#[test]
fn constants_are_the_international_ones() {
    let nowhere = Vineyard::default();
    // 1 lb = 0.45359237 kg, exact: international yard and pound agreement, 1959.
    assert_eq!(factor("lb", "kg", &nowhere), 0.453_592_37);
    assert_eq!(factor("oz", "lb", &nowhere), 0.0625);
    assert_eq!(factor("US ton", "lb", &nowhere), 2000.0);
    assert_eq!(factor("kg", "g", &nowhere), 1000.0);
    assert_eq!(factor("g", "kg", &nowhere), 0.001);
    // 1 acre = 43560 square feet, 1 ft = 0.3048 m exactly.
    reads(factor("kg/ft2", "kg/acre", &nowhere), "43560.000000000");
    // 1 US ton/acre = 2.2417023 t/ha and back 0.4460896; 1 lb/ft = 1.4881639 kg/m: NIST SP 811.
    reads(factor("US ton/acre", "t/ha", &nowhere), "2.2417023");
    reads(factor("t/ha", "US ton/acre", &nowhere), "0.4460896");
    reads(factor("lb/ft", "kg/m", &nowhere), "1.4881639");
    // Titratable acidity: 6.5 g/L is 0.65 g/100 mL.
    reads(6.5 * factor("g/L", "g/100 mL", &nowhere), "0.65");
}

#[test]
fn published_pruning_weights_a_length_read_the_same_in_both_systems() {
    let nowhere = Vineyard::default();
    // 0.2-0.4 lb/ft = 0.298-0.595 kg/m; 0.3-0.6 kg/m = 0.202-0.403 lb/ft.
    reads(0.2 * factor("lb/ft", "kg/m", &nowhere), "0.298");
    reads(0.4 * factor("lb/ft", "kg/m", &nowhere), "0.595");
    reads(0.3 * factor("kg/m", "lb/ft", &nowhere), "0.202");
    reads(0.6 * factor("kg/m", "lb/ft", &nowhere), "0.403");
}

#[test]
fn viognier_yields_become_yields_of_land() {
    // Zoecklein et al. 2008, AJEV 59:11: 2.4 x 3.0 m; 10.5, 9.9 and 6.0 kg/vine.
    let vineyard = spaced("2.4 m", "3.0 m");
    reads(factor("vines/vine", "vines/ha", &vineyard), "1388.9");
    for (vine, hectare, acre) in [
        (10.5, "14.58", "6.51"),
        (9.9, "13.75", "6.13"),
        (6.0, "8.33", "3.72"),
    ] {
        reads(vine * factor("kg/vine", "t/ha", &vineyard), hectare);
        reads(vine * factor("kg/vine", "US ton/acre", &vineyard), acre);
    }
}

#[test]
fn feet_of_spacing_give_the_printed_vines_an_acre() {
    // 6 x 9 ft: 807 vines/acre (Ohio State crop estimation, Dami); 8 x 9 ft: 605 (handbook);
    // 7 x 10 ft: 622 (NCSU Chardonnay budget, Carpio & Safley).
    for (row, vine, vines) in [
        ("9 ft", "6 ft", "807"),
        ("9 ft", "8 ft", "605"),
        ("10 ft", "7 ft", "622"),
    ] {
        reads(factor("lb/vine", "lb/acre", &spaced(row, vine)), vines);
    }
    // 806.67 x 0.95 with a twentieth of the vines missing.
    reads(
        0.95 * factor("lb/vine", "lb/acre", &spaced("9 ft", "6 ft")),
        "766",
    );
}

#[test]
fn nodes_a_kilogram_read_as_nodes_a_pound() {
    let nowhere = Vineyard::default();
    // Zabadal et al. 2002, AJEV 53:204: 44 nodes/kg = 19.96 nodes/lb; 13 t/ha = 5.80 US ton/acre.
    reads(44.0 * factor("nodes/kg", "nodes/lb", &nowhere), "19.96");
    reads(13.0 * factor("t/ha", "US ton/acre", &nowhere), "5.80");
    // 20 nodes/lb = 44.09 nodes/kg.
    reads(20.0 * factor("nodes/lb", "nodes/kg", &nowhere), "44.09");
}

#[test]
fn chambourcin_yields_imply_the_planting_density() {
    // Kurtural et al. 2006, HortTechnology 16:233: 9.7 kg/vine and 13.4 t/ha; 13.4 t/ha = 5.98
    // US ton/acre. 1381 vines/ha is what the two imply.
    let vineyard = Vineyard {
        row_spacing_m: Some(10_000.0 / 1381.0),
        vine_spacing_m: Some(1.0),
        ..Vineyard::default()
    };
    reads(9.7 * factor("kg/vine", "t/ha", &vineyard), "13.4");
    reads(13.4 * factor("t/ha", "US ton/acre", &vineyard), "5.98");
}

#[test]
fn the_geometry_leads_from_vines_to_canopy_and_plots() {
    let vineyard = Vineyard {
        canopy_per_vine_m: Some(1.5),
        vines_per_plot: Some(5),
        ..Vineyard::default()
    };
    reads(0.9 * factor("kg/vine", "kg/m", &vineyard), "0.60000000");
    reads(10.0 * factor("kg/plot", "kg/vine", &vineyard), "2.00000000");
    reads(2.0 * factor("kg/vine", "kg/plot", &vineyard), "10.00000000");
}

#[test]
fn a_missing_length_is_named() {
    let only_row = Vineyard {
        row_spacing_m: Some(2.4),
        ..Vineyard::default()
    };
    for (from, to, missing) in [
        ("kg/vine", "t/ha", "vine_spacing"),
        ("kg/vine", "kg/m", "canopy_per_vine"),
        ("kg/plot", "kg/vine", "vines_per_plot"),
    ] {
        let error = unit(from).factor_to(&unit(to), &only_row).unwrap_err();
        assert!(error.to_string().contains(missing), "{error}");
        assert!(error.help().contains(missing), "{}", error.help());
    }
}

#[test]
fn different_things_do_not_convert() {
    let vineyard = spaced("2.4 m", "1.5 m");
    for (from, to) in [
        ("kg/vine", "Brix"),
        ("clusters/vine", "nodes/vine"),
        ("kg", "kg/vine"),
        ("degC", "degF"),
        ("g/L", "g"),
        ("m", "m2"),
    ] {
        let error = unit(from).factor_to(&unit(to), &vineyard).unwrap_err();
        assert!(matches!(error, UnitError::Different { .. }), "{from} {to}");
    }
    // A count that does not say of what fits.
    assert_eq!(factor("count", "clusters", &vineyard), 1.0);
}

#[test]
fn a_misspelt_unit_gets_the_nearest_right_one() {
    for (written, near) in [
        ("kg/vin", "kg/vine"),
        ("kgs/vine", "kg/vine"),
        ("Brixx", "Brix"),
        ("t/hectar", "t/hectare"),
        ("percnt", "percent"),
        ("cluster/vien", "clusters/vine"),
    ] {
        match Unit::parse(written).unwrap_err() {
            UnitError::Unknown { nearest, .. } => {
                assert_eq!(nearest.as_deref(), Some(near), "{written}");
            }
            other => panic!("{written}: {other}"),
        }
    }
    for written in [
        "",
        "furlongs/fortnight/2",
        "kg/vine/year",
        "pH/vine",
        "kg/0 mL",
    ] {
        assert!(Unit::parse(written).is_err(), "{written}");
    }
}

#[test]
fn a_ton_over_hectares_is_refused_because_it_means_two_things() {
    for written in ["ton/ha", "tons", "ton"] {
        let error = Unit::parse(written).unwrap_err();
        assert!(matches!(error, UnitError::Ambiguous { .. }), "{written}");
        assert!(error.help().contains("US ton"));
    }
}

#[test]
fn lengths_need_a_unit_and_a_size() {
    assert_eq!(Length::parse("2.4 m").unwrap().metres, 2.4);
    assert_eq!(Length::parse("8 ft").unwrap().metres, 8.0 * 0.3048);
    assert_eq!(Length::parse("8ft").unwrap().written_in, "ft");
    assert_eq!(Length::parse("240 cm").unwrap().metres, 2.4);
    for (written, words) in [
        ("2.4", "without a unit"),
        ("wide", "not a length"),
        ("2.4 kg", "not a length"),
        ("2.4 m/vine", "not a length"),
        ("2,4 m", "not a unit"),
        ("0 m", "above zero"),
        ("-1 m", "above zero"),
        ("", "not a length"),
    ] {
        let error = Length::parse(written).unwrap_err();
        assert!(error.to_string().contains(words), "{written}: {error}");
    }
}

#[test]
fn ratios_find_the_units_of_the_trade() {
    let vineyard = Vineyard {
        canopy_per_vine_m: Some(1.5),
        ..spaced("2.4 m", "1.5 m")
    };
    for (above, below, printed, scale) in [
        ("kg/vine", "kg/vine", "kg/kg", 1.0),
        ("lb/vine", "lb/vine", "lb/lb", 1.0),
        ("kg/vine", "g/vine", "kg/kg", 1000.0),
        ("kg/vine", "clusters/vine", "g", 1000.0),
        ("kg/vine", "count", "g", 1000.0),
        ("g/vine", "canes/vine", "g", 1.0),
        ("m2/vine", "kg/vine", "m²/kg", 1.0),
        ("clusters/vine", "shoots/vine", "clusters/shoot", 1.0),
        ("nodes/vine", "kg/vine", "nodes/kg", 1.0),
        ("Brix", "g/L", "°Brix per g/L", 1.0),
        // 1 t/ha on 2.4 x 1.5 m is 0.36 kg a vine.
        ("t/ha", "kg/vine", "kg/kg", 0.36),
    ] {
        let quotient = unit(above).over(&unit(below), &vineyard).unwrap();
        assert_eq!(quotient.unit, printed, "{above} over {below}");
        assert!(
            (quotient.scale - scale).abs() < 1e-12 * scale,
            "{above} over {below}"
        );
    }
    let wished = unit("kg/vine")
        .over_in(&unit("clusters/vine"), &unit("oz"), &vineyard)
        .unwrap();
    reads(wished.scale, "35.273962");
    // Kliewer & Weaver 1971, AJEV 22:172: 12.6 cm²/g = 1.26 m²/kg.
    let leaf = unit("m2/vine")
        .over_in(&unit("kg/vine"), &unit("cm2/g"), &vineyard)
        .unwrap();
    reads(1.26 * leaf.scale, "12.6");
    assert!(
        unit("kg/vine")
            .over_in(&unit("kg/vine"), &unit("Brix"), &vineyard)
            .is_err()
    );
}

#[test]
fn sums_over_vines_are_told_from_concentrations() {
    for (text, extensive) in [
        ("kg/vine", true),
        ("clusters/vine", true),
        ("count", true),
        ("kg/plot", true),
        ("Brix", false),
        ("g/L", false),
        ("g", false),
        ("%", false),
        ("kg/m", false),
        ("t/ha", false),
    ] {
        assert_eq!(unit(text).is_extensive(), extensive, "{text}");
    }
}
