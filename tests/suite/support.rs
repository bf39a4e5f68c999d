//! The program built once, scratch trials, and what a run printed.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::sync::OnceLock;

use serde_json::Value as Json;

/// Root of the workspace.
pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .parent()
        .expect("tests/ lies in the root")
        .to_owned()
}

/// Folder of the built program and plugins, built once in the profile the tests run in.
pub fn bin() -> &'static Path {
    static BIN: OnceLock<PathBuf> = OnceLock::new();
    BIN.get_or_init(|| {
        // target/<profile>/deps/suite-…: the uplifted program and plugins belong in target/<profile>.
        let test = std::env::current_exe().expect("a running test has a path");
        let bin = test
            .parent()
            .and_then(Path::parent)
            .expect("deps lies in the profile's folder");
        let target = bin.parent().expect("the profile's folder lies in target");
        let profile = match bin.file_name().and_then(|name| name.to_str()) {
            Some("debug") | None => "dev",
            Some(profile) => profile,
        };
        // The program with every plugin (the default members), then the plugin of faults.
        for packages in [&[][..], &["-p", "faulty"]] {
            let status = Command::new(env!("CARGO"))
                .current_dir(root())
                .args(["build", "--quiet", "--profile", profile, "--target-dir"])
                .arg(target)
                .args(packages)
                .status()
                .expect("cargo runs, since it runs this test");
            assert!(status.success(), "the program and its plugins build");
        }
        bin.to_owned()
    })
}

/// The program with these arguments, in a clean surrounding.
pub fn caneplot() -> Command {
    let mut command = Command::new(bin().join(format!("caneplot{}", std::env::consts::EXE_SUFFIX)));
    command.current_dir(root());
    command
}

/// What a run printed, for messages and comparisons.
pub fn said(output: &Output) -> String {
    format!(
        "{}{}",
        String::from_utf8_lossy(&output.stdout),
        String::from_utf8_lossy(&output.stderr)
    )
}

/// A folder that is removed at the end, with a trial in it and a place for reports.
pub struct Scratch {
    folder: tempfile::TempDir,
}

impl Scratch {
    /// An empty trial.
    pub fn new() -> Self {
        let folder = tempfile::tempdir().expect("a scratch folder");
        fs::create_dir(folder.path().join("trial")).expect("a trial folder");
        Self { folder }
    }

    /// A copy of a demo trial.
    pub fn demo(name: &str) -> Self {
        let scratch = Self::new();
        for entry in fs::read_dir(root().join("trials").join(name)).expect("the demo trial") {
            let path = entry.expect("an entry").path();
            fs::copy(
                &path,
                scratch.trial().join(path.file_name().expect("a name")),
            )
            .expect("copied");
        }
        scratch
    }

    /// The trial's folder.
    pub fn trial(&self) -> PathBuf {
        self.folder.path().join("trial")
    }

    /// Where reports go.
    pub fn out(&self) -> PathBuf {
        self.folder.path().join("out")
    }

    /// The trial's report.
    pub fn report(&self) -> PathBuf {
        self.out().join("trial")
    }

    /// Writes a file of the trial.
    pub fn write(&self, name: &str, text: &str) {
        fs::write(self.trial().join(name), text).expect("written");
    }

    /// Reads a file of the trial.
    pub fn read(&self, name: &str) -> String {
        fs::read_to_string(self.trial().join(name)).expect("read")
    }

    /// Changes a file of the trial; the old text must be there.
    pub fn change(&self, name: &str, old: &str, new: &str) {
        let text = self.read(name);
        assert!(text.contains(old), "{name} holds '{old}'");
        self.write(name, &text.replacen(old, new, 1));
    }

    /// `caneplot run` on the trial.
    pub fn run(&self) -> Output {
        self.run_with(&[])
    }

    /// `caneplot run` on the trial with further arguments.
    pub fn run_with(&self, arguments: &[&str]) -> Output {
        caneplot()
            .arg("run")
            .arg(self.trial())
            .arg("--out")
            .arg(self.out())
            .args(arguments)
            .output()
            .expect("the program starts")
    }

    /// The findings of a run that must succeed.
    pub fn findings(&self) -> Json {
        let output = self.run();
        assert!(output.status.success(), "{}", said(&output));
        let text = fs::read_to_string(self.report().join("findings.json")).expect("findings");
        serde_json::from_str(&text).expect("JSON")
    }
}

/// Every file under a folder with its bytes, by relative path.
pub fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    fn walk(root: &Path, folder: &Path, files: &mut BTreeMap<String, Vec<u8>>) {
        for entry in fs::read_dir(folder).expect("a folder") {
            let path = entry.expect("an entry").path();
            if path.is_dir() {
                walk(root, &path, files);
            } else {
                let name = path.strip_prefix(root).expect("under the root");
                files.insert(
                    name.to_string_lossy().into_owned(),
                    fs::read(&path).expect("read"),
                );
            }
        }
    }
    let mut found = BTreeMap::new();
    walk(folder, folder, &mut found);
    found
}

/// Every file of a report, the manifest without what a clock or a compiler decides.
pub fn comparable(report: &Path) -> BTreeMap<String, Vec<u8>> {
    comparable_of(&files(report))
}

/// The same for files already read.
pub fn comparable_of(files: &BTreeMap<String, Vec<u8>>) -> BTreeMap<String, Vec<u8>> {
    let mut found = files.clone();
    let manifest = found.get_mut("manifest.json").expect("a manifest");
    let mut json: Json = serde_json::from_slice(manifest).expect("JSON");
    json["written"] = Json::Null;
    for plugin in json["plugins"].as_array_mut().expect("plugins") {
        plugin["sha256"] = Json::Null;
    }
    *manifest = serde_json::to_vec_pretty(&json).expect("JSON");
    found
}

/// Fails with the names of the files that differ.
pub fn assert_same(left: &BTreeMap<String, Vec<u8>>, right: &BTreeMap<String, Vec<u8>>) {
    let names: std::collections::BTreeSet<&String> = left.keys().chain(right.keys()).collect();
    let different: Vec<&&String> = names
        .iter()
        .filter(|name| left.get(**name) != right.get(**name))
        .collect();
    assert!(different.is_empty(), "these files differ: {different:?}");
}

/// Number of correct significant digits (log relative error), at most 15.
pub fn digits(got: f64, want: f64) -> f64 {
    if got == want {
        return 15.0;
    }
    let error = if want == 0.0 {
        got.abs()
    } else {
        ((got - want) / want).abs()
    };
    (-error.log10()).clamp(0.0, 15.0)
}

/// A section of the findings by analysis and response.
pub fn section<'a>(findings: &'a Json, analysis: &str, response: &str) -> &'a Json {
    findings["analyses"]
        .as_array()
        .expect("analyses")
        .iter()
        .filter(|one| one["name"] == analysis)
        .flat_map(|one| one["findings"]["sections"].as_array().expect("sections"))
        .find(|section| section["response"] == response)
        .unwrap_or_else(|| panic!("no section of {analysis} about {response}: {findings:#}"))
}

/// A table of a section by its id.
pub fn table<'a>(section: &'a Json, id: &str) -> &'a Json {
    section["tables"]
        .as_array()
        .expect("tables")
        .iter()
        .find(|table| table["id"] == id)
        .unwrap_or_else(|| panic!("no table {id} in {section:#}"))
}

/// The values of a column by its heading.
pub fn column<'a>(table: &'a Json, name: &str) -> &'a Vec<Json> {
    table["columns"]
        .as_array()
        .expect("columns")
        .iter()
        .find(|column| column["name"] == name)
        .unwrap_or_else(|| panic!("no column {name} in {table:#}"))["cells"]["values"]
        .as_array()
        .expect("values")
}
