//! Places of plots, from the folder to the report: a slope that the blocks do not take up is found, and
//! a mixed model takes it out.

use std::fmt::Write as _;

use serde_json::Value as Json;

use crate::support::{Scratch, said, section, table};

const TRIAL: &str = "[trial]\ntitle = \"A slope\"\nquestion = \"Do the levels differ?\"\nseed = 7\n\
    [design]\nkind = \"randomised block\"\nblock = \"block\"\nplot = \"plot\"\n\
    [field]\nrow = \"vineyard_row\"\nfirst = \"first_position\"\nlast = \"last_position\"\n\
    [factors.nodes]\nlevels = [12, 24, 36]\ncontrol = 24\n\
    [[data]]\nfile = \"layout.csv\"\n[[data]]\nfile = \"harvest.csv\"\n\
    [responses.yield]\ncolumn = \"kg\"\nunit = \"kg/vine\"\n";

/// Six blocks, each a row of six plots of four vines: every level twice. Crop rises by 0.02 kg a
/// position.
fn sloped() -> Scratch {
    let scratch = Scratch::new();
    let mut layout =
        String::from("block,plot,vineyard_row,first_position,last_position,positions,nodes\n");
    let mut harvest = String::from("block,plot,kg\n");
    let orders = [[0, 1, 2, 2, 0, 1], [2, 0, 1, 0, 1, 2], [1, 2, 0, 1, 2, 0]];
    let noise = [3, -5, 1, 4, -2, -1, 2, -4, 5, 0, -3, 1, -1, 4, -2, 3, 0];
    for block in 0..6 {
        for plot in 0..6 {
            let (name, first) = (101 + 100 * block + plot, 6 * plot + 2);
            let level = orders[block % 3][plot];
            let _ = writeln!(
                layout,
                "B{},{name},{},{first},{},{first} to {},{}",
                block + 1,
                block + 3,
                first + 3,
                first + 3,
                [12, 24, 36][level]
            );
            let made = i64::try_from(20 * level + 2 * first).expect("small");
            let hundredths = 300 + made + 4 * noise[(7 * block + plot) % 17];
            let _ = writeln!(
                harvest,
                "B{},{name},{}.{:02}",
                block + 1,
                hundredths / 100,
                hundredths % 100
            );
        }
    }
    scratch.write("trial.toml", TRIAL);
    scratch.write("layout.csv", &layout);
    scratch.write("harvest.csv", &harvest);
    scratch
}

fn headline(section: &Json) -> &str {
    section["statements"][0]["text"]
        .as_str()
        .expect("a sentence")
}

#[test]
fn a_slope_along_the_rows_is_found_shown_and_taken_out() {
    let scratch = sloped();
    let findings = scratch.findings();
    let own = section(&findings, "spatial", "yield");
    let main = headline(own);
    assert!(
        main.contains("rises by") && main.contains("from position 3.5 to 33.5"),
        "{main}"
    );
    // 30 positions of 0.02 kg.
    let change = &table(own, "slopes")["columns"][1]["cells"]["values"][1];
    assert!(
        (change.as_f64().expect("a number") - 0.6).abs() < 0.1,
        "{change}"
    );
    let analyses = findings["analyses"].as_array().expect("analyses").iter();
    let spatial = analyses.clone().find(|one| one["name"] == "spatial");
    let overview = &spatial.expect("the look")["findings"]["sections"][0];
    assert!(headline(overview).contains("that the blocks do not take up"));
    for map in ["spatial-yield-values.png", "spatial-yield-left.svg"] {
        assert!(scratch.report().join("figures").join(map).exists(), "{map}");
    }
    let report = std::fs::read_to_string(scratch.report().join("report.md")).expect("a report");
    assert!(report.contains("- `spatial` is run: the places of plots in the field are known."));

    scratch.change(
        "trial.toml",
        "[factors.nodes]",
        "[analyses]\nmixed = { field_trend = \"linear\" }\n[factors.nodes]",
    );
    let findings = scratch.findings();
    let mixed = section(&findings, "mixed", "yield");
    let slopes = table(mixed, "covariates");
    assert_eq!(
        slopes["columns"][0]["cells"]["values"][0],
        "Position in the row"
    );
    let slope = slopes["columns"][2]["cells"]["values"][0]
        .as_f64()
        .expect("a number");
    assert!((slope - 0.02).abs() < 0.004, "{slope}");
    let text = mixed.to_string();
    assert!(text.contains("Not adjusted for vineyard row: it does not vary inside blocks"));
}

#[test]
fn two_plots_in_one_place_stop_the_run_at_both_cells() {
    let scratch = sloped();
    scratch.change("layout.csv", "B2,203,4,14,17", "B2,203,4,11,17");
    let output = scratch.run();
    assert!(!output.status.success());
    let said = said(&output);
    for part in [
        "plots 202 and 203 both lie at position 11 of row 4",
        "layout.csv, line 10, column 'first_position'",
        "layout.csv, line 9, column 'first_position'",
    ] {
        assert!(said.contains(part), "{part}\n{said}");
    }
}

#[test]
fn a_field_without_a_column_points_at_its_line_and_the_nearest_heading() {
    let scratch = sloped();
    scratch.change("trial.toml", "\"vineyard_row\"", "\"vinyard_row\"");
    let output = scratch.run();
    assert!(!output.status.success());
    let said = said(&output);
    for part in [
        "no data file has a column 'vinyard_row'",
        "trial.toml",
        "write \"vineyard_row\"",
    ] {
        assert!(said.contains(part), "{part}\n{said}");
    }
}
