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
            report.contains("### Yield") && report.contains("### Yield to pruning"),
            "{how}: the rest is there"
        );
    }
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
