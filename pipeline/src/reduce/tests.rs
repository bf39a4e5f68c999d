//! Many records reduced, beside the same records as an ordinary file of vines would give.

use std::fs;
use std::path::Path;

use crate::diagnostic::Severity;
use crate::load::testing::*;

/// `tests/fixtures/typed/make.py` wrote the records.
fn fixtures() -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../tests/fixtures/typed")
}

fn trial(file: &str, keys: &str) -> String {
    let rest = format!(
        "[[data]]\nfile = \"layout.csv\"\n[[data]]\nfile = \"{file}\"\n{keys}\n\
         [responses.yield]\ncolumn = \"kg\"\nunit = \"kg/vine\"\n"
    );
    in_seasons(&blocks("season = \"season\"", &rest), "2023-2024")
}

fn layout() -> String {
    let harvest = harvest();
    let lines = harvest.lines().map(|line| line.rsplit_once(',').unwrap().0);
    lines.map(|line| format!("{line}\n")).collect()
}

fn sensor(file: &str, keys: &str) -> Bench {
    let bench = Bench::new(&trial(file, keys), &[("layout.csv", &layout())]);
    let to = bench.folder.path();
    fs::copy(fixtures().join("sensor.csv"), to.join("sensor.csv")).unwrap();
    for season in ["season=2023", "season=2024"] {
        fs::create_dir_all(to.join("sensor").join(season)).unwrap();
        for part in ["part-0.parquet", "part-1.parquet"] {
            let name = Path::new("sensor").join(season).join(part);
            fs::copy(fixtures().join(&name), to.join(&name)).unwrap();
        }
    }
    fs::write(to.join("sensor/_SUCCESS"), "").unwrap();
    bench
}

/// Keys and values of the summaries as text, a line each.
fn summaries(bench: &Bench) -> Vec<String> {
    let loaded = bench.loaded();
    let file = &loaded.files[1];
    let part = &loaded.measured[0].values[0];
    (0..file.height())
        .map(|row| {
            let plot = file.plot.name(row).unwrap();
            let value = part.values[row].map_or("-".to_owned(), |value| value.to_string());
            format!("{} {plot} {value}", file.season_label(row).unwrap())
        })
        .collect()
}

/// The means of `sensor.csv` by hand: decimals added up exactly, negative and missing left out.
fn by_hand() -> Vec<String> {
    use crate::decimal::{Decimal, exact, natural};
    let text = fs::read_to_string(fixtures().join("sensor.csv")).unwrap();
    let mut sums: Vec<(String, Decimal, i64)> = Vec::new();
    for line in text.lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        if cells[1].is_empty() || cells[2].is_empty() || cells[2].starts_with('-') {
            continue;
        }
        let key = format!("{} {}", cells[4], cells[1]);
        let value = exact(cells[2]).unwrap();
        match sums.iter_mut().find(|(known, ..)| *known == key) {
            Some((_, sum, count)) => {
                *sum += value;
                *count += 1;
            }
            None => sums.push((key, value, 1)),
        }
    }
    sums.sort_by(|a, b| {
        let parts = |key: &str| {
            let (season, plot) = key.split_once(' ').unwrap();
            (plot.to_owned(), season.to_owned())
        };
        let (a, b) = (parts(&a.0), parts(&b.0));
        natural(&a.0, &b.0).then(natural(&a.1, &b.1))
    });
    let mean = |sum: Decimal, count: i64| {
        let mean = (sum / Decimal::from(count)).round_sf(15).unwrap();
        mean.normalize().to_string()
    };
    sums.into_iter()
        .map(|(key, sum, count)| format!("{key} {}", mean(sum, count)))
        .collect()
}

#[test]
fn parquet_in_folders_of_seasons_and_text_give_the_means_reckoned_by_hand() {
    let wanted = by_hand();
    assert_eq!(wanted.len(), 24);
    for file in [
        "sensor",
        "sensor/**/*.parquet",
        "sensor/season=*/part-?.parquet",
        "sensor.csv",
    ] {
        let bench = sensor(file, "summary = \"mean\"");
        let got = summaries(&bench);
        assert_eq!(got.len(), wanted.len(), "{file}");
        for (got, wanted) in got.iter().zip(&wanted) {
            let apart = |line: &str| {
                let (key, mean) = line.rsplit_once(' ').unwrap();
                (key.to_owned(), mean.parse::<f64>().unwrap())
            };
            let ((key, mean), (other, exact)) = (apart(got), apart(wanted));
            assert_eq!(key, other, "{file}");
            // One unit of the last of 15 digits: doubles are summed exactly, but are not the decimals.
            assert!(
                (mean / exact - 1.0).abs() < 2e-15,
                "{file}: {got}, by hand {wanted}"
            );
        }
    }
}

#[test]
fn what_was_left_out_is_said() {
    for file in ["sensor", "sensor.csv"] {
        let found = sensor(file, "summary = \"mean\"").checked();
        let says = |rule: &str| only(&found, rule).message.clone();
        assert!(
            says("summary").contains("268 records"),
            "{}",
            says("summary")
        );
        assert!(says("summary").contains("24 means, one a plot and season"));
        let without = found.iter().filter(|one| one.rule == "summary-without-key");
        let words: Vec<&str> = without.map(|one| one.message.as_str()).collect();
        assert_eq!(words.len(), 1, "{words:?}");
        assert!(words[0].starts_with("2 records of"), "{words:?}");
        assert!(says("summary-missing").starts_with("6 records"));
        let impossible = only(&found, "summary-impossible");
        assert_eq!(impossible.severity, Severity::Warning);
        assert!(
            impossible.message.starts_with("2 values in column 'kg'"),
            "{impossible}"
        );
        assert!(impossible.message.contains("(-40)"));
        assert_eq!(
            grave(&found)
                .iter()
                .filter(|rule| **rule != "summary-impossible")
                .count(),
            0,
            "{}",
            shown(&found)
        );
    }
}

#[test]
fn sums_counts_missing_codes_and_ranges() {
    let bench = sensor("sensor.csv", "summary = \"count\"");
    // Plot 101 in 2023: ten passes, one of them missing, one more value impossible.
    assert_eq!(summaries(&bench)[0], "2023 101 9");
    let bench = sensor(
        "sensor.csv",
        "summary = \"count\"\nmissing = [\"2.6\", \"-40\"]",
    );
    assert_eq!(summaries(&bench)[0], "2023 101 8");
    let found = bench.checked();
    assert!(found.iter().all(|one| one.rule != "summary-impossible"));
    let bench = sensor("sensor", "summary = \"sum\"\nmissing = [-40]");
    let sum: f64 = summaries(&bench)[0]
        .rsplit(' ')
        .next()
        .unwrap()
        .parse()
        .unwrap();
    let mean: f64 = by_hand()[0].rsplit(' ').next().unwrap().parse().unwrap();
    assert!((sum - 9.0 * mean).abs() < 1e-12);
}

#[test]
fn a_column_of_counts_is_there_for_a_response() {
    let bench = sensor("sensor", "summary = \"mean\"");
    let path = bench.folder.path().join("trial.toml");
    let more =
        "[responses.passes]\nis = \"other\"\ncolumn = \"records_counted\"\nunit = \"count\"\n";
    fs::write(&path, fs::read_to_string(&path).unwrap() + more).unwrap();
    let loaded = bench.loaded();
    let counted = &loaded.measured[1].values[0].values;
    assert_eq!(counted[0].unwrap().to_string(), "11");
    assert_eq!(
        counted
            .iter()
            .flatten()
            .map(|value| value.to_string().parse::<u64>().unwrap())
            .sum::<u64>(),
        266
    );
    let place = loaded.files[1].place(0, Some("kg"));
    let shown = crate::diagnostic::Diagnostic::error("x", "y")
        .at(place)
        .to_string();
    assert!(
        shown.contains("sensor, mean of plot 101 of block B1 in 2023, column 'kg'"),
        "{shown}"
    );
}

#[test]
fn vines_are_kept_or_not() {
    let mut text = String::from("season,block,plot,vine,kg\n");
    for vine in 1..=3 {
        for pass in 0..4 {
            text.push_str(&format!("2023,B1,101,{vine},{vine}.{pass}\n"));
        }
    }
    for (keys, wanted) in [
        ("", vec!["2023 101 1.15", "2023 101 2.15", "2023 101 3.15"]),
        (
            "summary_of = \"vine\"",
            vec!["2023 101 1.15", "2023 101 2.15", "2023 101 3.15"],
        ),
        ("summary_of = \"plot\"", vec!["2023 101 2.15"]),
    ] {
        let trial = trial("vines.csv", &format!("summary = \"mean\"\n{keys}")).replace(
            "season = \"season\"",
            "season = \"season\"\nvine = \"vine\"",
        );
        let trial =
            format!("{trial}[[data]]\nfile = \"must.csv\"\n[responses.brix]\nunit = \"Brix\"\n");
        let must = "season,block,plot,vine,brix\n2023,B1,101,1,20.5\n".to_owned();
        let files = [
            ("layout.csv", layout()),
            ("vines.csv", text.clone()),
            ("must.csv", must),
        ];
        let files: Vec<(&str, &str)> = files
            .iter()
            .map(|(name, text)| (*name, text.as_str()))
            .collect();
        assert_eq!(summaries(&Bench::new(&trial, &files)), wanted, "{keys}");
    }
}

#[test]
fn decimal_commas_quotes_spaces_and_marks_of_order() {
    let text = "\u{feff}season;block;plot;kg\r\n2023;B1;\" 101 \";3,25\r\n2023;B1;101;3,75\r\n2023;B1;101;NA\r\n";
    let bench = Bench::new(
        &trial("monitor.csv", "summary = \"mean\""),
        &[("layout.csv", &layout()), ("monitor.csv", text)],
    );
    assert_eq!(summaries(&bench), ["2023 101 3.5"]);
}

#[test]
fn a_cell_that_is_no_number_is_told_with_its_line() {
    let text = fs::read_to_string(fixtures().join("sensor.csv")).unwrap();
    let wrong = text.replacen("2.725", "2.725 kg", 1);
    let bench = Bench::new(
        &trial("monitor.csv", "summary = \"mean\""),
        &[("layout.csv", &layout()), ("monitor.csv", &wrong)],
    );
    let errors = bench.load_errors();
    let fault = only(&errors, "not-a-number");
    assert!(
        fault
            .to_string()
            .contains("monitor.csv, line 3, column 'kg'"),
        "{fault}"
    );
}

#[test]
fn columns_that_do_not_fit_are_errors() {
    let misspelt = sensor("sensor", "summary = \"mean\"");
    let path = misspelt.folder.path().join("trial.toml");
    let text = fs::read_to_string(&path)
        .unwrap()
        .replace("column = \"kg\"", "column = \"kgs\"");
    fs::write(&path, text).unwrap();
    let errors = misspelt.load_errors();
    assert!(
        only(&errors, "missing-column")
            .help
            .as_ref()
            .unwrap()
            .contains("\"kg\""),
        "{}",
        shown(&errors)
    );

    let lacking = sensor("sensor", "summary = \"mean\"");
    fs::write(
        lacking.folder.path().join("more.csv"),
        "season,block,plot\n",
    )
    .unwrap();
    fs::rename(
        lacking.folder.path().join("more.csv"),
        lacking.folder.path().join("sensor/more.csv"),
    )
    .unwrap();
    let faults = crate::trial::read(lacking.folder.path()).unwrap_err();
    assert!(
        only(&faults, "data-file")
            .message
            .contains("texts and Parquet"),
        "{}",
        shown(&faults)
    );

    let unknown = sensor("sensor.csv", "summary = \"mean\"");
    let path = unknown.folder.path().join("sensor.csv");
    let text = fs::read_to_string(&path).unwrap() + "\"B9\",999,2.0,0.5,2024\n";
    fs::write(&path, text).unwrap();
    let found = unknown.checked();
    assert!(
        only(&found, "unmatched-plots").message.contains("999"),
        "{}",
        shown(&found)
    );

    let kinds = Bench::new(
        &trial("kinds.parquet", "summary = \"mean\""),
        &[("layout.csv", &layout())],
    );
    fs::copy(
        fixtures().join("kinds.parquet"),
        kinds.folder.path().join("kinds.parquet"),
    )
    .unwrap();
    let errors = kinds.load_errors();
    let fault = only(&errors, "column-type");
    assert!(
        fault.message.contains("column 'block'") && fault.message.contains("categories"),
        "{fault}"
    );
}

#[test]
fn damaged_files_are_errors() {
    for cut in [8, 400, 4000] {
        let bench = sensor("sensor", "summary = \"mean\"");
        let path = bench
            .folder
            .path()
            .join("sensor/season=2024/part-1.parquet");
        let mut bytes = fs::read(&path).unwrap();
        bytes.truncate(bytes.len() - cut.min(bytes.len() - 4));
        fs::write(&path, bytes).unwrap();
        let errors = bench.load_errors();
        let fault = only(&errors, "unreadable-file");
        assert!(
            fault.message.contains("sensor/season=2024/part-1.parquet"),
            "{fault}"
        );
    }
}

#[test]
fn mistakes_in_the_trial_file_are_told_at_their_line() {
    for (file, keys, says) in [
        ("sensor", "", "names several files"),
        (
            "sensor/*.csv",
            "summary = \"mean\"",
            "no file of the trial folder is named",
        ),
        ("sensor.csv", "summary = \"average\"", "mean"),
        ("sensor.csv", "summary_of = \"plot\"", "there is none"),
        (
            "sensor.csv",
            "summary = \"mean\"\nheader_row = 2",
            "does not go with summary",
        ),
        (
            "../*.csv",
            "summary = \"mean\"",
            "leads out of the trial folder",
        ),
        ("https://example.org/a.parquet", "", "address in a network"),
    ] {
        let bench = sensor(file, keys);
        let faults = crate::trial::read(bench.folder.path()).unwrap_err();
        assert!(
            shown(&faults).contains(says),
            "{file} {keys}: {}",
            shown(&faults)
        );
        assert!(shown(&faults).contains("trial.toml:"), "{}", shown(&faults));
    }
}

#[cfg(not(feature = "cloud"))]
#[test]
fn an_address_names_the_feature_it_needs() {
    let bench = sensor("s3://bucket/sensor/*.parquet", "summary = \"mean\"");
    let errors = bench.load_errors();
    assert!(
        only(&errors, "network")
            .help
            .as_ref()
            .unwrap()
            .contains("--features cloud")
    );
}
