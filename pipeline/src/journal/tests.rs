//! Exports against what readers that are not ours find in them, and against the sources.

use std::collections::BTreeSet;
use std::path::Path;

use calamine::{Data, Reader, Xlsx};
use caneplot_plugin::findings::{Cells, Column, Format, Section, Table};

use super::references::known;
use super::tables::Named;
use super::{latex, workbook};

fn section() -> Section {
    Section {
        id: "yield".to_owned(),
        title: "Yield & more".to_owned(),
        tables: vec![Table {
            id: "means".to_owned(),
            title: "Means".to_owned(),
            columns: vec![
                Column::text("Nodes_left", ["12", "24"]),
                Column {
                    name: "Mean".to_owned(),
                    unit: Some("kg/vine".to_owned()),
                    cells: Cells::Lettered {
                        values: vec![Some(3.456_789), Some(-4.0)],
                        letters: vec!["a".to_owned(), String::new()],
                        format: Format::Decimals(2),
                    },
                },
                Column::number("Share", vec![Some(0.385), None], Format::Percent(1)),
                Column::number(
                    "F",
                    vec![Some(0.012_345), Some(1234.6)],
                    Format::Significant(3),
                ),
                Column::probability("P", vec![Some(0.000_2), Some(0.25)]),
                Column::count("n", vec![Some(5), None]),
            ],
            notes: vec!["Letters by 5 % [@tukey-1953].".to_owned()],
            ..Table::default()
        }],
        ..Section::default()
    }
}

fn named(section: &Section) -> Vec<Named<'_>> {
    vec![Named {
        stem: "anova-yield-means".to_owned(),
        analysis: "anova",
        section,
        table: &section.tables[0],
    }]
}

#[test]
fn a_workbook_holds_every_number_with_all_its_digits() {
    let section = section();
    let bytes = workbook::workbook("A trial", &named(&section)).unwrap();
    let mut book: Xlsx<_> = Xlsx::new(std::io::Cursor::new(bytes)).unwrap();
    assert_eq!(book.sheet_names(), ["Index", "1 anova-yield-means"]);
    let index = book.worksheet_range("Index").unwrap();
    assert_eq!(
        index.get_value((1, 2)),
        Some(&Data::String("Yield & more".to_owned()))
    );
    let sheet = book.worksheet_range("1 anova-yield-means").unwrap();
    let headings: Vec<String> = sheet
        .rows()
        .next()
        .unwrap()
        .iter()
        .map(ToString::to_string)
        .collect();
    assert_eq!(
        headings,
        [
            "Nodes_left",
            "Mean (kg/vine)",
            "Mean, letters",
            "Share",
            "F",
            "P",
            "n"
        ]
    );
    for (place, value) in [
        ((1, 1), Data::Float(3.456_789)),
        ((1, 2), Data::String("a".to_owned())),
        ((1, 3), Data::Float(0.385)),
        ((2, 3), Data::Empty),
        ((2, 4), Data::Float(1234.6)),
        ((1, 5), Data::Float(0.000_2)),
        ((1, 6), Data::Float(5.0)),
    ] {
        assert_eq!(sheet.get_value(place), Some(&value), "{place:?}");
    }
    let last = sheet.rows().next_back().unwrap()[0].to_string();
    assert!(last.contains("tukey-1953"), "{last}");
}

#[test]
fn a_table_of_latex_has_its_rules_cells_and_notes() {
    let section = section();
    let text = latex::table(&named(&section)[0]);
    for part in [
        "\\caption{Yield \\& more: Means}",
        "\\label{tab:anova-yield-means}",
        "\\begin{tabular}{lrrrrr}",
        "Nodes\\_left & Mean (kg/vine) & Share & F & P & n \\\\",
        "12 & 3.46\\,a & 38.5 \\% & 0.0123 & $<$0.001 & 5 \\\\",
        "24 & $-$4.00 &  & 1235 & 0.250 &  \\\\",
        "\\item Letters by 5 \\% \\cite{tukey-1953}.",
    ] {
        assert!(text.contains(part), "no '{part}' in\n{text}");
    }
    for name in ["table", "threeparttable", "tabular", "tablenotes"] {
        let count = |word: &str| text.matches(&format!("\\{word}{{{name}}}")).count();
        assert_eq!((count("begin"), count("end")), (1, 1), "{name}");
    }
}

#[test]
fn a_table_longer_than_a_page_runs_over_several() {
    let mut section = section();
    section.tables[0].columns = vec![Column::text("Plot", (0..50).map(|plot| plot.to_string()))];
    let text = latex::table(&named(&section)[0]);
    assert!(
        text.contains("\\begin{longtable}{l}") && text.contains("\\endhead"),
        "{text}"
    );
    assert!(!text.contains("\\begin{table}"));
}

/// Keys of works in a source: what is cited, and texts shaped like a key.
fn keys(source: &str, into: &mut BTreeSet<String>) {
    let shaped = |text: &str| {
        let year = text.rsplit_once('-').map_or("", |(_, year)| year);
        text.bytes()
            .all(|byte| byte.is_ascii_lowercase() || byte.is_ascii_digit() || byte == b'-')
            && year.len() == 4
            && year
                .parse::<u32>()
                .is_ok_and(|year| (1800..2100).contains(&year))
            && text.as_bytes()[0].is_ascii_lowercase()
    };
    for part in source.split("[@").skip(1) {
        let inside = part.split(']').next().unwrap_or_default();
        let named = inside
            .split(';')
            .map(|key| key.trim().trim_start_matches('@'));
        into.extend(named.filter(|key| shaped(key)).map(str::to_owned));
    }
    into.extend(
        source
            .split('"')
            .filter(|text| shaped(text))
            .map(str::to_owned),
    );
}

fn sources(folder: &Path, into: &mut BTreeSet<String>) {
    for entry in std::fs::read_dir(folder).unwrap().flatten() {
        let path = entry.path();
        let name = entry.file_name().to_string_lossy().into_owned();
        if path.is_dir() && name != "tests" && name != "target" {
            sources(&path, into);
        } else if name.ends_with(".rs") && name != "tests.rs" {
            keys(&std::fs::read_to_string(&path).unwrap(), into);
        }
    }
}

#[test]
fn every_work_that_is_cited_anywhere_is_in_the_registry() {
    let mut cited = BTreeSet::new();
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    sources(&root.join("../plugins"), &mut cited);
    sources(&root.join("src"), &mut cited);
    assert!(
        cited.contains("fieller-1954") && cited.len() > 60,
        "{cited:?}"
    );
    let known = known();
    let missing: Vec<&String> = cited
        .iter()
        .filter(|key| !known.contains_key(key.as_str()))
        .collect();
    assert!(missing.is_empty(), "not in works.bib: {missing:?}");
}

#[test]
fn every_work_of_the_registry_has_a_kind_an_author_and_closed_braces() {
    let known = known();
    assert!(known.len() > 60);
    for (key, entry) in known {
        assert!(
            entry.starts_with('@') && entry.ends_with("}\n"),
            "{key}: {entry}"
        );
        assert!(entry.contains("  author"), "{key}");
        let braces = |letter| entry.matches(letter).count();
        assert_eq!(braces('{'), braces('}'), "{key}");
        assert!(
            entry.contains("  year") || entry.contains("Without date"),
            "{key}"
        );
    }
}
