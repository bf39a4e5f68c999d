//! Dates of bud break.

use caneplot_plugin::request::Quantity;
use caneplot_readings::testing::{Made, sentence, text};

use super::trial::{analysed, column, trial};

fn dated(vines: usize, value: impl Fn(usize, usize, usize, usize) -> Option<f64>) -> Made {
    let mut made = trial(vines, &["2021"], value);
    let response = &mut made.trial.responses[0];
    response.label = "Bud break".to_owned();
    response.quantity = Quantity::BudBreak;
    response.unit = "day".to_owned();
    response.offset = 105.0;
    response.offset_text = "105".to_owned();
    made
}

#[test]
fn five_vines_run_from_the_first_to_the_last() {
    // With five vines a tenth is the first and nine tenths the last: spans of 8, 4 and 12 days, one
    // more or less by block; half of the vines two days earlier in spur.
    let made = dated(5, |block, treatment, _, vine| {
        let step = [2.0, 1.0, 3.0][treatment];
        let middle = [0.0, -2.0, 0.0][treatment];
        let own = [0.5, -0.5, 0.0, 0.0][(block + treatment) % 4];
        let shift = [0.1, -0.1, 0.0, 0.0][(block + 2 * treatment) % 4];
        Some(middle + shift + (vine as f64 - 2.0) * (step + own / 4.0))
    });
    let findings = analysed(&made).unwrap();
    let section = &findings.sections[0];
    for (name, expected) in [
        ("10 % to 90 %", [8.0, 4.0, 12.0]),
        ("Half", [105.0, 103.0, 105.0]),
        ("10 % of vines", [101.0, 101.0, 99.0]),
        ("90 %", [109.0, 105.0, 111.0]),
    ] {
        for (found, expected) in column(section, "course", name).into_iter().zip(expected) {
            assert!(
                (found - expected).abs() < 1e-12,
                "{name}: {found} {expected}"
            );
        }
    }
    assert_eq!(
        column(section, "course", "Difference from the control"),
        [-4.0, 4.0]
    );
    let words: Vec<String> = section.statements.iter().map(sentence).collect();
    assert!(
        words[0].starts_with("Within plots bud break was most even with spur, taking 4.0 days from 10 % to 90 % of the vines, and least even with hedge, taking 12.0 (P "),
        "{}",
        words[0]
    );
    assert!(
        words[1].starts_with(
            "Bud break of half the vines came first with spur, on day 103.0, and last with "
        ),
        "{}",
        words[1]
    );
    assert!(text(&findings).contains("[hazen-1914]"));
}

#[test]
fn four_vines_are_too_few_for_a_tenth() {
    let made = dated(4, |_, _, _, vine| Some(vine as f64));
    let words = sentence(&analysed(&made).unwrap().sections[0].statements[0]);
    assert!(
        words.starts_with(
            "The evenness of bud break is not analysed: no plot has 5 vines with a date"
        ),
        "{words}"
    );
}

#[test]
fn a_plot_of_four_vines_is_named_and_left_out() {
    let made = dated(5, |block, treatment, _, vine| {
        let lost = block == 0 && treatment == 1 && vine == 4;
        (!lost).then(|| {
            (vine * (1 + treatment)) as f64 + ((block * 3 + treatment) % 4 * vine) as f64 / 8.0
        })
    });
    let all = text(&analysed(&made).unwrap());
    assert!(
        all.contains(
            "Left out, because a tenth of fewer than 5 vines is less than one: plot 2 of block B1."
        ),
        "{all}"
    );
    assert!(all.contains("n = 3 to 4 plots"), "{all}");
}

#[test]
fn the_same_days_everywhere_are_said_without_a_test() {
    let made = dated(5, |_, _, _, vine| Some(vine as f64));
    let findings = analysed(&made).unwrap();
    let words = sentence(&findings.sections[0].statements[0]);
    assert!(
        words.starts_with("Within plots bud break took from 4.0 days"),
        "{words}"
    );
    assert!(
        findings.sections[0]
            .tables
            .iter()
            .all(|table| table.id != "tests")
    );
}
