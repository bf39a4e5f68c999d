//! Plots, treatments, seasons and the design.

use super::*;

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

#[test]
fn a_block_spelt_otherwise_in_another_file_is_one_finding() {
    let trial = blocks("", TWO);
    let must = must()
        .replace("plot,", "block,plot,")
        .replace("\n1", "\n1,1")
        .replace("\n2", "\n2,2");
    let must = must.replace("\n3", "\n3,3").replace("\n4", "\n4,4");
    let found = Bench::new(&trial, &[("harvest.csv", &harvest()), ("must.csv", &must)]).checked();
    let text = alone(&found, "plot-in-two-places");
    contains(
        &text,
        &["plot 101 has block 'B1' in harvest.csv and '1' in must.csv; likewise plots 102, 103"],
    );
}

#[test]
fn numbers_without_a_season_would_count_every_season() {
    let dated: String = harvest()
        .lines()
        .enumerate()
        .flat_map(|(at, line)| match at {
            0 => vec![format!("season,{line}\n")],
            _ => vec![format!("2021,{line}\n"), format!("2022,{line}\n")],
        })
        .collect();
    let trial = in_seasons(&blocks("season = \"season\"", TWO), "2021-2022");
    let found = Bench::new(&trial, &[("harvest.csv", &dated), ("must.csv", &must())]).checked();
    let text = alone(&found, "numbers-without-season");
    contains(
        &text,
        &[
            "must.csv has no column 'season', so one number of brix would count in each of 2 seasons",
        ],
    );
}

#[test]
fn a_missing_code_may_be_the_name_of_a_level() {
    let trial = blocks("", HARVEST).replace(
        "levels = [12, 24, 36]\nunit = \"nodes/vine\"",
        "levels = [\"-\", \"+\", \"++\"]",
    );
    let text = harvest()
        .replace(",12,", ",-,")
        .replace(",24,", ",+,")
        .replace(",36,", ",++,");
    let found = Bench::new(&trial, &[("harvest.csv", &text)]).checked();
    assert!(found.is_empty(), "{}", shown(&found));
}

#[test]
fn a_slip_in_a_plot_name_suggests_the_plot_whose_record_is_missing() {
    let text = alone(
        &with_must(&must().replace("\n402,", "\n4Z2,")),
        "unmatched-plots",
    );
    contains(&text, &["write '402'"]);
    // Nearer by spelling would be 401, which has its record.
    let text = alone(
        &with_must(&must().replace("\n402,", "\n40Z,")),
        "unmatched-plots",
    );
    contains(&text, &["write '402'"]);
}

#[test]
fn factors_that_always_go_together_are_both_named() {
    let cover = "[factors.cover]\nlevels = [\"grass\", \"bare\"]\n";
    let trial = blocks("", &format!("{cover}{HARVEST}"));
    let with = |cover: &dyn Fn(usize, &str) -> &'static str| {
        let mut text = "block,plot,nodes,kg,cover\n".to_owned();
        for (at, line) in harvest().lines().skip(1).enumerate() {
            text.push_str(&format!("{line},{}\n", cover(at, line)));
        }
        Bench::new(&trial, &[("harvest.csv", &text)]).checked()
    };
    let follows = with(&|_, line| {
        if line.contains(",12,") {
            "grass"
        } else {
            "bare"
        }
    });
    contains(
        &alone(&follows, "factors-together"),
        &[
            "'nodes' and 'cover' always go together",
            "every level of 'nodes' has one level of 'cover' only",
            "trial.toml",
        ],
    );
    let mixed = with(&|at, _| if at % 2 == 0 { "grass" } else { "bare" });
    assert!(
        !grave(&mixed).contains(&"factors-together"),
        "{}",
        shown(&mixed)
    );
}
