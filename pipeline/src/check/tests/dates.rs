//! Dates of bud break.

use super::*;

const DAYS: &str = "[[data]]\nfile = \"spring.csv\"\n[responses.bud_break]\nunit = \"day\"\n";

fn found(fourth: &str) -> Vec<Diagnostic> {
    let mut text = String::from("block,plot,nodes,bud_break\n");
    for row in 0..9 {
        let date = if row == 3 {
            fourth.to_owned()
        } else {
            format!("2021-04-1{row}")
        };
        text.push_str(&format!(
            "B{},{row},{},{date}\n",
            row / 3,
            [12, 24, 36][row % 3]
        ));
    }
    Bench::new(&blocks("", DAYS), &[("spring.csv", &text)]).checked()
}

#[test]
fn dates_and_days_are_passed_in_silence() {
    for sound in ["2021-04-17", "107"] {
        let found = found(sound);
        assert!(found.is_empty(), "{}", shown(&found));
    }
}

#[test]
fn a_date_of_another_year_is_named() {
    contains(
        &alone(&found("2012-04-17"), "dates-of-one-year"),
        &[
            "of spring.csv (plot 3) is of 2012, most of its season are of 2021",
            "line 5",
        ],
    );
}

#[test]
fn a_day_that_no_month_has_is_no_number() {
    contains(
        &alone(&found("2021-04-31"), "not-a-number"),
        &["'2021-04-31'", "line 5"],
    );
}
