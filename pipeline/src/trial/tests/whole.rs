//! What a right file means.

use super::*;

fn good() -> Trial {
    let folder = folder(GOOD);
    match read(folder.path()) {
        Ok(trial) => trial,
        Err(faults) => panic!(
            "{}",
            faults.iter().map(ToString::to_string).collect::<String>()
        ),
    }
}

#[test]
fn everything_written_is_understood() {
    let trial = good();
    assert_eq!(trial.title, "Node number, terrace block");
    assert_eq!(trial.seasons, ["2021", "2022", "2023"]);
    assert_eq!(trial.seed, 1);
    assert_eq!(
        trial.about,
        [
            ("site".to_owned(), "Terrace".to_owned()),
            ("planted".to_owned(), "1998".to_owned())
        ]
    );
    assert_eq!(trial.vineyard.row_spacing_m, Some(2.4));
    assert_eq!(trial.vineyard.canopy, Some(Canopy::Single));
    assert_eq!(trial.vineyard.written_in.as_deref(), Some("m"));
    assert_eq!(trial.design.kind, DesignKind::RandomisedBlock);
    assert_eq!(trial.design.plot.value, "plot");
    assert!(trial.design.row.is_none());

    let factor = &trial.factors[0];
    assert_eq!(
        (factor.name.as_str(), factor.role),
        ("nodes", Role::Treatment)
    );
    assert_eq!(factor.label, "Nodes");
    assert_eq!(factor.column.value, "nodes");
    let levels: Vec<(&str, Option<f64>)> = factor
        .levels
        .iter()
        .map(|level| (level.name.as_str(), level.value))
        .collect();
    assert_eq!(
        levels,
        [("36", Some(36.0)), ("12", Some(12.0)), ("24", Some(24.0))]
    );
    assert_eq!(factor.control.as_ref().unwrap().value, "24");

    assert_eq!(trial.data.len(), 2);
    assert!(trial.data.iter().all(|file| file.path.is_absolute()));
    assert_eq!(trial.data[0].missing, ["", "NA", "-", "."]);
    assert_eq!(trial.data[1].missing, ["", "NA", "-999"]);
    assert_eq!(
        trial.data[1].winter.as_ref().unwrap().value,
        Winter::AfterHarvest
    );

    let status = trial.status.as_ref().unwrap();
    assert_eq!(status.dead, ["dead", "kaput"]);
    assert!(status.alive.contains(&"alive".to_owned()));

    let quantities: Vec<(&str, Quantity, String)> = trial
        .responses
        .iter()
        .map(|response| {
            (
                response.name.as_str(),
                response.quantity,
                response.unit.to_string(),
            )
        })
        .collect();
    assert_eq!(
        quantities,
        [
            ("yield", Quantity::Yield, "kg/vine".to_owned()),
            (
                "pruning_weight",
                Quantity::PruningWeight,
                "kg/vine".to_owned()
            ),
            ("brix", Quantity::SolubleSolids, "°Brix".to_owned()),
            ("broken_buds", Quantity::BudBreak, "%".to_owned()),
        ]
    );
    let crop = &trial.responses[0];
    assert_eq!(crop.report_unit.as_ref().unwrap().to_string(), "t/ha");
    assert_eq!(crop.possible, Some((0.0, 30.0)));
    assert_eq!(trial.responses[2].column.value, "brix");
    assert_eq!(trial.responses[3].of.as_ref().unwrap().value, "buds_left");

    let ratio = &trial.ratios[0];
    assert_eq!(ratio.index, Some(Index::YieldToPruningWeight));
    assert_eq!(ratio.unit, "kg/kg");
    // Yield is reported in t/ha; 1 t/ha on 2.4 x 1.5 m is 0.36 kg a vine.
    assert!((ratio.scale - 0.36).abs() < 1e-15);

    let analyses = trial.analyses.as_ref().unwrap();
    assert_eq!(analyses[0].name.value, "anova");
    assert_eq!(analyses[0].options[1].0.value, "level");
    assert_eq!(analyses[0].options[1].1.value, serde_json::json!(0.05));
    assert_eq!(
        &trial.source.text[analyses[0].options[0].1.span.clone()],
        "\"tukey\""
    );
    assert!(analyses[1].options.is_empty());
}

#[test]
fn without_the_optional_parts_the_rest_has_its_defaults() {
    let folder = folder(
        r#"
[trial]
title = "t"
question = "q"
[design]
kind = "Completely-Randomized"
plot = "plot"
[factors.training]
levels = ["spur", "cane"]
labels = { spur = "two-node spurs" }
canopies = { cane = "divided" }
[[data]]
file = "harvest.csv"
[responses.clusters]
unit = "clusters/vine"
"#,
    );
    let trial = read(folder.path()).unwrap();
    assert_eq!(trial.design.kind, DesignKind::CompletelyRandomised);
    assert!(trial.seasons.is_empty() && trial.seasons_span.is_none());
    assert!(trial.analyses.is_none() && trial.status.is_none() && trial.ratios.is_empty());
    let levels = &trial.factors[0].levels;
    assert_eq!(levels[0].label, "two-node spurs");
    assert_eq!(
        (levels[1].label.as_str(), levels[1].canopy),
        ("cane", Some(Canopy::Divided))
    );
    assert_eq!(levels[0].value, None);
}

#[test]
fn signs_and_line_ends_of_toml_do_not_get_into_names_and_headings() {
    let text = with("[36, 12, 24]", "[+36, 1_000, 0x18]").replace(
        "\"Node number, terrace block\"",
        "\"\"\"Node number,\n  terrace block\"\"\"",
    );
    let folder = folder(&text);
    let trial = read(folder.path()).unwrap();
    assert_eq!(trial.title, "Node number, terrace block");
    let levels: Vec<&str> = trial.factors[0]
        .levels
        .iter()
        .map(|level| level.name.as_str())
        .collect();
    assert_eq!(levels, ["36", "1000", "24"]);
}

#[test]
fn feet_and_seasons_in_a_list_are_read() {
    let text = with(
        "seasons = \"2021-2023\"",
        "seasons = [\"2021/22\", \"2022/23\"]\nseed = 20",
    )
    .replace("2.4 m", "8 ft")
    .replace("1.5 m", "6 ft");
    let folder = folder(&text);
    let trial = read(folder.path()).unwrap();
    assert_eq!(trial.seasons, ["2021/22", "2022/23"]);
    assert_eq!(trial.seed, 20);
    assert_eq!(trial.vineyard.written_in.as_deref(), Some("ft"));
    assert_eq!(trial.vineyard.row_spacing_m, Some(8.0 * 0.3048));
}

#[test]
fn designs_of_several_strata_take_their_roles() {
    for (kind, place, roles) in [
        (
            "split plot",
            "block = \"block\"",
            &["whole plot", "sub plot"][..],
        ),
        (
            "strip plot",
            "block = \"block\"",
            &["row strip", "cross strip"],
        ),
        (
            "split-split plot",
            "block = \"block\"",
            &["whole plot", "sub plot", "sub-sub plot"],
        ),
        (
            "Latin square",
            "row = \"r\"\ncolumn = \"c\"",
            &["treatment", "treatment"],
        ),
    ] {
        let factors: String = roles
            .iter()
            .enumerate()
            .map(|(at, role)| {
                format!("[factors.f{at}]\nrole = \"{role}\"\nlevels = [\"a\", \"b\"]\n")
            })
            .collect();
        let text = format!(
            "[trial]\ntitle = \"t\"\nquestion = \"q\"\n[design]\nkind = \"{kind}\"\n{place}\n\
             plot = \"plot\"\n[[data]]\nfile = \"harvest.csv\"\n[responses.brix]\nunit = \"Brix\"\n\
             {factors}"
        );
        let folder = folder(&text);
        let trial = read(folder.path());
        assert!(trial.is_ok(), "{kind}: {:?}", trial.err());
    }
}

#[test]
fn windows_line_ends_a_byte_order_mark_and_letters_of_any_script_are_read() {
    let text = format!(
        "\u{feff}{}",
        GOOD.replace("Terrace\"", "Weißer Berg 葡萄\"")
            .replace('\n', "\r\n")
    );
    let folder = folder(&text);
    let trial = read(folder.path()).unwrap();
    assert_eq!(trial.about[0].1, "Weißer Berg 葡萄");
    let span = &trial.factors[0].span;
    assert_eq!(&trial.source.text[span.clone()], "nodes");
}

#[test]
fn the_caret_stands_under_what_is_meant_whatever_the_line_ends() {
    let wrong = with("kind = \"randomised block\"", "kind = \"randomisd blöck\"");
    for text in [
        wrong.clone(),
        format!("\u{feff}{}", wrong.replace('\n', "\r\n")),
    ] {
        let printed = mistakes_of(&text)[0].to_string();
        let lines: Vec<&str> = printed.lines().collect();
        assert!(lines[1].ends_with("trial.toml:17:8"), "{printed}");
        assert_eq!(lines[2], "  17 | kind = \"randomisd blöck\"");
        assert_eq!(lines[3], "     |        ^^^^^^^^^^^^^^^^^");
    }
}

#[test]
fn a_folder_that_is_no_trial_is_told_what_a_trial_folder_is() {
    let empty = TempDir::new().unwrap();
    let faults = read(empty.path()).unwrap_err();
    assert_eq!(faults.len(), 1);
    assert!(faults[0].message.contains("no trial.toml"));
    assert!(
        faults[0]
            .help
            .as_ref()
            .unwrap()
            .contains("declares the design")
    );

    fs::write(empty.path().join("trail.toml"), "").unwrap();
    let faults = read(empty.path()).unwrap_err();
    assert!(
        faults[0]
            .help
            .as_ref()
            .unwrap()
            .starts_with("rename trail.toml")
    );

    let faults = read(&empty.path().join("trail.toml")).unwrap_err();
    assert!(faults[0].message.contains("is a file"));
    let faults = read(Path::new("/nowhere/at/all")).unwrap_err();
    assert!(faults[0].message.contains("no such folder"));

    fs::write(
        empty.path().join("trial.toml"),
        b"[trial]\ntitle = \"Ros\xe9\"\n",
    )
    .unwrap();
    let faults = read(empty.path()).unwrap_err();
    assert_eq!(faults[0].rule, "trial-encoding");
    assert_eq!(faults[0].places[0].line_column(), Some((2, 1)));
}

#[test]
fn the_example_of_the_documentation_is_a_trial() {
    let guide = include_str!("../../../../trials/README.md");
    let (_, rest) = guide.split_once("```toml\n").unwrap();
    let (example, _) = rest.split_once("```").unwrap();
    let folder = folder(example);
    let trial = read(folder.path());
    assert!(trial.is_ok(), "{:?}", trial.err());
}

#[test]
fn every_key_and_word_is_in_the_documentation() {
    let guide = include_str!("../../../../trials/README.md");
    for table in keys::TABLES {
        let written = [
            format!("`[{table}]`"),
            format!("`[[{table}]]`"),
            format!("`[{table}.NAME]`"),
        ];
        assert!(
            written
                .iter()
                .any(|title| guide.contains(&format!("### {title}"))),
            "{table}"
        );
    }
    let every = [
        keys::TRIAL,
        keys::VINEYARD,
        keys::DESIGN,
        keys::FACTOR,
        keys::RULE,
        keys::DATA,
        keys::STATUS,
        keys::RESPONSE,
        keys::COVARIATE,
        keys::RATIO,
        keys::RERUN,
    ];
    for key in every.into_iter().flatten() {
        let row = |line: &str| line.starts_with('|') && line.contains(&format!("`{key}`"));
        assert!(guide.lines().any(row), "{key}");
    }
    for known in crate::trial::checks::KNOWN {
        let row = |line: &str| {
            line.starts_with(&format!("| `{}` |", known.key))
                && line.contains(&format!("`{}`", known.usual.written()))
        };
        assert!(guide.lines().any(row), "{}", known.key);
    }
    let words = words::KINDS
        .all()
        .chain(words::HEMISPHERES.all())
        .chain(words::ROLES.all())
        .chain(words::CANOPIES.all())
        .chain(words::WINTERS.all())
        .chain(words::LIGHTS.all())
        .chain(words::QUANTITIES.all());
    for word in words {
        assert!(guide.contains(word), "{word}");
    }
}

#[test]
fn a_covariate_is_read_like_a_response_and_kept_apart() {
    let covariate = "[covariates.prunings_before]\ncolumn = \"wood_2020\"\nis = \"pruning weight\"\n\
                     unit = \"kg/vine\"\nreport_in = \"kg/m\"\npossible = [0, 5]\n\n[ratios]";
    let folder = folder(&with("[ratios]", covariate));
    let trial = read(folder.path()).unwrap();
    assert_eq!(trial.responses.len(), 4);
    let one = &trial.covariates[0];
    assert_eq!(
        (one.name.as_str(), one.label.as_str()),
        ("prunings_before", "Prunings before")
    );
    assert_eq!(
        (one.column.value.as_str(), one.quantity),
        ("wood_2020", Quantity::PruningWeight)
    );
    assert_eq!(one.report_unit.as_ref().unwrap().to_string(), "kg/m");
    assert_eq!(one.possible, Some((0.0, 5.0)));
    assert!(good().covariates.is_empty());
}
