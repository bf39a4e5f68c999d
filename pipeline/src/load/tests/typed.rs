//! Tables with types, written by another program's library (`tests/fixtures/typed/make.py`).

use crate::load::testing::*;

const PARQUET: &[u8] = include_bytes!("../../../../tests/fixtures/typed/kinds.parquet");
const ARROW: &[u8] = include_bytes!("../../../../tests/fixtures/typed/kinds.arrow");
const PACKED: &[u8] = include_bytes!("../../../../tests/fixtures/typed/kinds.feather");

const FILES: [(&str, &[u8]); 3] = [
    ("kinds.parquet", PARQUET),
    ("kinds.arrow", ARROW),
    ("kinds.feather", PACKED),
];

fn table(name: &str, bytes: &[u8], columns: &[(&str, &str)]) -> Bench {
    let responses: String = columns
        .iter()
        .map(|(column, unit)| {
            format!("[responses.{column}]\nis = \"other\"\nunit = \"{unit}\"\npossible = [-1000, 1000]\n")
        })
        .collect();
    let trial = blocks("", &format!("[[data]]\nfile = \"{name}\"\n{responses}"));
    let bench = Bench::new(&trial, &[]);
    std::fs::write(bench.folder.path().join(name), bytes).unwrap();
    bench
}

fn texts(bench: &Bench, response: usize) -> Vec<String> {
    let loaded = bench.loaded();
    let values = &loaded.measured[response].values[0].values;
    let text =
        |value: &Option<crate::decimal::Decimal>| value.map_or("-".into(), |v| v.to_string());
    values.iter().map(text).collect()
}

#[test]
fn every_kind_of_column_keeps_its_digits() {
    let columns = [
        ("kg", "kg/vine"),
        ("small", "kg/vine"),
        ("exact", "index"),
        ("gaps", "index"),
        ("tiny", "count"),
    ];
    let plain = Bench::new(&blocks("", HARVEST), &[("harvest.csv", &harvest())]);
    for (name, bytes) in FILES {
        let bench = table(name, bytes, &columns);
        let kg = texts(&bench, 0);
        assert_eq!(kg, texts(&plain, 0), "{name}");
        assert_eq!(texts(&bench, 1), kg, "{name}");
        assert_eq!(
            texts(&bench, 2)[..5],
            ["-0.15", "-0.10", "-0.05", "0.00", "0.05"]
        );
        assert_eq!(texts(&bench, 3)[..3], ["-", "-", "0.30000000000000004"]);
        assert_eq!(texts(&bench, 4)[..2], ["200", "199"]);
        let loaded = bench.loaded();
        assert_eq!(loaded.index.plots[2].name, "103");
        assert_eq!(loaded.index.plots[2].block(), Some("B1"));
        assert_eq!(loaded.files[0].lines, (1..=12).collect::<Vec<_>>());
        let note = only(&loaded.remarks, "unread-columns");
        assert!(
            note.message
                .contains("'alive', 'track', 'place' and 'zoned'"),
            "{note}"
        );
        assert!(bench.checked().iter().all(|one| one.rule != "not-a-number"));
    }
}

#[test]
fn dates_and_moments_at_midnight_are_days_of_the_year() {
    for (name, bytes) in FILES {
        for column in ["broke", "seen"] {
            let responses =
                format!("[responses.bud_break]\ncolumn = \"{column}\"\nunit = \"day\"\n");
            let trial = blocks("", &format!("[[data]]\nfile = \"{name}\"\n{responses}"));
            let bench = Bench::new(&trial, &[]);
            std::fs::write(bench.folder.path().join(name), bytes).unwrap();
            // 10 April 2021 is day 100.
            assert_eq!(texts(&bench, 0)[..2], ["100", "101"], "{name} {column}");
        }
    }
}

#[test]
fn a_column_that_holds_no_single_values_is_an_error_at_its_name() {
    for (column, says) in [
        ("alive", "truths"),
        ("track", "lists"),
        ("place", "several values a row"),
        ("zoned", "time zone"),
    ] {
        let errors = table("kinds.parquet", PARQUET, &[(column, "index")]).load_errors();
        let fault = only(&errors, "column-type");
        assert!(fault.message.contains(says), "{fault}");
        assert!(
            fault
                .to_string()
                .contains(&format!("kinds.parquet, column '{column}'"))
        );
    }
}

#[test]
fn a_fault_is_located_by_its_row() {
    let bench = table("kinds.parquet", PARQUET, &[("soil", "index")]);
    let found = bench.checked();
    let fault = only(&found, "not-a-number");
    assert!(fault.message.contains("'loam'"), "{fault}");
    assert!(
        fault
            .to_string()
            .contains("kinds.parquet, row 1, column 'soil'"),
        "{fault}"
    );
}

#[test]
fn damaged_tables_are_errors() {
    let kg = [("kg", "kg/vine")];
    let mut flipped = PARQUET.to_vec();
    flipped[60..400].fill(0xff);
    let mut cut = ARROW.to_vec();
    cut[600..2000].fill(0xff);
    for (name, bytes) in [
        ("kinds.parquet", &PARQUET[..PARQUET.len() - 20]),
        ("kinds.parquet", b"PAR1".as_slice()),
        ("kinds.parquet", b"block,plot\n"),
        ("kinds.arrow", &ARROW[..ARROW.len() / 2]),
        ("kinds.parquet", &flipped),
    ] {
        let errors = table(name, bytes, &kg).load_errors();
        only(&errors, "unreadable-file");
    }
    // Which bytes of an Arrow file are whose is not fixed: either an error, or what is there is read.
    let bench = table("kinds.arrow", &cut, &kg);
    let _ = crate::load::load(&bench.trial());
}

#[test]
fn keys_for_texts_are_refused() {
    for key in ["header_row = 2", "units_row = true", "decimal = \",\""] {
        let bench = table("kinds.parquet", PARQUET, &[("kg", "kg/vine")]);
        let path = bench.folder.path().join("trial.toml");
        let text = std::fs::read_to_string(&path).unwrap();
        let text = text.replace(
            "\"kinds.parquet\"\n",
            &format!("\"kinds.parquet\"\n{key}\n"),
        );
        std::fs::write(&path, text).unwrap();
        let faults = crate::trial::read(bench.folder.path()).unwrap_err();
        assert!(
            only(&faults, "data-file").message.contains("is for texts"),
            "{}",
            shown(&faults)
        );
    }
}
