//! Which range may judge, and where an interval lies beside it.

use caneplot_plugin::request::{Canopy, Index};

use crate::ranges::{Certainty, RANGES, citation, conversion};
use crate::treatments::CanopyOf;
use crate::verdict::{NoVerdict, Place, judging_range, place};

const RAVAZ: Option<Index> = Some(Index::YieldToPruningWeight);

#[test]
fn the_canopy_chooses_the_range() {
    // Kliewer & Dokoozlian 2005, AJEV 56:170: 4 to 10 for single, 5 to 10 for divided canopies.
    let low = |canopy| judging_range(RAVAZ, "kg/kg", CanopyOf::One(canopy), None).map(|r| r.low);
    assert_eq!(low(Canopy::Single), Ok(Some(4.0)));
    assert_eq!(low(Canopy::Divided), Ok(Some(5.0)));
    assert_eq!(low(Canopy::FreeStanding), Err(NoVerdict::FreeStanding));
    assert_eq!(low(Canopy::Hedged), Err(NoVerdict::Hedged));
    assert_eq!(
        low(Canopy::MinimallyPruned),
        Err(NoVerdict::MinimallyPruned)
    );
}

#[test]
fn what_is_not_declared_is_not_judged() {
    let why = |canopy, grape| judging_range(RAVAZ, "kg/kg", canopy, grape).map(|r| r.source);
    assert_eq!(why(CanopyOf::Unknown, None), Err(NoVerdict::CanopyUnknown));
    assert_eq!(
        why(CanopyOf::Several, None),
        Err(NoVerdict::SeveralCanopies)
    );
    let single = CanopyOf::One(Canopy::Single);
    assert_eq!(
        why(single, Some("French hybrid")),
        Err(NoVerdict::OtherGrapes)
    );
    assert_eq!(why(single, Some("Concord")), Ok("bates-lergp"));
    assert_eq!(
        why(single, Some("Vitis vinifera")),
        Ok("kliewer-dokoozlian-2005")
    );
}

#[test]
fn a_unit_that_does_not_measure_alike_is_not_judged() {
    let single = CanopyOf::One(Canopy::Single);
    let why = judging_range(RAVAZ, "°Brix per g/L", single, None).map(|r| r.source);
    assert_eq!(why, Err(NoVerdict::NoRange));
    assert!(judging_range(RAVAZ, "lb/lb", single, None).is_ok());
    assert_eq!(
        judging_range(None, "kg/kg", single, None).map(|r| r.source),
        Err(NoVerdict::NoRange)
    );
}

#[test]
fn figures_from_memory_judge_nothing() {
    let single = CanopyOf::One(Canopy::Single);
    for index in [
        Index::MeanCaneWeight,
        Index::ShootsPerCanopy,
        Index::MeanClusterWeight,
    ] {
        let found = judging_range(Some(index), "g", single, None).map(|r| r.source);
        assert_eq!(found, Err(NoVerdict::NoRange));
    }
    assert!(RANGES.iter().any(|r| r.certainty == Certainty::FromMemory));
}

#[test]
fn an_interval_lies_in_one_of_six_places() {
    let range = judging_range(RAVAZ, "kg/kg", CanopyOf::One(Canopy::Single), None).unwrap();
    for (low, high, wanted) in [
        (2.0, 3.9, Place::Below),
        (3.0, 4.5, Place::AcrossLow),
        (4.0, 10.0, Place::Inside),
        (9.0, 10.1, Place::AcrossHigh),
        (10.2, 12.0, Place::Above),
        (3.0, 11.0, Place::AcrossBoth),
    ] {
        assert_eq!(place(low, high, range), wanted, "{low} to {high}");
    }
}

#[test]
fn every_range_has_a_source_edges_in_order_and_its_own_unit() {
    for range in RANGES {
        let (short, full) = citation(range.source);
        assert!(!short.is_empty() && !full.is_empty(), "{}", range.source);
        assert!(range.low.is_some() || range.high.is_some());
        if let (Some(low), Some(high)) = (range.low, range.high) {
            assert!(low < high);
        }
        assert_eq!(conversion(range.unit, range), Some(1.0));
    }
}

#[test]
fn pounds_a_foot_are_held_against_kilograms_a_metre() {
    // 0.2 to 0.4 lb/ft is 0.298 to 0.595 kg/m (exact constants 0.45359237 kg and 0.3048 m).
    let canopy = CanopyOf::One(Canopy::Single);
    let index = Some(Index::PruningWeightPerCanopy);
    let range = judging_range(index, "lb/ft", canopy, None).unwrap();
    let factor = conversion("lb/ft", range).unwrap();
    assert!((0.2 * factor - 0.298).abs() < 5e-4 && (0.4 * factor - 0.595).abs() < 5e-4);
    assert_eq!(place(0.2 * factor, 0.3 * factor, range), Place::Below);
}

#[test]
fn an_index_without_published_ranges_has_none_to_hold_back() {
    let hedged = CanopyOf::One(Canopy::Hedged);
    let found = judging_range(Some(Index::MeanClusterWeight), "g", hedged, None);
    assert_eq!(found.map(|r| r.source), Err(NoVerdict::NoRange));
}
