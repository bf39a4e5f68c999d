//! What a reader gets: sentences, exclusions, figures, refusals.

use caneplot_plugin::findings::{Mark, Rank, Scale};
use caneplot_plugin::request::{Canopy, DesignKind, Role};
use caneplot_plugin::{Analysis, Manifest};

use super::call::*;
use crate::Ratios;

/// Nodes 12 and 24 in three blocks and two seasons; yields and prunings invented.
fn nodes_call(change: impl Fn(usize, &mut Option<f64>, &mut Option<f64>)) -> caneplot_plugin::Call {
    let mut cells = Vec::new();
    let mut values = Vec::new();
    for season in ["2021", "2022"] {
        for block in ["B1", "B2", "B3"] {
            for nodes in ["12", "24"] {
                let at = cells.len();
                let noise = ((at * 7) % 5) as f64 / 10.0;
                let (mut y, mut w) = if nodes == "12" {
                    (Some(3.0 + noise), Some(1.2 - noise / 8.0))
                } else {
                    (Some(5.0 + noise), Some(0.8 + noise / 8.0))
                };
                change(at, &mut y, &mut w);
                cells.push([block, nodes, season, if nodes == "12" { "p" } else { "q" }]);
                values.push((y, w));
            }
        }
    }
    let plots: Vec<Vec<String>> = cells
        .iter()
        .map(|c| {
            vec![
                c[0].to_owned(),
                c[1].to_owned(),
                c[2].to_owned(),
                format!("{}{}", c[0], c[3]),
            ]
        })
        .collect();
    let texts: Vec<Vec<&str>> = plots
        .iter()
        .map(|c| c.iter().map(String::as_str).collect())
        .collect();
    let rows: Vec<Row<'_>> = texts
        .iter()
        .zip(&values)
        .map(|(c, (y, w))| Row(c, *y, *w))
        .collect();
    let mut nodes = factor("nodes", Role::Treatment, &["12", "24"]);
    nodes.label = "Nodes left".to_owned();
    nodes.unit = Some("nodes/vine".to_owned());
    for level in &mut nodes.levels {
        level.value = level.name.parse().ok();
    }
    let names = ["block", "nodes", "season", "plot"];
    let mut call = call(DesignKind::RandomisedBlock, vec![nodes], &names, &rows);
    call.request.trial.vineyard.canopy = Some(Canopy::Single);
    call.request.trial.vineyard.grape = Some("vinifera".to_owned());
    call
}

#[test]
fn the_manifest_is_one_the_program_accepts() {
    let manifest = Manifest::read(Ratios::MANIFEST).unwrap();
    assert_eq!(manifest.name, "ratios");
    assert!(manifest.needs.ratio);
}

#[test]
fn the_headline_has_every_treatment_with_its_interval_and_the_range_with_its_source() {
    let section = section(&nodes_call(|_, _, _| {}));
    let headlines: Vec<String> = section
        .statements
        .iter()
        .filter(|s| s.rank == Rank::Headline)
        .map(plain)
        .collect();
    assert_eq!(headlines.len(), 2, "{headlines:?}");
    assert!(headlines[0].starts_with(
        "Yield to pruning weight over the 2 seasons 2021 to 2022 (95 % interval in brackets): "
    ));
    assert!(headlines[0].contains(") for 12 nodes/vine; "));
    assert!(headlines[1].contains("4–10 kg/kg for single canopies (Kliewer & Dokoozlian 2005"));
    assert!(headlines[1].contains("for 12 nodes/vine"));
    assert!(noted(&section).contains("is no test of treatments"));
}

#[test]
fn a_numeric_factor_is_drawn_at_its_levels_with_the_range_behind_it() {
    let section = section(&nodes_call(|_, _, _| {}));
    let panel = &section.figures[0].panels[0];
    let Scale::Linear { ticks, .. } = &panel.x.scale else {
        panic!("not a quantity");
    };
    assert_eq!(ticks, &[12.0, 24.0]);
    assert_eq!(panel.x.title, "Nodes left (nodes/vine)");
    assert!(
        matches!(&panel.marks[0], Mark::Zone { low, high, .. } if (*low, *high) == (4.0, 10.0))
    );
    assert!(
        section.figures[0]
            .caption
            .contains("n = 3 plots a treatment")
    );
    assert_eq!(
        section.figures[1].series,
        ["12 nodes/vine", "24 nodes/vine"]
    );
}

#[test]
fn zero_and_missing_denominators_are_left_out_and_named() {
    let section = section(&nodes_call(|at, _, w| match at {
        0 => *w = Some(0.0),
        3 => *w = None,
        _ => {}
    }));
    let noted = noted(&section);
    assert!(
        noted.contains(
            "because pruning weight is not above zero, so that no ratio exists: in 2021 plot B1p"
        ),
        "{noted}"
    );
    assert!(
        noted.contains("for want of pruning weight: in 2021 plot B2q"),
        "{noted}"
    );
    assert!(
        noted.contains("because a season is missing: plots B1p and B2q"),
        "{noted}"
    );
    assert_eq!(
        number(table(&section, "treatments"), "12 nodes/vine", "Plots"),
        Some(2.0)
    );
}

#[test]
fn a_season_without_prunings_is_named_once() {
    let section = section(&nodes_call(|at, _, w| {
        if at >= 6 {
            *w = None;
        }
    }));
    let noted = noted(&section);
    assert!(
        noted.contains("for want of pruning weight: the whole season 2022 (6 plots)"),
        "{noted}"
    );
    assert!(said(&section).contains("Yield to pruning weight in 2021 ("));
    assert_eq!(
        section.tables.iter().filter(|t| t.id == "seasons").count(),
        0
    );
}

#[test]
fn a_ratio_without_any_plot_has_a_section_that_says_so() {
    let section = section(&nodes_call(|_, y, _| *y = None));
    assert!(section.tables.is_empty());
    let said = said(&section);
    assert!(
        said.contains("no plot has both yield and pruning weight in the same season"),
        "{said}"
    );
}

#[test]
fn nothing_below_the_line_is_said_so() {
    let section = section(&nodes_call(|_, _, w| *w = Some(0.0)));
    assert!(section.tables.is_empty());
    let said = said(&section);
    assert!(
        said.contains("pruning weight is not above zero in any plot"),
        "{said}"
    );
}

#[test]
fn copied_plots_have_ratios_and_no_interval() {
    // Rows run block by block, so every block gets the values of the first.
    let section = section(&nodes_call(|at, y, w| {
        let treatment = (at % 2) as f64;
        *y = Some(4.0 + treatment);
        *w = Some(0.9 - 0.1 * treatment);
    }));
    let noted = noted(&section);
    assert!(
        noted.contains("plots treated alike differ by exactly nothing"),
        "{noted}"
    );
    assert!(section.tables.iter().all(|table| table.id != "intervals"));
    assert!(!said(&section).contains("interval"), "{}", said(&section));
}

#[test]
fn an_undeclared_canopy_lists_the_ranges_and_judges_nothing() {
    let mut call = nodes_call(|_, _, _| {});
    call.request.trial.vineyard.canopy = None;
    let section = section(&call);
    let said = said(&section);
    assert!(
        said.contains("There is no verdict on any treatment: the trial does not say"),
        "{said}"
    );
    assert!(!said.contains("Beside the published range"));
    let ranges = table(&section, "ranges");
    // Single, divided and three trials; Concord's is not for vinifera.
    assert_eq!(ranges.columns[0].cells.len(), 5);
    assert!(
        !section.figures[0].panels[0]
            .marks
            .iter()
            .any(|m| matches!(m, Mark::Zone { .. }))
    );
}

#[test]
fn hedged_vines_alone_get_no_range_anywhere() {
    let mut call = nodes_call(|_, _, _| {});
    call.request.trial.vineyard.canopy = Some(Canopy::Hedged);
    let section = section(&call);
    assert!(section.tables.iter().all(|t| t.id != "ranges"));
    assert!(
        !section.figures[0].panels[0]
            .marks
            .iter()
            .any(|m| matches!(m, Mark::Zone { .. }))
    );
    assert!(!said(&section).contains("kg/kg for"));
}

#[test]
fn the_level_is_the_readers_choice_within_reason() {
    let mut call = nodes_call(|_, _, _| {});
    let width = |call: &caneplot_plugin::Call, level: &str| {
        let section = section(call);
        let shown = table(&section, "treatments");
        number(shown, "12 nodes/vine", &format!("{level} % to")).unwrap()
            - number(shown, "12 nodes/vine", &format!("{level} % from")).unwrap()
    };
    let wide = width(&call, "95");
    call.request.options = serde_json::json!({ "level": 0.8, "bootstrap": 0 });
    assert!(width(&call, "80") < wide);
    call.request.options = serde_json::json!({ "level": 1.0, "bootstrap": 0 });
    assert!(Ratios.analyse(&call).unwrap_err().hint.is_some());
}

#[test]
fn a_label_with_braces_stays_a_label() {
    let mut call = nodes_call(|_, _, _| {});
    call.request.trial.ratios[0].label = "Yield {per} prunings".to_owned();
    assert!(said(&section(&call)).contains("Yield {{per}} prunings"));
}

#[test]
fn the_same_plot_twice_in_a_season_is_refused() {
    let mut call = nodes_call(|_, _, _| {});
    let columns = &mut call.tables[0].columns;
    let at = columns
        .iter()
        .position(|(name, _)| name == "season")
        .unwrap();
    let caneplot_plugin::Data::Texts(cells) = &mut columns[at].1 else {
        panic!("seasons are words");
    };
    cells[6] = Some("2021".to_owned());
    let refusal = Ratios.analyse(&call).unwrap_err();
    assert!(
        refusal
            .message
            .contains("plot B1p has two records of one season")
    );
}

/// Four systems with two node numbers in three blocks, sub plots in whole plots; invented.
fn systems_call() -> caneplot_plugin::Call {
    let systems = ["HT", "SC", "TC", "CP"];
    let mut cells = Vec::new();
    let mut values = Vec::new();
    for (at, block) in ["B1", "B2", "B3"].iter().enumerate() {
        for (number, system) in systems.iter().enumerate() {
            for (sub, nodes) in ["24", "40"].iter().enumerate() {
                let noise = ((at * 5 + number * 3 + sub * 7) % 8) as f64 / 40.0;
                cells.push([*block, *system, *nodes]);
                values.push((
                    5.0 + sub as f64 + noise,
                    0.9 + number as f64 / 100.0 - noise / 9.0,
                ));
            }
        }
    }
    let rows: Vec<Row<'_>> = cells
        .iter()
        .zip(&values)
        .map(|(c, (y, w))| Row(c, Some(*y), Some(*w)))
        .collect();
    let mut system = factor("system", Role::WholePlot, &systems);
    system.levels[0].canopy = Some(Canopy::FreeStanding);
    let factors = vec![system, factor("nodes", Role::SubPlot, &["24", "40"])];
    let mut call = call(
        DesignKind::SplitPlot,
        factors,
        &["block", "system", "nodes"],
        &rows,
    );
    call.request.trial.vineyard.canopy = Some(Canopy::Single);
    call
}

#[test]
fn many_treatments_are_told_by_their_extremes_and_margins_by_name() {
    let section = section(&systems_call());
    let said = said(&section);
    assert!(
        said.contains(" ran from ") && said.contains("with 24"),
        "{said}"
    );
    assert!(
        said.contains("inside it for all 6 treatments held against it"),
        "{said}"
    );
    assert!(
        said.contains("no verdict on HT with 24 and HT with 40: these vines stand free"),
        "{said}"
    );
    assert!(
        said.contains("Yield to pruning weight by nodes ("),
        "{said}"
    );
    let shown = table(&section, "treatments");
    assert_eq!(shown.groups, [0, 8, 12]);
    assert_eq!(
        words(shown, "nodes: 40", "Published range"),
        "no verdict: several canopies"
    );
    assert_eq!(
        words(shown, "system: HT", "Published range"),
        "no verdict: free-standing vines"
    );
}

#[test]
fn two_factors_are_drawn_with_one_as_series() {
    let section = section(&systems_call());
    let figure = &section.figures[0];
    assert_eq!(figure.series, ["HT", "SC", "TC", "CP"]);
    let Scale::Category { labels } = &figure.panels[0].x.scale else {
        panic!("not named places");
    };
    assert_eq!(labels, &["24", "40"]);
}

#[test]
fn results_for_programs_are_the_cells_of_the_table() {
    let section = section(&nodes_call(|_, _, _| {}));
    let shown = table(&section, "treatments");
    let overall = &section.estimates[0];
    assert_eq!(overall.factors, ["nodes"]);
    for one in &overall.treatments {
        let row = format!("{} nodes/vine", one.levels[0]);
        assert_eq!(number(shown, &row, "Ratio of means"), Some(one.value));
        assert_eq!(number(shown, &row, "95 % from"), one.low);
        assert_eq!(number(shown, &row, "95 % to"), one.high);
        assert_eq!(number(shown, &row, "Plots"), Some(f64::from(one.plots)));
    }
    let seasons: Vec<_> = section.estimates.iter().map(|one| &one.season).collect();
    assert_eq!(
        seasons,
        [&None, &Some("2021".to_owned()), &Some("2022".to_owned())]
    );
    let range = &overall.ranges[0];
    assert_eq!((range.low, range.high), (4.0, 10.0));
    assert_eq!(range.treatments, [0, 1]);
    assert_eq!(range.source, "kliewer-dokoozlian-2005");
}
