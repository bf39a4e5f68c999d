//! The engine against exact analyses of variance (tests/reference/README-strata.md).

#![allow(clippy::unwrap_used, clippy::print_stdout)]

mod support;

use caneplot_numerics::design::{Applied, Design, Kind, Sheet};
use caneplot_numerics::strata::{Classifier, Layout};
use support::{Csv, digits, json, number};

fn sheet(kind: Kind, plot: Classifier, treatments: Vec<(Classifier, Applied)>) -> Sheet {
    Sheet {
        kind,
        block: None,
        row: None,
        column: None,
        plot,
        season: None,
        vines: false,
        treatments,
        block_by_season: false,
    }
}

fn kiwishade(data: &Csv) -> Sheet {
    Sheet {
        block: Some(data.classifier("block")),
        vines: true,
        ..sheet(
            Kind::RandomisedBlock,
            data.classifier("plot"),
            vec![(data.classifier("shade"), Applied::Plot)],
        )
    }
}

fn split(data: &Csv, block: &str, whole: &str, sub: &str) -> Sheet {
    Sheet {
        block: Some(data.classifier(block)),
        ..sheet(
            Kind::SplitPlot,
            data.joined(&[whole, sub]),
            vec![
                (data.classifier(whole), Applied::WholePlot),
                (data.classifier(sub), Applied::SubPlot),
            ],
        )
    }
}

fn strip(data: &Csv, block: &str, row: &str, cross: &str) -> Sheet {
    Sheet {
        block: Some(data.classifier(block)),
        ..sheet(
            Kind::StripPlot,
            data.joined(&[row, cross]),
            vec![
                (data.classifier(row), Applied::RowStrip),
                (data.classifier(cross), Applied::CrossStrip),
            ],
        )
    }
}

fn split_split(data: &Csv) -> Sheet {
    Sheet {
        block: Some(data.classifier("block")),
        ..sheet(
            Kind::SplitSplitPlot,
            data.joined(&["irrigation", "buds", "thinning"]),
            vec![
                (data.classifier("irrigation"), Applied::WholePlot),
                (data.classifier("buds"), Applied::SubPlot),
                (data.classifier("thinning"), Applied::SubSubPlot),
            ],
        )
    }
}

fn perennial(data: &Csv) -> Sheet {
    Sheet {
        block: Some(data.classifier("block")),
        season: Some(data.classifier("year")),
        ..sheet(
            Kind::RandomisedBlock,
            data.classifier("plot"),
            vec![(data.classifier("treatment"), Applied::Plot)],
        )
    }
}

/// Every line of the reference, in its order: the terms and errors of each stratum.
fn lines(layout: &Layout, values: &[f64]) -> Vec<(usize, f64, Option<f64>, Option<f64>)> {
    let variance = layout.analyse(values);
    let mut lines = Vec::new();
    for stratum in 0..layout.strata().len() {
        for (term, line) in layout.terms().iter().zip(&variance.lines) {
            if term.stratum == stratum {
                lines.push((line.df, line.sum_of_squares, line.f, line.p));
            }
        }
        let error = variance.errors[stratum];
        lines.push((error.df, error.sum_of_squares, None, None));
    }
    lines
}

fn agrees(set: &str, layout: &Layout, values: &[f64]) {
    let reference = json("exact_anova.json");
    let mut wanted: Vec<&serde_json::Value> = reference[set].as_array().unwrap().iter().collect();
    // The reference tests blocks, rows and columns as lines of one stratum; here they are strata.
    let found = lines(layout, values);
    assert_eq!(found.len(), wanted.len(), "{set}: number of lines");
    for (df, ss, f, p) in found {
        let at = wanted
            .iter()
            .position(|row| row["df"] == df && digits(ss, number(&row["SS"])) >= 12.0)
            .unwrap_or_else(|| panic!("{set}: no line with {df} df and {ss}"));
        let row = wanted.remove(at);
        if let (Some(f), Some(p)) = (f, p) {
            let (f_digits, p_digits) = (digits(f, number(&row["F"])), digits(p, number(&row["p"])));
            println!("{set} {} F {f_digits:.1} P {p_digits:.1}", row["term"]);
            assert!(
                f_digits >= 12.0,
                "{set} {}: F to {f_digits} digits",
                row["term"]
            );
            assert!(
                p_digits >= 10.0,
                "{set} {}: P to {p_digits} digits",
                row["term"]
            );
        }
    }
}

fn checked(set: &str, sheet: &Sheet, data: &Csv, response: &str) -> Design {
    let design = sheet.design().unwrap();
    agrees(set, &design.layout, &data.centred(response).1);
    design
}

#[test]
fn sums_of_squares_f_and_p_agree_with_rational_arithmetic() {
    let data = Csv::read("DAAG_kiwishade.csv");
    checked("kiwishade", &kiwishade(&data), &data, "yield");
    let data = Csv::read("nlme_Oats.csv");
    checked(
        "oats",
        &split(&data, "Block", "Variety", "nitro"),
        &data,
        "yield",
    );
    let data = Csv::read("nlme_Assay.csv");
    checked(
        "stripplot_assay",
        &strip(&data, "Block", "sample", "dilut"),
        &data,
        "logDens",
    );
    let data = Csv::read("sim_stripplot.csv");
    checked(
        "stripplot_sim",
        &strip(&data, "block", "prune", "soil"),
        &data,
        "yield",
    );
    let data = Csv::read("sim_splitsplit2.csv");
    checked("splitsplit", &split_split(&data), &data, "yield");
    let data = Csv::read("sim_splitsplit.csv");
    checked("splitsplit_boundary", &split_split(&data), &data, "yield");
    let data = Csv::read("sim_perennial_ar1.csv");
    checked(
        "perennial_split_in_time",
        &perennial(&data),
        &data,
        "yield_kg",
    );
    let data = Csv::read("sim_split_zero_wp.csv");
    checked(
        "split_zero_wp",
        &split(&data, "block", "A", "N"),
        &data,
        "y",
    );
    let data = Csv::read("sim_rcbd_full.csv");
    let blocks = Sheet {
        block: Some(data.classifier("block")),
        ..sheet(
            Kind::RandomisedBlock,
            data.classifier("treatment"),
            vec![(data.classifier("treatment"), Applied::Plot)],
        )
    };
    checked("rcbd_full", &blocks, &data, "yield_kg");
    let data = Csv::read("datasets_OrchardSprays.csv");
    checked("orchardsprays", &latin(&data), &data, "decrease");
    let data = Csv::read("datasets_PlantGrowth.csv");
    let (_, values) = data.centred("weight");
    let plots: Vec<String> = (0..values.len()).map(|n| n.to_string()).collect();
    let random = sheet(
        Kind::CompletelyRandomised,
        Classifier::from_texts("plot", &plots, &[]),
        vec![(data.classifier("group"), Applied::Plot)],
    );
    // One stratum only: its error is the only line beside the groups.
    agrees("plantgrowth", &random.design().unwrap().layout, &values);
}

fn latin(data: &Csv) -> Sheet {
    Sheet {
        row: Some(data.classifier("rowpos")),
        column: Some(data.classifier("colpos")),
        ..sheet(
            Kind::LatinSquare,
            data.joined(&["rowpos", "colpos"]),
            vec![(data.classifier("treatment"), Applied::Plot)],
        )
    }
}

/// Standard error and degrees of freedom of the differences in which these classifiers differ.
fn difference(design: &Design, values: &[f64], table: &[usize], differ: &[usize]) -> (f64, f64) {
    let plan = design.layout.mean_plan(table);
    let variance = design.layout.analyse(values);
    let means = design.layout.mean_table(&plan, values, &variance);
    let at: Vec<usize> = (0..plan.kinds.len())
        .filter(|&at| plan.kinds[at].differ == differ)
        .collect();
    assert_eq!(at.len(), 1, "one kind differs in {differ:?}");
    let precision = means.of_difference[at[0]].unwrap();
    (precision.standard_error(), precision.df)
}

fn same(found: (f64, f64), se: &serde_json::Value, df: &serde_json::Value) {
    assert!(
        digits(found.0, number(se)) > 11.0,
        "{} against {se}",
        found.0
    );
    assert!(
        digits(found.1, number(df)) > 11.0,
        "{} against {df}",
        found.1
    );
}

#[test]
fn the_four_kinds_of_difference_of_a_split_plot() {
    let data = Csv::read("nlme_Oats.csv");
    let (_, values) = data.centred("yield");
    let design = split(&data, "Block", "Variety", "nitro").design().unwrap();
    let wanted = &json("differences.json")["oats"];
    let (variety, nitro) = (design.treatments[0], design.treatments[1]);
    let both = [variety, nitro];
    let at = |table: &[usize], differ: &[usize]| difference(&design, &values, table, differ);
    same(
        at(&[variety], &[variety]),
        &wanted["two_varieties"],
        &wanted["two_varieties_df"],
    );
    same(
        at(&[nitro], &[nitro]),
        &wanted["two_nitro"],
        &wanted["two_nitro_df"],
    );
    same(
        at(&both, &[nitro]),
        &wanted["two_nitro_same_variety"],
        &wanted["two_nitro_same_variety_df"],
    );
    for differ in [&[variety][..], &both[..]] {
        same(
            at(&both, differ),
            &wanted["two_varieties_same_or_diff_nitro"],
            &wanted["two_varieties_same_or_diff_nitro_df_satt"],
        );
    }
    let variance = design.layout.analyse(&values);
    let components = design.layout.components(&variance);
    let wanted = &json("differences.json")["oats_components"];
    for (found, name) in components.iter().zip(["block", "wholeplot", "subplot"]) {
        assert!(
            digits(found.unwrap(), number(&wanted[name])) > 11.0,
            "{name}"
        );
    }
}

#[test]
fn the_kinds_of_difference_of_strip_plots() {
    for (file, set, columns, response) in [
        (
            "nlme_Assay.csv",
            "stripplot_assay",
            ["Block", "sample", "dilut"],
            "logDens",
        ),
        (
            "sim_stripplot.csv",
            "stripplot_sim",
            ["block", "prune", "soil"],
            "yield",
        ),
    ] {
        let data = Csv::read(file);
        let (_, values) = data.centred(response);
        let design = strip(&data, columns[0], columns[1], columns[2])
            .design()
            .unwrap();
        let wanted = &json("differences.json")[set];
        let (a, b) = (design.treatments[0], design.treatments[1]);
        let at = |table: &[usize], differ: &[usize]| difference(&design, &values, table, differ);
        same(at(&[a], &[a]), &wanted["two_A"], &wanted["two_A_df"]);
        same(at(&[b], &[b]), &wanted["two_B"], &wanted["two_B_df"]);
        same(
            at(&[a, b], &[a]),
            &wanted["two_A_same_B"],
            &wanted["two_A_same_B_df_satt"],
        );
        same(
            at(&[a, b], &[b]),
            &wanted["two_B_same_A"],
            &wanted["two_B_same_A_df_satt"],
        );
    }
    // Two different levels of both factors, nlme Assay: 0.0495031386 with restricted maximum
    // likelihood, which on balanced data is the same number.
    let data = Csv::read("nlme_Assay.csv");
    let design = strip(&data, "Block", "sample", "dilut").design().unwrap();
    let both = [design.treatments[0], design.treatments[1]];
    let (se, _) = difference(&design, &data.centred("logDens").1, &both, &both);
    assert!((se - 0.049_503_138_7).abs() < 1e-9);
}

#[test]
fn the_twelve_kinds_of_difference_of_a_split_split_plot() {
    let data = Csv::read("sim_splitsplit2.csv");
    let (_, values) = data.centred("yield");
    let design = split_split(&data).design().unwrap();
    let [a, b, c] = [
        design.treatments[0],
        design.treatments[1],
        design.treatments[2],
    ];
    let wanted = &json("differences.json")["splitsplit"];
    let cases: [(&str, &[usize], &[usize]); 12] = [
        ("A", &[a], &[a]),
        ("B", &[b], &[b]),
        ("C", &[c], &[c]),
        ("B_at_same_A", &[a, b], &[b]),
        ("A_at_same_or_diff_B", &[a, b], &[a]),
        ("C_at_same_A", &[a, c], &[c]),
        ("C_at_same_B", &[b, c], &[c]),
        ("C_at_same_AB", &[a, b, c], &[c]),
        ("B_at_same_or_diff_C", &[b, c], &[b]),
        ("B_at_same_A_and_same_or_diff_C", &[a, b, c], &[b]),
        ("A_at_same_or_diff_C", &[a, c], &[a]),
        ("A_at_same_or_diff_BC", &[a, b, c], &[a]),
    ];
    for (name, table, differ) in cases {
        let found = difference(&design, &values, table, differ);
        same(found, &wanted[name]["se"], &wanted[name]["df"]);
    }
}

#[test]
fn vines_are_never_the_error_of_a_treatment_applied_to_plots() {
    let data = Csv::read("DAAG_kiwishade.csv");
    let (offset, values) = data.centred("yield");
    let design = kiwishade(&data).design().unwrap();
    let variance = design.layout.analyse(&values);
    let wanted = &json("differences.json")["kiwishade"];
    let f = variance.lines[0].f.unwrap();
    assert!((f - number(&wanted["wrong_pseudoreplicated_F"])).abs() > 10.0);
    let shade = design.treatments[0];
    let plan = design.layout.mean_plan(&[shade]);
    let table = design.layout.mean_table(&plan, &values, &variance);
    let se = table.of_mean[0].unwrap().standard_error();
    assert!(digits(se, number(&wanted["se_mean_fixed_blocks"])) > 11.0);
    assert!(
        digits(
            table.of_difference[0].unwrap().standard_error(),
            number(&wanted["sed"])
        ) > 11.0
    );
    for (level, mean) in design.layout.classifiers()[shade]
        .levels
        .iter()
        .zip(&table.means)
    {
        assert!(digits(offset + mean, number(&wanted["means"][level])) > 12.0);
    }
    // Without the declaration that the values are vines, several values of a plot are refused.
    let plain = Sheet {
        vines: false,
        ..kiwishade(&data)
    };
    let refusal = plain.design().unwrap_err().to_string();
    assert!(refusal.contains("has 4 values"), "{refusal}");
}

#[test]
fn nonadditivity_of_a_latin_square() {
    let data = Csv::read("datasets_OrchardSprays.csv");
    let design = latin(&data).design().unwrap();
    let variance = design.layout.analyse(&data.centred("decrease").1);
    let found = design
        .layout
        .nonadditivity(&variance, design.plots)
        .unwrap();
    let wanted = &json("differences.json")["orchardsprays_nonadditivity"];
    assert!(digits(found.sum_of_squares, number(&wanted["SS"])) > 10.0);
    assert!(digits(found.f.unwrap(), number(&wanted["F"])) > 10.0);
    assert!(digits(found.p.unwrap(), number(&wanted["p"])) > 10.0);
}

#[test]
fn seeding_rates_of_rice_as_recalled() {
    // Gomez & Gomez 1984, Statistical Procedures for Agricultural Research, Table 2.5: grain yield
    // of rice at six seeding rates in four blocks, data recalled from memory; the totals agree with
    // the book's as recalled: SS 4801068, blocks 1944361, treatments 1198331, error 1658376.
    let yields = [
        ("25", [5113.0, 5398.0, 5307.0, 4678.0]),
        ("50", [5346.0, 5952.0, 4719.0, 4264.0]),
        ("75", [5272.0, 5713.0, 5483.0, 4749.0]),
        ("100", [5164.0, 4831.0, 4986.0, 4410.0]),
        ("125", [4804.0, 4848.0, 4432.0, 4748.0]),
        ("150", [5254.0, 4542.0, 4919.0, 4098.0]),
    ];
    let mut columns = (Vec::new(), Vec::new(), Vec::new());
    for (rate, row) in yields {
        for (block, value) in row.into_iter().enumerate() {
            columns.0.push(rate);
            columns.1.push(block.to_string());
            columns.2.push(value - 5000.0);
        }
    }
    let rates: Vec<String> = yields.iter().map(|(rate, _)| (*rate).to_owned()).collect();
    let sheet = Sheet {
        block: Some(Classifier::from_texts("block", &columns.1, &[])),
        ..sheet(
            Kind::RandomisedBlock,
            Classifier::from_texts("plot", &columns.0, &[]),
            vec![(
                Classifier::from_texts("rate", &columns.0, &rates),
                Applied::Plot,
            )],
        )
    };
    let design = sheet.design().unwrap();
    let variance = design.layout.analyse(&columns.2);
    assert_eq!(variance.errors[0].sum_of_squares.round(), 1_944_361.0);
    assert_eq!(variance.lines[0].sum_of_squares.round(), 1_198_331.0);
    assert_eq!(variance.errors[1].sum_of_squares.round(), 1_658_376.0);
    assert_eq!((variance.lines[0].f.unwrap() * 1e3).round(), 2168.0);
    let plan = design.layout.mean_plan(&design.treatments);
    let table = design.layout.mean_table(&plan, &columns.2, &variance);
    assert_eq!(
        (table.of_difference[0].unwrap().standard_error() * 10.0).round(),
        2351.0
    );
    assert_eq!(
        (table.of_mean[0].unwrap().standard_error() * 100.0).round(),
        16625.0
    );
}

#[test]
fn unequal_replication_is_orthogonal_in_one_way() {
    // By hand: means 2, 6 and 4, grand mean 4; between 3·4 + 2·4 + 1·0 + … = 2·4+3·4; within 2 + 2.
    let treatment = ["a", "a", "b", "b", "b", "c"];
    let values = [1.0, 3.0, 5.0, 6.0, 7.0, 4.0];
    let plots: Vec<String> = (0..6).map(|n| n.to_string()).collect();
    let sheet = sheet(
        Kind::CompletelyRandomised,
        Classifier::from_texts("plot", &plots, &[]),
        vec![(
            Classifier::from_texts("treatment", &treatment, &[]),
            Applied::Plot,
        )],
    );
    let design = sheet.design().unwrap();
    let variance = design.layout.analyse(&values);
    let mean = 26.0 / 6.0;
    let between = 2.0 * (2.0 - mean) * (2.0 - mean)
        + 3.0 * (6.0 - mean) * (6.0 - mean)
        + (4.0 - mean) * (4.0 - mean);
    assert!(digits(variance.lines[0].sum_of_squares, between) > 14.0);
    assert!(digits(variance.errors[0].sum_of_squares, 4.0) > 14.0);
    let plan = design.layout.mean_plan(&design.treatments);
    assert_eq!(plan.kinds.len(), 3, "three pairs, three precisions");
}

fn refused(change: impl Fn(&mut Vec<usize>), sheet: &dyn Fn(&Csv) -> Sheet, file: &str) -> String {
    let data = Csv::read(file);
    let full = sheet(&data);
    let mut keep: Vec<usize> = (0..full.plot.codes.len()).collect();
    change(&mut keep);
    let pick = |classifier: &Classifier| {
        let names: Vec<&String> = keep
            .iter()
            .map(|&row| &classifier.levels[classifier.codes[row]])
            .collect();
        Classifier::from_texts(&classifier.name, &names, &classifier.levels)
    };
    let less = Sheet {
        block: full.block.as_ref().map(pick),
        row: full.row.as_ref().map(pick),
        column: full.column.as_ref().map(pick),
        plot: pick(&full.plot),
        season: full.season.as_ref().map(pick),
        treatments: full.treatments.iter().map(|(c, a)| (pick(c), *a)).collect(),
        ..full
    };
    less.design().unwrap_err().to_string()
}

/// What is said of plots as (block, treatment) in randomised blocks.
fn refused_blocks(plots: &[(&str, &str)]) -> String {
    let (blocks, treatments): (Vec<&str>, Vec<&str>) = plots.iter().copied().unzip();
    let names: Vec<String> = (0..plots.len()).map(|plot| plot.to_string()).collect();
    let sheet = Sheet {
        kind: Kind::RandomisedBlock,
        block: Some(Classifier::from_texts("block", &blocks, &[])),
        row: None,
        column: None,
        plot: Classifier::from_texts("plot", &names, &[]),
        season: None,
        vines: false,
        treatments: vec![(
            Classifier::from_texts("nodes", &treatments, &[]),
            Applied::Plot,
        )],
        block_by_season: false,
    };
    sheet.design().unwrap_err().to_string()
}

#[test]
fn blocks_that_compare_nothing_are_described() {
    assert_eq!(
        refused_blocks(&[
            ("A", "12"),
            ("A", "12"),
            ("B", "24"),
            ("B", "24"),
            ("C", "36"),
            ("C", "36")
        ]),
        "every block has plots of one treatment only, so that what treatments did cannot be told from what blocks did: whole blocks are compared here, not plots inside blocks"
    );
    let complete = [
        ("A", "12"),
        ("A", "24"),
        ("B", "12"),
        ("B", "24"),
        ("C", "12"),
        ("C", "24"),
    ];
    let with = |more: &[(&'static str, &'static str)]| refused_blocks(&[&complete, more].concat());
    assert_eq!(
        with(&[("A", "36")]),
        "nodes 36 stands in block A only, so that it cannot be told from that block"
    );
    assert_eq!(
        with(&[("D", "12"), ("D", "12")]),
        "block D has plots with nodes 12 only, so that nothing can be compared inside it"
    );
    assert_eq!(
        with(&[("D", "12")]),
        "block D has no value for nodes 24: the set is unbalanced"
    );
    assert_eq!(
        with(&[("A", "36"), ("B", "36"), ("B", "36"), ("C", "36")]),
        "block B has 2 plots with nodes 36 where other blocks have 1: this is not a randomised block design"
    );
    let mut five = complete.to_vec();
    five.extend([
        ("D", "12"),
        ("D", "24"),
        ("E", "12"),
        ("E", "24"),
        ("A", "36"),
        ("B", "36"),
    ]);
    assert_eq!(
        refused_blocks(&five),
        "block A has 1 plot with nodes 36 where other blocks have 0: this is not a randomised block design"
    );
}

#[test]
fn what_is_missing_is_named() {
    let file = "sim_perennial_ar1.csv";
    let one = refused(|rows| rows.retain(|&row| row != 1), &perennial, file);
    assert_eq!(
        one,
        "plot B1_P1_minimal has no value in season 2017: the set is unbalanced"
    );
    let plot = refused(|rows| rows.retain(|&row| row >= 6), &perennial, file);
    assert_eq!(
        plot,
        "block B1 has no value for treatment P1_minimal: the set is unbalanced"
    );
    let latin_hole = refused(
        |rows| rows.retain(|&row| row != 0),
        &latin,
        "datasets_OrchardSprays.csv",
    );
    assert_eq!(
        latin_hole,
        "row 1 has no value for treatment D: this is not a Latin square"
    );
}

#[test]
fn block_by_season_has_its_own_line_when_asked() {
    let data = Csv::read("sim_perennial_ar1.csv");
    let design = Sheet {
        block_by_season: true,
        ..perennial(&data)
    }
    .design()
    .unwrap();
    let variance = design.layout.analyse(&data.centred("yield_kg").1);
    let dfs: Vec<usize> = variance.errors.iter().map(|error| error.df).collect();
    assert_eq!(dfs, [4, 12, 20, 60]);
    let season = design.layout.term_of(&[design.season.unwrap()]).unwrap();
    assert_eq!(
        design.layout.strata()[design.layout.terms()[season].stratum].name,
        "Blocks by seasons"
    );
}

#[test]
fn a_thousand_responses_share_one_layout() {
    let data = Csv::read("nlme_Oats.csv");
    let design = split(&data, "Block", "Variety", "nitro").design().unwrap();
    let (_, values) = data.centred("yield");
    let first = design.layout.analyse(&values);
    for _ in 0..1000 {
        assert_eq!(design.layout.analyse(&values).lines, first.lines);
    }
}

#[test]
fn the_linear_part_of_nitrogen_on_oats() {
    // Yates 1935 (Suppl. J. R. Stat. Soc. 2:181): nitrogen linear 19536, deviations 484.
    let data = Csv::read("nlme_Oats.csv");
    let (_, values) = data.centred("yield");
    let design = split(&data, "Block", "Variety", "nitro").design().unwrap();
    let variance = design.layout.analyse(&values);
    let (variety, nitro) = (design.treatments[0], design.treatments[1]);
    let term = design.layout.term_of(&[nitro]).unwrap();
    let part = |term, coefficients: &[f64]| {
        design
            .layout
            .part(&variance, term, nitro, coefficients)
            .unwrap()
    };
    let linear = part(term, &[-3.0, -1.0, 1.0, 3.0]);
    assert_eq!(linear.sum_of_squares.round(), 19536.0);
    assert_eq!((linear.f.unwrap() * 1e3).round(), 110_323.0);
    let rest = part(term, &[1.0, -1.0, -1.0, 1.0]).sum_of_squares
        + part(term, &[-1.0, 3.0, -3.0, 1.0]).sum_of_squares;
    assert!(
        digits(
            linear.sum_of_squares + rest,
            variance.lines[term].sum_of_squares
        ) > 13.0
    );
    // The three parts of the interaction add up to it, two degrees of freedom each.
    let crossed = design.layout.term_of(&[variety, nitro]).unwrap();
    let parts = [
        part(crossed, &[-3.0, -1.0, 1.0, 3.0]),
        part(crossed, &[1.0, -1.0, -1.0, 1.0]),
        part(crossed, &[-1.0, 3.0, -3.0, 1.0]),
    ];
    let total: f64 = parts.iter().map(|part| part.sum_of_squares).sum();
    assert!(digits(total, variance.lines[crossed].sum_of_squares) > 12.0);
    assert!(parts.iter().all(|part| part.df == 2));
}

proptest::proptest! {
    #[test]
    fn every_analysis_adds_up(values in proptest::collection::vec(-1e3..1e3_f64, 48)) {
        let data = Csv::read("sim_splitsplit2.csv");
        let design = split_split(&data).design().unwrap();
        let variance = design.layout.analyse(&values);
        let parts: f64 = variance.lines.iter().map(|line| line.sum_of_squares).sum::<f64>()
            + variance.errors.iter().map(|error| error.sum_of_squares).sum::<f64>();
        let total = caneplot_numerics::sum::squares_about_mean(&values);
        proptest::prop_assert!(digits(parts, total) > 12.0);
        let dfs: usize = design.layout.terms().iter().map(|term| term.df).sum::<usize>()
            + design.layout.strata().iter().map(|stratum| stratum.residual_df).sum::<usize>();
        proptest::prop_assert_eq!(dfs, 47);
        // What is fitted and the last residuals make up the values again.
        let fitted = design.layout.fitted(&variance.swept, design.plots);
        let cells = &design.layout.strata()[design.plots].cells;
        for (unit, value) in values.iter().enumerate() {
            let again = fitted[unit] + variance.swept.residuals[design.plots][cells.of_unit()[unit]];
            proptest::prop_assert!((again - value).abs() < 1e-9);
        }
    }
}

#[test]
fn a_control_laid_out_twice_in_every_block_is_orthogonal() {
    // Three blocks of control, control, a, b. By hand: block means 2.75, 3.75, 4.75 about 3.75;
    // treatment means control 3, a 4, b 5: SS 6·.5625 + 3·.0625 + 3·1.5625 = 8.25, blocks 8.
    let treatment = ["control", "control", "a", "b"].repeat(3);
    let values = [2.0, 2.0, 3.0, 4.0, 3.0, 3.0, 4.0, 5.0, 4.0, 4.0, 5.0, 6.0];
    let blocks: Vec<String> = (0..12).map(|row| (row / 4).to_string()).collect();
    let plots: Vec<String> = (0..12).map(|row| (row % 4).to_string()).collect();
    let sheet = Sheet {
        block: Some(Classifier::from_texts("block", &blocks, &[])),
        ..sheet(
            Kind::RandomisedBlock,
            Classifier::from_texts("plot", &plots, &[]),
            vec![(
                Classifier::from_texts("treatment", &treatment, &[]),
                Applied::Plot,
            )],
        )
    };
    let variance = sheet.design().unwrap().layout.analyse(&values);
    assert!(digits(variance.errors[0].sum_of_squares, 8.0) > 14.0);
    assert!(digits(variance.lines[0].sum_of_squares, 8.25) > 14.0);
    assert_eq!((variance.lines[0].df, variance.errors[1].df), (2, 7));
    assert_eq!(variance.errors[1].sum_of_squares, 0.0);
    assert_eq!(variance.lines[0].f, None);
}

#[test]
fn a_pair_of_means_splits_by_strata_as_its_weights_do() {
    let data = Csv::read("sim_splitsplit2.csv");
    let (_, values) = data.centred("yield");
    let design = split_split(&data).design().unwrap();
    let layout = &design.layout;
    let variance = layout.analyse(&values);
    let plan = layout.mean_plan(&design.treatments);
    let table = layout.mean_table(&plan, &values, &variance);
    for (kind, precision) in plan.kinds.iter().zip(&table.of_difference) {
        for &(first, second) in &kind.pairs {
            let weights: Vec<f64> = plan
                .cells
                .of_unit()
                .iter()
                .map(|&cell| match cell {
                    own if own == first => 1.0 / plan.cells.sizes()[own] as f64,
                    own if own == second => -1.0 / plan.cells.sizes()[own] as f64,
                    _ => 0.0,
                })
                .collect();
            let again = layout
                .precision(&layout.split(&weights), &variance)
                .unwrap();
            let found = precision.unwrap();
            assert!(digits(again.variance, found.variance) > 12.0);
            assert!(digits(again.df, found.df) > 12.0);
        }
    }
}
