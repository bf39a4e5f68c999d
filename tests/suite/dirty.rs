//! A clean trial and its twin with planted faults (`tests/fixtures/dirty`): the checks are silent on
//! the one and find the others, each with sheet, row and column; corrections mend them.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use crate::support::{Scratch, caneplot, root, said};

const SHEETS: [&str; 5] = ["layout", "harvest", "juice", "pruning", "spring"];

/// Planted faults that must be found, of 30.
const FEWEST: usize = 28;

/// A copy of one twin, as text files or as a workbook.
fn twin(name: &str, workbook: bool) -> Scratch {
    let scratch = Scratch::new();
    let folder = root().join("tests/fixtures/dirty").join(name);
    let copy = |file: &str| {
        fs::copy(folder.join(file), scratch.trial().join(file)).expect("copied");
    };
    copy("trial.toml");
    if workbook {
        copy("records.xlsx");
    }
    for sheet in SHEETS {
        if workbook {
            scratch.change(
                "trial.toml",
                &format!("\"{sheet}.csv\""),
                &format!("\"records.xlsx\"\nsheet = \"{sheet}\""),
            );
        } else {
            copy(&format!("{sheet}.csv"));
        }
    }
    scratch
}

/// Lines of a CSV text, cut into cells; quotes may hold commas.
fn records(text: &str) -> Vec<Vec<String>> {
    let mut records = Vec::new();
    for line in text.lines().skip(1) {
        let (mut cells, mut quoted) = (vec![String::new()], false);
        for letter in line.chars() {
            match letter {
                '"' => quoted = !quoted,
                ',' if !quoted => cells.push(String::new()),
                other => cells.last_mut().expect("a cell").push(other),
            }
        }
        records.push(cells);
    }
    records
}

/// Sheet, row and column of a cell.
type Spot = (String, String, String);

/// What the checks say, and the cells they list.
fn looked_at(scratch: &Scratch) -> (String, BTreeSet<Spot>) {
    let list = scratch.trial().join("list.csv");
    let output = caneplot()
        .arg("check")
        .arg(scratch.trial())
        .arg("--write-remarks")
        .arg(&list)
        .output()
        .expect("the program starts");
    let text = fs::read_to_string(&list).unwrap_or_else(|_| panic!("{}", said(&output)));
    let cells = records(&text).into_iter().map(|cells| {
        let sheet = match cells[1].as_str() {
            "" => cells[0].trim_end_matches(".csv").to_owned(),
            sheet => sheet.to_owned(),
        };
        (sheet, cells[2].clone(), cells[7].clone())
    });
    (said(&output), cells.collect())
}

fn planted() -> Vec<(Spot, String)> {
    let list = root().join("tests/fixtures/dirty/faults.csv");
    let text = fs::read_to_string(list).expect("the list of faults");
    let faults = records(&text).into_iter();
    faults
        .map(|cells| {
            let spot = (cells[0].clone(), cells[1].clone(), cells[2].clone());
            (spot, cells[3].clone())
        })
        .collect()
}

#[test]
fn nothing_is_said_against_the_clean_twin() {
    for workbook in [false, true] {
        let (text, cells) = looked_at(&twin("clean", workbook));
        assert!(cells.is_empty(), "{text}");
        assert!(
            !text.contains("warning:") && !text.contains("error:"),
            "{text}"
        );
    }
}

#[test]
fn planted_faults_are_found_with_sheet_row_and_column() {
    for workbook in [false, true] {
        let (text, cells) = looked_at(&twin("soiled", workbook));
        let planted = planted();
        assert_eq!(planted.len(), 30);
        let missed: Vec<_> = planted
            .iter()
            .filter(|(spot, _)| !cells.contains(spot))
            .collect();
        assert!(
            planted.len() - missed.len() >= FEWEST,
            "missed {missed:?} in\n{text}"
        );
    }
}

/// A line of corrections for every cell in which the twins differ.
fn mending(scratch: &Scratch) -> String {
    let mut text = String::from("file,line,column,old value,new value,who,why\n");
    for sheet in SHEETS {
        let file = format!("{sheet}.csv");
        let clean = root().join("tests/fixtures/dirty/clean").join(&file);
        let clean = fs::read_to_string(clean).expect("the clean twin");
        let soiled = scratch.read(&file);
        let headings: Vec<&str> = clean.lines().next().expect("headings").split(',').collect();
        for (at, (right, wrong)) in clean.lines().zip(soiled.lines()).enumerate() {
            let cells = right.split(',').zip(wrong.split(',')).zip(&headings);
            for ((right, wrong), heading) in cells.filter(|((right, wrong), _)| right != wrong) {
                let line = at + 1;
                text.push_str(&format!(
                    "{file},{line},{heading},{wrong},{right},AB,planted\n"
                ));
            }
        }
    }
    text
}

#[test]
fn corrections_mend_the_soiled_twin_without_touching_it() {
    let clean = twin("clean", false);
    let soiled = twin("soiled", false);
    let raw = soiled.read("harvest.csv");
    soiled.write("corrections.csv", &mending(&soiled));
    let (text, cells) = looked_at(&soiled);
    assert!(cells.is_empty() && !text.contains("warning:"), "{text}");
    let (mended, sound) = (soiled.findings(), clean.findings());
    assert!(
        mended["analyses"] == sound["analyses"],
        "the findings of the clean twin"
    );
    assert_eq!(soiled.read("harvest.csv"), raw);
    let of = |file: &str| fs::read_to_string(soiled.report().join(file)).expect(file);
    let report = of("report.md");
    assert!(report.contains("## Corrections"), "a section");
    let row = "| harvest.csv | 19 | ";
    assert!(report.contains(row), "a row for every correction");
    assert!(
        of("manifest.json").contains("\"corrections.csv\""),
        "its hash"
    );
}

#[test]
fn a_list_that_is_there_is_not_overwritten() {
    let scratch = twin("soiled", false);
    scratch.write("list.csv", "mine\n");
    let list = scratch.trial().join("list.csv");
    let output = caneplot()
        .args([
            "check".as_ref(),
            scratch.trial().as_path(),
            Path::new("--write-remarks"),
            &list,
        ])
        .output()
        .expect("the program starts");
    assert!(
        said(&output).contains("never overwritten"),
        "{}",
        said(&output)
    );
    assert_eq!(scratch.read("list.csv"), "mine\n");
}
