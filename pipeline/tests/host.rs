//! Plugins as the program meets them: good ones in Rust and C, and every way to misbehave.
//!
//! A test makes a folder with the program and some plugins beside it, as a release has them.

// The helpers here are tests as well.
#![allow(clippy::unwrap_used, clippy::print_stdout)]

use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::sync::OnceLock;
use std::time::{Duration, Instant};

use caneplot::host::{Discovery, Job, Limits, Origin, Outcome, PluginError, discover, run_jobs};
use caneplot_plugin::Request;
use caneplot_plugin::findings::{Cells, Findings};
use caneplot_plugin::request::{Response, TrialInfo};
use libloading::library_filename;
use polars::prelude::{DataFrame, df};
use serde_json::json;

// ------------------------------------------------------------------------------------- helpers

const PROGRAM: &str = env!("CARGO_BIN_EXE_caneplot");

fn sdk() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../plugins/sdk")
}

fn ran(command: &mut Command) -> Output {
    let output = command
        .output()
        .unwrap_or_else(|error| panic!("{command:?}: {error}"));
    assert!(
        output.status.success(),
        "{command:?}\n{}",
        text(&output.stderr)
    );
    output
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

/// Cargo as it built this test; the packages it needs are there already.
fn cargo_build() -> Command {
    let mut command = Command::new(env!("CARGO"));
    command.args(["build", "--offline"]);
    command
}

/// The plugin of faults, built once into the target folder of this test.
fn faulty() -> &'static Path {
    static BUILT: OnceLock<PathBuf> = OnceLock::new();
    BUILT.get_or_init(|| {
        let beside = Path::new(PROGRAM).parent().unwrap();
        let profile = match beside.file_name().unwrap().to_str().unwrap() {
            "debug" => "dev",
            other => other,
        };
        ran(cargo_build()
            .args(["-p", "faulty", "--profile", profile, "--target-dir"])
            .arg(beside.parent().unwrap())
            .current_dir(env!("CARGO_MANIFEST_DIR")));
        beside.join(library_filename("FAULTY"))
    })
}

/// A C source compiled as a plugin, with the command of `plugins/sdk/c/range.c`.
fn compiled(source: &Path, library: &Path) {
    ran(Command::new("cc")
        .args([
            "-std=c11", "-Wall", "-Wextra", "-Werror", "-shared", "-fPIC",
        ])
        .args(["-fvisibility=hidden", "-I"])
        .arg(sdk().join("include"))
        .arg("-o")
        .arg(library)
        .arg(source));
}

/// A folder with the program in `bin`.
struct Place {
    root: tempfile::TempDir,
}

impl Place {
    fn new() -> Self {
        let root = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
        let place = Self { root };
        let program = place.program();
        std::fs::hard_link(PROGRAM, &program)
            .or_else(|_| std::fs::copy(PROGRAM, &program).map(|_| ()))
            .unwrap();
        place
    }

    fn program(&self) -> PathBuf {
        self.path("bin")
            .join(Path::new(PROGRAM).file_name().unwrap())
    }

    /// A folder, made where it is not there yet.
    fn path(&self, inside: &str) -> PathBuf {
        let path = self.root.path().canonicalize().unwrap().join(inside);
        std::fs::create_dir_all(&path).unwrap();
        path
    }

    fn library(&self, folder: &str, name: &str) -> PathBuf {
        self.path(folder).join(library_filename(name))
    }

    /// The plugin of faults in a folder, under its own name.
    fn with_faulty(self, folder: &str) -> Self {
        std::fs::copy(faulty(), self.library(folder, "faulty")).unwrap();
        self
    }

    /// A plugin in C in a folder.
    fn with_c(self, folder: &str, name: &str, source: &str) -> Self {
        let file = self.path("source").join(format!("{name}.c"));
        std::fs::write(&file, source).unwrap();
        compiled(&file, &self.library(folder, name));
        self
    }

    fn limits(&self) -> Limits {
        Limits {
            wall: Duration::from_secs(60),
            memory: 2 << 30,
            program: Some(self.program()),
        }
    }

    fn found(&self) -> Discovery {
        discover(&[], &self.limits())
    }

    fn caneplot(&self, arguments: &[&str]) -> Output {
        Command::new(self.program())
            .args(arguments)
            .env("CANEPLOT_DATA_DIR", self.path("data"))
            .current_dir(self.root.path())
            .output()
            .unwrap()
    }
}

fn plots() -> DataFrame {
    df!(
        "plot" => ["1", "2", "3", "4"],
        "yield" => [Some(-1.0), Some(0.5), None, Some(2.0)],
        "brix" => [Some(0.25), None, None, Some(0.0)],
    )
    .unwrap()
}

fn trial() -> TrialInfo {
    let response = |name: &str, label: &str, unit: &str| Response {
        name: name.to_owned(),
        label: label.to_owned(),
        unit: unit.to_owned(),
        ..Response::default()
    };
    TrialInfo {
        responses: vec![
            response("yield", "Yield", "kg/vine"),
            response("brix", "Soluble solids", "°Brix"),
        ],
        ..TrialInfo::default()
    }
}

fn job<'a>(found: &'a Discovery, name: &str, options: serde_json::Value) -> Job<'a> {
    Job {
        plugin: found.plugin(name).unwrap(),
        request: Request {
            analysis: name.to_owned(),
            options,
            trial: trial(),
            seed: 7,
        },
    }
}

/// The outcomes of jobs over the plots above, two at a time.
fn outcomes(place: &Place, jobs: &[Job]) -> Vec<Outcome> {
    run_jobs(jobs, &plots(), None, &place.limits(), 2, None)
}

/// The outcome of the plugin of faults misbehaving in one way.
fn misbehaved(how: &str) -> Outcome {
    let place = Place::new().with_faulty("bin");
    let found = place.found();
    outcomes(&place, &[job(&found, "faulty", json!({ "how": how }))]).remove(0)
}

/// The number the plugin of faults answers with.
fn answer(outcome: &Outcome) -> f64 {
    let findings: &Findings = outcome.result.as_ref().unwrap();
    findings.sections[0].statements[0].values["value"].value
}

fn sentence(outcome: &Outcome) -> String {
    let sentence = outcome.result.as_ref().unwrap_err().to_string();
    assert_eq!(sentence.lines().count(), 1, "{sentence}");
    sentence
}

// --------------------------------------------------------------------------------- the faults

#[test]
fn every_fault_is_one_sentence_and_the_others_go_on() {
    let faults = [
        (
            "refuse",
            "'faulty' gives no answer: two plots are not enough (record more plots)",
        ),
        (
            "panic",
            "plugin 'faulty' stopped on a mistake of its own (index out of bounds: the len is 0 but \
             the index is 4, at tests/faulty/src/lib.rs:",
        ),
        (
            "segfault",
            "plugin 'faulty' crashed (segmentation fault, SIGSEGV): report it to its author",
        ),
        (
            "abort",
            "plugin 'faulty' crashed (aborted, SIGABRT): report it to its author",
        ),
        (
            "overflow",
            "plugin 'faulty' crashed (aborted, SIGABRT): report it to its author",
        ),
        (
            "exit",
            "plugin 'faulty' ended without an answer (exit status: 0): report it to its author",
        ),
        (
            "flood",
            "plugin 'faulty' asked for more memory than the 2048 MiB it may use: allow it more or",
        ),
        (
            "spill",
            "plugin 'faulty' crashed (wrote a file larger than 256 MiB, SIGXFSZ): report it to its",
        ),
        (
            "nonfinite",
            "plugin 'faulty' stopped on a mistake of its own (its findings are not valid: \
             sections[0].statements[0].values.value is not a finite number (NaN)): \
             report it to its author",
        ),
        (
            "bad",
            "plugin 'faulty' stopped on a mistake of its own (its findings are not valid: sections[0].id 'Not An Id' is \
             not made of a-z, 0-9, _ and -",
        ),
    ];
    let place = Place::new().with_faulty("bin");
    let found = place.found();
    let ways: Vec<&str> = std::iter::once("answer")
        .chain(faults.iter().map(|(how, _)| *how))
        .chain(["answer"])
        .collect();
    let jobs: Vec<Job> = ways
        .iter()
        .map(|how| job(&found, "faulty", json!({ "how": how })))
        .collect();
    let outcomes = outcomes(&place, &jobs);
    assert_eq!(outcomes.len(), ways.len());
    for ((how, expected), outcome) in faults.iter().zip(&outcomes[1..]) {
        let sentence = sentence(outcome);
        assert!(sentence.starts_with(expected), "{how}: {sentence}");
    }
    for outcome in [&outcomes[0], &outcomes[ways.len() - 1]] {
        assert_eq!(answer(outcome), 4.0);
        assert_eq!(outcome.version, "0.1.0");
        assert_eq!(outcome.sha256, found.plugins[0].sha256);
    }
}

#[test]
fn a_plugin_that_hangs_is_ended_after_its_time() {
    let place = Place::new().with_faulty("bin");
    let found = place.found();
    let limits = Limits {
        wall: Duration::from_secs(3),
        ..place.limits()
    };
    let jobs = ["hang", "answer"].map(|how| job(&found, "faulty", json!({ "how": how })));
    let begun = Instant::now();
    let outcomes = run_jobs(&jobs, &plots(), None, &limits, 2, None);
    assert!(begun.elapsed() < Duration::from_secs(15));
    assert_eq!(
        sentence(&outcomes[0]),
        "plugin 'faulty' was still running after 3 s (by its own word 40% done) and was ended: \
         allow it more time or give it less to do"
    );
    assert!(outcomes[1].result.is_ok());
}

#[test]
fn printing_corrupts_nothing_and_is_kept_in_the_log() {
    let outcome = misbehaved("print");
    assert_eq!(answer(&outcome), 2.0);
    for line in [
        "noise on standard output",
        "noise on standard error",
        "warning: said through the log",
    ] {
        assert!(outcome.log.contains(line), "{}", outcome.log);
    }
}

#[test]
fn a_panic_in_a_thread_of_the_plugin_is_the_plugins_own_affair() {
    let outcome = misbehaved("thread");
    assert_eq!(answer(&outcome), 1.0);
    assert!(outcome.log.contains("in a thread of its own"));
}

// ----------------------------------------------------------------------------- the confinement

/// Where the kernel cannot confine, the outcome must say so instead.
#[test]
#[cfg(target_os = "linux")]
fn a_plugin_writes_nothing_outside_and_reaches_no_network() {
    let place = Place::new().with_faulty("bin");
    let found = place.found();
    let target = place.path("outside").join("escaped");
    let mut write = job(&found, "faulty", json!({ "how": "escape" }));
    write.request.trial.title = target.display().to_string();
    let dial = job(&found, "faulty", json!({ "how": "dial" }));
    let outcomes = outcomes(&place, &[write, dial]);
    if let Some(note) = outcomes[0].notes.first() {
        assert!(
            note.contains("from writing files or from the network"),
            "{note}"
        );
    } else {
        assert!(!target.exists());
        assert_eq!(answer(&outcomes[0]), 0.0);
        assert_eq!(answer(&outcomes[1]), 1.0);
    }
}

#[test]
fn a_worker_sees_nothing_of_the_callers_environment_and_leaves_nothing() {
    let outcome = misbehaved("environment");
    let Err(PluginError::Refused { refusal, .. }) = &outcome.result else {
        panic!("{:?}", outcome.result);
    };
    let seen = |name: &str| {
        refusal
            .message
            .split(' ')
            .find_map(|pair| pair.strip_prefix(&format!("{name}=")))
    };
    assert!(std::env::var_os("PATH").is_some() && std::env::var_os("CARGO").is_some());
    assert_eq!(
        (seen("PATH"), seen("CARGO"), seen("HOME")),
        (None, None, None)
    );
    let folder = Path::new(seen("TMPDIR").unwrap());
    assert!(folder.ends_with("01-faulty"));
    assert!(!folder.exists() && !folder.parent().unwrap().exists());
}

#[test]
fn a_failed_job_is_kept_and_can_be_run_again() {
    let place = Place::new().with_faulty("bin");
    let found = place.found();
    let jobs = ["answer", "refuse"].map(|how| job(&found, "faulty", json!({ "how": how })));
    let keep = place.path("kept");
    let outcomes = run_jobs(
        &jobs,
        &plots(),
        Some(&plots()),
        &place.limits(),
        2,
        Some(&keep),
    );
    let folder = keep.join("02-faulty");
    let note = format!("`caneplot worker {}` runs this job again", folder.display());
    assert!(outcomes[1].notes.contains(&note), "{:?}", outcomes[1].notes);
    assert_eq!(std::fs::read_dir(&keep).unwrap().count(), 1);

    let refusal = folder.join("refusal.json");
    let before = std::fs::read_to_string(&refusal).unwrap();
    std::fs::remove_file(&refusal).unwrap();
    let again = place.caneplot(&["worker", folder.to_str().unwrap()]);
    assert!(again.status.success(), "{}", text(&again.stderr));
    assert_eq!(std::fs::read_to_string(&refusal).unwrap(), before);
}

// -------------------------------------------------------------------------------- the handshake

/// A plugin in C with some version and manifest that does what `body` says.
fn c_plugin(abi: &str, manifest: &str, body: &str) -> String {
    let manifest = manifest.replace('"', "\\\"");
    format!(
        r#"#include "caneplot_plugin.h"
static const char manifest[] = "{manifest}";
static int32_t analyse(const caneplot_host_v1_t *host, const caneplot_request_v1_t *request) {{
    (void)host; (void)request;
    {body}
}}
static const caneplot_plugin_v1_t plugin = {{ sizeof(caneplot_plugin_v1_t), {abi},
    {{ (const uint8_t *)manifest, sizeof manifest - 1 }}, analyse }};
uint32_t caneplot_abi(void) {{ return {abi}; }}
const caneplot_plugin_v1_t *caneplot_plugin_v1(void) {{ return &plugin; }}
"#
    )
}

fn manifest(name: &str) -> String {
    json!({ "name": name, "version": "1", "purpose": "A test" }).to_string()
}

fn plain(abi: &str, name: &str) -> String {
    c_plugin(abi, &manifest(name), "return 0;")
}

#[test]
fn libraries_that_do_not_keep_the_contract_are_refused_by_name() {
    let half = r#"const char *half(void);
        const char *half(void) { return "caneplot_plugin_v1"; }"#;
    let stranger = "int stranger(void); int stranger(void) { return 1; }";
    let place = Place::new()
        .with_c("bin", "older", &plain("0x00000007u", "older"))
        .with_c("bin", "minor", &plain("0x00010001u", "minor"))
        .with_c("bin", "major", &plain("0x00020000u", "major"))
        .with_c("bin", "renamed", &plain("CANEPLOT_ABI", "other"))
        .with_c(
            "bin",
            "wordless",
            &c_plugin("CANEPLOT_ABI", "", "return 0;"),
        )
        .with_c("bin", "half", half)
        .with_c("bin", "stranger", stranger)
        .with_c("bin", "good", &plain("CANEPLOT_ABI", "good"));
    let noise = place.library("bin", "noise");
    std::fs::write(&noise, "caneplot_plugin_v1, but no library").unwrap();
    let found = place.found();
    let names: Vec<&str> = found
        .plugins
        .iter()
        .map(|plugin| plugin.name.as_str())
        .collect();
    assert_eq!(names, ["good"]);
    let sentence = |name: &str| found.plugin(name).unwrap_err().to_string();
    for (name, expected) in [
        (
            "half",
            "'half' is not a caneplot plugin: its library does not export 'caneplot_abi'",
        ),
        (
            "major",
            "plugin 'major' speaks version 2.0 of the plugin contract and this program speaks 1.0: \
             update this program, or build the plugin for its version",
        ),
        (
            "minor",
            "plugin 'minor' speaks version 1.1 of the plugin contract",
        ),
        ("noise", "plugin 'noise' cannot be loaded ("),
        (
            "older",
            "plugin 'older' speaks version 0.7 of the plugin contract and this program speaks 1.0: \
             build the plugin again for this program",
        ),
        (
            "renamed",
            "the manifest of plugin 'renamed' cannot be used (it is of 'other', but the file is \
             that of 'renamed')",
        ),
        (
            "wordless",
            "the manifest of plugin 'wordless' cannot be used (EOF",
        ),
    ] {
        let sentence = sentence(name);
        assert!(sentence.starts_with(expected), "{sentence}");
        assert_eq!(sentence.lines().count(), 1, "{sentence}");
    }
    // A library beside the program that never claimed to be a plugin is passed over.
    assert_eq!(found.errors.len(), 7, "{:?}", found.errors);
    // The system's own words are there, not only "dlopen failed".
    assert!(sentence("noise").contains(noise.to_str().unwrap()));
}

#[test]
fn answers_that_break_the_contract_are_refused() {
    let emit = |json: serde_json::Value| {
        let quoted = json.to_string().replace('\\', "\\\\").replace('"', "\\\"");
        format!(
            "static const char json[] = \"{quoted}\"; host->emit(host->ctx, \
             (caneplot_bytes_v1_t){{ (const uint8_t *)json, sizeof json - 1 }}); return 0;"
        )
    };
    let findings = |section| emit(json!({ "schema": 1, "sections": [section] }));
    let counts = |name, values: &[i64]| json!({ "name": name, "cells": { "kind": "count", "values": values } });
    let ragged =
        json!({ "id": "t", "title": "T", "columns": [counts("x", &[1, 2]), counts("y", &[1])] });
    let empty = emit(json!({ "schema": 1, "sections": [] }));
    let cases = [
        (
            "silent",
            "return 0;".to_owned(),
            "it reported success but gave no findings",
        ),
        (
            "twice",
            format!("{{ {} }} {empty}", empty.replace("return 0;", "")),
            "it gave findings more than once",
        ),
        (
            "code",
            "return 42;".to_owned(),
            "it returned the unknown code 42",
        ),
        (
            "mute",
            "return 1;".to_owned(),
            "it refused without a sentence",
        ),
        (
            "nojson",
            empty.replace("]}", "]"),
            "findings.json: EOF while parsing",
        ),
        (
            "infinite",
            findings(json!({ "id": "a", "title": "A", "notes": [
                { "text": "{x}", "values": { "x": { "value": 1.5, "format": "count" } } } ] }))
            .replace("1.5", "1e999"),
            "findings.json: number out of range",
        ),
        (
            "ragged",
            findings(json!({ "id": "a", "title": "A", "tables": [ragged] })),
            "sections[0].tables[0].columns[1] ('y') has 1 rows where the first column has 2",
        ),
        (
            "schema",
            emit(json!({ "schema": 9, "sections": [] })),
            "schema is 9 instead of 1",
        ),
    ];
    let mut place = Place::new();
    for (name, body, _) in &cases {
        place = place.with_c(
            "bin",
            name,
            &c_plugin("CANEPLOT_ABI", &manifest(name), body),
        );
    }
    let found = place.found();
    let jobs: Vec<Job> = cases
        .iter()
        .map(|(name, ..)| job(&found, name, json!({})))
        .collect();
    for ((name, _, expected), outcome) in cases.iter().zip(outcomes(&place, &jobs)) {
        let sentence = sentence(&outcome);
        let begin = format!("plugin '{name}' answered in a way that cannot be used ({expected}");
        assert!(sentence.starts_with(&begin), "{sentence}");
    }
}

// ----------------------------------------------------------------------------- trust and places

#[test]
fn a_plugin_from_elsewhere_is_trusted_once_by_its_content() {
    let place = Place::new().with_faulty("extra");
    let file = place.library("extra", "faulty");
    let (extra, path) = (place.path("extra"), file.to_str().unwrap());
    let list = || {
        let output = place.caneplot(&["plugins", "list", "--plugin-dir", extra.to_str().unwrap()]);
        (text(&output.stdout), text(&output.stderr))
    };
    let (listed, refused) = list();
    assert_eq!(listed, "");
    let sentence = format!(
        "plugin 'faulty' ({path}) has never been trusted: make sure where it comes from, then run \
         `caneplot plugins trust {path}`"
    );
    assert!(refused.contains(&sentence), "{refused}");

    let trusted = place.caneplot(&["plugins", "trust", path]);
    assert!(trusted.status.success(), "{}", text(&trusted.stderr));
    assert!(text(&trusted.stdout).starts_with("trusted faulty 0.1.0: Misbehaves"));
    let (listed, refused) = list();
    assert!(listed.starts_with("faulty  0.1.0  Misbehaves"), "{listed}");
    assert!(!refused.contains("faulty"), "{refused}");

    // The same content in the user's folder is trusted too, without a flag.
    std::fs::copy(&file, place.library("data/plugins", "faulty")).unwrap();
    let shown = place.caneplot(&["plugins", "show", "faulty"]);
    assert!(text(&shown.stdout).contains("(from the user's folder of plugins)"));

    // Another content is not: a byte behind the library's end changes nothing but the hash.
    let mut bytes = std::fs::read(&file).unwrap();
    bytes.push(0);
    std::fs::write(&file, bytes).unwrap();
    let (listed, refused) = list();
    assert_eq!(listed, "");
    assert!(
        refused.contains("is not the file that was trusted"),
        "{refused}"
    );
}

#[test]
#[cfg(unix)]
fn what_everyone_can_write_is_not_loaded() {
    use std::os::unix::fs::PermissionsExt;
    let place = Place::new().with_faulty("extra");
    let file = place.library("extra", "faulty");
    let extra = place.path("extra");
    let trust = || place.caneplot(&["plugins", "trust", file.to_str().unwrap()]);
    assert!(trust().status.success());
    for open in [&file, &extra] {
        let before = std::fs::metadata(open).unwrap().permissions();
        std::fs::set_permissions(open, PermissionsExt::from_mode(0o777)).unwrap();
        let listed = place.caneplot(&["plugins", "list", "--plugin-dir", extra.to_str().unwrap()]);
        let sentence = format!(
            "plugin 'faulty' is not loaded because everyone on this machine can write {0}: run \
             `chmod o-w {0}`",
            open.display()
        );
        let refused = text(&listed.stderr);
        assert!(refused.contains(&sentence), "{refused}");
        assert!(!trust().status.success());
        std::fs::set_permissions(open, before).unwrap();
    }
}

#[test]
fn only_a_plugin_can_be_trusted() {
    let place = Place::new().with_c(
        "extra",
        "stranger",
        "int f(void); int f(void) { return 1; }",
    );
    let misnamed = place.path("extra").join("Misnamed.txt");
    std::fs::write(&misnamed, "").unwrap();
    for (file, expected) in [
        (
            place.library("extra", "stranger"),
            "error: 'stranger' is not a caneplot plugin",
        ),
        (misnamed, "is not named as a plugin"),
        (place.library("extra", "nothing"), "nothing"),
    ] {
        let output = place.caneplot(&["plugins", "trust", file.to_str().unwrap()]);
        assert!(!output.status.success());
        let refused = text(&output.stderr);
        assert!(refused.contains(expected), "{refused}");
    }
    let mut recorded = std::fs::read_dir(place.path("data")).unwrap();
    assert!(recorded.next().is_none());
}

#[test]
fn a_file_replaced_after_it_was_found_is_not_loaded() {
    let place = Place::new().with_faulty("bin");
    let found = place.found();
    let file = place.library("bin", "faulty");
    let mut bytes = std::fs::read(&file).unwrap();
    bytes.push(0);
    std::fs::write(&file, bytes).unwrap();
    let outcomes = outcomes(&place, &[job(&found, "faulty", json!({ "how": "answer" }))]);
    assert!(
        matches!(outcomes[0].result, Err(PluginError::Replaced { .. })),
        "{outcomes:?}"
    );
}

#[test]
fn plugins_lie_beside_the_program_or_in_its_library_folder_and_nowhere_else() {
    let place = Place::new();
    let nothing = place.found();
    assert!(nothing.plugins.is_empty());
    let told = nothing.refused[0].to_string();
    assert!(told.contains("no plugins beside "), "{told}");
    assert!(
        told.contains("run `cargo build` in the workspace root"),
        "{told}"
    );

    let place = place.with_faulty("lib/caneplot/plugins").with_c(
        "bin",
        "good",
        &plain("CANEPLOT_ABI", "good"),
    );
    // The current folder of `caneplot` below, a folder of build leavings, one of a trial.
    for folder in ["", "bin/deps", "trial"] {
        std::fs::copy(
            place.library("bin", "good"),
            place.library(folder, "astray"),
        )
        .unwrap();
    }
    let output = place.caneplot(&["plugins", "list"]);
    assert_eq!(text(&output.stderr), "");
    assert_eq!(
        text(&output.stdout),
        "faulty  0.1.0  Misbehaves in the way it is told to, for the tests of the program\n\
         good    1      A test\n"
    );
    let found = place.found();
    assert!(
        found
            .plugins
            .iter()
            .all(|plugin| plugin.origin == Origin::Shipped)
    );
}

#[test]
fn a_misspelt_name_is_told_the_nearest_and_a_right_one_is_shown() {
    let place = Place::new().with_faulty("bin");
    let output = place.caneplot(&["plugins", "show", "fualty"]);
    assert!(!output.status.success());
    assert!(text(&output.stderr).contains("there is no plugin 'fualty' (is 'faulty' meant?)"));
    let shown = text(&place.caneplot(&["plugins", "show", "faulty"]).stdout);
    assert!(
        shown.contains("  share = 0.5\n      A number; a number from 0 to 1\n"),
        "{shown}"
    );
}

// ------------------------------------------------------------------------------- the examples

#[test]
fn the_example_in_c_gives_the_range_of_each_response() {
    let place = Place::new();
    compiled(&sdk().join("c/range.c"), &place.library("bin", "range"));
    let found = place.found();
    let outcomes = outcomes(&place, &[job(&found, "range", json!({}))]);
    let findings = outcomes[0].result.as_ref().unwrap();
    let columns = &findings.sections[0].tables[0].columns;
    let name = |name: &str| Some(name.to_owned());
    assert!(
        matches!(&columns[0].cells, Cells::Text { values } if *values == [name("yield"), name("brix")])
    );
    assert!(matches!(&columns[1].cells, Cells::Count { values } if *values == [Some(3), Some(2)]));
    assert!(
        matches!(&columns[2].cells, Cells::Number { values, .. } if *values == [Some(3.0), Some(0.25)])
    );
}

/// As an author does it: the template copied, the path of the SDK set.
#[test]
fn the_template_in_rust_builds_and_runs() {
    let place = Place::new();
    let (copy, template) = (place.path("copy"), sdk().join("template"));
    std::fs::create_dir(copy.join("src")).unwrap();
    for file in ["manifest.json", "src/lib.rs"] {
        std::fs::copy(template.join(file), copy.join(file)).unwrap();
    }
    let manifest = std::fs::read_to_string(template.join("Cargo.toml")).unwrap();
    assert!(manifest.contains(r#"path = "..""#));
    let path = format!("path = {:?}", sdk().canonicalize().unwrap());
    std::fs::write(
        copy.join("Cargo.toml"),
        manifest.replace(r#"path = "..""#, &path),
    )
    .unwrap();
    // The versions that are on this machine.
    std::fs::copy(sdk().join("../../Cargo.lock"), copy.join("Cargo.lock")).unwrap();
    let target = Path::new(env!("CARGO_TARGET_TMPDIR")).join("template");
    ran(cargo_build()
        .arg("--target-dir")
        .arg(&target)
        .current_dir(&copy));
    let built = target.join("debug").join(library_filename("spread"));
    std::fs::copy(built, place.library("bin", "spread")).unwrap();

    let found = place.found();
    let outcomes = outcomes(&place, &[job(&found, "spread", json!({ "decimals": 2 }))]);
    let statements = &outcomes[0].result.as_ref().unwrap().sections[0].statements;
    // -1, 0.5, 2: mean 0.5, squares 2.25 + 0 + 2.25 over 2.
    assert_eq!(statements[0].values["sd"].value, 1.5);
    assert_eq!(statements[0].values["n"].value, 3.0);
    assert_eq!(statements[1].values["n"].value, 2.0);
}

/// Prints what a worker costs:
/// `cargo test -p caneplot --test host cost -- --ignored --nocapture --test-threads 1`.
#[test]
#[ignore = "a measurement, to be read by a person"]
fn cost_of_a_worker() {
    let place = Place::new().with_faulty("bin");
    compiled(&sdk().join("c/range.c"), &place.library("bin", "range"));
    let begun = Instant::now();
    let found = place.found();
    println!("finding two plugins: {:?}", begun.elapsed());
    for (name, rows) in [
        ("range", 4),
        ("faulty", 4),
        ("range", 1000),
        ("range", 100_000),
    ] {
        let numbers: Vec<f64> = (0..rows).map(f64::from).collect();
        let names: Vec<String> = (0..rows).map(|row: i32| row.to_string()).collect();
        let plots = df!("plot" => names, "yield" => &numbers, "brix" => &numbers).unwrap();
        let one = [job(&found, name, json!({ "how": "answer" }))];
        let mut times: Vec<Duration> = (0..21)
            .map(|_| {
                let begun = Instant::now();
                let outcomes = run_jobs(&one, &plots, None, &place.limits(), 1, None);
                assert!(outcomes[0].result.is_ok());
                begun.elapsed()
            })
            .collect();
        times.sort();
        println!(
            "{name}, {rows} rows: median {:?}, slowest {:?}",
            times[10], times[20]
        );
    }
}
