//! What is said of two trials, of several and of a published table.

use caneplot_plugin::findings::Rank;
use serde_json::json;

use super::{numbers, published, report, said, table, words};

#[test]
fn a_clear_change_between_two_trials_is_named_with_its_interval() {
    let findings = said(vec![report("A", 0.0, 0.3), report("B", 2.0, 0.4)]).unwrap();
    let moved = table(&findings, "moved").unwrap();
    assert_eq!(numbers(moved, "Moved by"), [Some(0.0), Some(2.0)]);
    assert_eq!(numbers(moved, "Standard error"), [Some(0.5), Some(0.5)]);
    // (0.09 + 0.16)² / (0.09²/12 + 0.16²/12)
    let df = numbers(moved, "df")[1].unwrap();
    assert!(
        (df - 0.0625 * 12.0 / (0.0081 + 0.0256)).abs() < 1e-9,
        "{df}"
    );
    let first = &findings.sections[0].statements[0];
    assert_eq!(first.rank, Rank::Headline);
    assert!(
        first
            .text
            .contains("between 36 nodes/vine and 24 nodes/vine moved by"),
        "{}",
        first.text
    );
    let words = words(&findings);
    assert!(words.contains("Two trials say very little"), "{words}");
    assert!(table(&findings, "over").is_some());
}

#[test]
fn no_clear_change_is_not_called_no_change() {
    let findings = said(vec![report("A", 0.0, 0.3), report("B", 0.2, 0.4)]).unwrap();
    let words = words(&findings);
    assert!(
        words.starts_with("No difference in yield changed clearly from A to B."),
        "{words}"
    );
    assert!(words.contains("may be there all the same"), "{words}");
}

#[test]
fn several_sites_have_an_average_and_a_range_for_a_new_one() {
    let trials = vec![
        report("A", 0.0, 0.3),
        report("B", 1.0, 0.3),
        report("C", 2.0, 0.3),
    ];
    let findings = said(trials).unwrap();
    let over = table(&findings, "over").unwrap();
    // Equal errors: the plain average 1 + 1, and the variance of 0, 1, 2 less the errors' 0.09.
    assert!((numbers(over, "Average")[1].unwrap() - 2.0).abs() < 1e-12);
    let between = numbers(over, "SD between trials")[1].unwrap();
    assert!((between * between - 0.91).abs() < 1e-10, "{between}");
    assert!(numbers(over, "New site, high")[1].unwrap() > numbers(over, "High")[1].unwrap());
    assert_eq!(numbers(over, "SD between trials")[0], Some(0.0));
    assert!(table(&findings, "moved").is_none());
    assert_eq!(findings.sections[0].figures[0].panels.len(), 2);
    let words = words(&findings);
    assert!(
        words.contains("differences point the same way in all 3"),
        "{words}"
    );
}

#[test]
fn a_published_table_is_compared_by_the_error_it_gives() {
    let sed = |error, more| {
        let findings = said(vec![published(error, more), report("A", 0.5, 0.3)]).unwrap();
        let moved = table(&findings, "moved").expect("an error is given");
        let error = numbers(moved, "Standard error")[0].unwrap();
        assert!(table(&findings, "over").is_none());
        (error * error - 0.09).sqrt()
    };
    let close = |found: f64, right: f64| assert!((found - right).abs() < 1e-9, "{found} {right}");
    close(sed(json!({ "difference": 0.4 }), json!({})), 0.4);
    close(sed(json!({ "means": [0.3, 0.4, 0.3] }), json!({})), 0.5);
    close(
        sed(json!({ "variation": 0.2 }), json!({ "plots": 4.0 })),
        0.8 * 0.5_f64.sqrt(),
    );
    // published: t(0.05; 12) = 2.179, Snedecor & Cochran 1989, table A 4
    let least = sed(
        json!({ "least": { "value": 2.179, "level": 0.05 } }),
        json!({ "df": 12.0 }),
    );
    assert!((least - 1.0).abs() < 2e-4, "{least}");
}

#[test]
fn a_published_table_without_an_error_only_stands_beside() {
    let findings = said(vec![
        published(json!(null), json!({})),
        report("A", 0.5, 0.3),
    ])
    .unwrap();
    assert!(table(&findings, "moved").is_none());
    let words = words(&findings);
    assert!(
        words.contains("side by side only: the published table gives no error"),
        "{words}"
    );
    let first = &findings.sections[0].statements[0];
    assert_eq!(first.rank, Rank::Result, "no main result");
    let means = table(&findings, "means").unwrap();
    assert_eq!(
        numbers(means, "The published table"),
        [Some(3.0), Some(4.0), Some(5.0)]
    );
}

#[test]
fn results_that_do_not_fit_are_refused() {
    let refusal = said(vec![report("A", 0.0, 0.3)]).unwrap_err();
    assert!(refusal.message.contains("do not fit"), "{refusal}");
}
