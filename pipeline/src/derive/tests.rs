//! The tables, from files on disk to numbers.

use polars::prelude::DataFrame;

use super::Derived;
use crate::load::testing::*;

fn numbers(frame: &DataFrame, name: &str) -> Vec<Option<f64>> {
    frame.column(name).unwrap().f64().unwrap().iter().collect()
}

fn whole(frame: &DataFrame, name: &str) -> Vec<Option<i64>> {
    frame.column(name).unwrap().i64().unwrap().iter().collect()
}

fn texts(frame: &DataFrame, name: &str) -> Vec<String> {
    frame
        .column(name)
        .unwrap()
        .str()
        .unwrap()
        .iter()
        .map(|text| text.unwrap_or("-").to_owned())
        .collect()
}

fn response<'a>(derived: &'a Derived, name: &str) -> &'a caneplot_plugin::request::Response {
    derived
        .info
        .responses
        .iter()
        .find(|response| response.name == name)
        .unwrap()
}

/// Offset and number put together again, rounded to nine decimals.
fn values(derived: &Derived, name: &str) -> Vec<Option<f64>> {
    let offset = response(derived, name).offset;
    let rounded = |value: f64| ((value + offset) * 1e9).round() / 1e9;
    numbers(&derived.plots, name)
        .into_iter()
        .map(|value| value.map(rounded))
        .collect()
}

#[test]
fn plots_come_in_the_order_people_count_and_centred_on_a_value_of_the_data() {
    let text = harvest()
        .replace("B4", "B10")
        .replace(",3.1\n", ",1000000000000.4\n")
        .replace(",4.1\n", ",1000000000000.3\n");
    let derived = Bench::new(&blocks("", HARVEST), &[("harvest.csv", &text)]).derived();
    assert_eq!(texts(&derived.plots, "block")[9..], ["B10", "B10", "B10"]);
    assert_eq!(texts(&derived.plots, "nodes")[..3], ["12", "24", "36"]);
    let yields = response(&derived, "yield");
    assert_eq!((yields.offset_text.as_str(), yields.decimals), ("4.4", 2));
    assert!(derived.vines.is_none());
    assert_eq!(
        derived.plots.get_column_names(),
        ["block", "plot", "nodes", "yield"]
    );
}

/// The hardest one-way set of the NIST Statistical Reference Datasets (SmLs09) has numbers like these.
#[test]
fn decimals_far_from_zero_are_centred_without_losing_a_digit() {
    let mut text = String::from("block,plot,nodes,kg\n");
    for (at, end) in ["4", "3", "2", "5", "4", "4", "3", "5", "4"]
        .iter()
        .enumerate()
    {
        text.push_str(&format!(
            "B{},P{at},{},1000000000000.{end}\n",
            at / 3,
            [12, 24, 36][at % 3]
        ));
    }
    let trial = blocks(
        "",
        &HARVEST.replace("unit = \"kg/vine\"", "unit = \"g/vine\""),
    );
    let derived = Bench::new(&trial, &[("harvest.csv", &text)]).derived();
    assert_eq!(response(&derived, "yield").offset_text, "1000000000000.4");
    let expected = [0.0, -0.1, -0.2, 0.1, 0.0, 0.0, -0.1, 0.1, 0.0].map(Some);
    assert_eq!(numbers(&derived.plots, "yield"), expected);
}

#[test]
fn the_unit_of_the_report_multiplies_offset_and_numbers_exactly() {
    let trial = blocks(
        "",
        &HARVEST.replace(
            "unit = \"kg/vine\"",
            "unit = \"lb/vine\"\nreport_in = \"kg/vine\"",
        ),
    );
    let derived = Bench::new(&trial, &[("harvest.csv", &harvest())]).derived();
    let yields = response(&derived, "yield");
    // 1 lb = 0.45359237 kg by the International Yard and Pound Agreement (1959); 4.2 lb is the median.
    assert_eq!(yields.offset_text, "1.905087954");
    assert_eq!(yields.unit, "kg/vine");
    assert_eq!(numbers(&derived.plots, "yield")[0], Some(-0.498951607));
}

const VINES: &str = "[[data]]\nfile = \"vines.csv\"\n[status]\ncolumn = \"state\"\n\
    [responses.yield]\ncolumn = \"kg\"\nunit = \"kg/vine\"\n\
    [responses.clusters]\nunit = \"clusters/vine\"\n\
    [responses.broken]\ncolumn = \"shoots\"\nof = \"buds\"\n";

/// Three vines a plot; in the first plot one is dead, one replanted.
fn vines() -> String {
    let mut text = String::from("block,plot,vine,nodes,state,kg,clusters,shoots,buds\n");
    for block in 1..=2 {
        for (at, nodes) in [12, 24, 36].iter().enumerate() {
            for vine in 1..=3 {
                let end = match (block, at, vine) {
                    (1, 0, 2) => "dead,,,,".to_owned(),
                    (1, 0, 3) => "young,0.5,4,3,4".to_owned(),
                    _ => format!("alive,{vine}.5,{},{},{}", 10 * vine, 8 + vine, 10 + vine),
                };
                text.push_str(&format!("{block},P{block}{at},{vine},{nodes},{end}\n"));
            }
        }
    }
    text
}

#[test]
fn living_vines_make_the_mean_and_gaps_make_the_planted_space() {
    let derived = Bench::new(
        &blocks("vine = \"vine\"", VINES),
        &[("vines.csv", &vines())],
    )
    .derived();
    assert_eq!(
        whole(&derived.plots, "vines_alive")[..2],
        [Some(1), Some(3)]
    );
    assert_eq!(
        whole(&derived.plots, "vines_planted")[..2],
        [Some(3), Some(3)]
    );
    assert_eq!(values(&derived, "yield")[..2], [Some(1.5), Some(2.5)]);
    assert_eq!(
        values(&derived, "yield_per_space")[..2],
        [Some(0.5), Some(2.5)]
    );
    let spaces = response(&derived, "yield_per_space");
    assert_eq!(spaces.basis, caneplot_plugin::request::Basis::PlantedSpace);
    assert_eq!(spaces.label, "Yield, per planted space");
    assert!(
        !derived
            .info
            .responses
            .iter()
            .any(|response| response.name == "broken_per_space")
    );
    let table = derived.vines.as_ref().unwrap();
    assert_eq!(table.height(), 16);
    assert_eq!(texts(table, "vine")[..4], ["1", "1", "2", "3"]);
    assert_eq!(
        table.get_column_names()[..4],
        ["block", "plot", "vine", "nodes"]
    );
    let remarks = shown(&derived.remarks);
    assert!(
        remarks.contains("1 vine dead (12: 1)") && remarks.contains("1 vine replanted (12: 1)"),
        "{remarks}"
    );
}

#[test]
fn a_diseased_vine_is_no_gap_and_is_not_in_the_mean() {
    let sick = vines().replace("young,0.5,4,3,4", "sick,0.5,4,3,4");
    let bench = Bench::new(&blocks("vine = \"vine\"", VINES), &[("vines.csv", &sick)]);
    let derived = bench.derived();
    assert_eq!(values(&derived, "yield")[..2], [Some(1.5), Some(2.5)]);
    assert_eq!(whole(&derived.plots, "vines_alive")[0], Some(1));
    // The dead vine leaves a gap, the sick one does not: half of two spaces bear.
    assert_eq!(whole(&derived.plots, "vines_planted")[0], Some(2));
    assert_eq!(values(&derived, "yield_per_space")[0], Some(0.75));
    let remarks = shown(&derived.remarks);
    assert!(
        remarks.contains("1 vine diseased (12: 1); they are left out")
            && remarks.contains("their spaces are no gaps"),
        "{remarks}"
    );
    let notes = shown(&bench.checked());
    assert!(notes.contains("vine 3 of plot P10, diseased"), "{notes}");
}

#[test]
fn counts_are_summed_over_living_vines_and_the_response_is_their_percentage() {
    let derived = Bench::new(
        &blocks("vine = \"vine\"", VINES),
        &[("vines.csv", &vines())],
    )
    .derived();
    assert_eq!(
        whole(&derived.plots, "broken__count")[..2],
        [Some(9), Some(30)]
    );
    assert_eq!(
        whole(&derived.plots, "broken__of")[..2],
        [Some(11), Some(36)]
    );
    let broken = response(&derived, "broken");
    assert_eq!((broken.unit.as_str(), broken.decimals), ("%", 1));
    assert_eq!(
        broken.counts,
        Some(("broken__count".to_owned(), "broken__of".to_owned()))
    );
    assert_eq!(values(&derived, "broken")[1], Some(83.333333333));
    assert_eq!(
        whole(derived.vines.as_ref().unwrap(), "broken__of")[0],
        Some(11)
    );
}

#[test]
fn mean_cluster_weight_is_made_of_sums() {
    let derived = Bench::new(
        &blocks("vine = \"vine\"", VINES),
        &[("vines.csv", &vines())],
    )
    .derived();
    // 7.5 kg over 60 clusters.
    assert_eq!(values(&derived, "mean_cluster_weight")[1], Some(125.0));
    assert_eq!(response(&derived, "mean_cluster_weight").unit, "g");
    let ratio = derived
        .info
        .ratios
        .iter()
        .find(|ratio| ratio.name == "mean_cluster_weight")
        .unwrap();
    assert_eq!((ratio.scale, ratio.unit.as_str()), (1000.0, "g"));
}

#[test]
fn a_composite_a_plot_beside_vines_stays_a_plot_value() {
    let trial = blocks(
        "vine = \"vine\"",
        &format!("{VINES}[responses.brix]\nunit = \"Brix\"\n"),
    )
    .replacen(
        "[[data]]\nfile = \"vines.csv\"\n",
        "[[data]]\nfile = \"vines.csv\"\n[[data]]\nfile = \"must.csv\"\n",
        1,
    );
    let must = "plot,brix\nP10,20.1\nP11,21.0\nP12,22\nP20,19.5\nP21,21.5\nP22,23.0\n";
    let derived = Bench::new(&trial, &[("vines.csv", &vines()), ("must.csv", must)]).derived();
    assert_eq!(
        values(&derived, "brix")[..3],
        [Some(20.1), Some(21.0), Some(22.0)]
    );
    let brix = response(&derived, "brix");
    assert!(!brix.on_vines && brix.basis == caneplot_plugin::request::Basis::Plot);
    assert!(derived.vines.unwrap().column("brix").is_err());
}

const WINTERS: &str = "[[data]]\nfile = \"harvest.csv\"\n[[data]]\nfile = \"pruning.csv\"\nwinter = \"WINTER\"\n\
    [responses.yield]\ncolumn = \"kg\"\nunit = \"kg/vine\"\n\
    [responses.pruning_weight]\ncolumn = \"prunings\"\nunit = \"g/vine\"\n\
    [responses.nodes_left]\ncolumn = \"left\"\nunit = \"nodes/vine\"\n";

/// Harvests of 2021 to 2023, and the winters after each of them, labelled `later` years on.
fn winters(later: usize) -> (String, String) {
    let mut harvests = String::from("season,block,plot,nodes,kg\n");
    let mut prunings = String::from("season,plot,prunings,left\n");
    for year in 0..3 {
        for plot in 0..6 {
            let (block, nodes) = (plot / 3, [12, 24, 36][plot % 3]);
            harvests.push_str(&format!(
                "{},{block},P{plot},{nodes},{}.{year}\n",
                2021 + year,
                plot + 2
            ));
            let label = 2021 + year + later;
            prunings.push_str(&format!(
                "{label},P{plot},{}{year}0,{}\n",
                plot + 3,
                nodes + year
            ));
        }
    }
    (harvests, prunings)
}

fn trial_of_winters(winter: &str) -> String {
    in_seasons(
        &blocks("season = \"season\"", &WINTERS.replace("WINTER", winter)),
        "2021-2023",
    )
}

fn bench_of_winters(winter: &str, later: usize) -> Bench {
    let (harvests, prunings) = winters(later);
    Bench::new(
        &trial_of_winters(winter),
        &[("harvest.csv", &harvests), ("pruning.csv", &prunings)],
    )
}

#[test]
fn one_winter_dated_either_way_gives_the_same_table() {
    let after = bench_of_winters("after harvest", 0).derived();
    let before = bench_of_winters("before harvest", 1).derived();
    assert!(after.plots.equals_missing(&before.plots));
    // Prunings belong to the harvest before the winter, nodes left to the one after it.
    assert_eq!(
        values(&after, "pruning_weight")[..3],
        [Some(300.0), Some(310.0), Some(320.0)]
    );
    assert_eq!(
        values(&after, "nodes_left")[..3],
        [None, Some(12.0), Some(13.0)]
    );
    let left_out = shown(&bench_of_winters("after harvest", 0).checked());
    assert!(
        left_out.contains("6 records of '2023' in pruning.csv belong to season 2024"),
        "{left_out}"
    );
}

#[test]
fn a_winter_declared_the_wrong_way_round_is_an_error() {
    for (winter, later, other) in [
        ("after harvest", 1, "before harvest"),
        ("before harvest", 0, "after harvest"),
    ] {
        let found = bench_of_winters(winter, later).checked();
        let fault = only(&found, "seasons-shifted");
        assert!(
            fault
                .message
                .starts_with("seasons look shifted by one winter"),
            "{fault}"
        );
        assert!(
            fault
                .help
                .as_ref()
                .unwrap()
                .contains(&format!("winter = \"{other}\"")),
            "{fault}"
        );
        assert_eq!(grave(&found), ["seasons-shifted"], "{}", shown(&found));
    }
}

#[test]
fn crop_beside_prunings_in_one_file_keeps_its_season() {
    let one_file = |winter: &str, later: usize| {
        let (harvests, prunings) = winters(0);
        let mut text = String::from("season,block,plot,nodes,kg,prunings,left\n");
        for (at, crop) in harvests.lines().enumerate().skip(1) {
            // Before harvest, a row holds the prunings cut in the winter before its crop.
            let row = at.checked_sub(6 * later).filter(|row| *row > 0);
            let winter: Vec<&str> = row
                .and_then(|row| prunings.lines().nth(row))
                .map_or(vec!["", "", "", ""], |line| line.split(',').collect());
            text.push_str(&format!("{crop},{},{}\n", winter[2], winter[3]));
        }
        let trial = trial_of_winters(winter).replace("[[data]]\nfile = \"harvest.csv\"\n", "");
        Bench::new(
            &trial.replace("pruning.csv", "all.csv"),
            &[("all.csv", &text)],
        )
        .derived()
    };
    let (after, before) = (one_file("after harvest", 0), one_file("before harvest", 1));
    for name in ["yield", "nodes_left"] {
        assert_eq!(values(&after, name), values(&before, name), "{name}");
    }
    assert_eq!(
        values(&after, "yield")[..3],
        [Some(2.0), Some(2.1), Some(2.2)]
    );
    assert_eq!(
        values(&after, "pruning_weight")[..3],
        [Some(300.0), Some(310.0), Some(320.0)]
    );
    assert_eq!(
        values(&before, "pruning_weight")[..3],
        [Some(300.0), Some(310.0), None]
    );
}

#[test]
fn nodes_left_alone_are_held_against_the_harvests_too() {
    let only_nodes = |winter: &str, later: usize| {
        let (harvests, prunings) = winters(later);
        let trial = trial_of_winters(winter).replace(
            "[responses.pruning_weight]\ncolumn = \"prunings\"\nunit = \"g/vine\"\n",
            "",
        );
        let files = [
            ("harvest.csv", harvests.as_str()),
            ("pruning.csv", prunings.as_str()),
        ];
        grave(&Bench::new(&trial, &files).checked())
    };
    assert!(only_nodes("before harvest", 0).is_empty());
    assert_eq!(only_nodes("after harvest", 0), ["seasons-shifted"]);
}

#[test]
fn a_response_without_data_is_left_out_with_its_ratios() {
    let trial = blocks(
        "",
        &format!(
            "{HARVEST}[responses.pruning_weight]\ncolumn = \"wood\"\nunit = \"kg/vine\"\n\
             [ratios]\nload = {{ of = \"yield\", per = \"pruning_weight\" }}\n"
        ),
    );
    let text: String = harvest()
        .lines()
        .enumerate()
        .map(|(at, line)| format!("{line},{}\n", if at == 0 { "wood" } else { "" }))
        .collect();
    let derived = Bench::new(&trial, &[("harvest.csv", &text)]).derived();
    assert_eq!(derived.info.responses.len(), 1);
    assert!(derived.info.ratios.is_empty() && derived.plots.column("pruning_weight").is_err());
    assert!(shown(&derived.remarks).contains("'pruning_weight' has no number"));
}

#[test]
fn cluster_weight_of_a_plot_yield_and_clusters_of_vines_is_a_ratio_of_means() {
    let trial = blocks(
        "vine = \"vine\"",
        "[[data]]\nfile = \"harvest.csv\"\n[[data]]\nfile = \"vines.csv\"\n\
         [responses.yield]\ncolumn = \"kg\"\nunit = \"kg/vine\"\n[responses.clusters]\nunit = \"clusters/vine\"\n",
    );
    let vines: String = harvest()
        .lines()
        .skip(1)
        .filter_map(|line| line.split(',').nth(1))
        .map(|plot| format!("{plot},1,30\n{plot},2,10\n"))
        .collect();
    let files = [
        ("harvest.csv", harvest()),
        ("vines.csv", format!("plot,vine,clusters\n{vines}")),
    ];
    let files = files.each_ref().map(|(name, text)| (*name, text.as_str()));
    let derived = Bench::new(&trial, &files).derived();
    // 3.1 kg a vine over 20 clusters a vine.
    assert_eq!(values(&derived, "mean_cluster_weight")[0], Some(155.0));
}

#[test]
fn a_winter_not_declared_on_the_file_that_holds_it_is_an_error() {
    let (harvests, prunings) = winters(0);
    let trial = trial_of_winters("after harvest")
        .replace(
            "file = \"pruning.csv\"\nwinter = \"after harvest\"",
            "file = \"pruning.csv\"",
        )
        .replace(
            "file = \"harvest.csv\"",
            "file = \"harvest.csv\"\nwinter = \"after harvest\"",
        );
    let found = Bench::new(
        &trial,
        &[("harvest.csv", &harvests), ("pruning.csv", &prunings)],
    )
    .checked();
    let fault = only(&found, "winter-undeclared");
    assert!(
        fault.message.contains("pruning.csv")
            && fault.help.as_ref().unwrap().contains("before harvest"),
        "{fault}"
    );
}

#[test]
fn balance_ratios_are_listed_with_scales_of_the_report_units() {
    let derived = bench_of_winters("after harvest", 0).derived();
    let ratio = |name: &str| {
        derived
            .info
            .ratios
            .iter()
            .find(|ratio| ratio.name == name)
            .unwrap()
    };
    // Yield in kg over prunings in g.
    assert_eq!(
        (
            ratio("yield_to_pruning").scale,
            ratio("yield_to_pruning").unit.as_str()
        ),
        (1000.0, "kg/kg")
    );
    let canopy = ratio("pruning_weight_per_canopy");
    assert_eq!(
        (canopy.per_length, canopy.scale, canopy.unit.as_str()),
        (Some(1.6), 0.001, "kg/m")
    );
}

#[test]
fn facts_of_plots_in_a_file_without_seasons_hold_for_all() {
    let (harvests, prunings) = winters(0);
    let harvests: String = harvests
        .lines()
        .map(|line| {
            let cells: Vec<&str> = line.split(',').collect();
            format!("{},{},{}\n", cells[0], cells[2], cells[4])
        })
        .collect();
    let layout = "block,plot,nodes\n0,P0,12\n0,P1,24.0\n0,P2,36\n1,P3,12\n1,P4,24\n1,P5,36\n";
    let trial = trial_of_winters("after harvest").replacen(
        "[[data]]",
        "[[data]]\nfile = \"layout.csv\"\n[[data]]",
        1,
    );
    let files = [
        ("layout.csv", layout),
        ("harvest.csv", harvests.as_str()),
        ("pruning.csv", prunings.as_str()),
    ];
    let derived = Bench::new(&trial, &files).derived();
    assert_eq!(derived.plots.height(), 18);
    assert_eq!(texts(&derived.plots, "nodes")[3..6], ["24", "24", "24"]);
    assert!(
        derived
            .plots
            .equals_missing(&bench_of_winters("after harvest", 0).derived().plots)
    );
}

#[test]
fn no_records_and_huge_numbers_make_tables_too() {
    let derived = Bench::new(
        &blocks("", HARVEST),
        &[("harvest.csv", "block,plot,nodes,kg\n")],
    )
    .derived();
    assert_eq!(derived.plots.height(), 0);
    assert!(shown(&derived.remarks).contains("'yield' has no number"));
    let huge = harvest().replace(",3.", ",70000000000000000000000000003.");
    let trial = blocks(
        "",
        &HARVEST.replace(
            "unit = \"kg/vine\"",
            "unit = \"kg/vine\"\nreport_in = \"g/vine\"",
        ),
    );
    let derived = Bench::new(
        &trial,
        &[(
            "harvest.csv",
            &huge
                .replace(".1", "")
                .replace(".2", "")
                .replace(".3", "")
                .replace(".4", ""),
        )],
    )
    .derived();
    assert!(
        values(&derived, "yield")
            .iter()
            .flatten()
            .all(|value| value.is_finite())
    );
}

proptest::proptest! {
    /// Adding a constant to every decimal leaves the centred numbers as they are, bit for bit.
    #[test]
    fn centred_numbers_do_not_know_how_far_from_zero_they_are(
        steps in proptest::collection::vec(0_u32..2000, 12), far in 0_u64..1_000_000_000_000,
    ) {
        let text = |base: u64| {
            let mut text = String::from("block,plot,nodes,kg\n");
            for (at, step) in steps.iter().enumerate() {
                let (whole, rest) = (base + u64::from(step / 1000), step % 1000);
                text.push_str(&format!("B{},P{at},{},{whole}.{rest:03}\n", at / 3, [12, 24, 36][at % 3]));
            }
            text
        };
        let near = Bench::new(&blocks("", HARVEST), &[("harvest.csv", &text(0))]).derived();
        let away = Bench::new(&blocks("", HARVEST), &[("harvest.csv", &text(far))]).derived();
        proptest::prop_assert_eq!(numbers(&near.plots, "yield"), numbers(&away.plots, "yield"));
    }
}
