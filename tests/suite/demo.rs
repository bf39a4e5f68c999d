//! The demo trials: their data come from their generators, their reports from their data.

use std::process::Command;

use crate::support::{Scratch, assert_same, bin, caneplot, comparable, files, root, said};

const DEMOS: [&str; 3] = ["node-number", "training-system", "winter-damage"];

#[test]
fn the_data_are_what_their_generators_make() {
    bin();
    for name in DEMOS {
        let scratch = Scratch::new();
        let status =
            Command::new(env!("CARGO_BIN_EXE_make-node-number").replace("node-number", name))
                .arg(scratch.trial())
                .status()
                .expect("the generator starts");
        assert!(status.success());
        for (file, bytes) in files(&scratch.trial()) {
            let committed =
                std::fs::read(root().join("trials").join(name).join(&file)).expect("committed");
            assert!(
                committed == bytes,
                "trials/{name}/{file} is what its generator makes"
            );
        }
    }
}

#[test]
fn the_committed_reports_are_what_the_trials_give_today() {
    let out = tempfile::tempdir().expect("a scratch folder");
    let output = caneplot()
        .arg("run")
        .args(DEMOS.map(|name| format!("trials/{name}")))
        .arg("--out")
        .arg(out.path())
        .output()
        .expect("the program starts");
    assert!(output.status.success(), "{}", said(&output));
    for name in DEMOS {
        assert_same(
            &comparable(&root().join("reports").join(name)),
            &comparable(&out.path().join(name)),
        );
    }
}

#[test]
fn a_report_is_verified_and_a_touched_one_is_found_out() {
    let scratch = Scratch::demo("training-system");
    assert!(scratch.run().status.success());
    let verify = |arguments: &[&str]| {
        let report = scratch.report();
        caneplot()
            .arg("verify")
            .arg(report)
            .args(arguments)
            .output()
            .expect("the program starts")
    };
    let trial = scratch.trial();
    let trial = trial.to_str().expect("a plain path");
    let output = verify(&["--trial", trial]);
    assert!(output.status.success(), "{}", said(&output));
    std::fs::write(scratch.report().join("report.md"), "better results").expect("written");
    std::fs::write(scratch.report().join("extra.txt"), "").expect("written");
    let output = verify(&[]);
    assert_eq!(output.status.code(), Some(1));
    assert!(
        said(&output).contains("report.md was changed after it was written"),
        "{}",
        said(&output)
    );
    assert!(
        said(&output).contains("extra.txt does not belong to the report"),
        "{}",
        said(&output)
    );
    scratch.change("harvest.csv", "2022,1,1,10.5", "2022,1,1,11.5");
    let output = verify(&["--trial", trial]);
    assert!(
        said(&output).contains("input harvest.csv differs"),
        "{}",
        said(&output)
    );
    assert!(
        said(&output).contains("output findings.json differs"),
        "{}",
        said(&output)
    );
}
