//! Exports for a paper, read back.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Output;

use calamine::{Data, Reader, Xlsx, open_workbook};
use caneplot_tests::fill::fields;

use crate::support::{Scratch, assert_same, caneplot, comparable, files, said};

fn journal(scratch: &Scratch, out: &Path, more: &[&str]) -> Output {
    caneplot()
        .arg("journal")
        .arg(scratch.report())
        .arg("--out")
        .arg(out)
        .args(more)
        .output()
        .expect("the program starts")
}

fn exported(scratch: &Scratch) -> PathBuf {
    let output = scratch.run();
    assert!(output.status.success(), "{}", said(&output));
    let out = scratch.out().join("paper");
    let output = journal(scratch, &out, &["--width", "single", "--dpi", "300"]);
    assert!(output.status.success(), "{}", said(&output));
    out
}

/// Width, height and pixels a metre of a PNG.
fn png(bytes: &[u8]) -> (u32, u32, u32) {
    let number = |at: usize| u32::from_be_bytes(bytes[at..at + 4].try_into().expect("four bytes"));
    let at = bytes
        .windows(4)
        .position(|four| four == b"pHYs")
        .expect("a resolution");
    (number(16), number(20), number(at + 4))
}

#[test]
fn a_report_becomes_tables_figures_texts_and_references_that_agree_with_it() {
    let scratch = Scratch::demo("training-system");
    let out = exported(&scratch);
    let (made, report) = (files(&out), files(&scratch.report()));

    // Tables: those of the report, byte by byte; in the workbook number by number.
    let mut tables = 0;
    let mut book: Xlsx<_> = open_workbook(out.join("tables.xlsx")).expect("a workbook");
    let index = book.worksheet_range("Index").expect("an index");
    for row in index.rows().skip(1) {
        let (sheet, file) = (row[0].to_string(), row[4].to_string());
        assert_eq!(made.get(&file), report.get(&file), "{file}");
        tables += 1;
        let csv = String::from_utf8(made[&file].clone()).expect("text");
        let sheet = book.worksheet_range(&sheet).expect("a sheet");
        for (at, line) in csv.lines().enumerate() {
            for (column, field) in fields(line).iter().enumerate() {
                match sheet.get_value((at as u32, column as u32)) {
                    Some(Data::Float(number)) => {
                        assert_eq!(Some(*number), field.parse().ok(), "{file}, line {at}");
                    }
                    Some(Data::String(text)) => assert_eq!(text, field, "{file}, line {at}"),
                    _ => assert!(field.is_empty(), "{file}, line {at}: {field}"),
                }
            }
        }
        let tex = file.replace("tables/", "latex/").replace(".csv", ".tex");
        assert!(made.contains_key(&tex), "{tex}");
    }
    let csv = report.keys().filter(|path| path.starts_with("tables/"));
    assert_eq!(tables, csv.count());

    // Figures: three files each, 85 mm at 300 pixels an inch.
    let figures: Vec<&String> = report
        .keys()
        .filter(|path| path.starts_with("figures/") && path.ends_with(".svg"))
        .collect();
    for figure in figures {
        let pdf = &made[&figure.replace(".svg", ".pdf")];
        assert!(pdf.starts_with(b"%PDF-"), "{figure}");
        let (width, _, resolution) = png(&made[&figure.replace(".svg", ".png")]);
        assert_eq!((width, resolution), (1004, 11811), "{figure}");
        let svg = String::from_utf8_lossy(&made[figure]);
        assert!(
            svg.contains("85mm") || svg.contains("240.9"),
            "{figure}: {}",
            &svg[..300]
        );
    }

    // Words: every key cited has an entry, and every number of the tests is the report's.
    let text = |name: &str| String::from_utf8(made[name].clone()).expect("text");
    let (methods, bib, results) = (
        text("methods.md"),
        text("references.bib"),
        text("results.md"),
    );
    let mut cited = 0;
    for part in methods.split("[@").skip(1) {
        for key in part.split(']').next().expect("closed").split(';') {
            let key = key.trim().trim_start_matches('@');
            assert!(bib.contains(&format!("{{{key},")), "{key}");
            cited += 1;
        }
    }
    assert!(cited > 5, "{methods}");
    assert!(
        methods.starts_with("# Methods\n\nA split-plot trial in"),
        "{methods}"
    );
    assert!(
        results.contains("## Yield") && results.contains("F = "),
        "{results}"
    );
    let all = text("latex/all.tex");
    assert_eq!(all.matches("\\input{").count(), tables);

    // And the folder can be verified.
    let verified = caneplot().arg("verify").arg(&out).output().expect("starts");
    assert!(verified.status.success(), "{}", said(&verified));
}

#[test]
fn the_same_report_gives_the_same_exports_and_another_number_other_tables() {
    let scratch = Scratch::demo("training-system");
    let out = exported(&scratch);
    let again = scratch.out().join("again");
    let output = journal(
        &scratch,
        &again,
        &["--width", "85 mm", "--dpi", "300", "--threads", "3"],
    );
    assert!(output.status.success(), "{}", said(&output));
    assert_same(&comparable(&out), &comparable(&again));
    scratch.change("harvest.csv", "2022,1,1,10.5", "2022,1,1,11.5");
    assert!(scratch.run().status.success());
    let before = files(&out);
    let output = journal(&scratch, &out, &["--width", "single", "--dpi", "300"]);
    assert!(output.status.success(), "{}", said(&output));
    let after = files(&out);
    for name in ["tables.xlsx", "results.md", "latex/anova-yield-anova.tex"] {
        assert_ne!(before[name], after[name], "{name}");
    }
}

#[test]
fn a_changed_report_and_the_place_of_a_report_are_refused() {
    let scratch = Scratch::demo("training-system");
    assert!(scratch.run().status.success());
    let output = journal(&scratch, &scratch.report(), &[]);
    assert_eq!(output.status.code(), Some(1));
    assert!(
        said(&output).contains("this folder holds a report"),
        "{}",
        said(&output)
    );
    let path = scratch.report().join("findings.json");
    let text = fs::read_to_string(&path).expect("findings");
    fs::write(&path, text.replacen("0.05", "0.06", 1)).expect("written");
    let output = journal(&scratch, &scratch.out().join("paper"), &[]);
    assert_eq!(output.status.code(), Some(1));
    assert!(
        said(&output).contains("findings.json is not what the report's manifest.json records"),
        "{}",
        said(&output)
    );
    assert!(!scratch.out().join("paper").exists());
}
