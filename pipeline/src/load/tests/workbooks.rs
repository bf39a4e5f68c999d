//! Workbooks written by other programs' libraries (`tests/fixtures/formats/make.py`).

use crate::load::testing::*;

const AWKWARD: &[u8] = include_bytes!("../../../../tests/fixtures/formats/awkward.xlsx");
const FAULTY: &[u8] = include_bytes!("../../../../tests/fixtures/formats/faulty.xlsx");
const SEASONS: &[u8] = include_bytes!("../../../../tests/fixtures/formats/seasons.xlsx");
const COMMAS: &[u8] = include_bytes!("../../../../tests/fixtures/formats/commas.xlsx");
const DATES: &[u8] = include_bytes!("../../../../tests/fixtures/formats/dates.ods");

const CROP: &str = "[responses.yield]\ncolumn = \"kg\"\nunit = \"kg/vine\"\n";
const BROKE: &str = "[responses.bud_break]\ncolumn = \"broke\"\nunit = \"day\"\n";

fn book(name: &str, bytes: &[u8], keys: &str, responses: &str) -> Bench {
    let trial = blocks(
        "",
        &format!("[[data]]\nfile = \"{name}\"\n{keys}\n{responses}"),
    );
    let bench = Bench::new(&trial, &[]);
    std::fs::write(bench.folder.path().join(name), bytes).unwrap();
    bench
}

fn values(bench: &Bench, response: usize) -> Vec<String> {
    let loaded = bench.loaded();
    let parts = loaded.measured[response].values.iter();
    let values = parts.flat_map(|part| &part.values);
    values.map(|value| value.unwrap().to_string()).collect()
}

#[test]
fn an_awkward_sheet_is_read_as_its_owner_means_it() {
    let bench = book(
        "awkward.xlsx",
        AWKWARD,
        "sheet = \"winter\"",
        &format!("{CROP}{BROKE}"),
    );
    let plain = Bench::new(&blocks("", HARVEST), &[("harvest.csv", &harvest())]);
    assert_eq!(values(&bench, 0), values(&plain, 0));
    // 15 April 2021 is day 105.
    assert_eq!(values(&bench, 1)[..2], ["105", "106"]);
    let loaded = bench.loaded();
    assert_eq!(loaded.index.plots[2].block(), Some("B1"));
    assert_eq!(loaded.files[0].name, "awkward.xlsx, sheet 'winter'");
    for (rule, says) in [
        ("header-row", "row 3; 1 row above"),
        ("units-row", "row 4"),
        ("merged-cells", "'block'"),
        ("numbers-as-text", "1 cell "),
        ("hidden-cells", "1 row (row 8 first), column 'nodes'"),
    ] {
        let note = only(&loaded.remarks, rule);
        assert!(note.message.contains(says), "{note}");
    }
    let place = loaded.files[0].place(0, Some("kg")).clone();
    let shown = crate::diagnostic::Diagnostic::error("x", "y")
        .at(place)
        .to_string();
    assert!(
        shown.contains("awkward.xlsx, sheet 'winter', cell E5, column 'kg'"),
        "{shown}"
    );
}

#[test]
fn sheets_are_named_where_there_are_several() {
    let errors = book("awkward.xlsx", AWKWARD, "", CROP).load_errors();
    assert!(
        only(&errors, "sheet")
            .message
            .contains("'winter' and 'notes'")
    );
    let errors = book("awkward.xlsx", AWKWARD, "sheet = \"winterr\"", CROP).load_errors();
    let fault = only(&errors, "sheet");
    assert!(
        fault.help.as_ref().unwrap().contains("\"winter\""),
        "{fault}"
    );
    assert!(fault.to_string().contains("trial.toml"), "{fault}");
}

#[test]
fn cells_without_a_value_are_errors_at_their_cell() {
    for (sheet, rule, cell) in [
        ("error", "error-cell", "cell D4"),
        ("formula", "formula-without-value", "cell D5"),
        ("merged", "merged-cells", "cell D2"),
    ] {
        let keys = format!("sheet = \"{sheet}\"");
        let errors = book("faulty.xlsx", FAULTY, &keys, CROP).load_errors();
        let fault = only(&errors, rule);
        let place = format!("faulty.xlsx, sheet '{sheet}', {cell}");
        assert!(fault.to_string().contains(&place), "{fault}");
    }
}

#[test]
fn sheets_of_a_season_each_are_one_column() {
    let keys = "sheets = [\"2021\", \"2022\"]\nseason_from = \"sheet\"";
    let text = format!("[[data]]\nfile = \"seasons.xlsx\"\n{keys}\n{CROP}");
    let trial = in_seasons(&blocks("season = \"season\"", &text), "2021-2022");
    let bench = Bench::new(&trial, &[]);
    std::fs::write(bench.folder.path().join("seasons.xlsx"), SEASONS).unwrap();
    let loaded = bench.loaded();
    assert_eq!(loaded.files.len(), 2);
    assert_eq!(loaded.files[1].season_label(0), Some("2022"));
    assert_eq!(values(&bench, 0)[12], "4.1");
    assert!(
        grave(&bench.checked()).is_empty(),
        "{}",
        shown(&bench.checked())
    );
}

#[test]
fn dates_of_an_open_document_are_days_of_the_year() {
    let bench = book("dates.ods", DATES, "", BROKE);
    assert_eq!(values(&bench, 0)[..3], ["105", "106", "107"]);
    let loaded = bench.loaded();
    assert_eq!(loaded.index.plots[5].block(), Some("B2"));
    assert!(
        only(&loaded.remarks, "merged-cells")
            .message
            .contains("'block'")
    );
    assert!(
        only(&loaded.remarks, "hidden-cells")
            .message
            .contains("row 6 first")
    );
}

#[test]
fn texts_with_decimal_commas_are_numbers_too() {
    let bench = book("commas.xlsx", COMMAS, "sheet = \"commas\"", CROP);
    let plain = Bench::new(&blocks("", HARVEST), &[("harvest.csv", &harvest())]);
    assert_eq!(values(&bench, 0), values(&plain, 0));
    only(&bench.loaded().remarks, "decimal-comma");
    let errors = book("commas.xlsx", COMMAS, "sheet = \"mixed\"", CROP).load_errors();
    assert!(
        only(&errors, "decimal-mark")
            .to_string()
            .contains("cell D6")
    );
}

#[test]
fn what_is_no_workbook_is_refused() {
    for name in ["broken.xlsx", "broken.ods"] {
        let errors = book(name, b"plot,kg\n1,2\n", "", CROP).load_errors();
        assert!(
            only(&errors, "unreadable-file")
                .message
                .contains("as a workbook")
        );
    }
}

/// A workbook whose cells name texts that its list of texts does not have.
fn contradictory() -> Vec<u8> {
    use std::io::{Read, Write};
    let mut whole = zip::ZipArchive::new(std::io::Cursor::new(COMMAS)).unwrap();
    let mut damaged = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    let stored =
        zip::write::SimpleFileOptions::default().compression_method(zip::CompressionMethod::Stored);
    let mut touched = 0;
    for at in 0..whole.len() {
        let mut entry = whole.by_index(at).unwrap();
        let name = entry.name().unwrap().into_owned();
        let mut bytes = Vec::new();
        entry.read_to_end(&mut bytes).unwrap();
        if name.starts_with("xl/worksheets/") {
            let text = String::from_utf8(bytes).unwrap();
            touched += text.matches("t=\"n\"><v>").count();
            bytes = text.replace("t=\"n\"><v>", "t=\"s\"><v>9999").into_bytes();
        }
        damaged.start_file(name, stored).unwrap();
        damaged.write_all(&bytes).unwrap();
    }
    assert!(touched > 0, "the fixture has numbers");
    damaged.finish().unwrap().into_inner()
}

#[test]
fn a_workbook_that_contradicts_itself_is_an_error_and_no_crash() {
    let errors = book("damaged.xlsx", &contradictory(), "", CROP).load_errors();
    let error = only(&errors, "unreadable-file");
    assert!(error.to_string().contains("damaged.xlsx"), "{error}");
}
