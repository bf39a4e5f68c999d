//! Corrections are put in where they fit, and refused where they do not.

use std::fs;

use super::*;
use crate::load::testing::*;

const HEAD: &str = "file,season,block,plot,vine,column,old value,new value,who,why\n";

const VINES: &str =
    "[[data]]\nfile = \"harvest.csv\"\n[responses.yield]\ncolumn = \"kg\"\nunit = \"kg/vine\"\n";

/// Two seasons, four blocks, three plots, two vines.
fn harvest() -> String {
    let mut text = String::from("year,block,plot,vine,nodes,kg\n");
    for year in [2021, 2022] {
        for block in 1..=4 {
            for (plot, nodes) in [12, 24, 36].iter().enumerate() {
                for vine in 1..=2 {
                    text.push_str(&format!(
                        "{year},B{block},{plot},{vine},{nodes},{}.{block}{vine}\n",
                        plot + 3
                    ));
                }
            }
        }
    }
    text
}

fn bench(lines: &str) -> Bench {
    let trial = in_seasons(
        &blocks("vine = \"vine\"\nseason = \"year\"\n", VINES),
        "2021-2022",
    );
    let bench = Bench::new(&trial, &[("harvest.csv", &harvest())]);
    fs::write(
        bench.folder.path().join(CORRECTIONS_FILE),
        format!("{HEAD}{lines}"),
    )
    .unwrap();
    bench
}

/// The one error of a line.
fn refused(lines: &str, words: &[&str]) {
    let faults = bench(lines).load_errors();
    assert_eq!(faults.len(), 1, "{}", shown(&faults));
    let text = faults[0].to_string();
    for word in words {
        assert!(text.contains(word), "no '{word}' in\n{text}");
    }
}

#[test]
fn a_correction_takes_the_place_of_what_was_typed() {
    let bench = bench("harvest.csv,2022,B1,1,2,kg,4.12,4.21,AB,digits exchanged\n");
    let loaded = bench.loaded();
    let values: Vec<String> = loaded.measured[0].values[0]
        .values
        .iter()
        .map(|value| value.unwrap().to_string())
        .collect();
    let raw: Vec<String> = harvest()
        .lines()
        .skip(1)
        .map(|line| line.rsplit(',').next().unwrap().to_owned())
        .collect();
    let changed: Vec<usize> = (0..raw.len())
        .filter(|at| values[*at] != raw[*at])
        .collect();
    assert_eq!(changed, [27]);
    assert_eq!(values[27], "4.21");
    assert_eq!(loaded.corrections.counts(), [1, 0, 0]);
    assert_eq!(loaded.corrections.cells, [(0, 27)]);
    // The file is as it was.
    let file = fs::read_to_string(bench.folder.path().join("harvest.csv")).unwrap();
    assert_eq!(file, harvest());
}

#[test]
fn a_name_or_a_level_can_be_corrected_too() {
    let bench = bench("harvest.csv,2022,B1,1,2,nodes,24,36,AB,plot misread\n");
    let found = bench.checked();
    assert!(
        grave(&found).contains(&"treatment-changes"),
        "{}",
        shown(&found)
    );
}

#[test]
fn another_old_value_is_refused_with_both() {
    refused(
        "harvest.csv,2022,B1,1,2,kg,4.120,4.21,AB,digits exchanged\n",
        &[
            "line 2 of corrections.csv corrects '4.120', but harvest.csv has '4.12'",
            "line 29",
        ],
    );
}

#[test]
fn what_is_unknown_is_named_with_the_nearest() {
    let good = "harvest.csv,2022,B1,1,2,kg,4.12,4.21,AB,why\n";
    for (old, new, words) in [
        (
            "harvest.csv",
            "harvst.csv",
            ["no file 'harvst.csv'", "write harvest.csv"],
        ),
        (",kg,", ",kgs,", ["no column 'kgs'", "write kg"]),
        (
            ",B1,",
            ",B9,",
            ["no record of block 'B9' in season 2022", "write 'B1'"],
        ),
        (
            "2022",
            "2023",
            ["no record of season '2023'", "write '2021'"],
        ),
        (
            ",2,kg",
            ",,kg",
            [
                "2 records of harvest.csv are named alike",
                "fill in vine and line",
            ],
        ),
        (",AB,", ",,", ["does not say who looked", "initials"]),
        (",why", ",", ["does not say why", "reason"]),
        ("4.21", "4.12", ["changes '4.12' into itself", "kept"]),
    ] {
        refused(&good.replacen(old, new, 1), &words);
    }
}

#[test]
fn one_cell_is_corrected_once() {
    refused(
        "harvest.csv,2022,B1,1,2,kg,4.12,4.21,AB,why\nharvest.csv,2022,B1,1,2,kg,4.12,4.22,CD,why\n",
        &["lines 2 and 3 of corrections.csv correct the same cell"],
    );
}

#[test]
fn unknown_headings_are_named_with_the_nearest() {
    let bench = bench("");
    fs::write(
        bench.folder.path().join(CORRECTIONS_FILE),
        HEAD.replace("old value", "old valu"),
    )
    .unwrap();
    let faults = shown(&bench.load_errors());
    assert!(faults.contains("write 'old value'"), "{faults}");
}

#[test]
fn a_line_nobody_signed_changes_nothing_and_says_so() {
    let bench = bench("harvest.csv,2022,B1,1,2,kg,4.12,,,far from its mates\n");
    let found = bench.checked();
    let note = only(&found, "correction").to_string();
    assert!(
        note.contains("1 line of corrections.csv has no new value"),
        "{note}"
    );
}

#[test]
fn a_warning_about_a_cell_that_was_kept_is_a_note() {
    let lines = "harvest.csv,2022,B1,1,2,kg,4.12,,AB,weighed twice\n";
    let warned = || bench(lines).loaded();
    let loaded = warned();
    let warning = |line: usize| {
        Diagnostic::warning("far-from-mates", "far").at(cell("harvest.csv", Some(line), Some("kg")))
    };
    let eased = loaded.corrections.eased(warning(29), &loaded.files);
    assert_eq!(eased.severity, Severity::Note);
    assert!(
        eased
            .message
            .contains("looked at and kept (AB: weighed twice)")
    );
    let other = loaded.corrections.eased(warning(28), &loaded.files);
    assert_eq!(other.severity, Severity::Warning);
}

#[test]
fn suspicious_cells_are_listed_as_lines_that_can_be_put_to_use() {
    let bench = bench("");
    let (trial, loaded) = (bench.trial(), bench.loaded());
    let opened = crate::load::read::opened(&trial).unwrap();
    let found = [
        Diagnostic::warning("far-from-mates", "4.12 is far").at(cell(
            "harvest.csv",
            Some(29),
            Some("kg"),
        )),
    ];
    let (text, count) = listed(&loaded, &opened, &found).unwrap();
    assert_eq!(count, 1);
    assert_eq!(
        text,
        "file,sheet,line,season,block,plot,vine,column,old value,new value,who,why\n\
         harvest.csv,,29,2022,B1,1,2,kg,4.12,,,4.12 is far\n"
    );
    fs::write(bench.folder.path().join(CORRECTIONS_FILE), text).unwrap();
    let loaded = bench.loaded();
    assert_eq!(loaded.corrections.counts(), [0, 0, 1]);
    // What has a line already is not listed again.
    assert_eq!(listed(&loaded, &opened, &found).unwrap().1, 0);
}
