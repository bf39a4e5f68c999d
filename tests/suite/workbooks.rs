//! Workbooks of planned trials: read back by readers that are not ours, and filled in instead of the
//! CSV sheets.

use std::fs;
use std::path::Path;
use std::process::Command;

use calamine::{Data, Reader, Xlsx, open_workbook};
use serde_json::{Value as Json, json};

use crate::plan::{NODES, Place, plan};
use crate::support::{caneplot, root, said};

const DESIGN: &str = "kind = \"randomised block\"\nblocks = 4";

fn planned(place: &Place) -> std::path::PathBuf {
    let output = place.plan(&plan(DESIGN, NODES), "trial");
    assert!(output.status.success(), "{}", said(&output));
    place.path("trial")
}

#[test]
fn a_reader_of_workbooks_finds_every_visit_and_block_with_its_keys() {
    let place = Place::new();
    let trial = planned(&place);
    let mut book: Xlsx<_> = open_workbook(trial.join("sheets/2027.xlsx")).expect("a workbook");
    let names = book.sheet_names();
    assert_eq!(names[0], "Read me");
    for kind in [
        "Pruning",
        "Bud break",
        "Bloom",
        "Harvest",
        "Juice",
        "Prunings",
    ] {
        for block in 1..=4 {
            let name = format!("{kind} B{block}");
            assert!(names.contains(&name), "{name} in {names:?}");
        }
    }
    let sheet = book.worksheet_range("Harvest B2").expect("a sheet");
    // Four plots of four vines, and the heading.
    assert_eq!(sheet.height(), 1 + 16);
    let csv = fs::read_to_string(trial.join("harvest.csv")).expect("the same as text");
    let headings: Vec<String> = sheet
        .rows()
        .next()
        .expect("a heading")
        .iter()
        .map(ToString::to_string)
        .collect();
    assert_eq!(
        headings,
        caneplot_tests::fill::fields(csv.lines().next().expect("a heading"))
    );
    let at = |heading: &str| {
        headings
            .iter()
            .position(|one| one == heading)
            .expect("known")
    };
    for row in sheet.rows().skip(1) {
        for number in ["season", "plot", "vine", "vineyard_row", "position"] {
            assert!(
                matches!(row[at(number)], Data::Float(_)),
                "{number}: {row:?}"
            );
        }
        assert_eq!(row[at("block")], Data::String("B2".to_owned()));
        assert_eq!(row[at("crop_kg")], Data::Empty);
    }
}

/// The command of a Python that has the reader; nothing where there is none.
fn python() -> Option<String> {
    let name = std::env::var("CANEPLOT_PYTHON").unwrap_or_else(|_| "python3".to_owned());
    let has = Command::new(&name)
        .args(["-c", "import openpyxl"])
        .output()
        .is_ok_and(|output| output.status.success());
    has.then_some(name)
}

#[test]
fn a_second_reader_finds_the_lists_and_ranges_that_guard_what_is_typed() {
    let Some(python) = python() else {
        eprintln!(
            "skipped: workbooks are not read by a second reader, because there is no python3 with \
             openpyxl (CANEPLOT_PYTHON names another python)"
        );
        return;
    };
    let place = Place::new();
    let trial = planned(&place);
    let output = Command::new(python)
        .arg(root().join("tests/read_workbook.py"))
        .arg(trial.join("sheets/2027.xlsx"))
        .output()
        .expect("python starts");
    assert!(output.status.success(), "{}", said(&output));
    let sheets: Vec<Json> = serde_json::from_slice(&output.stdout).expect("JSON");
    assert_eq!(sheets.len(), 1 + 6 * 4);
    let sheet = sheets
        .iter()
        .find(|sheet| sheet["name"] == "Harvest B3")
        .expect("a sheet");
    assert_eq!(sheet["rows"], 17);
    assert_eq!(sheet["frozen"], "G2");
    assert_eq!(sheet["repeated"], "$1:$1");
    assert_eq!(sheet["landscape"], true);
    let headings: Vec<&str> = sheet["headings"]
        .as_array()
        .expect("headings")
        .iter()
        .filter_map(Json::as_str)
        .collect();
    assert_eq!(
        headings,
        [
            "season",
            "block",
            "plot",
            "vine",
            "vineyard_row",
            "position",
            "status",
            "crop_kg",
            "clusters",
            "date",
            "recorder",
            "note"
        ]
    );
    for (heading, kinds) in [
        ("season", json!(["n"])),
        ("block", json!(["s"])),
        ("plot", json!(["n"])),
        ("position", json!(["n"])),
        ("crop_kg", json!([])),
    ] {
        assert_eq!(sheet["kinds"][heading], kinds, "{heading}");
    }
    assert_eq!(
        sheet["rules"],
        json!([
            {"kind": "list", "cells": "G2:G17", "first": "\"alive,missing,dead,replanted\"", "second": null, "blank": true},
            {"kind": "decimal", "cells": "H2:H17", "first": "0", "second": "200", "blank": true},
            {"kind": "whole", "cells": "I2:I17", "first": "0", "second": "2000", "blank": true},
        ])
    );
}

/// The trial file with the sheets of the workbooks in the place of the CSV files.
fn of_workbooks(trial: &str) -> String {
    let mut text = trial.to_owned();
    for (file, title) in [
        ("pruning.csv", "Pruning"),
        ("budbreak.csv", "Bud break"),
        ("bloom.csv", "Bloom"),
        ("harvest.csv", "Harvest"),
        ("juice.csv", "Juice"),
        ("prunings.csv", "Prunings"),
    ] {
        let own = format!("[[data]]\nfile = \"{file}\"\n");
        let from = text.find(&own).expect("the file is a data file");
        let after = from + own.len();
        // `winter`, where the file has it.
        let to = after + text[after..].find("\n[").expect("there is a next table");
        let keys = text[after..to]
            .lines()
            .filter(|line| line.starts_with("winter"));
        let keys: String = keys.map(|line| format!("{line}\n")).collect();
        let sheets: Vec<String> = (1..=4)
            .map(|block| format!("\"{title} B{block}\""))
            .collect();
        let tables: String = ["2027", "2028"]
            .map(|season| {
                format!(
                    "[[data]]\nfile = \"sheets/{season}.xlsx\"\nsheets = [{}]\n{keys}",
                    sheets.join(", ")
                )
            })
            .concat();
        text.replace_range(from..to, &tables);
    }
    text
}

fn analyses(trial: &Path, out: &Path) -> Json {
    let output = caneplot()
        .arg("run")
        .arg(trial)
        .arg("--out")
        .arg(out)
        .output()
        .expect("the program starts");
    assert!(output.status.success(), "{}", said(&output));
    let text = fs::read_to_string(out.join("trial/findings.json")).expect("findings");
    let findings: Json = serde_json::from_str(&text).expect("JSON");
    findings["analyses"].clone()
}

#[test]
fn records_typed_into_the_workbooks_give_what_the_csv_sheets_give() {
    let place = Place::new();
    let trial = planned(&place);
    caneplot_tests::fill::fill(&trial, 7).expect("filled in");
    let cells = caneplot_tests::fill_workbooks::fill_workbooks(&trial).expect("filled in");
    // Two seasons of 16 plots with 4 vines, a status and a crop among them.
    assert!(cells > 2 * 16 * 4 * 2, "{cells}");
    let of_csv = analyses(&trial, &place.path("csv"));
    let text = fs::read_to_string(trial.join("trial.toml")).expect("a trial file");
    fs::write(trial.join("trial.toml"), of_workbooks(&text)).expect("written");
    for file in [
        "pruning", "budbreak", "bloom", "harvest", "juice", "prunings",
    ] {
        fs::remove_file(trial.join(format!("{file}.csv"))).expect("removed");
    }
    assert_eq!(analyses(&trial, &place.path("xlsx")), of_csv);
}
