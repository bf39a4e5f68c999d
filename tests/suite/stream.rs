//! Records by the million, here by the hundred: from files of a sensor to a report.

use std::fs;
use std::path::Path;
use std::process::Stdio;
use std::time::{Duration, Instant};

use serde_json::Value as Json;

use crate::support::{Scratch, caneplot, column, comparable, root, said, section, table};

const TRIAL: &str = r#"[trial]
title = "Records of a yield monitor"
question = "How many nodes?"
seasons = "2023-2024"

[design]
kind = "randomised block"
block = "block"
plot = "plot"
season = "season"

[factors.nodes]
levels = [12, 24, 36]
unit = "nodes/vine"

[[data]]
file = "layout.csv"

[[data]]
file = "sensor"
summary = "mean"

[responses.yield]
column = "kg"
unit = "kg/vine"

[analyses]
anova = {}
"#;

/// A trial whose crop comes from `tests/fixtures/typed/sensor`.
fn sensor() -> Scratch {
    let scratch = Scratch::new();
    let mut layout = String::from("block,plot,nodes\n");
    for block in 1..=4 {
        for (at, nodes) in [12, 24, 36].iter().enumerate() {
            layout.push_str(&format!("B{block},{block}0{},{nodes}\n", at + 1));
        }
    }
    scratch.write("trial.toml", TRIAL);
    scratch.write("layout.csv", &layout);
    let fixtures = root().join("tests/fixtures/typed");
    copy(&fixtures.join("sensor"), &scratch.trial().join("sensor"));
    fs::copy(
        fixtures.join("sensor.csv"),
        scratch.trial().join("sensor.csv"),
    )
    .expect("copied");
    scratch
}

fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).expect("a folder");
    for entry in fs::read_dir(from).expect("a folder") {
        let path = entry.expect("an entry").path();
        let new = to.join(path.file_name().expect("a name"));
        if path.is_dir() {
            copy(&path, &new);
        } else {
            fs::copy(&path, &new).expect("copied");
        }
    }
}

fn means(findings: &Json) -> Vec<Json> {
    let means = table(section(findings, "anova", "yield"), "means-nodes");
    column(means, "All seasons").clone()
}

#[test]
fn parquet_in_folders_and_text_give_one_report_and_verify_holds() {
    let scratch = sensor();
    let parquet = scratch.findings();
    let manifest = fs::read(scratch.report().join("manifest.json")).expect("a manifest");
    let manifest: Json = serde_json::from_slice(&manifest).expect("JSON");
    let inputs: Vec<&str> = manifest["inputs"]
        .as_array()
        .expect("inputs")
        .iter()
        .map(|input| input["path"].as_str().expect("a path"))
        .collect();
    assert_eq!(
        inputs,
        [
            "trial.toml",
            "layout.csv",
            "sensor/season=2023/part-0.parquet",
            "sensor/season=2023/part-1.parquet",
            "sensor/season=2024/part-0.parquet",
            "sensor/season=2024/part-1.parquet",
        ]
    );
    let first = comparable(&scratch.report());
    scratch.run_with(&["--threads", "1"]);
    crate::support::assert_same(&first, &comparable(&scratch.report()));
    let verify = || {
        caneplot()
            .arg("verify")
            .arg(scratch.report())
            .arg("--trial")
            .arg(scratch.trial())
            .output()
            .expect("the program starts")
    };
    let holds = verify();
    assert!(holds.status.success(), "{}", said(&holds));
    let changed = scratch.trial().join("sensor/season=2024/part-1.parquet");
    let other = scratch.trial().join("sensor/season=2024/part-0.parquet");
    fs::copy(other, changed).expect("copied");
    let fails = verify();
    assert!(!fails.status.success());
    assert!(
        said(&fails).contains("input sensor/season=2024/part-1.parquet differs"),
        "{}",
        said(&fails)
    );

    let text = sensor();
    text.change("trial.toml", "\"sensor\"", "\"sensor.csv\"");
    let text = text.findings();
    assert_eq!(means(&parquet).len(), 3);
    assert_eq!(means(&parquet), means(&text));
}

#[test]
fn a_misspelt_column_and_an_unknown_plot_are_told() {
    let scratch = sensor();
    scratch.change("trial.toml", "column = \"kg\"", "column = \"gk\"");
    let output = scratch.run();
    assert!(!output.status.success());
    assert!(
        said(&output).contains("no data file has a column 'gk'"),
        "{}",
        said(&output)
    );

    let scratch = sensor();
    let layout = scratch.read("layout.csv").replace("B4,403,36\n", "");
    scratch.write("layout.csv", &layout);
    let output = scratch.run();
    assert!(!output.status.success());
    assert!(
        said(&output).contains("sensor has plot 403"),
        "{}",
        said(&output)
    );
}

/// Ctrl-C while records are read: no report, nothing beside it, an earlier one as it was.
#[cfg(unix)]
#[test]
fn a_cancelled_run_leaves_nothing() {
    let scratch = sensor();
    let earlier = {
        assert!(scratch.run().status.success());
        comparable(&scratch.report())
    };
    // Enough records that the signal comes while they are read.
    let part = scratch.read("sensor.csv");
    let records = part.split_once('\n').expect("headings").1;
    scratch.write("sensor.csv", &format!("{part}{}", records.repeat(20_000)));
    scratch.change("trial.toml", "\"sensor\"", "\"sensor.csv\"");
    let mut child = caneplot()
        .arg("run")
        .arg(scratch.trial())
        .arg("--out")
        .arg(scratch.out())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program starts");
    std::thread::sleep(Duration::from_millis(300));
    let signal = std::process::Command::new("kill")
        .args(["-INT", &child.id().to_string()])
        .status()
        .expect("kill is there");
    assert!(signal.success(), "the run was still going on");
    let begun = Instant::now();
    let status = child.wait().expect("it ends");
    assert!(begun.elapsed() < Duration::from_secs(5));
    assert!(!status.success());
    let left: Vec<_> = fs::read_dir(scratch.out())
        .expect("a folder")
        .map(|entry| entry.expect("an entry").path())
        .collect();
    assert_eq!(left, [scratch.report()]);
    crate::support::assert_same(&earlier, &comparable(&scratch.report()));
}
