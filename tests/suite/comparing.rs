//! Reports held beside each other and beside a published table, and a trial run again from its report.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Output;

use serde_json::Value as Json;

use crate::support::{
    Scratch, assert_same, caneplot, column, comparable, digits, root, said, table,
};

/// A demo trial with its crop changed record by record, and its report.
fn changed(change: impl Fn(usize, f64) -> f64) -> Scratch {
    let scratch = Scratch::demo("node-number");
    // Two analyses are enough here, and quick.
    let trial = scratch.read("trial.toml");
    let (head, _) = trial.split_once("[analyses]").expect("analyses");
    scratch.write(
        "trial.toml",
        &format!("{head}[analyses]\nanova = {{}}\nratios = {{}}\n"),
    );
    let text = scratch.read("harvest.csv");
    let mut lines = text.lines();
    let header = lines.next().expect("a header");
    let crop = header
        .split(',')
        .position(|name| name == "crop_kg")
        .expect("a crop");
    let mut out = vec![header.to_owned()];
    for (at, line) in lines.enumerate() {
        let mut cells: Vec<String> = line.split(',').map(str::to_owned).collect();
        if let Ok(weight) = cells[crop].parse::<f64>() {
            cells[crop] = format!("{:.2}", change(at, weight));
        }
        out.push(cells.join(","));
    }
    scratch.write("harvest.csv", &(out.join("\n") + "\n"));
    let run = scratch.run();
    assert!(run.status.success(), "{}", said(&run));
    scratch
}

/// A little more or less from record to record, the same every time.
fn wobble(at: usize) -> f64 {
    0.1 * ((at * 7919 % 101) as f64 / 50.0 - 1.0)
}

fn compare(arguments: &[&Path]) -> Output {
    caneplot()
        .arg("compare")
        .args(arguments)
        .output()
        .expect("the program starts")
}

fn answered(arguments: &[&Path], out: &Path) -> Json {
    let output = compare(&[arguments, &[Path::new("--out"), out]].concat());
    assert!(output.status.success(), "{}", said(&output));
    let text = fs::read_to_string(out.join("findings.json")).expect("findings");
    serde_json::from_str(&text).expect("JSON")
}

fn section<'a>(findings: &'a Json, id: &str) -> &'a Json {
    let sections = findings["analyses"][0]["findings"]["sections"]
        .as_array()
        .expect("sections");
    sections
        .iter()
        .find(|section| section["id"] == id)
        .unwrap_or_else(|| panic!("no section {id}"))
}

/// The results over all seasons that speak for the yield in a report: anova has the lowest voice.
fn yield_of(report: &Path) -> Json {
    let text = fs::read_to_string(report.join("findings.json")).expect("findings");
    let findings: Json = serde_json::from_str(&text).expect("JSON");
    let analyses = findings["analyses"].as_array().expect("analyses");
    let sections = analyses
        .iter()
        .filter(|one| one["name"] == "anova")
        .flat_map(|one| one["findings"]["sections"].as_array().expect("sections"));
    let mut estimates =
        sections.flat_map(|section| section["estimates"].as_array().into_iter().flatten());
    estimates
        .find(|one| one["name"] == "yield" && one["season"].is_null())
        .expect("results of the yield")
        .clone()
}

fn number(value: &Json) -> f64 {
    value.as_f64().expect("a number")
}

#[test]
fn a_rerun_is_held_against_the_first_run_by_the_errors_of_both() {
    let one = changed(|_, weight| weight);
    let two = changed(|at, weight| 1.1 * weight + wobble(at));
    let place = tempfile::tempdir().expect("a folder");
    let out = place.path().join("compared");
    let findings = answered(&[&one.report(), &two.report()], &out);
    let section = section(&findings, "yield-nodes");
    let moved = table(section, "moved");
    let (first, second) = (yield_of(&one.report()), yield_of(&two.report()));
    let pairs = first["differences"].as_array().expect("differences");
    assert!(pairs.len() >= 3);
    for (row, (a, b)) in pairs
        .iter()
        .zip(second["differences"].as_array().expect("differences"))
        .enumerate()
    {
        let cell = |name: &str| number(&column(moved, name)[row]);
        let (se, other) = (number(&a["standard_error"]), number(&b["standard_error"]));
        assert!(digits(cell("Moved by"), number(&b["value"]) - number(&a["value"])) > 11.0);
        assert!(digits(cell("Standard error"), se.hypot(other)) > 12.0);
        let df = (se.powi(2) + other.powi(2)).powi(2)
            / (se.powi(4) / number(&a["df"]) + other.powi(4) / number(&b["df"]));
        assert!(digits(cell("df"), df) > 11.0);
    }
    assert_eq!(section["statements"][0]["rank"], "headline");
    let text = fs::read_to_string(out.join("compare.md")).expect("the text");
    assert!(text.contains("A and B were made from the same"), "{text}");
    assert!(text.contains("Two trials say very little"), "{text}");
    assert!(out.join("compare.html").is_file());
    assert!(out.join("figures/compare-yield-nodes-forest.svg").is_file());

    let verified = caneplot()
        .arg("verify")
        .arg(&out)
        .output()
        .expect("the program starts");
    assert!(verified.status.success(), "{}", said(&verified));
    let again = place.path().join("again");
    answered(&[&one.report(), &two.report()], &again);
    assert_same(&comparable(&out), &comparable(&again));
}

#[test]
fn several_sites_are_summed_up_and_what_one_lacks_is_named() {
    let one = changed(|_, weight| weight);
    let two = changed(|at, weight| 1.3 * weight + wobble(at));
    let three = changed(|at, weight| 0.8 * weight + wobble(at + 5));
    // Another unit, and a response fewer.
    let place = tempfile::tempdir().expect("a folder");
    let findings = answered(
        &[&one.report(), &two.report(), &three.report()],
        &place.path().join("sites"),
    );
    let section = section(&findings, "yield-nodes");
    let over = table(section, "over");
    let trials = column(over, "Trials");
    assert!(trials.iter().all(|count| count == 3), "{trials:?}");
    let low = number(&column(over, "Low")[0]);
    let high = number(&column(over, "High")[0]);
    let average = number(&column(over, "Average")[0]);
    assert!(low < average && average < high);
    let sees = |scratch: &Scratch| number(&yield_of(&scratch.report())["differences"][0]["value"]);
    let all = [sees(&one), sees(&two), sees(&three)];
    let least = all.iter().copied().fold(f64::INFINITY, f64::min);
    let most = all.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    assert!((least..=most).contains(&average), "{average} of {all:?}");

    // The second demo trial has another factor and other names.
    let other = Scratch::demo("training-system");
    let run = other.run();
    assert!(run.status.success(), "{}", said(&run));
    let output = compare(&[&one.report(), &other.report()]);
    let said = said(&output);
    assert_eq!(output.status.code(), Some(1), "{said}");
    assert!(said.contains("nothing in these can be compared"), "{said}");
    assert!(said.contains("stands in A only"), "{said}");
}

#[test]
fn the_same_data_twice_and_reports_without_results_are_refused() {
    let one = changed(|_, weight| weight);
    let output = compare(&[&one.report(), &one.report()]);
    let said = said(&output);
    assert_eq!(output.status.code(), Some(1), "{said}");
    assert!(said.contains("the very same plot values"), "{said}");
    let output = compare(&[&one.report()]);
    assert!(crate::support::said(&output).contains("--against"));
    let output = compare(&[Path::new("trials"), &one.report()]);
    assert!(crate::support::said(&output).contains("report cannot be read"));
}

#[test]
fn new_data_stand_beside_a_published_table_in_their_own_unit() {
    let one = changed(|_, weight| weight);
    let place = tempfile::tempdir().expect("a folder");
    let against = root().join("tests/fixtures/published/nodes.toml");
    let findings = answered(
        &[&one.report(), Path::new("--against"), &against],
        &place.path().join("beside"),
    );
    let section = section(&findings, "yield-nodes-a");
    let means = table(section, "means");
    let published = column(means, "The published table");
    // exact: 1 lb = 0.453 592 37 kg
    assert!(digits(number(&published[0]), 5.1 * 0.453_592_37) > 14.0);
    let moved = table(section, "moved");
    let own = yield_of(&one.report());
    let error = number(&own["differences"][0]["standard_error"]);
    // t(0.05; 12) = 2.178 813: Snedecor & Cochran 1989, table A 4 (2.179)
    let published = 1.1 * 0.453_592_37 / 2.178_812_829_667_228;
    let right = error.hypot(published);
    assert!(digits(number(&column(moved, "Standard error")[0]), right) > 9.0);
    let unlike = findings["not_compared"].to_string();
    assert!(
        unlike.contains("published treatment '60' is not in A"),
        "{unlike}"
    );
    assert!(
        unlike.contains("48 nodes/vine of A is not in the published table"),
        "{unlike}"
    );
    assert!(
        unlike.contains("'anthocyanins' of the published table has no results"),
        "{unlike}"
    );
}

#[test]
fn every_mistake_in_a_published_table_is_shown_at_its_line() {
    let one = changed(|_, weight| weight);
    let place = tempfile::tempdir().expect("a folder");
    let path = place.path().join("published.toml");
    let source = "[source]\ncitation = \"Invented\"\n";
    let refused = |text: &str, parts: &[&str]| {
        fs::write(&path, format!("{source}{text}")).expect("written");
        let output = compare(&[&one.report(), Path::new("--against"), &path]);
        let said = said(&output);
        assert_eq!(output.status.code(), Some(1), "{said}");
        for part in parts {
            assert!(said.contains(part), "'{part}' in: {said}");
        }
    };
    let yields = "[responses.yield]\nunit = \"kg/vine\"\nmeans = { 12 = 2.1, 24 = 3.0 }\n";
    refused(
        &format!("{yields}sde = 0.3\n"),
        &["published.toml:6:1", "no key named 'sde'", "write sed"],
    );
    refused(
        &format!("{yields}lsd = 0.3\n"),
        &["lacks 'df'", "lacks 'level'"],
    );
    refused(
        &format!("{yields}sed = 0.3\nlsd = 0.6\nlevel = 0.05\ndf = 12\n"),
        &["published.toml:7:1", "both say how large the error is"],
    );
    refused(
        &format!("{yields}sed = 0\n"),
        &["published.toml:6:7", "above 0"],
    );
    refused(&format!("{yields}cv = 8\n"), &["lacks 'plots'"]);
    refused(
        &format!("{yields}standard_errors = {{ 12 = 0.2, 36 = 0.1 }}\n"),
        &[
            "'36' has a standard error and no mean",
            "'24' has no standard error",
        ],
    );
    refused(
        &yields.replace("kg/vine", "kg/vin"),
        &["published.toml:4:8", "kg/vine"],
    );
    refused(
        &yields.replace("responses.yield", "responses.yeild"),
        &[
            "published.toml:3:12",
            "no report has results of 'yeild'",
            "write yield",
        ],
    );
    refused(
        &format!("{yields}factor = \"node\"\n"),
        &[
            "published.toml:6:10",
            "A has no factor 'node'",
            "write nodes",
        ],
    );
    refused(
        &yields.replace("24 = 3.0", "24 = \"3.0\""),
        &["published.toml:5:26", "must be a number"],
    );
    fs::write(&path, "").expect("written");
    let output = compare(&[&one.report(), Path::new("--against"), &path]);
    let said = said(&output);
    assert!(
        said.contains("the published table lacks 'source'"),
        "{said}"
    );
}

/// The kit of a report.
fn kit(report: &Path, more: &[&str]) -> (tempfile::TempDir, PathBuf) {
    let place = tempfile::tempdir().expect("a folder");
    let new = place.path().join("trial");
    let output = caneplot()
        .args(["new", "--from"])
        .arg(report)
        .arg("--out")
        .arg(&new)
        .args(more)
        .output()
        .expect("the program starts");
    assert!(output.status.success(), "{}", said(&output));
    (place, new)
}

fn run(trial: &Path, out: &Path) -> Output {
    caneplot()
        .arg("run")
        .arg(trial)
        .arg("--out")
        .arg(out)
        .output()
        .expect("the program starts")
}

#[test]
fn a_kit_filled_with_the_old_data_gives_the_old_findings_and_with_new_ones_new_findings() {
    let one = changed(|_, weight| weight);
    let (place, new) = kit(&one.report(), &[]);
    let blank = fs::read_to_string(new.join("harvest.csv")).expect("a form");
    let old = one.read("harvest.csv");
    assert_eq!(blank.lines().count(), old.lines().count());
    assert!(!blank.contains("kg,") || blank.lines().nth(1).expect("a record").ends_with(','));
    let trial = fs::read_to_string(new.join("trial.toml")).expect("the trial file");
    assert!(
        trial.starts_with(one.read("trial.toml").trim_end()),
        "{trial}"
    );
    assert!(trial.contains("[rerun.analyses]\n"), "{trial}");

    for (from, same) in [
        (&one, true),
        (&changed(|at, weight| weight + wobble(at)), false),
    ] {
        for entry in fs::read_dir(from.trial()).expect("the trial") {
            let path = entry.expect("an entry").path();
            // Prices too: they do not come along.
            if path.file_name().is_some_and(|name| name != "trial.toml") {
                fs::copy(&path, new.join(path.file_name().expect("a name"))).expect("copied");
            }
        }
        let out = place.path().join(format!("out-{same}"));
        let output = run(&new, &out);
        assert!(output.status.success(), "{}", said(&output));
        let findings = |report: &Path| fs::read(report.join("findings.json")).expect("findings");
        assert_eq!(
            findings(&out.join("trial")) == findings(&one.report()),
            same
        );
    }
}

#[test]
fn a_kit_says_which_versions_changed() {
    let one = changed(|_, weight| weight);
    let (place, new) = kit(&one.report(), &[]);
    for name in ["harvest.csv", "pruning.csv", "spring.csv", "juice.csv"] {
        fs::copy(one.trial().join(name), new.join(name)).expect("copied");
    }
    let path = new.join("trial.toml");
    let text = fs::read_to_string(&path).expect("the trial file");
    let (head, tail) = text.split_once("[rerun.analyses]").expect("versions");
    let tail = tail.replacen("anova = \"", "anova = \"0.0.", 1);
    fs::write(&path, format!("{head}[rerun.analyses]{tail}")).expect("written");
    let out = place.path().join("out");
    let output = run(&new, &out);
    assert!(output.status.success(), "{}", said(&output));
    let report = fs::read_to_string(out.join("trial/report.md")).expect("the report");
    assert!(report.contains("'anova' is version"), "{report}");
    assert!(report.contains("and was 0.0."), "{report}");
    fs::write(&path, text.replace("of = ", "off = ")).expect("written");
    let output = run(&new, &out);
    assert!(
        said(&output).contains("no key named 'off'"),
        "{}",
        said(&output)
    );
}

#[test]
fn a_kit_for_other_seasons_has_their_keys() {
    let one = changed(|_, weight| weight);
    let (_place, new) = kit(&one.report(), &["--seasons", "2031-2034"]);
    let trial = fs::read_to_string(new.join("trial.toml")).expect("the trial file");
    assert!(trial.contains("\"2031-2034\""), "{trial}");
    let blank = fs::read_to_string(new.join("harvest.csv")).expect("a form");
    assert!(blank.contains("2034") && !blank.contains("2024"), "{blank}");
    let output = caneplot()
        .args(["new", "--seasons", "2031-20", "--from"])
        .arg(one.report())
        .args(["--out", "never"])
        .output()
        .expect("the program starts");
    let said = said(&output);
    assert!(
        said.contains("--> trial.toml:") && said.contains("'2031-20'"),
        "{said}"
    );
}

#[test]
fn a_kit_of_a_workbook_waits_for_plain_text_and_gives_the_same_findings() {
    let one = changed(|_, weight| weight);
    fs::remove_file(one.trial().join("prices.toml")).expect("removed");
    assert!(one.run().status.success());
    let book = Scratch::new();
    book.write("trial.toml", &one.read("trial.toml"));
    let fixtures = root().join("tests/fixtures/formats");
    fs::copy(
        fixtures.join("node-number.xlsx"),
        book.trial().join("all.xlsx"),
    )
    .expect("copied");
    // The workbook has no places of plots; the layout stays a text.
    fs::copy(
        one.trial().join("layout.csv"),
        book.trial().join("layout.csv"),
    )
    .expect("copied");
    let files = ["harvest", "juice", "pruning", "spring"];
    for file in files {
        let sheet = format!("\"all.xlsx\"\nsheet = \"{file}\"");
        book.change("trial.toml", &format!("\"{file}.csv\""), &sheet);
    }
    let output = book.run();
    assert!(output.status.success(), "{}", said(&output));
    let (place, new) = kit(&book.report(), &[]);
    let trial = fs::read_to_string(new.join("trial.toml")).expect("the trial file");
    assert!(
        !trial.contains("xlsx") && trial.contains("winter = \"after harvest\""),
        "{trial}"
    );
    for file in files {
        let form = new.join(format!("all-{file}.csv"));
        assert!(form.is_file());
        fs::copy(one.trial().join(format!("{file}.csv")), form).expect("copied");
    }
    let out = place.path().join("out");
    let output = run(&new, &out);
    assert!(output.status.success(), "{}", said(&output));
    let findings = |report: &Path| fs::read(report.join("findings.json")).expect("findings");
    assert!(findings(&out.join("trial")) == findings(&one.report()));
}

#[test]
fn a_kit_needs_a_report_as_it_was_written() {
    let one = changed(|_, weight| weight);
    let refused = |part: &str| {
        let place = tempfile::tempdir().expect("a folder");
        let output = caneplot()
            .args(["new", "--from"])
            .arg(one.report())
            .arg("--out")
            .arg(place.path().join("new"))
            .output()
            .expect("the program starts");
        let said = said(&output);
        assert_eq!(output.status.code(), Some(1), "{said}");
        assert!(said.contains(part), "{said}");
    };
    let form = one.report().join("data/forms/harvest.csv");
    let text = fs::read_to_string(&form).expect("a form");
    fs::write(&form, text.replacen("2021", "2020", 1)).expect("written");
    refused("was changed after the report was written");
    fs::remove_file(&form).expect("removed");
    refused("cannot be read");
}
