//! How large a planned trial must be, asked on the command line.

use std::fs;
use std::path::Path;
use std::process::Output;

use serde_json::Value as Json;

use crate::support::{assert_same, caneplot, column, comparable, root, said, table};

const PLAN: &str = "[trial]\ntitle = \"Nodes, long slope\"\nquestion = \"How many nodes?\"\n\
                    seasons = \"2027-2029\"\nseed = 11\n\n\
                    [design]\nkind = \"randomised block\"\nblocks = 5\nvines = 4\n\n\
                    [factors.nodes]\nlabel = \"Nodes left\"\nlevels = [12, 24, 36, 48]\nunit = \"nodes/vine\"\n";

const SPREAD: [&str; 10] = [
    "--mean",
    "4.0",
    "--between-plots",
    "8 %",
    "--between-vines",
    "20 %",
    "--within-seasons",
    "6%",
    "--difference",
    "0.8",
];

fn size(arguments: &[&str]) -> Output {
    caneplot()
        .arg("size")
        .args(arguments)
        .output()
        .expect("the program starts")
}

fn plan(folder: &Path, text: &str) -> String {
    let path = folder.join("plan.toml");
    fs::write(&path, text).expect("written");
    path.to_str().expect("a plain path").to_owned()
}

fn tests(folder: &Path) -> Json {
    let text = fs::read_to_string(folder.join("findings.json")).expect("findings");
    let findings: Json = serde_json::from_str(&text).expect("JSON");
    table(&findings["analyses"][0]["findings"]["sections"][0], "tests").clone()
}

fn refused(output: &Output, parts: &[&str]) {
    let said = said(output);
    assert_eq!(output.status.code(), Some(1), "{said}");
    for part in parts {
        assert!(said.contains(part), "'{part}' in: {said}");
    }
}

#[test]
fn a_plan_file_gets_an_answer_and_a_folder_that_can_be_verified() {
    let place = tempfile::tempdir().expect("a folder");
    let plan = plan(place.path(), PLAN);
    let out = |name: &str| place.path().join(name).to_str().expect("plain").to_owned();
    let ask = |out: &str| {
        let more = [
            "--loss",
            "0.1",
            "--draws",
            "300",
            "--price-plot",
            "40",
            "--price-vine",
            "6",
            "--treatments-by-season",
            "4 %",
            "--unit",
            "kg/vine",
            "--out",
        ];
        size(&[&[plan.as_str()][..], &SPREAD, &more, &[out]].concat())
    };
    let (one, two) = (out("one"), out("two"));
    let output = ask(&one);
    assert!(output.status.success(), "{}", said(&output));
    for part in [
        "# Nodes, long slope",
        "5 blocks of 4 plots with 4 vines over 3 seasons",
        "| Nodes left × Season |",
        "would remain with any number of blocks",
        "The cheapest trial",
    ] {
        assert!(
            said(&output).contains(part),
            "'{part}' in: {}",
            said(&output)
        );
    }
    let whole = fs::read_to_string(place.path().join("one/size.md")).expect("the answer");
    for part in [
        "figures/power-size-blocks.png",
        "Monte Carlo",
        "Scheffé",
        "Cochran",
        "After a trial",
    ] {
        assert!(whole.contains(part), "'{part}' in: {whole}");
    }
    assert!(ask(&two).status.success());
    assert_same(&comparable(Path::new(&one)), &comparable(Path::new(&two)));
    let output = caneplot()
        .args(["verify", &one])
        .output()
        .expect("it starts");
    assert!(output.status.success(), "{}", said(&output));
    assert!(
        !whole.contains(place.path().to_str().expect("plain")),
        "no place of this machine"
    );
}

#[test]
fn the_spread_of_an_earlier_report_is_that_of_its_mean_squares() {
    let place = tempfile::tempdir().expect("a folder");
    let plan = plan(place.path(), PLAN);
    let report = root().join("reports/node-number");
    let report = report.to_str().expect("plain");
    let out = |name: &str| place.path().join(name).to_str().expect("plain").to_owned();
    let taken = size(&[
        &plan,
        "--from",
        report,
        "--response",
        "yield",
        "--difference",
        "0.3",
        "--out",
        &out("taken"),
    ]);
    assert!(taken.status.success(), "{}", said(&taken));
    assert!(said(&taken).contains("kg/vine"), "{}", said(&taken));
    // From the report: mean squares 0.20809546875 between plots, 0.03260719328703704 between seasons,
    // 0.20003054012345686 of nodes by seasons; four seasons, five blocks.
    let root_of = |variance: f64| format!("{:.17}", variance.sqrt());
    let (plots, seasons) = (
        root_of((0.20809546875 - 0.03260719328703704) / 4.0),
        root_of(0.03260719328703704),
    );
    let by_season = root_of((0.20003054012345686 - 0.03260719328703704) / 5.0);
    let typed = size(&[
        &plan,
        "--between-plots",
        &plots,
        "--within-seasons",
        &seasons,
        "--treatments-by-season",
        &by_season,
        "--unit",
        "kg/vine",
        "--difference",
        "0.3",
        "--out",
        &out("typed"),
    ]);
    assert!(typed.status.success(), "{}", said(&typed));
    let (taken, typed) = (
        tests(Path::new(&out("taken"))),
        tests(Path::new(&out("typed"))),
    );
    for name in ["Power", "Detectable with power 0.8"] {
        for (taken, typed) in column(&taken, name).iter().zip(column(&typed, name)) {
            let (taken, typed) = (
                taken.as_f64().expect("a number"),
                typed.as_f64().expect("a number"),
            );
            assert!(
                (taken / typed - 1.0).abs() < 1e-9,
                "{name}: {taken} {typed}"
            );
        }
    }
    // A report that has only the mixed analysis gives its components.
    let mixed = root().join("reports/winter-damage");
    let mixed = mixed.to_str().expect("plain");
    let output = size(&[
        &plan,
        "--from",
        mixed,
        "--response",
        "yield",
        "--difference",
        "10 %",
    ]);
    assert!(output.status.success(), "{}", said(&output));
}

#[test]
fn options_stand_for_a_plan_of_any_design() {
    for (design, factors, blocks, more) in [
        (
            "completely randomised",
            &["nodes=12,24,36"][..],
            "6",
            &[][..],
        ),
        ("Latin square", &["nodes=12,24,36,48"], "", &[]),
        (
            "split plot",
            &["system(whole plot)=HT,SC,CP", "nodes(sub plot)=24,40"],
            "4",
            &["--between-whole-plots", "5 %"],
        ),
        (
            "strip plot",
            &["system(row strip)=HT,SC,CP", "nodes(cross strip)=24,40"],
            "4",
            &["--between-row-strips", "5 %"],
        ),
    ] {
        let mut arguments = vec!["--design", design, "--vines", "4"];
        for factor in factors {
            arguments.extend(["--factor", factor]);
        }
        if !blocks.is_empty() {
            arguments.extend(["--blocks", blocks]);
        }
        let output = size(&[&arguments[..], more, &SPREAD].concat());
        assert!(output.status.success(), "{design}: {}", said(&output));
        assert!(
            said(&output).contains("of 100 such trials"),
            "{design}: {}",
            said(&output)
        );
    }
}

#[test]
fn plans_and_spreads_without_an_answer_are_refused() {
    let place = tempfile::tempdir().expect("a folder");
    let whole = plan(place.path(), PLAN);
    let ask = |more: &[&str]| size(&[&[whole.as_str()][..], more].concat());
    refused(
        &ask(&["--difference", "0.5", "--within-seasons", "0.2"]),
        &["plots treated alike vary is not given", "--between-plots"],
    );
    refused(
        &ask(&["--difference", "0.5", "--between-plots", "0.2"]),
        &["from season to season is not given", "--within-seasons"],
    );
    refused(
        &ask(&[
            "--difference",
            "10 %",
            "--between-plots",
            "0.2",
            "--within-seasons",
            "0.1",
        ]),
        &["there is no mean"],
    );
    refused(
        &ask(&["--difference", "half", "--between-plots", "0.2"]),
        &["\"half\" is not an amount"],
    );
    refused(
        &ask(&["--difference", "1", "--between-plots", "0.2", "--loss", "2"]),
        &["'loss'", "from 0 to 0.9"],
    );
    let report = root().join("reports/node-number");
    let report = report.to_str().expect("plain");
    refused(
        &ask(&["--difference", "1", "--from", report]),
        &["add --response NAME", "brix"],
    );
    refused(
        &ask(&["--difference", "1", "--from", report, "--response", "yeild"]),
        &["no response 'yeild'", "did you mean 'yield'"],
    );
    refused(
        &ask(&[
            "--difference",
            "1",
            "--from",
            "nowhere",
            "--response",
            "yield",
        ]),
        &["cannot be read", "findings.json"],
    );
    let single = plan(place.path(), &PLAN.replace("blocks = 5", "blocks = 1"));
    refused(
        &size(&[&[single.as_str()][..], &SPREAD].concat()),
        &["no replication", "plan.toml:9:10"],
    );
    fs::create_dir(place.path().join("mine")).expect("a folder");
    let mine = place.path().join("mine");
    let good = plan(place.path(), PLAN);
    refused(
        &size(
            &[
                &[good.as_str()][..],
                &SPREAD,
                &["--out", mine.to_str().expect("plain")],
            ]
            .concat(),
        ),
        &["nothing was replaced"],
    );
}

#[test]
fn a_plan_can_say_what_its_size_is_reckoned_with() {
    let place = tempfile::tempdir().expect("a folder");
    let written = "\n[size]\nmean = 4.0\nbetween_plots = \"8 %\"\nbetween_vines = \"20 %\"\n\
                   within_seasons = \"6%\"\ndifference = 0.8\n";
    let plain = plan(place.path(), PLAN);
    let typed = size(&[&[plain.as_str()][..], &SPREAD].concat());
    assert!(typed.status.success(), "{}", said(&typed));
    let whole = plan(place.path(), &format!("{PLAN}{written}"));
    let output = size(&[&whole]);
    assert_eq!(said(&output), said(&typed));
    // What is typed goes before what is written.
    let other = size(&[&whole, "--difference", "0.4"]);
    assert!(other.status.success(), "{}", said(&other));
    assert_ne!(said(&other), said(&typed));
    // The plan itself is laid out as if the table were not there.
    let laid = caneplot()
        .args(["plan", &whole, "--out"])
        .arg(place.path().join("trial"))
        .output()
        .expect("the program starts");
    assert!(laid.status.success(), "{}", said(&laid));
}

#[test]
fn a_mistake_in_the_size_of_a_plan_stands_at_its_line() {
    let place = tempfile::tempdir().expect("a folder");
    for (written, parts) in [
        (
            "diffrence = 0.8",
            &["plan.toml:18:1", "diffrence", "difference"][..],
        ),
        ("mean = \"four\"", &["plan.toml:18:8", "must be a number"]),
        (
            "difference = 0.8\nwanted = 7",
            &["plan.toml:19:10", "'wanted'"],
        ),
        ("mean = 4.0", &["the difference that matters is not given"]),
    ] {
        let path = plan(place.path(), &format!("{PLAN}\n[size]\n{written}\n"));
        refused(&size(&[&path]), parts);
    }
}
