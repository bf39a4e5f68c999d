//! Margins: how they are read, and what is said of them.

use caneplot_plugin::Refusal;
use caneplot_plugin::findings::{Cells, Rank};
use caneplot_plugin::request::{Quantity, Response};
use caneplot_readings::testing::{Made, response, sentence};
use serde_json::json;

use super::trial::{chance, column, findings, options, section, table_of, with_brix};
use crate::margin::{Margin, read};

const SEASONS: [&str; 3] = ["2020", "2021", "2022"];

/// 12 nodes as good as 24, 48 far above; Brix so uneven that little can be told.
fn made(margin: &str) -> Made {
    let crop = |b: usize, t: usize, s: usize| {
        Some(8.0 + [0.05, 0.0, 2.0][t] + b as f64 * 0.3 + 0.1 * chance(b, t, s))
    };
    let brix =
        |b: usize, t: usize, s: usize| Some(22.0 + [0.0, 0.0, -0.4][t] + 2.5 * chance(b + 2, t, s));
    let mut made = with_brix(&SEASONS, crop, brix);
    made.options = options(&[("margin", json!(margin))]);
    made
}

fn known() -> Vec<Response> {
    let mut share = response("buds", "Bud break", "%", Quantity::BudBreak);
    share.counts = Some(("a".to_owned(), "b".to_owned()));
    vec![
        response("yield", "Yield", "kg/vine", Quantity::Yield),
        response("brix", "Brix", "°Brix", Quantity::SolubleSolids),
        share,
    ]
}

fn margins(text: &str) -> Result<Vec<(String, Margin)>, Refusal> {
    read(text, &known())
}

#[test]
fn margins_are_read_in_per_cent_and_in_units() {
    let found = margins("yield 10 %; brix=0.5 Brix; buds: 4").unwrap();
    assert_eq!(
        found,
        [
            ("yield".to_owned(), Margin::Share(0.1)),
            ("brix".to_owned(), Margin::Amount(0.5)),
            ("buds".to_owned(), Margin::Amount(4.0)),
        ]
    );
    assert_eq!(
        margins("yield 0.8 kg/vine").unwrap()[0].1,
        Margin::Amount(0.8)
    );
}

#[test]
fn a_margin_that_cannot_be_meant_is_refused_with_the_reason() {
    for (text, why) in [
        (
            "yeild 10 %",
            "'yeild' is not a response of this trial; there are yield, brix and buds",
        ),
        ("yield", "not a name of a response and a number"),
        ("yield ten", "a number above zero"),
        ("yield -1", "a number above zero"),
        ("yield 0", "a number above zero"),
        ("yield 1.2.3", "a number above zero"),
        ("yield 0,5", "a number above zero with a decimal point"),
        ("yield 100 %", "rules nothing out"),
        ("yield 2 t/ha", "'t/ha' is not the unit of 'yield'"),
        ("buds 5 %", "write the bare number for points"),
        ("yield 5 %; yield 1", "has a margin already"),
        (" ; ", "no margin in it"),
    ] {
        let refusal = margins(text).unwrap_err();
        assert!(refusal.message.contains(why), "{text}: {refusal}");
        assert!(refusal.hint.is_some());
    }
}

#[test]
fn each_treatment_is_equivalent_different_or_undecided() {
    let found = findings(&made("yield 10 %; brix 0.5"));
    let yields = section(&found, "yield");
    let all: Vec<String> = yields.statements.iter().map(sentence).collect();
    println!("{all:#?}");
    let verdicts = "equivalent for 12 nodes/vine; clearly different for 48 nodes/vine.";
    assert!(all[0].ends_with(verdicts), "{all:#?}");
    assert_eq!(yields.statements[0].rank, Rank::Headline);
    let one = |start: &str| {
        let found = all.iter().find(|text| text.starts_with(start));
        found.unwrap_or_else(|| panic!("no {start} in {all:#?}"))
    };
    let same = one(
        "12 nodes/vine and the control, 24 nodes/vine, are equivalent in mean yield over 3 seasons within",
    );
    assert!(
        same.contains("(10 % of the control's mean)") && same.contains("90 % interval"),
        "{same}"
    );
    assert!(
        one("48 nodes/vine and the control, 24 nodes/vine, are clearly different")
            .contains("beyond the margin")
    );
    let table = table_of(yields, "equivalence");
    let margin = column(table, "Margin");
    let control = column(table_of(yields, "over-seasons"), "Mean of a season")[1];
    assert!((margin[0] - 0.1 * control).abs() < 1e-12);
    let brix = section(&found, "brix");
    let all: Vec<String> = brix.statements.iter().map(sentence).collect();
    let verdicts = "(margin 0.50 °Brix): clearly different for 48 nodes/vine; for 12 nodes/vine the trial cannot tell.";
    assert!(all[0].ends_with(verdicts), "{all:#?}");
    let each = "The trial cannot tell whether 12 nodes/vine and the control";
    assert!(all.iter().any(|text| text.starts_with(each)), "{all:#?}");
    assert_eq!(
        brix.statements
            .iter()
            .filter(|s| s.rank == Rank::Headline)
            .count(),
        1
    );
}

#[test]
fn the_interval_is_the_one_of_the_two_one_sided_tests() {
    let found = findings(&made("yield 10 %"));
    let yields = section(&found, "yield");
    let table = table_of(yields, "equivalence");
    let (low, high, d) = (
        column(table, "Lower limit"),
        column(table, "Upper limit"),
        column(table, "Difference"),
    );
    let tests = table_of(yields, "over-seasons-tests");
    // The first line is of totals over three seasons.
    let error = column(tests, "SE of difference")[0] / 3.0;
    // t at 5 % on one side with 8 degrees of freedom, from the tables: 1.8595.
    for at in 0..2 {
        assert!(((high[at] - d[at]) / error - 1.8595).abs() < 5e-5);
        assert!((d[at] - low[at] - (high[at] - d[at])).abs() < 1e-12);
    }
}

#[test]
fn without_a_margin_nothing_is_said_about_equivalence() {
    let mut plain = made("yield 10 %");
    plain.options = options(&[]);
    let found = findings(&plain);
    let words = caneplot_readings::testing::text(&found);
    assert!(!words.contains("quivalen"), "{words}");
}

#[test]
fn a_margin_without_a_control_is_noted() {
    let mut lost = made("yield 10 %");
    lost.trial.factors[0].control = None;
    let found = findings(&lost);
    let yields = section(&found, "yield");
    assert!(
        yields
            .tables
            .iter()
            .all(|table| table.id != "equivalence" && table.id != "total-control")
    );
    assert!(
        yields
            .notes
            .iter()
            .any(|note| note.text.contains("no factor declares a control"))
    );
}

#[test]
fn a_difference_that_changes_with_the_season_is_judged_in_each() {
    let crop = |b: usize, t: usize, s: usize| {
        let gain = if t == 2 { [1.5, 0.0, -1.5][s] } else { 0.0 };
        Some(8.0 + gain + 0.1 * chance(b, t, s))
    };
    let mut made = with_brix(&SEASONS, crop, |_, _, _| None);
    made.options = options(&[("margin", json!("yield 0.5"))]);
    let found = findings(&made);
    let yields = section(&found, "yield");
    let headline = sentence(&yields.statements[0]);
    assert!(
        headline.contains("The effect changed with the season (P < 0.001)"),
        "{headline}"
    );
    let table = table_of(yields, "equivalence");
    let Cells::Text { values } = &table.columns[1].cells else {
        panic!()
    };
    let seasons: Vec<&str> = values.iter().flatten().map(String::as_str).collect();
    assert_eq!(
        seasons,
        ["all", "all", "2020", "2020", "2021", "2021", "2022", "2022"]
    );
    let all: Vec<String> = yields.statements.iter().map(sentence).collect();
    assert!(
        all.iter().any(|text| text.contains(
            "taken alone, 48 nodes/vine was shown to be equivalent to the control in 2021."
        )),
        "{all:#?}"
    );
}
