//! Each rule finds its mistake, says where, and is silent on sound data.

use super::rules;
use crate::diagnostic::{Diagnostic, Severity};
use crate::load::testing::*;

fn found(text: &str) -> Vec<Diagnostic> {
    Bench::new(&blocks("", HARVEST), &[("harvest.csv", text)]).checked()
}

/// The one finding of a rule, and that nothing else than a note was found beside it.
fn alone(found: &[Diagnostic], rule: &str) -> String {
    assert_eq!(grave(found), [rule], "{}", shown(found));
    only(found, rule).to_string()
}

fn contains(text: &str, parts: &[&str]) {
    for part in parts {
        assert!(text.contains(part), "no '{part}' in\n{text}");
    }
}

#[test]
fn sound_data_are_passed_in_silence() {
    let found = found(&harvest());
    assert!(found.is_empty(), "{}", shown(&found));
}

#[test]
fn rules_have_names_of_their_own_and_say_where_they_come_from() {
    let mut names: Vec<&str> = rules().iter().map(|rule| rule.name).collect();
    assert!(names.iter().all(|name| {
        name.chars()
            .all(|letter| letter.is_ascii_lowercase() || letter == '-')
    }));
    assert!(
        rules()
            .iter()
            .all(|rule| !rule.source.is_empty() && !rule.summary.is_empty())
    );
    names.sort_unstable();
    let all = names.len();
    names.dedup();
    assert_eq!(names.len(), all);
}

#[test]
fn vines_that_are_not_declared_cannot_pass_for_replicates() {
    let twice: String = harvest()
        .lines()
        .enumerate()
        .map(|(at, line)| {
            if at == 0 {
                format!("{line}\n")
            } else {
                format!("{line}\n{line}5\n")
            }
        })
        .collect();
    let text = alone(&found(&twice), "several-rows");
    contains(
        &text,
        &[
            "harvest.csv has 2 records of plot 101 (lines 2 and 3)",
            "11 other plots",
            "vine = \"...\"",
            "line 3",
        ],
    );
}

#[test]
fn one_plot_twice_is_a_duplicate() {
    let text = alone(
        &found(&harvest().replace("B2,202,24,4.2", "B2,202,24,4.2\nB2,202,24,4.2")),
        "duplicate-records",
    );
    contains(&text, &["2 records of plot 202 (lines 6 and 7)"]);
}

#[test]
fn one_vine_twice_is_a_duplicate() {
    let text = "block,plot,vine,nodes,kg\n".to_owned()
        + &(0..6)
            .map(|plot| {
                format!(
                    "{},P{plot},1,{n},3.1\n{},P{plot},2,{n},3.4\n",
                    plot / 3,
                    plot / 3,
                    n = [12, 24, 36][plot % 3]
                )
            })
            .collect::<String>();
    let text = text.replace("1,P5,2,", "1,P5,1,");
    let found = Bench::new(
        &blocks("vine = \"vine\"", HARVEST),
        &[("harvest.csv", &text)],
    )
    .checked();
    contains(
        &alone(&found, "duplicate-records"),
        &["vine 1 of plot P5 (lines 12 and 13)"],
    );
}

#[test]
fn cells_that_are_no_numbers_are_read_out_with_what_to_write() {
    for (cell, parts) in [
        (
            "\"4,2\"",
            &[
                "decimal comma",
                "write 4.2",
                "line 6, column 'kg'",
                "plot 202",
            ][..],
        ),
        ("4.2 kg", &["words behind its number", "kg/vine"]),
        ("n/a", &["missing = [\"n/a\"]"]),
        ("4..2", &["is not a number"]),
    ] {
        let text = alone(
            &found(&harvest().replace("202,24,4.2", &format!("202,24,{cell}"))),
            "not-a-number",
        );
        contains(&text, parts);
    }
}

#[test]
fn missing_codes_and_empty_cells_are_counted() {
    let found = found(
        &harvest()
            .replace("202,24,4.2", "202,24,NA")
            .replace("201,12,3.2", "201,12,"),
    );
    contains(
        &only(&found, "missing-values").message,
        &["1 empty and 1 with a missing code of 12 cells"],
    );
    assert!(grave(&found).is_empty());
}

#[test]
fn a_level_that_is_not_declared_names_the_nearest() {
    let text = alone(
        &found(&harvest().replace("202,24,", "202,25,")),
        "undeclared-level",
    );
    contains(
        &text,
        &[
            "'25' in harvest.csv (plot 202)",
            "write '24'",
            "line 6, column 'nodes'",
        ],
    );
}

#[test]
fn a_declared_level_nobody_has_is_told() {
    let trial = blocks("", HARVEST).replace("[12, 24, 36]", "[12, 24, 36, 48]");
    let found = Bench::new(&trial, &[("harvest.csv", &harvest())]).checked();
    contains(
        &alone(&found, "unused-level"),
        &["no plot has the level '48' of 'nodes'", "trial.toml"],
    );
}

#[test]
fn a_block_that_lacks_a_treatment_and_has_another_twice_is_one_finding() {
    let text = alone(
        &found(&harvest().replace("202,24,4.2", "202,12,3.2")),
        "block-treatments",
    );
    contains(
        &text,
        &["block B2 has no plot of 24 and 2 of 12 (201 and 202)"],
    );
}

#[test]
fn a_plot_in_two_blocks_is_an_error() {
    let more = harvest().replace("block,plot", "season,block,plot");
    let dated = |year: &str| {
        more.lines()
            .skip(1)
            .map(|line| format!("{year},{line}\n"))
            .collect::<String>()
    };
    let text = format!(
        "season,block,plot,nodes,kg\n{}{}",
        dated("2021"),
        dated("2022").replace("B2,202", "B3,202")
    );
    let trial = in_seasons(&blocks("season = \"season\"", HARVEST), "2021-2022");
    let found = Bench::new(&trial, &[("harvest.csv", &text)]).checked();
    contains(
        &alone(&found, "plot-in-two-places"),
        &["plot 202 has block 'B2'", "'B3'", "line 18", "line 6"],
    );
    let text = format!(
        "season,block,plot,nodes,kg\n{}{}",
        dated("2021"),
        dated("2022").replace("202,24", "202,36")
    );
    let found = Bench::new(&trial, &[("harvest.csv", &text)]).checked();
    contains(
        &alone(&found, "treatment-changes"),
        &["plot 202 has nodes '24'", "'36'", "line 18, column 'nodes'"],
    );
}

const TWO: &str = "[[data]]\nfile = \"harvest.csv\"\n[[data]]\nfile = \"must.csv\"\n[responses.yield]\ncolumn = \"kg\"\nunit = \"kg/vine\"\n[responses.brix]\nunit = \"Brix\"\n";

fn must() -> String {
    let mut text = String::from("plot,brix\n");
    for plot in 0..12 {
        text.push_str(&format!(
            "{}0{},{}.5\n",
            plot / 3 + 1,
            plot % 3 + 1,
            20 + plot % 4
        ));
    }
    text
}

fn with_must(must: &str) -> Vec<Diagnostic> {
    Bench::new(
        &blocks("", TWO),
        &[("harvest.csv", &harvest()), ("must.csv", must)],
    )
    .checked()
}

#[test]
fn the_letter_o_for_a_zero_is_one_finding_with_the_name_meant() {
    assert!(grave(&with_must(&must())).is_empty());
    let text = alone(
        &with_must(&must().replace("202,", "2O2,")),
        "unmatched-plots",
    );
    contains(
        &text,
        &[
            "must.csv has plot 2O2 (line 6), which harvest.csv does not have",
            "write '202'",
        ],
    );
}

#[test]
fn plots_without_a_record_are_named() {
    let text = must()
        .lines()
        .filter(|line| !line.starts_with("202") && !line.starts_with("401"))
        .collect::<Vec<_>>()
        .join("\n");
    contains(
        &alone(&with_must(&text), "missing-plots"),
        &["must.csv has no record of plots 202 and 401"],
    );
}

#[test]
fn a_long_list_of_plots_is_cut() {
    contains(
        &alone(&with_must("plot,brix\n101,20\n"), "missing-plots"),
        &["102, 103, 201, 202, 203, 301, 302, 303 and 3 more"],
    );
}

#[test]
fn names_that_look_alike_are_told() {
    let text = harvest()
        .replace("B4", "b1")
        .replace("B3,301", "B-2,301")
        .replace("B3,302", "B-2,302")
        .replace("B3,303", "B-2,303");
    let found = found(&text);
    let alike: Vec<String> = found.iter().map(ToString::to_string).collect();
    assert!(
        found.iter().all(|one| one.rule == "lookalike-names") && found.len() == 2,
        "{}",
        shown(&found)
    );
    contains(
        &alike[0],
        &[
            "the blocks 'B1' and 'b1' look alike",
            "line 2, column 'block'",
            "line 11",
        ],
    );
    contains(&alike[1], &["the blocks 'B2' and 'B-2' look alike"]);
}

#[test]
fn a_plot_without_a_level_is_an_error() {
    contains(
        &alone(
            &found(&harvest().replace("202,24,", "202,,")),
            "no-treatment",
        ),
        &["no level of 'nodes' is recorded for plot 202", "line 6"],
    );
}

#[test]
fn impossible_values_are_errors_by_quantity_and_by_the_declared_range() {
    let text = alone(
        &with_must(&must().replace("202,20.5", "202,205")),
        "impossible-value",
    );
    contains(
        &text,
        &[
            "205 in column 'brix' of must.csv (plot 202)",
            "Brix lies between 0 and 45",
            "line 6",
        ],
    );
    contains(
        &alone(
            &found(&harvest().replace("4.2", "-4.2")),
            "impossible-value",
        ),
        &["a mass per vine is not negative"],
    );
    let trial = blocks("", &format!("{HARVEST}possible = [0, 5]\n"));
    let found = Bench::new(&trial, &[("harvest.csv", &harvest())]).checked();
    contains(
        &alone(&found, "impossible-value"),
        &["5.1", "allows 0 to 5", "(and 3 more values)"],
    );
}

const BUDS: &str =
    "[[data]]\nfile = \"harvest.csv\"\n[responses.broken]\ncolumn = \"shoots\"\nof = \"buds\"\n";

fn buds(one: &str) -> Vec<Diagnostic> {
    let text: String = harvest()
        .lines()
        .enumerate()
        .map(|(at, line)| match at {
            0 => format!("{line},shoots,buds\n"),
            5 => format!("{line},{one}\n"),
            at => format!("{line},{},{}\n", 8 + at % 2, 10),
        })
        .collect();
    Bench::new(&blocks("", BUDS), &[("harvest.csv", &text)]).checked()
}

#[test]
fn counts_must_count() {
    assert!(grave(&buds("9,10")).is_empty());
    contains(
        &alone(&buds("11,10"), "counts"),
        &["is above its total in column 'buds': 11 on line 6 (plot 202)"],
    );
    contains(
        &alone(&buds("8.5,10"), "counts"),
        &["no whole numbers: 8.5 on line 6"],
    );
    contains(&alone(&buds("0,0"), "counts"), &["a share of nothing"]);
    contains(
        &alone(&buds("8,"), "counts"),
        &["without a total", "left out"],
    );
}

#[test]
fn a_value_far_from_its_mates_is_named_with_its_distance() {
    let text = alone(
        &found(&harvest().replace("202,24,4.2", "202,24,42")),
        "far-from-mates",
    );
    contains(
        &text,
        &[
            "1 value of 'yield' in harvest.csv lies far",
            "42 on line 6 (plot 202; median 4.",
            "3.5",
            "line 6, column 'kg'",
        ],
    );
}

#[test]
fn a_season_the_trial_does_not_have_is_an_error() {
    let dated = |year: &str| {
        harvest()
            .lines()
            .skip(1)
            .map(|line| format!("{year},{line}\n"))
            .collect::<String>()
    };
    let text = format!(
        "season,block,plot,nodes,kg\n{}{}",
        dated("2021"),
        dated("2022")
    )
    .replace("2022,B4,403", "2032,B4,403");
    let trial = in_seasons(&blocks("season = \"season\"", HARVEST), "2021-2022");
    let found = Bench::new(&trial, &[("harvest.csv", &text)]).checked();
    let fault = only(&found, "season-outside");
    contains(
        &fault.to_string(),
        &["season 2032 (1 record)", "2021 and 2022", "line 25"],
    );
    let trial = in_seasons(&blocks("season = \"season\"", HARVEST), "2021-2023");
    let text = text.replace("2032", "2022");
    let found = Bench::new(&trial, &[("harvest.csv", &text)]).checked();
    contains(
        &alone(&found, "missing-seasons"),
        &["harvest.csv has no record of yield for season 2023"],
    );
}

#[test]
fn a_latin_square_that_is_none_names_treatment_and_row() {
    let trial = blocks("", HARVEST)
        .replace("randomised block", "Latin square")
        .replace("block = \"block\"", "row = \"row\"\ncolumn = \"col\"");
    let square = |shift: [usize; 3]| {
        let mut text = String::from("row,col,plot,nodes,kg\n");
        for row in 0..3 {
            for column in 0..3 {
                text.push_str(&format!(
                    "{row},{column},P{},{},3.{column}\n",
                    row * 3 + column,
                    [12, 24, 36][(column + shift[row]) % 3]
                ));
            }
        }
        text
    };
    let sound = Bench::new(&trial, &[("harvest.csv", &square([0, 1, 2]))]).checked();
    assert!(sound.is_empty(), "{}", shown(&sound));
    let found = Bench::new(&trial, &[("harvest.csv", &square([0, 1, 1]))]).checked();
    contains(
        &alone(&found, "latin-square"),
        &[
            "24 is 2 times in column 0 (plots P3 and P6)",
            "36 is not in column 0",
        ],
    );
    let shared = square([0, 1, 2]).replace("2,2,P8", "2,1,P8");
    let found = Bench::new(&trial, &[("harvest.csv", &shared)]).checked();
    contains(
        &shown(&found),
        &["plots P7 and P8 stand in one place, row 2 and column 1"],
    );
}

fn split(kind: &str, roles: [&str; 2], text: &str) -> Vec<Diagnostic> {
    let trial = format!(
        "{HEAD}[design]\nkind = \"{kind}\"\nblock = \"block\"\nplot = \"plot\"\n[factors.training]\nrole = \"{}\"\nlevels = [\"cordon\", \"cane\"]\n\
         [factors.nodes]\nrole = \"{}\"\nlevels = [12, 24]\nunit = \"nodes/vine\"\n{HARVEST}",
        roles[0], roles[1]
    );
    Bench::new(&trial, &[("harvest.csv", text)]).checked()
}

fn split_data() -> String {
    let mut text = String::from("block,plot,training,nodes,kg\n");
    for plot in 0..12 {
        text.push_str(&format!(
            "{},P{plot},{},{},{}.1\n",
            plot / 4,
            ["cordon", "cane"][plot % 4 / 2],
            [12, 24][plot % 2],
            plot % 4 + 2
        ));
    }
    text
}

#[test]
fn a_combination_twice_in_a_block_of_a_split_plot_is_told() {
    let roles = ["whole plot", "sub plot"];
    assert!(split("split plot", roles, &split_data()).is_empty());
    let twice = format!("{}0,P20,cordon,12,2.3\n0,P21,cordon,24,3.3\n", split_data());
    contains(
        &alone(&split("split plot", roles, &twice), "whole-plot-twice"),
        &["cordon × 12 in block 0 (plots P0 and P20)"],
    );
}

#[test]
fn strips_that_do_not_cross_are_told() {
    let roles = ["row strip", "cross strip"];
    assert!(split("strip plot", roles, &split_data()).is_empty());
    let lacking: String = split_data()
        .lines()
        .filter(|line| !line.contains("cane,24"))
        .map(|line| format!("{line}\n"))
        .collect();
    let found = split("strip plot", roles, &lacking);
    assert!(
        found.iter().all(|one| one.rule == "strips") && found.len() == 3,
        "{}",
        shown(&found)
    );
    contains(
        &shown(&found),
        &["block 0 do not cross: no plot of cane × 24"],
    );
}

#[test]
fn treatments_on_a_single_plot_are_told() {
    let text: String = harvest()
        .lines()
        .take(4)
        .map(|line| format!("{line}\n"))
        .collect();
    contains(
        &alone(&found(&text), "unreplicated"),
        &["without replicates nothing can be tested"],
    );
}

const STATUS: &str = "[[data]]\nfile = \"harvest.csv\"\n[[data]]\nfile = \"stand.csv\"\n[status]\ncolumn = \"state\"\n[responses.yield]\ncolumn = \"kg\"\nunit = \"kg/vine\"\n";

fn stand(change: [(&str, &str); 2]) -> Vec<Diagnostic> {
    let mut harvests = String::from("block,plot,vine,nodes,kg\n");
    let mut stand = String::from("plot,vine,state\n");
    for plot in 0..6 {
        for vine in 1..=2 {
            harvests.push_str(&format!(
                "{},P{plot},{vine},{},{}.{vine}\n",
                plot / 3,
                [12, 24, 36][plot % 3],
                plot % 3 + 2
            ));
            stand.push_str(&format!("P{plot},{vine},alive\n"));
        }
    }
    let harvests = harvests.replace(change[0].0, change[0].1);
    let stand = stand.replace(change[1].0, change[1].1);
    Bench::new(
        &blocks("vine = \"vine\"", STATUS),
        &[("harvest.csv", &harvests), ("stand.csv", &stand)],
    )
    .checked()
}

#[test]
fn the_status_of_vines_is_looked_at() {
    let same = ("~", "~");
    assert!(stand([same, same]).is_empty());
    contains(
        &alone(&stand([same, ("P4,2,alive", "P4,2,alife")]), "status-word"),
        &[
            "'alife' in stand.csv (vine 2 of plot P4)",
            "write 'alive'",
            "line 11",
        ],
    );
    contains(
        &alone(
            &stand([same, ("P4,2,alive", "P4,1,dead\nP4,2,alive")]),
            "status-twice",
        ),
        &["'alive' and 'dead' of vine 1 of plot P4 (lines 10 and 11)"],
    );
    contains(
        &alone(&stand([same, ("P4,2,alive", "P4,2,dead")]), "value-on-gap"),
        &["3.2 on line 11 (vine 2 of plot P4, dead)"],
    );
    contains(
        &alone(&stand([("P4,2,", "P4,7,"), same]), "unmatched-vines"),
        &["vine 7 of plot P4 has no status", "1 and 2"],
    );
    let zero = stand([("3.2\n1,P5", "0\n1,P5"), ("P4,2,alive", "P4,2,dead")]);
    assert!(
        grave(&zero).is_empty() && zero.iter().any(|one| one.rule == "value-on-gap"),
        "{}",
        shown(&zero)
    );
}

#[test]
fn vines_of_one_file_that_another_lacks_are_named() {
    let trial = blocks("vine = \"vine\"", TWO);
    let mut harvests = String::from("block,plot,vine,nodes,kg\n");
    let mut must = String::from("plot,vine,brix\n");
    for plot in 0..6 {
        for vine in 1..=2 {
            harvests.push_str(&format!(
                "{},P{plot},{vine},{},{}.{vine}\n",
                plot / 3,
                [12, 24, 36][plot % 3],
                plot % 3 + 2
            ));
            must.push_str(&format!("P{plot},{vine},2{}.{vine}\n", plot % 3));
        }
    }
    let must = must.replace("P4,2,21.2\n", "");
    let found = Bench::new(&trial, &[("harvest.csv", &harvests), ("must.csv", &must)]).checked();
    contains(
        &alone(&found, "unmatched-vines"),
        &["must.csv has no record of 1 vine that harvest.csv has (line 11): 2 of plot P4"],
    );
}

#[test]
fn a_status_in_a_file_without_vines_and_a_plot_unit_on_vines_are_errors() {
    let trial = blocks("vine = \"vine\"", STATUS);
    let vines = "block,plot,vine,nodes,kg\n".to_owned()
        + &(0..6)
            .map(|plot| {
                format!(
                    "{},P{plot},1,{},3.{plot}\n",
                    plot / 3,
                    [12, 24, 36][plot % 3]
                )
            })
            .collect::<String>();
    let stand = "plot,state\n".to_owned()
        + &(0..6)
            .map(|plot| format!("P{plot},alive\n"))
            .collect::<String>();
    let found = Bench::new(&trial, &[("harvest.csv", &vines), ("stand.csv", &stand)]).checked();
    contains(
        &only(&found, "status-without-vines").message,
        &["stand.csv has the status column 'state' but no column of vines"],
    );
    let trial = blocks("vine = \"vine\"", &HARVEST.replace("kg/vine", "kg/plot"));
    let found = Bench::new(&trial, &[("harvest.csv", &vines)]).checked();
    assert_eq!(
        found
            .iter()
            .filter(|one| one.severity == Severity::Error)
            .count(),
        1,
        "{}",
        shown(&found)
    );
    contains(
        &only(&found, "plot-unit-on-vines").message,
        &["its unit is kg/plot"],
    );
}
