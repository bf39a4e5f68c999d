//! One row a plot with the seasons in the headings.

use crate::load::testing::*;

const WIDE: &str = "[[data]]\nfile = \"wide.csv\"\nseasons_in_headings = \"{column}_{season}\"\n\
                    [responses.yield]\ncolumn = \"kg\"\nunit = \"kg/vine\"\n\
                    [responses.brix]\nunit = \"Brix\"\n";

fn wide(change: impl Fn(String) -> String) -> Bench {
    let text = harvest()
        .lines()
        .enumerate()
        .map(|(at, line)| match at {
            0 => line.replace("kg", "kg_2021,kg_2022,brix_2022,brix_2021\n"),
            _ => format!("{line},9.{at},20.{at},21.{at}\n"),
        })
        .collect();
    let trial = in_seasons(&blocks("season = \"season\"", WIDE), "2021-2022");
    Bench::new(&trial, &[("wide.csv", &change(text))])
}

#[test]
fn every_season_becomes_a_record() {
    let bench = wide(|text| text);
    let loaded = bench.loaded();
    let numbers = |response: usize| -> Vec<String> {
        let values = &loaded.measured[response].values[0].values[..4];
        values
            .iter()
            .map(|value| value.unwrap().to_string())
            .collect()
    };
    assert_eq!(numbers(0), ["3.1", "9.1", "4.1", "9.2"]);
    assert_eq!(numbers(1), ["21.1", "20.1", "21.2", "20.2"]);
    assert_eq!(loaded.files[0].lines[..4], [2, 2, 3, 3]);
    assert_eq!(loaded.index.plots.len(), 12);
    assert!(
        grave(&bench.checked()).is_empty(),
        "{}",
        shown(&bench.checked())
    );
}

#[test]
fn a_cell_is_named_by_the_heading_in_the_file() {
    let found = wide(|text| text.replacen(",9.2,", ",9.2 kg,", 1)).checked();
    let fault = only(&found, "not-a-number");
    assert!(
        fault
            .to_string()
            .contains("wide.csv, line 3, column 'kg_2022'"),
        "{fault}"
    );
}

#[test]
fn headings_that_fit_nothing_are_errors() {
    for (from, to, says) in [
        ("kg_2022", "kgs_2022", "write 'kg_2022'"),
        ("kg_2022", "kg_2032", "names the season '2032'"),
        ("nodes,", "season,", "has a column 'season'"),
    ] {
        let errors = wide(|text| text.replacen(from, to, 1)).load_errors();
        let shown = only(&errors, "seasons-in-headings").to_string();
        assert!(shown.contains(says), "{shown}");
    }
    let errors = wide(|text| text.replace("_20", " 20")).load_errors();
    let shown = only(&errors, "seasons-in-headings").to_string();
    assert!(shown.contains("a heading would be 'kg_2021'"), "{shown}");
}
