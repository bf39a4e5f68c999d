//! Texts in other dialects: separators, decimal commas, encodings, headings lower down, units.

use super::with_harvest;
use crate::load::testing::*;

/// The harvest with a decimal comma and semicolons.
fn commas() -> String {
    harvest().replace(',', ";").replace('.', ",")
}

fn values(bench: &Bench) -> Vec<String> {
    let loaded = bench.loaded();
    let values = &loaded.measured[0].values[0].values;
    values
        .iter()
        .map(|value| value.unwrap().to_string())
        .collect()
}

fn declared(key: &str, text: &str) -> Bench {
    let data = HARVEST.replace("[responses", &format!("{key}\n[responses"));
    Bench::new(&blocks("", &data), &[("harvest.csv", text)])
}

#[test]
fn decimal_commas_are_told_and_said() {
    let plain = values(&with_harvest(&harvest()));
    let bench = with_harvest(&commas());
    assert_eq!(values(&bench), plain);
    let remarks = bench.loaded().remarks;
    assert!(
        only(&remarks, "decimal-comma")
            .message
            .contains("comma before their decimals")
    );
    for separator in [";", "\t", "|"] {
        let bench = with_harvest(&commas().replace(';', separator));
        assert_eq!(values(&bench), plain, "{separator}");
    }
    let quoted = harvest()
        .replace("3.", "\"3,")
        .replace("4.", "\"4,")
        .replace("5.", "\"5,");
    let quoted: String = quoted
        .lines()
        .map(|line| format!("{line}{}\n", if line.contains('"') { "\"" } else { "" }))
        .collect();
    assert_eq!(values(&with_harvest(&quoted)), plain);
}

#[test]
fn a_comma_for_decimals_or_thousands_must_be_declared() {
    let grams = commas().replace(",1\n", ",100\n").replace(",2\n", ",200\n");
    let grams = grams.replace(",3\n", ",300\n").replace(",4\n", ",400\n");
    let errors = with_harvest(&grams).load_errors();
    let fault = only(&errors, "decimal-mark");
    assert!(fault.message.contains("3.100 or 3100"), "{fault}");
    assert!(
        fault.help.as_ref().unwrap().contains("decimal = \",\""),
        "{fault}"
    );
    assert!(
        fault
            .to_string()
            .contains("harvest.csv, line 2, column 'kg'"),
        "{fault}"
    );
    let values = values(&declared("decimal = \",\"", &grams));
    assert_eq!(values[0], "3.100");
    let points = grams.replace(',', ".");
    let errors = with_harvest(&points).load_errors();
    assert!(
        only(&errors, "decimal-mark")
            .help
            .as_ref()
            .unwrap()
            .contains("decimal = \".\"")
    );
}

#[test]
fn marks_between_thousands_are_refused() {
    for (written, says) in [
        ("1.234,5", "between its thousands"),
        ("1 234", "between its thousands"),
        ("1.234.567", "between its thousands"),
        ("1.5", "a point in a file with commas"),
    ] {
        let text = commas().replacen(";3,1", &format!(";{written}"), 1);
        let found = with_harvest(&text).checked();
        let fault = only(&found, "not-a-number");
        assert!(fault.message.contains(says), "{written}: {fault}");
    }
}

#[test]
fn factor_levels_may_have_decimal_commas_too() {
    let trial = blocks("", HARVEST).replace("[12, 24, 36]", "[12.5, 24, 36]");
    let text = commas().replace(";12;", ";12,5;");
    let loaded = Bench::new(&trial, &[("harvest.csv", &text)]).loaded();
    assert!(loaded.index.undeclared.is_empty());
}

#[test]
fn headings_lower_down_are_found_or_declared() {
    let titled = format!("Crop of the terrace block;;;\n\n{}", commas());
    let bench = with_harvest(&titled);
    assert_eq!(values(&bench).len(), 12);
    let loaded = bench.loaded();
    assert!(
        only(&loaded.remarks, "header-row")
            .message
            .contains("row 3")
    );
    assert_eq!(loaded.files[0].lines[0], 4);
    // A first line that also speaks of the trial's columns: only the declaration is right.
    let doubled = format!("block,plot,nodes,kg\n{}", harvest());
    let loaded = declared("header_row = 2", &doubled).loaded();
    assert_eq!(loaded.index.plots.len(), 12);
    let errors = declared("header_row = 2", &titled).load_errors();
    assert!(
        only(&errors, "header-row")
            .to_string()
            .contains("trial.toml")
    );
}

#[test]
fn a_row_of_units_is_left_out_and_checked() {
    for (units, fits) in [
        (",,nodes/vine,kg/vine", true),
        ("-,,,(kg)", true),
        (",,,lb", false),
        (",,,g", false),
    ] {
        let bench = with_harvest(&harvest().replacen('\n', &format!("\n{units}\n"), 1));
        if fits {
            let loaded = bench.loaded();
            assert_eq!(loaded.files[0].lines[0], 3, "{units}");
            assert_eq!(loaded.measured[0].values[0].values.len(), 12);
            only(&loaded.remarks, "units-row");
        } else {
            let errors = bench.load_errors();
            assert!(
                only(&errors, "units-row").message.contains("kg/vine"),
                "{units}"
            );
        }
    }
    let errors = declared("units_row = true", &harvest()).load_errors();
    assert!(
        only(&errors, "units-row")
            .message
            .contains("'3.1' in the row of units")
    );
    let blank = harvest().replacen('\n', "\n-,-,-,\n", 1);
    assert_eq!(
        declared("units_row = true", &blank)
            .loaded()
            .index
            .plots
            .len(),
        12
    );
}

#[test]
fn empty_columns_at_the_end_are_no_columns() {
    let padded = harvest().replace('\n', ",, \n");
    let loaded = with_harvest(&padded).loaded();
    assert_eq!(
        loaded.measured[0].values[0].values.iter().flatten().count(),
        12
    );
    assert!(loaded.remarks.is_empty(), "{}", shown(&loaded.remarks));
    let errors = with_harvest(&padded.replacen("3.2,,", "3.2,,x", 1)).load_errors();
    assert!(only(&errors, "headings").message.contains("column 5"));
}

#[test]
fn other_encodings_are_read_and_said() {
    let text = harvest().replace("B2", "\u{e9}tage \u{fc}ber");
    let bench = with_harvest("");
    let units: Vec<u16> = format!("\u{feff}{text}").encode_utf16().collect();
    for (bytes, name) in [
        (
            text.chars().map(|letter| letter as u8).collect::<Vec<u8>>(),
            "windows-1252",
        ),
        (
            units.iter().flat_map(|unit| unit.to_le_bytes()).collect(),
            "UTF-16LE",
        ),
        (
            units.iter().flat_map(|unit| unit.to_be_bytes()).collect(),
            "UTF-16BE",
        ),
    ] {
        std::fs::write(bench.folder.path().join("harvest.csv"), bytes).unwrap();
        let loaded = bench.loaded();
        assert!(only(&loaded.remarks, "encoding").message.contains(name));
        assert_eq!(loaded.index.plots[3].block(), Some("\u{e9}tage \u{fc}ber"));
    }
    std::fs::write(bench.folder.path().join("harvest.csv"), b"PK\x03\x04").unwrap();
    assert!(
        only(&bench.load_errors(), "encoding")
            .message
            .contains("workbook")
    );
}

#[test]
fn data_files_are_opened_for_reading_only() {
    let bench = with_harvest(&harvest());
    let path = bench.folder.path().join("harvest.csv");
    let mut rights = std::fs::metadata(&path).unwrap().permissions();
    rights.set_readonly(true);
    std::fs::set_permissions(&path, rights).unwrap();
    let before = std::fs::metadata(&path).unwrap().modified().unwrap();
    assert_eq!(
        bench.loaded().files[0].sha256,
        crate::hash::sha256(harvest().as_bytes())
    );
    assert_eq!(
        std::fs::metadata(&path).unwrap().modified().unwrap(),
        before
    );
    assert_eq!(std::fs::read_to_string(&path).unwrap(), harvest());
}
