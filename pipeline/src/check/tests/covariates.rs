//! What was recorded before the treatments.

use super::*;

const COVARIATE: &str = "[[data]]\nfile = \"layout.csv\"\n[[data]]\nfile = \"harvest.csv\"\n\
    [responses.yield]\ncolumn = \"kg\"\nunit = \"kg/vine\"\n\
    [covariates.wood]\ncolumn = \"wood_g\"\nunit = \"g/vine\"\n";

/// `block,plot,wood_g` for the plots of [`harvest`].
fn layout() -> String {
    let mut text = String::from("block,plot,wood_g\n");
    for block in 1..=4 {
        for plot in 1..=3 {
            text.push_str(&format!(
                "B{block},{block}0{plot},{}{block}{plot}\n",
                block + plot
            ));
        }
    }
    text
}

fn found(layout: &str, harvest: &str) -> Vec<Diagnostic> {
    Bench::new(
        &blocks("", COVARIATE),
        &[("layout.csv", layout), ("harvest.csv", harvest)],
    )
    .checked()
}

#[test]
fn one_value_a_plot_is_passed_in_silence_also_in_two_files() {
    let sound = found(&layout(), &harvest());
    assert!(sound.is_empty(), "{}", shown(&sound));
    let mut twice = layout();
    twice.push_str("B1,101,211\n");
    let sound = found(&twice, &harvest());
    assert!(sound.is_empty(), "{}", shown(&sound));
}

#[test]
fn two_values_of_a_plot_name_both_lines() {
    let mut twice = layout();
    twice.push_str("B1,101,212\nB1,102,5\n");
    let text = alone(&found(&twice, &harvest()), "covariate-changes");
    contains(
        &text,
        &[
            "'wood' is 211 and 212 in plot 101",
            "line 2 of layout.csv, line 14 of layout.csv",
            "and 1 more difference",
            "do: correct the cell",
        ],
    );
    let elsewhere: String = harvest()
        .lines()
        .enumerate()
        .map(|(at, line)| match at {
            0 => format!("{line},wood_g\n"),
            3 => format!("{line},99\n"),
            _ => format!("{line},\n"),
        })
        .collect();
    let text = alone(&found(&layout(), &elsewhere), "covariate-changes");
    contains(&text, &["line 4 of layout.csv, line 4 of harvest.csv"]);
}

#[test]
fn plots_without_a_value_are_named() {
    let gaps = layout()
        .replace("B2,201,321", "B2,201,")
        .replace("B3,303,633", "B3,303,NA");
    let text = alone(&found(&gaps, &harvest()), "covariate-missing");
    contains(&text, &["no value in plots 201 and 303", "trial.toml:"]);
    let none: String = layout()
        .lines()
        .map(|line| match line.rsplit_once(',') {
            Some((keys, "wood_g")) => format!("{keys},wood_g\n"),
            Some((keys, _)) => format!("{keys},\n"),
            None => String::new(),
        })
        .collect();
    let text = alone(&found(&none, &harvest()), "covariate-missing");
    contains(&text, &["has no number and is left out"]);
}

#[test]
fn cells_of_covariates_are_looked_at_like_others() {
    let all = found(&layout().replace("B1,101,211", "B1,101,much"), &harvest());
    contains(
        &only(&all, "not-a-number").to_string(),
        &["'much' in column 'wood_g' of layout.csv (plot 101)"],
    );
    let text = alone(
        &found(&layout().replace("B1,101,211", "B1,101,-211"), &harvest()),
        "impossible-value",
    );
    contains(&text, &["layout.csv, line 2"]);
}

#[test]
fn a_column_that_is_not_there_points_at_the_trial_file() {
    let bench = Bench::new(
        &blocks("", COVARIATE),
        &[
            ("layout.csv", &layout().replace("wood_g", "wood")),
            ("harvest.csv", &harvest()),
        ],
    );
    let faults = bench.load_errors();
    contains(
        &only(&faults, "missing-column").to_string(),
        &["'wood_g'", "trial.toml:", "write \"wood\""],
    );
}
