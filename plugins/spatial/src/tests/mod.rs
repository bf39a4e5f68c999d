//! The plugin on a field of wheat that must warn, on a made trial that must not, and at its edges.

use std::path::Path;

use caneplot_plugin::findings::{Cells, Mark, Rank, Section, Table};
use caneplot_plugin::request::{DesignKind, Field, Quantity};
use caneplot_plugin::{Analysis, Data, Findings, validate};
use caneplot_readings::testing::{self, Made, factor, numbers, response, sentence, texts};
use serde_json::{Value as Json, json};

use crate::Spatial;

fn options() -> Json {
    let manifest: Json = serde_json::from_str(Spatial::MANIFEST).unwrap();
    let mut options = json!({});
    for option in manifest["options"].as_array().unwrap() {
        options[option["name"].as_str().unwrap()] = option["default"].clone();
    }
    options
}

fn placed(mut made: Made, spans: bool) -> Made {
    made.options = options();
    made.trial.field = Some(Field { spans });
    made
}

fn found(made: &Made) -> Findings {
    let findings = Spatial.analyse(&made.call()).unwrap();
    validate::check(&findings).unwrap();
    findings
}

fn section<'a>(findings: &'a Findings, id: &str) -> &'a Section {
    findings.sections.iter().find(|one| one.id == id).unwrap()
}

fn headline(section: &Section) -> String {
    let main = section
        .statements
        .iter()
        .filter(|one| one.rank == Rank::Headline);
    let main: Vec<String> = main.map(sentence).collect();
    assert_eq!(main.len(), 1);
    main[0].clone()
}

fn cell(table: &Table, column: &str, row: usize) -> Option<f64> {
    let column = table.columns.iter().find(|one| one.name == column).unwrap();
    match &column.cells {
        Cells::Number { values, .. } | Cells::Probability { values } => values[row],
        other => panic!("{other:?}"),
    }
}

fn table<'a>(section: &'a Section, id: &str) -> &'a Table {
    section.tables.iter().find(|one| one.id == id).unwrap()
}

/// The variety trial of plugins/numerics/tests/reference/README-spatial.md.
fn wheat() -> Made {
    let path =
        Path::new(env!("CARGO_MANIFEST_DIR")).join("../numerics/tests/reference/spatial/wheat.csv");
    let text = std::fs::read_to_string(path).unwrap();
    let rows: Vec<Vec<&str>> = text
        .lines()
        .skip(1)
        .map(|l| l.split(',').collect())
        .collect();
    let column = |at: usize| -> Vec<&str> { rows.iter().map(|row| row[at]).collect() };
    let number = |at: usize| -> Vec<f64> { rows.iter().map(|r| r[at].parse().unwrap()).collect() };
    let mut varieties = column(1);
    varieties.sort_unstable();
    varieties.dedup();
    let plots = testing::table(
        "plots",
        vec![
            ("block", texts(column(0))),
            ("plot", texts(0..rows.len())),
            ("variety", texts(column(1))),
            ("yield", numbers(number(4))),
            ("field_row", numbers(number(2))),
            ("field_first", numbers(number(3))),
            ("field_last", numbers(number(3))),
            ("field_position", numbers(number(3))),
        ],
    );
    let variety = factor("variety", "Variety", &varieties, None);
    let made = Made::new(DesignKind::RandomisedBlock, vec![variety], plots);
    placed(
        made.with(response("yield", "Yield", "bu", Quantity::Yield)),
        false,
    )
}

#[test]
fn a_field_of_wheat_with_alike_neighbours_is_warned_of() {
    let findings = found(&wheat());
    let own = section(&findings, "yield");
    let neighbours = table(own, "neighbours");
    // 0.455 is the correlation of adjacent plots of this set by reference/spatial/spatial.json.
    assert!((cell(neighbours, "Correlation", 0).unwrap() - 0.4545).abs() < 0.0001);
    assert_eq!(cell(neighbours, "P", 2), Some(1.0 / 2000.0));
    let main = headline(own);
    assert!(
        main.starts_with("Yield rises by 14.6 bu from position 1 to 22 (P < 0.001), beyond what"),
        "{main}"
    );
    let overview = headline(section(&findings, "overview"));
    assert!(
        overview.contains(
            "Something is left in the field that the blocks do not take up: a slope in yield"
        ),
        "{overview}"
    );
    // 56 varieties would not differ; at equal places they do.
    let text = testing::text(&findings);
    assert!(
        text.contains("differences between levels of variety change by at most"),
        "{text}"
    );
    assert!(text.contains("% off the error variance"), "{text}");
}

/// Five blocks, a row each, of four treatments; the values are a hash of the plot, so without a place.
fn trial(slope: f64) -> Made {
    let order = [0, 1, 2, 3, 2, 0, 3, 1, 1, 3, 0, 2, 3, 2, 1, 0, 0, 2, 3, 1];
    let levels = ["12", "24", "36", "48"];
    let noise = |plot: u32| f64::from(plot.wrapping_mul(2_654_435_761) >> 20) / 4096.0;
    let position = |plot: u32| f64::from(plot % 4);
    let plots = testing::table(
        "plots",
        vec![
            ("block", texts((0..20).map(|plot| plot / 4))),
            ("plot", texts((0..20).map(|plot| plot % 4))),
            ("nodes", texts(order.map(|at: usize| levels[at]))),
            (
                "yield",
                numbers((0..20).map(|plot| noise(plot) + slope * position(plot))),
            ),
            (
                "field_row",
                numbers((0..20).map(|plot| f64::from(plot / 4 * 2))),
            ),
            (
                "field_first",
                numbers((0..20).map(|plot| 6.0 * position(plot) + 1.0)),
            ),
            (
                "field_last",
                numbers((0..20).map(|plot| 6.0 * position(plot) + 4.0)),
            ),
            (
                "field_position",
                numbers((0..20).map(|plot| 6.0 * position(plot) + 2.5)),
            ),
        ],
    );
    let nodes = factor("nodes", "Nodes left", &levels, Some("24"));
    let made = Made::new(DesignKind::RandomisedBlock, vec![nodes], plots);
    placed(
        made.with(response("yield", "Yield", "kg/vine", Quantity::Yield)),
        true,
    )
}

#[test]
fn an_even_field_is_called_so_with_what_was_tested() {
    let findings = found(&trial(0.0));
    let own = section(&findings, "yield");
    let main = headline(own);
    assert!(main.starts_with("In yield no clear slope (P = "), "{main}");
    let text = testing::text(&findings);
    assert!(
        text.contains("A slope across the rows is not tested: treatments and blocks"),
        "{text}"
    );
    assert!(text.contains("The blocks did their work"), "{text}");
    // The maps: a cell of four vines for each plot, lines between the five blocks.
    let [values, map] = own.figures.as_slice() else {
        panic!("two maps");
    };
    assert_eq!(
        (values.panels.len(), map.panels.len(), map.columns),
        (1, 2, 2)
    );
    let Mark::Cells { x, widths, .. } = &map.panels[0].marks[0] else {
        panic!("cells first");
    };
    assert_eq!((x[1], widths[1]), (8.5, 4.0));
    assert_eq!(map.panels[0].marks.len(), 1 + 4 * 4);
}

#[test]
fn a_slope_along_the_rows_is_told_with_its_size_and_what_it_does_to_treatments() {
    let findings = found(&trial(2.0));
    let own = section(&findings, "yield");
    let main = headline(own);
    assert!(main.starts_with("Yield rises by "), "{main}");
    assert!(main.contains("from position 2.5 to 20.5"), "{main}");
    let slopes = table(own, "slopes");
    assert!(cell(slopes, "P", 0).is_none() && cell(slopes, "P", 1).unwrap() < 0.001);
    assert!((cell(slopes, "Change", 1).unwrap() - 6.0).abs() < 1.0);
    let treatments = table(own, "treatments");
    assert_eq!(treatments.groups, [0]);
    let errors =
        ["Standard error", "Standard error, with"].map(|c| cell(treatments, c, 1).unwrap());
    assert!(errors[1] < errors[0], "{errors:?}");
}

fn set(made: &mut Made, column: &str, row: usize, value: Option<f64>) {
    for (name, data) in &mut made.plots.columns {
        if let (true, Data::Numbers(values)) = (name == column, data) {
            values[row] = value;
        }
    }
}

#[test]
fn plots_without_a_value_or_a_place_are_named_and_left_out() {
    let mut made = trial(0.0);
    set(&mut made, "yield", 3, None);
    for column in ["field_row", "field_first", "field_last", "field_position"] {
        set(&mut made, column, 7, None);
    }
    let findings = found(&made);
    // The plot that lacks only its value stands in the maps, empty.
    for map in &section(&findings, "yield").figures {
        assert_eq!(
            map.foot.as_deref(),
            Some("Empty with a dashed outline: a plot without a value.")
        );
        let outlines = map.panels[0].marks.iter();
        let outlines = outlines.filter(|mark| matches!(mark, Mark::Line { dashed: true, .. }));
        assert_eq!(outlines.count(), 1);
    }
    let text = testing::text(&findings);
    assert!(
        text.contains("Left out for want of a value in some season: plot 3 of block 0"),
        "{text}"
    );
    assert!(
        text.contains("Without a place in the field and left out: plot 3 of block 1"),
        "{text}"
    );
    assert!(text.contains("18 plots"), "{text}");
}

#[test]
fn a_constant_response_is_refused_and_the_others_go_on() {
    let mut made = trial(0.0);
    let same = response("ph", "pH", "pH", Quantity::Ph);
    made = made.with(same);
    made.plots
        .columns
        .push(("ph".to_owned(), numbers([3.2; 20])));
    let findings = found(&made);
    let refused = sentence(&section(&findings, "ph").statements[0]);
    assert!(
        refused.starts_with("The field is not looked at for pH: treatments and blocks reproduce"),
        "{refused}"
    );
    assert_eq!(section(&findings, "yield").figures.len(), 2);
}

#[test]
fn a_distance_in_metres_needs_the_spacing() {
    let mut made = trial(0.0);
    made.options["distance"] = json!(9.5);
    let refusal = Spatial.analyse(&made.call()).unwrap_err();
    assert!(
        refusal.message.contains("spacing of rows and vines"),
        "{refusal}"
    );
    made.trial.vineyard.row_spacing_m = Some(2.4);
    made.trial.vineyard.vine_spacing_m = Some(1.5);
    // Middles are 9 m apart in the row, and rows two apart 4.8 m.
    let neighbours = |made: &Made| -> Vec<Option<i64>> {
        let findings = found(made);
        let table = table(section(&findings, "yield"), "neighbours").clone();
        let Cells::Count { values } = &table.columns[1].cells else {
            panic!("pairs are counted");
        };
        values.clone()
    };
    assert_eq!(neighbours(&made), [Some(15), Some(16), Some(31)]);
    made.options["distance"] = json!(8.5);
    assert_eq!(neighbours(&made), [Some(16), Some(16)]);
}

#[test]
fn a_trial_without_places_is_refused() {
    let mut made = trial(0.0);
    made.trial.field = None;
    let refusal = Spatial.analyse(&made.call()).unwrap_err();
    assert!(refusal.message.contains("does not say where its plots lie"));
}
