//! Files as people send them.

use super::testing::*;
use crate::diagnostic::Severity;

mod texts;
mod typed;
mod wide;
mod workbooks;

fn with_harvest(text: &str) -> Bench {
    Bench::new(&blocks("", HARVEST), &[("harvest.csv", text)])
}

#[test]
fn a_plain_file_is_read_and_hashed() {
    let loaded = with_harvest(&harvest()).loaded();
    assert_eq!(loaded.index.plots.len(), 12);
    assert_eq!(loaded.files[0].sha256.len(), 64);
    assert!(loaded.remarks.is_empty(), "{}", shown(&loaded.remarks));
    assert_eq!(loaded.index.plots[0].name, "101");
}

#[test]
fn byte_order_mark_crlf_and_blank_lines_keep_the_physical_line() {
    let text = format!(
        "\u{feff}{}",
        harvest()
            .replace('\n', "\r\n")
            .replace("B2,201", "\r\nB2,201")
    );
    let loaded = with_harvest(&text).loaded();
    assert_eq!(loaded.files[0].lines[..5], [2, 3, 4, 6, 7]);
    let plain = with_harvest(&harvest()).loaded();
    assert_eq!(
        loaded.measured[0].values[0].values,
        plain.measured[0].values[0].values
    );
}

#[test]
fn quoted_line_breaks_and_quotes_do_not_shift_lines_or_cells() {
    let text = harvest()
        .replace("nodes,kg\n", "nodes,note,kg\n")
        .replace("101,12,", "101,12,\"two\nlines, \"\"so\"\"\",")
        .replace(",12,", ",12,,")
        .replace("12,,\"", "12,\"")
        .replace(",24,", ",24,,")
        .replace(",36,", ",36,,");
    let loaded = with_harvest(&text).loaded();
    assert_eq!(loaded.files[0].lines[..3], [2, 4, 5]);
    assert_eq!(
        loaded.measured[0].values[0].values.iter().flatten().count(),
        12
    );
    assert!(shown(&loaded.remarks).contains("column 'note' of harvest.csv is not used"));
}

#[test]
fn spaces_at_the_ends_are_taken_off_and_told() {
    let loaded = with_harvest(&harvest().replace("B1,101,", "B1 ,101\u{a0},")).loaded();
    assert_eq!(loaded.index.plots.len(), 12);
    let note = only(&loaded.remarks, "spaces");
    assert!(note.message.starts_with("2 cells of harvest.csv"), "{note}");
}

#[test]
fn semicolons_are_read_with_a_note() {
    let loaded = with_harvest(&harvest().replace(',', ";")).loaded();
    assert_eq!(only(&loaded.remarks, "separator").severity, Severity::Note);
    assert_eq!(loaded.index.plots.len(), 12);
}

#[test]
fn a_ragged_row_is_an_error_at_its_line() {
    let errors = with_harvest(&harvest().replace("B2,201,12,", "B2,201,12,,")).load_errors();
    let fault = only(&errors, "ragged-rows");
    assert!(fault.to_string().contains("harvest.csv, line 5"), "{fault}");
    assert!(
        fault.message.contains("5 cells, the header has 4"),
        "{fault}"
    );
}

#[test]
fn headings_must_be_there_and_differ() {
    let errors =
        with_harvest(&harvest().replace("block,plot,nodes,kg", "block,plot,kg,kg")).load_errors();
    assert!(only(&errors, "headings").message.contains("'kg' 2 times"));
    let errors =
        with_harvest(&harvest().replace("block,plot,nodes,kg", "block,plot,nodes,")).load_errors();
    assert!(only(&errors, "headings").message.contains("column 4"));
}

#[test]
fn an_empty_file_is_told() {
    let bench = with_harvest("");
    assert!(
        only(&bench.load_errors(), "broken-csv")
            .message
            .contains("empty")
    );
}

#[test]
fn line_ends_of_bare_carriage_returns_are_refused() {
    let errors = with_harvest(&harvest().replace('\n', "\r")).load_errors();
    assert!(
        only(&errors, "broken-csv")
            .message
            .contains("bare carriage returns")
    );
}

#[test]
fn a_misspelt_column_names_the_nearest_heading_and_its_file() {
    let errors = with_harvest(&harvest().replace("nodes,kg", "nodes,kgs")).load_errors();
    let fault = only(&errors, "missing-column");
    assert!(
        fault
            .help
            .as_ref()
            .unwrap()
            .contains("\"kgs\", a column of harvest.csv"),
        "{fault}"
    );
    assert!(fault.to_string().contains("trial.toml"), "{fault}");
}

const TWO_FILES: &str = "[[data]]\nfile = \"harvest.csv\"\n[[data]]\nfile = \"more.csv\"\n[responses.yield]\ncolumn = \"kg\"\nunit = \"kg/vine\"\n";

#[test]
fn a_column_in_two_files_must_be_told_apart() {
    let files = [("harvest.csv", harvest()), ("more.csv", harvest())];
    let files = files.each_ref().map(|(name, text)| (*name, text.as_str()));
    let errors = Bench::new(&blocks("", TWO_FILES), &files).load_errors();
    assert!(
        only(&errors, "column-in-two-files")
            .message
            .contains("harvest.csv and more.csv")
    );
}

#[test]
fn files_of_one_season_each_are_parts_of_one_column() {
    let dated = |season: &str| {
        harvest()
            .lines()
            .enumerate()
            .map(|(at, line)| format!("{line},{}\n", if at == 0 { "season" } else { season }))
            .collect::<String>()
    };
    let (first, second) = (dated("2021"), dated("2022"));
    let trial = in_seasons(&blocks("season = \"season\"", TWO_FILES), "2021-2022");
    let files = [
        ("harvest.csv", first.as_str()),
        ("more.csv", second.as_str()),
    ];
    let loaded = Bench::new(&trial, &files).loaded();
    assert_eq!(loaded.measured[0].values.len(), 2);
    assert_eq!(loaded.index.seasons, ["2021", "2022"]);
    let files = [
        ("harvest.csv", first.as_str()),
        ("more.csv", first.as_str()),
    ];
    assert_eq!(
        grave(&Bench::new(&trial, &files).load_errors()),
        ["column-in-two-files"]
    );
}

#[test]
fn files_of_other_plots_each_are_parts_of_one_column() {
    let whole = harvest();
    let of = |blocks: &[&str]| {
        let lines = whole.lines().enumerate();
        let kept = lines
            .filter(|(at, line)| *at == 0 || blocks.iter().any(|block| line.starts_with(block)));
        kept.map(|(_, line)| format!("{line}\n"))
            .collect::<String>()
    };
    let (first, second) = (of(&["B1", "B2"]), of(&["B3", "B4"]));
    let files = [
        ("harvest.csv", first.as_str()),
        ("more.csv", second.as_str()),
    ];
    let loaded = Bench::new(&blocks("", TWO_FILES), &files).loaded();
    assert_eq!(loaded.measured[0].values.len(), 2);
    assert_eq!(loaded.index.plots.len(), 12);
    // A plot in both is unclear again.
    let again = of(&["B2"]);
    let files = [
        ("harvest.csv", first.as_str()),
        ("more.csv", again.as_str()),
    ];
    assert_eq!(
        grave(&Bench::new(&blocks("", TWO_FILES), &files).load_errors()),
        ["column-in-two-files"]
    );
}

#[test]
fn plot_names_that_repeat_need_their_block_in_every_file() {
    let repeat = harvest()
        .replace(",101", ",1")
        .replace(",201", ",1")
        .replace(",301", ",1")
        .replace(",401", ",1");
    let repeat = ["02", "03"].iter().fold(repeat, |text, name| {
        (1..=4).fold(text, |text, block| {
            text.replace(&format!(",{block}{name},"), &format!(",{name},"))
        })
    });
    let loaded = with_harvest(&repeat).loaded();
    assert_eq!(loaded.index.plots.len(), 12);
    assert_eq!(loaded.index.plots[0].name, "B1/1");
    let trial = blocks(
        "",
        &format!("{HARVEST}[[data]]\nfile = \"must.csv\"\n[responses.brix]\nunit = \"Brix\"\n"),
    );
    let bench = Bench::new(
        &trial,
        &[
            ("harvest.csv", &repeat),
            ("must.csv", "plot,brix\n1,20.1\n"),
        ],
    );
    assert!(
        only(&bench.load_errors(), "plot-names-repeat")
            .message
            .contains("must.csv has no column 'block'")
    );
}

#[test]
fn a_record_without_its_plot_is_an_error_at_its_line() {
    let errors = with_harvest(&harvest().replace("B2,202,", "B2,,")).load_errors();
    let fault = only(&errors, "empty-key");
    assert!(
        fault
            .message
            .contains("line 6 of harvest.csv names no plot"),
        "{fault}"
    );
}

#[test]
fn a_number_keeps_its_decimals_exactly() {
    let text = harvest().replace(",3.1", ",1000000000000.4");
    let loaded = with_harvest(&text).loaded();
    let value = loaded.measured[0].values[0].values[0].unwrap();
    assert_eq!(value.to_string(), "1000000000000.4");
}

#[test]
fn quotes_inside_quoted_names_are_read_as_one() {
    let loaded = with_harvest(&harvest().replace("B1,101,", "B1,\"P \"\"1\"\", a\",")).loaded();
    assert_eq!(loaded.index.plots[0].name, "P \"1\", a");
}

#[test]
fn a_file_with_headings_only_is_told() {
    let loaded = with_harvest("block,plot,nodes,kg\n").loaded();
    assert_eq!(
        only(&loaded.remarks, "no-records").severity,
        Severity::Warning
    );
    assert!(loaded.index.plots.is_empty());
}
