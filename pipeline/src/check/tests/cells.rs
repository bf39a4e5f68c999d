//! Records and their numbers.

use super::*;

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
        (
            "\"4,200\"",
            &[
                "for the decimals or for the thousands",
                "write 4.200 or 4200",
            ],
        ),
        ("4.2 kg", &["words behind its number", "kg/vine"]),
        ("n/a", &["missing = [\"n/a\"]"]),
        ("2l.0", &["is not a number"]),
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
        &[
            "without a number among the 12 records of harvest.csv: 2 in 'kg' (1 with a missing code)",
        ],
    );
    assert!(grave(&found).is_empty());
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
fn a_number_that_looks_like_a_missing_code_is_told() {
    let trial = blocks("", HARVEST).replace("unit = \"kg/vine\"", "unit = \"°C\"\nis = \"other\"");
    let found = Bench::new(
        &trial,
        &[("harvest.csv", &harvest().replace("4.2", "-9999"))],
    )
    .checked();
    assert_eq!(
        grave(&found),
        ["looks-missing", "far-from-mates"],
        "{}",
        shown(&found)
    );
    contains(
        &shown(&found),
        &["-9999 in column 'kg'", "missing = [-9999]"],
    );
}

#[test]
fn codes_for_missing_values_are_listed_wherever_they_stand() {
    for unit in [
        "unit = \"index\"\nis = \"other\"",
        "unit = \"°C\"\nis = \"other\"",
    ] {
        let trial = blocks("", HARVEST).replace("unit = \"kg/vine\"", unit);
        let text = harvest()
            .replace("3.1", "-9999.0")
            .replace("4.2", "-999.9")
            .replace("5.4", "-9999");
        let found = Bench::new(&trial, &[("harvest.csv", &text)]).checked();
        contains(
            &only(&found, "looks-missing").to_string(),
            &[
                "-999.9",
                "lines 2, 6 and 13",
                "plot 101 first",
                "codes for 'not recorded'",
                "missing = [",
            ],
        );
        let text = harvest().replace("4.2", "-9.9").replace("3.1", "9999");
        let found = Bench::new(&trial, &[("harvest.csv", &text)]).checked();
        assert!(
            !grave(&found).contains(&"looks-missing"),
            "{}",
            shown(&found)
        );
    }
}
