//! Trials whose evenness cannot be told, or hardly: a sentence each.

use caneplot_readings::testing::{Made, sentence, text};
use serde_json::json;

use super::trial::{PATTERN, analysed, own, spreads, trial};

fn only(made: &Made) -> String {
    let findings = analysed(made).unwrap();
    let section = &findings.sections[0];
    assert!(section.tables.is_empty(), "{}", text(&findings));
    sentence(&section.statements[0])
}

#[test]
fn one_vine_a_plot_is_refused() {
    let words = only(&trial(1, &["2021"], |block, treatment, _, _| {
        Some((block + treatment) as f64)
    }));
    assert!(
        words.starts_with(
            "The evenness of Brix is not analysed: every plot has one vine with a value"
        ),
        "{words}"
    );
    assert!(
        words.contains("Record two vines or more in every plot"),
        "{words}"
    );
}

#[test]
fn one_value_copied_to_all_vines_is_refused() {
    let words = only(&trial(3, &["2021"], |block, _, _, _| Some(block as f64)));
    assert!(
        words.contains("the vines of every plot have the same value"),
        "{words}"
    );
    assert!(words.contains("one value a plot was copied"), "{words}");
}

#[test]
fn a_plot_of_equal_vines_is_named_and_left_out_of_the_logarithms() {
    let made = trial(5, &["2021"], |block, treatment, _, vine| {
        let spread = if block == 1 && treatment == 2 {
            0.0
        } else {
            own(block, treatment, 0).exp()
        };
        Some(spread * PATTERN[vine])
    });
    let all = text(&analysed(&made).unwrap());
    assert!(
        all.contains("All vines have the same value in plot 3 of block B2. A variance of 0 has no logarithm, so this plot is left out of the spread"),
        "{all}"
    );
    // Five degrees of freedom without the plot, six with it.
    assert!(
        all.contains("Pruning | Logarithm of the variance | 2 | 5 |"),
        "{all}"
    );
    assert!(
        all.contains("Pruning | Distance from the median | 2 | 6 |"),
        "{all}"
    );
}

#[test]
fn a_single_vine_is_named() {
    let made = trial(3, &["2021"], |block, treatment, _, vine| {
        let kept = block > 0 || treatment > 0 || vine == 0;
        kept.then(|| PATTERN[vine] * (1.0 + own(block, treatment, 0)))
    });
    let all = text(&analysed(&made).unwrap());
    assert!(
        all.contains("Left out, because one vine has no spread: plot 1 of block B1."),
        "{all}"
    );
}

#[test]
fn a_single_replicate_has_no_error() {
    let made = trial(5, &["2021"], |block, treatment, _, vine| {
        (block == 0).then(|| PATTERN[vine] * (1.0 + treatment as f64))
    });
    let words = only(&made);
    assert!(
        words.contains("no degrees of freedom are left for error"),
        "{words}"
    );
}

#[test]
fn one_season_and_no_control_are_said() {
    let mut made = spreads(&["2021"], [1.0, 0.5, 1.5], 1.0);
    made.trial.factors[0].control = None;
    let all = text(&analysed(&made).unwrap());
    assert!(all.contains("These are results of one season"), "{all}");
    assert!(all.contains("No control with data is declared for pruning, so treatments are compared with the first level, cane."), "{all}");
}

#[test]
fn without_vines_there_is_nothing_to_say() {
    let mut made = spreads(&["2021"], [1.0, 0.5, 1.5], 1.0);
    made.trial.responses[0].on_vines = false;
    let refusal = analysed(&made).unwrap_err();
    assert!(
        refusal
            .message
            .starts_with("no response is recorded on single vines"),
        "{refusal}"
    );
    made.options = json!({ "level": 0.95, "responses": ["brix", "ph"] });
    let refusal = analysed(&made).unwrap_err();
    assert_eq!(refusal.message, "the trial has no response 'ph'");
    made.options = json!({ "level": 0.95, "responses": ["brix"] });
    made.vines = None;
    assert!(only(&made).contains("it is not recorded on single vines"));
}

#[test]
fn a_level_of_confidence_that_is_none_is_refused() {
    let mut made = spreads(&["2021"], [1.0, 0.5, 1.5], 1.0);
    made.options = json!({ "level": 0.2, "responses": null });
    assert!(
        analysed(&made)
            .unwrap_err()
            .message
            .starts_with("a confidence level of 0.2")
    );
}

#[test]
fn an_error_of_nothing_claims_nothing() {
    let made = spreads(&["2021"], [1.0, 0.5, 1.5], 0.0);
    let findings = analysed(&made).unwrap();
    let words = sentence(&findings.sections[0].statements[0]);
    assert!(
        words.starts_with("In Brix the spread (standard deviation between vines) ran from "),
        "{words}"
    );
    // Only the coefficient of variation has an error: blocks have different means.
    let all = text(&findings);
    assert!(
        !all.contains("Pruning | Logarithm of the variance"),
        "{all}"
    );
    assert!(!all.contains("Pruning | Distance from the median"), "{all}");
}
