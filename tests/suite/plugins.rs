//! Plugins that misbehave inside a whole run: one sentence each, and the rest of the report is there.

use std::fs;

use crate::support::{Scratch, bin, caneplot, said};

fn library(name: &str) -> String {
    format!(
        "{}{name}{}",
        std::env::consts::DLL_PREFIX,
        std::env::consts::DLL_SUFFIX
    )
}

/// The demo with the plugin of faults beside its analyses, trusted for this test only.
fn with_fault(how: &str, arguments: &[&str]) -> (Scratch, String, Option<i32>) {
    let scratch = Scratch::demo("training-system");
    let folder = scratch
        .trial()
        .parent()
        .expect("a scratch folder")
        .to_owned();
    let plugins = folder.join("plugins");
    let data = folder.join("data");
    fs::create_dir_all(&plugins).expect("a folder");
    let file = plugins.join(library("faulty"));
    fs::copy(bin().join(library("FAULTY")), &file).expect("the plugin of faults is built");
    let trust = caneplot()
        .args(["plugins", "trust"])
        .arg(&file)
        .env("CANEPLOT_DATA_DIR", &data)
        .output()
        .expect("the program starts");
    assert!(trust.status.success(), "{}", said(&trust));
    scratch.change(
        "trial.toml",
        "ratios = {}",
        &format!("ratios = {{}}\nfaulty = {{ how = \"{how}\" }}"),
    );
    let output = caneplot()
        .arg("run")
        .arg(scratch.trial())
        .arg("--out")
        .arg(scratch.out())
        .arg("--plugin-dir")
        .arg(&plugins)
        .args(arguments)
        .env("CANEPLOT_DATA_DIR", &data)
        .output()
        .expect("the program starts");
    let code = output.status.code();
    (scratch, said(&output), code)
}

#[test]
fn every_fault_costs_its_own_section_only() {
    for (how, arguments, words) in [
        ("panic", &[][..], "stopped on a mistake of its own"),
        ("segfault", &[], "crashed"),
        ("abort", &[], "crashed"),
        ("exit", &[], "ended without an answer"),
        ("hang", &["--time-limit", "2"], "still running after"),
        ("flood", &["--memory-limit", "512"], "more memory than"),
        ("nonfinite", &[], "faulty"),
        ("bad", &[], "its findings are not valid"),
    ] {
        let (scratch, text, code) = with_fault(how, arguments);
        assert_eq!(code, Some(1), "{how}: {text}");
        let sentences = text
            .lines()
            .filter(|line| line.starts_with("error: faulty:"))
            .count();
        assert_eq!(sentences, 1, "{how}: one sentence in\n{text}");
        assert!(text.contains(words), "{how}: '{words}' in\n{text}");
        let report = fs::read_to_string(scratch.report().join("report.md")).expect("a report");
        assert!(report.contains("## What could not be computed"), "{how}");
        assert!(report.contains(words), "{how}: the report says it too");
        assert!(
            report.contains("</a>Yield\n") && report.contains("</a>Yield to pruning"),
            "{how}: the rest is there"
        );
    }
}

#[test]
fn the_folder_of_a_failed_job_is_kept_and_named() {
    let kept = tempfile::tempdir().expect("a scratch folder");
    let place = kept.path().to_str().expect("a plain path");
    let (_scratch, text, code) = with_fault("panic", &["--keep-jobs", place]);
    assert_eq!(code, Some(1), "{text}");
    let note = text
        .lines()
        .find(|line| line.starts_with("note:") && line.contains(place));
    assert!(
        note.is_some_and(|note| note.contains("caneplot worker")),
        "{text}"
    );
}

#[test]
fn a_plugin_that_prints_spoils_nothing() {
    let (scratch, text, code) = with_fault("print", &[]);
    assert_eq!(code, Some(0), "{text}");
    assert!(scratch.report().join("report.md").is_file());
}

#[test]
fn an_untrusted_plugin_is_refused_with_the_way_to_trust_it() {
    let scratch = Scratch::demo("training-system");
    let folder = scratch
        .trial()
        .parent()
        .expect("a scratch folder")
        .join("plugins");
    fs::create_dir_all(&folder).expect("a folder");
    fs::copy(
        bin().join(library("FAULTY")),
        folder.join(library("faulty")),
    )
    .expect("copied");
    scratch.change("trial.toml", "ratios = {}", "ratios = {}\nfaulty = {}");
    let output = caneplot()
        .arg("run")
        .arg(scratch.trial())
        .arg("--out")
        .arg(scratch.out())
        .arg("--plugin-dir")
        .arg(&folder)
        .env("CANEPLOT_DATA_DIR", folder.join("data"))
        .output()
        .expect("the program starts");
    assert_eq!(output.status.code(), Some(1));
    assert!(
        said(&output).contains("caneplot plugins trust"),
        "{}",
        said(&output)
    );
}

#[test]
fn a_trial_of_one_season_gets_the_analyses_that_suit_it() {
    let scratch = Scratch::new();
    scratch.write(
        "trial.toml",
        "[trial]\ntitle = \"One season\"\nquestion = \"Do the levels differ?\"\n[design]\n\
         kind = \"randomised block\"\nblock = \"block\"\nplot = \"plot\"\n[factors.nodes]\n\
         levels = [12, 24, 36]\ncontrol = 24\n[[data]]\nfile = \"data.csv\"\n\
         [responses.yield]\ncolumn = \"kg\"\nunit = \"kg/vine\"\n",
    );
    scratch.write(
        "data.csv",
        "block,plot,nodes,kg\n1,1,12,2.1\n1,2,24,3.4\n1,3,36,4.0\n2,1,24,3.1\n2,2,12,2.4\n2,3,36,3.7\n\
         3,1,36,4.4\n3,2,24,3.6\n3,3,12,2.0\n4,1,12,2.2\n4,2,36,4.1\n4,3,24,3.0\n",
    );
    let output = scratch.run();
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    let report = fs::read_to_string(scratch.report().join("report.md")).expect("a report");
    assert!(report.contains("`seasons` is left out: the trial has only one season"));
    assert!(report.contains("`components` is left out"));
    assert!(report.contains("</a>Yield\n"));
    assert!(!report.contains("## What could not be computed"));
}
