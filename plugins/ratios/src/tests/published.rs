//! Published and worked figures of the trade, each with its citation.

use caneplot_plugin::request::{Canopy, DesignKind, Index, Role};

use super::call::*;
use crate::ranges::{RANGES, conversion};
use crate::treatments::CanopyOf;
use crate::verdict::{Place, judging_range, place};
use crate::words::disagreement_share;

/// Kliewer & Dokoozlian 2005, AJEV 56:170, table 4: Cabernet Sauvignon on a single canopy at Oakville,
/// 1992; yield and prunings in kg a vine, no replicates printed.
const PRUNING: [(&str, f64, f64, f64); 3] = [
    ("spur", 9.8, 1.30, 7.5),
    ("hedge", 20.2, 1.53, 13.2),
    ("minimal", 15.9, 0.29, 54.8),
];

#[test]
fn spur_hedge_and_minimal_pruning_give_the_printed_ratios() {
    let cells: Vec<[&str; 1]> = PRUNING.iter().map(|row| [row.0]).collect();
    let rows: Vec<Row<'_>> = PRUNING
        .iter()
        .zip(&cells)
        .map(|((_, y, w, _), cells)| Row(cells, Some(*y), Some(*w)))
        .collect();
    let made = systems(&[
        ("spur", Some(Canopy::Single)),
        ("hedge", Some(Canopy::Hedged)),
        ("minimal", Some(Canopy::MinimallyPruned)),
    ]);
    let section = section(&call(
        DesignKind::CompletelyRandomised,
        vec![made],
        &["system"],
        &rows,
    ));
    let shown = table(&section, "treatments");
    for (name, _, _, printed) in PRUNING {
        let ratio = number(shown, name, "Ratio of means").unwrap();
        assert!((ratio - printed).abs() <= 0.1, "{name}: {ratio}");
        assert!(
            shown
                .columns
                .iter()
                .all(|column| column.name != "95 % from")
        );
    }
    // Without replicates there is no interval, and so no verdict; on hedged and minimally pruned
    // vines there is no range at all.
    assert_eq!(
        words(shown, "spur", "Published range"),
        "no verdict: no finite interval"
    );
    assert_eq!(
        words(shown, "hedge", "Published range"),
        "no range for hedged vines"
    );
    let said = said(&section);
    assert!(
        said.contains("No published range is held against hedge"),
        "{said}"
    );
    assert!(said.contains("Clingeleffer & Krake 1992"));
    assert!(!said.contains("overcropped"));
    assert!(noted(&section).contains("no interval and no standard error"));
}

#[test]
fn trained_systems_show_that_averages_of_ratios_are_no_ratio_of_averages() {
    // The same paper, table 3, vertical shoots: mean yield to prunings 4.9 and mean prunings 1.58 kg
    // imply 7.74 kg a vine; leaf area over leaf area per gram implies 5.83 kg. The table is no error:
    // its cells are averages of ratios. So the two must be told apart, not forced together.
    assert!((4.9_f64 * 1.58 - 7.74).abs() < 0.005);
    let share = disagreement_share(4.9, 5.83 / 1.58).unwrap();
    assert!(share > 0.3);
    assert_eq!(disagreement_share(5.0, 4.9), None);
}

#[test]
fn carignane_at_sixty_forty_and_twenty_clusters() {
    // Bravdo et al. 1984, AJEV 35:247: yield to prunings 19.6, 12.0 and 8 at 60, 40 and 20 clusters;
    // above 12 called overcropped.
    let bravdo = RANGES.iter().find(|r| r.source == "bravdo-1984").unwrap();
    let beside = [19.6, 12.0, 8.0].map(|ratio| place(ratio, ratio, bravdo));
    assert_eq!(beside, [Place::Above, Place::Inside, Place::Inside]);
    let single = CanopyOf::One(Canopy::Single);
    let range = judging_range(Some(Index::YieldToPruningWeight), "kg/kg", single, None).unwrap();
    let beside = [19.6, 12.0, 8.0].map(|ratio| place(ratio, ratio, range));
    assert_eq!(beside, [Place::Above, Place::Above, Place::Inside]);
}

#[test]
fn tokay_leaf_area_is_the_same_in_both_units() {
    // Kliewer & Weaver 1971, AJEV 22:172: 3.8, 5.0 and 12.6 cm²/g are 0.38, 0.50 and 1.26 m²/kg; best
    // colour and soluble solids at 11 to 14 cm²/g.
    let tokay = RANGES
        .iter()
        .find(|r| r.source == "kliewer-weaver-1971")
        .unwrap();
    let places = [(3.8, 0.38), (5.0, 0.50), (12.6, 1.26)].map(|(old, new)| {
        let converted = old * conversion("cm²/g", tokay).unwrap();
        assert!((converted - new).abs() < 1e-12);
        place(converted, converted, tokay)
    });
    assert_eq!(places, [Place::Below, Place::Below, Place::Inside]);
}

#[test]
fn one_weak_plot_pulls_the_mean_of_ratios_and_not_the_ratio_of_means() {
    // Worked by hand: 10/1, 8/2 and 12/0.5 have mean 12.667; 30/3.5 is 8.571.
    let rows = [
        Row(&["A"], Some(10.0), Some(1.0)),
        Row(&["A"], Some(8.0), Some(2.0)),
        Row(&["A"], Some(12.0), Some(0.5)),
    ];
    let made = factor("system", Role::Treatment, &["A"]);
    let section = section(&call(
        DesignKind::CompletelyRandomised,
        vec![made],
        &["system"],
        &rows,
    ));
    let shown = table(&section, "treatments");
    assert!((number(shown, "A", "Mean of plot ratios").unwrap() - 12.667).abs() < 5e-4);
    assert!((number(shown, "A", "Ratio of means").unwrap() - 8.571).abs() < 5e-4);
    let said = said(&section);
    assert!(
        said.contains("lies 0.478 above the ratio of means, 8.571"),
        "{said}"
    );
}

#[test]
fn eight_spurs_of_two_shoots_with_two_clusters_carry_thirty_two() {
    // Common practice, no source: 8 two-node spurs, 2 shoots a spur, 2 clusters a shoot.
    let (spurs, shoots_a_spur, clusters_a_shoot) = (8.0, 2.0, 2.0);
    let shoots = spurs * shoots_a_spur;
    let clusters = shoots * clusters_a_shoot;
    assert_eq!(clusters, 32.0);
    let rows = [
        Row(&["spur"], Some(clusters), Some(shoots)),
        Row(&["spur"], Some(clusters + 2.0), Some(shoots + 1.0)),
        Row(&["spur"], Some(clusters - 2.0), Some(shoots - 1.0)),
    ];
    let made = factor("system", Role::Treatment, &["spur"]);
    let mut call = call(
        DesignKind::CompletelyRandomised,
        vec![made],
        &["system"],
        &rows,
    );
    call.request.trial.ratios[0].index = None;
    call.request.trial.ratios[0].unit = "clusters/shoot".to_owned();
    let section = section(&call);
    let shown = table(&section, "treatments");
    // Every plot has the same ratio: the interval is that point and nothing is judged.
    for column in [
        "Ratio of means",
        "95 % from",
        "95 % to",
        "Mean of plot ratios",
    ] {
        assert!(
            (number(shown, "spur", column).unwrap() - 2.0).abs() < 1e-12,
            "{column}"
        );
    }
    assert!(
        shown
            .columns
            .iter()
            .all(|column| column.name != "Published range")
    );
}

#[test]
fn a_cluster_weight_comes_in_grams_from_kilograms() {
    // Kliewer & Dokoozlian 2005, table 4: 9.8, 20.2, 15.9 kg on 69, 225, 299 clusters; 142.0, 89.8
    // and 53.2 g a cluster by division.
    let data = [
        ("spur", 9.8, 69.0),
        ("hedge", 20.2, 225.0),
        ("minimal", 15.9, 299.0),
    ];
    let cells: Vec<[&str; 1]> = data.iter().map(|row| [row.0]).collect();
    let rows: Vec<Row<'_>> = data
        .iter()
        .zip(&cells)
        .map(|((_, y, n), cells)| Row(cells, Some(*y), Some(*n)))
        .collect();
    let made = factor("system", Role::Treatment, &["spur", "hedge", "minimal"]);
    let mut call = call(
        DesignKind::CompletelyRandomised,
        vec![made],
        &["system"],
        &rows,
    );
    let ratio = &mut call.request.trial.ratios[0];
    ratio.index = Some(Index::MeanClusterWeight);
    ratio.scale = 1000.0;
    ratio.unit = "g".to_owned();
    let section = section(&call);
    let shown = table(&section, "treatments");
    for (name, printed) in [("spur", 142.0), ("hedge", 89.8), ("minimal", 53.2)] {
        assert!((number(shown, name, "Ratio of means").unwrap() - printed).abs() < 0.05);
    }
}
