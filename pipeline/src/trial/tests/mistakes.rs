//! Every kind of mistake: its line, its rule and the words that matter.

use super::*;

/// A mistake: what is replaced by what in the good trial; the line, the rule and the words expected.
type Mistake = (
    &'static str,
    &'static str,
    usize,
    &'static str,
    &'static [&'static str],
);

/// Asserts that each change makes exactly that one diagnostic.
fn assert_each(mistakes: &[Mistake]) {
    for (from, to, line, rule, words) in mistakes {
        let faults = mistakes_of(&with(from, to));
        let all: String = faults.iter().map(ToString::to_string).collect();
        assert_eq!(faults.len(), 1, "{from} -> {to}\n{all}");
        let fault = &faults[0];
        assert_eq!(fault.rule, *rule, "{all}");
        assert_eq!(fault.severity, Severity::Error);
        assert_eq!(fault.places[0].line_column().unwrap().0, *line, "{all}");
        assert!(fault.help.is_some(), "{all}");
        for word in *words {
            assert!(all.contains(word), "'{word}' is not in\n{all}");
        }
    }
}

#[test]
#[rustfmt::skip]
fn keys_and_types() {
    assert_each(&[
        ("seasons =", "saesons =", 4, "unknown-key", &["'saesons'", "write seasons"]),
        ("[vineyard]", "[vinyard]", 10, "unknown-key", &["no table", "'vinyard'", "write vineyard"]),
        ("[responses.brix]", "[response.brix]", 50, "unknown-key", &["no table named 'response'", "write responses"]),
        ("canopy = \"single\"", "canopi = \"single\"", 14, "unknown-key", &["[vineyard] has no key", "write canopy"]),
        ("row_spacing =", "rowspacing =", 11, "unknown-key", &["write row_spacing"]),
        ("after harvest\"", "after harvest\"\ncolour = 2", 34, "unknown-key", &["[[data]]", "take it out", "file, winter, missing"]),
        ("winter = ", "wintr = ", 33, "unknown-key", &["write winter"]),
        ("season = ", "saison = ", 21, "unknown-key", &["write season"]),
        ("levels = ", "level = ", 24, "unknown-key", &["write levels"]),
        ("title = ", "titel = ", 2, "unknown-key", &["write title"]),
        ("possible = [0, 30]", "range = [0, 30]", 44, "unknown-key", &["[responses.yield]", "possible"]),
        ("title = \"Node number, terrace block\"\n", "", 1, "missing-key", &["[trial] lacks 'title'"]),
        ("unit = \"Brix\"", "", 50, "missing-key", &["[responses.brix] lacks 'unit'", "unit = \"Brix\""]),
        ("levels = [36, 12, 24]\n", "", 23, "missing-key", &["[factors.nodes] lacks 'levels'"]),
        ("file = \"harvest.csv\"", "", 28, "missing-key", &["[[data]] lacks 'file'"]),
        ("site = \"Terrace\"", "site = [1]", 7, "wrong-type", &["'site'", "not a list"]),
        ("title = \"Node number, terrace block\"", "title = 3", 2, "wrong-type", &["text in quotes", "not a number"]),
        ("title = \"Node number, terrace block\"", "title = \" \"", 2, "wrong-type", &["is empty"]),
        ("2021-2023\"", "2021-2023\"\nseed = -1", 5, "wrong-type", &["'seed'", "from 0 up"]),
        ("possible = [0, 30]", "possible = [0]", 44, "wrong-type", &["list of two numbers"]),
        ("possible = [0, 30]", "possible = [0, inf]", 44, "wrong-type", &["list of two numbers"]),
        ("possible = [0, 30]", "possible = [30, 0]", 44, "possible", &["from 30 to 0"]),
        ("level = 0.05", "level = nan", 61, "wrong-type", &["finite"]),
        ("ratios = {}", "ratios = true", 62, "wrong-type", &["'ratios' of [analyses] must be a table"]),
        ("missing = [\"NA\", -999]", "missing = \"NA\"", 34, "wrong-type", &["'missing' of [[data]] must be a list"]),
    ]);
}

#[test]
#[rustfmt::skip]
fn toml_itself() {
    assert_each(&[
        ("site = \"Terrace\"", "site = Terrace", 7, "trial-syntax", &["not TOML", "quotes"]),
        ("[vineyard]", "[vineyard", 10, "trial-syntax", &["not TOML"]),
        ("site = \"Terrace\"", "site = \"A\"\nsite = \"B\"", 8, "duplicate-key", &["site is written twice"]),
        ("[factors.nodes]", "[design]\n[factors.nodes]", 23, "duplicate-key", &["design is written twice"]),
    ]);
}

#[test]
#[rustfmt::skip]
fn seasons() {
    assert_each(&[
        ("\"2021-2023\"", "\"2023-2021\"", 4, "seasons", &["earlier year"]),
        ("\"2021-2023\"", "\"2021-23\"", 4, "seasons", &["four digits"]),
        ("\"2021-2023\"", "[2021, 2022, 2021]", 4, "seasons", &["'2021' is listed twice"]),
        ("\"2021-2023\"", "[]", 4, "seasons", &["is empty"]),
        ("seasons = \"2021-2023\"\n", "", 20, "seasons", &["does not say which seasons"]),
        ("season = \"season\"\n", "", 4, "seasons", &["3 seasons", "no column of seasons"]),
    ]);
}

#[test]
#[rustfmt::skip]
fn geometry() {
    assert_each(&[
        ("\"2.4 m\"", "2.4", 11, "length", &["without a unit", "2.4 m", "2.4 ft"]),
        ("\"2.4 m\"", "\"2.4 mm\"", 11, "length", &["no vineyard has"]),
        ("\"2.4 m\"", "\"2.4 meter s\"", 11, "length", &["'meter s'", "meters"]),
        ("\"2.4 m\"", "\"-2.4 m\"", 11, "length", &["above zero"]),
        ("\"2.4 m\"", "\"2.4 kg\"", 11, "length", &["not a length"]),
        ("\"2.4 m\"", "true", 11, "wrong-type", &["must be a length"]),
        ("canopy = \"single\"", "vines_per_plot = 0", 14, "wrong-type", &["from 1 to 1000"]),
        ("\"single\"", "\"singel\"", 14, "unknown-word", &["kind of canopy", "write \"single\""]),
        ("vine_spacing = \"1.5 m\"\n", "", 42, "unit", &["vine_spacing", "[vineyard]"]),
    ]);
}

#[test]
#[rustfmt::skip]
fn designs() {
    assert_each(&[
        ("\"randomised block\"", "\"randomised blok\"", 17, "unknown-word", &["kind of design", "write \"randomised block\""]),
        ("\"randomised block\"", "[\"split plot\", \"Latin square\"]", 17, "design", &["one design"]),
        ("kind = \"randomised block\"\n", "", 16, "missing-key", &["lacks 'kind'"]),
        ("block = \"block\"\n", "", 16, "design", &["needs a column of blocks"]),
        ("plot = \"plot\"\n", "", 16, "missing-key", &["lacks 'plot'"]),
        ("plot = \"plot\"", "plot = \"plot\"\nrow = \"row\"", 20, "design", &["has no rows", "\"Latin square\""]),
        ("\"randomised block\"", "\"completely randomised\"", 18, "design", &["has no blocks", "\"randomised block\""]),
        ("unit = \"nodes/vine\"", "role = \"whole plot\"", 25, "design", &["has no whole plots", "role = \"treatment\""]),
        ("unit = \"nodes/vine\"", "role = \"treatmnt\"", 25, "unknown-word", &["write \"treatment\""]),
        ("\"randomised block\"", "\"split plot\"", 23, "missing-key", &["lacks 'role'", "\"whole plot\"", "\"sub plot\""]),
        ("vine = \"vine\"\n", "", 35, "status", &["names no column of vines"]),
        ("plot = \"plot\"", "plot = \"block\"", 19, "column-twice", &["as block of [design] and as plot of [design]"]),
    ]);
}

#[test]
fn a_design_needs_a_factor_for_each_of_its_roles() {
    let text = with("kind = \"randomised block\"", "kind = \"split plot\"")
        .replace("[factors.nodes]", "[factors.nodes]\nrole = \"whole plot\"");
    let faults = mistakes_of(&text);
    assert_eq!(faults.len(), 1);
    assert!(
        faults[0].message.contains("factor applied to sub plots"),
        "{}",
        faults[0]
    );
}

#[test]
#[rustfmt::skip]
fn factors_and_levels() {
    assert_each(&[
        ("[36, 12, 24]", "[36, 12, 24, 36]", 24, "levels", &["'36' is listed twice"]),
        ("[36, 12, 24]", "[36, 24, 36.0]", 24, "levels", &["'36' and '36.0' cannot be told apart"]),
        ("[36, 12, 24]", "[24]", 24, "levels", &["fewer than two"]),
        ("[36, 12, 24]", "[12, 36, true]", 24, "wrong-type", &["true or false"]),
        ("[36, 12, 24]", "24", 24, "wrong-type", &["must be a list"]),
        ("control = 24", "control = 42", 26, "levels", &["'42' is not one of the levels", "36, 12, 24"]),
        ("control = 24", "control = 24\nlabels = { 25 = \"few\" }", 27, "levels", &["'25'"]),
        ("control = 24", "canopies = { 24 = \"dividd\" }", 26, "unknown-word", &["write \"divided\""]),
        ("\"nodes/vine\"", "\"noodes/vine\"", 25, "unit", &["write \"nodes/vine\""]),
        ("[36, 12, 24]", "[\"36\", \"12\", \"24\"]", 25, "unit", &["levels are names"]),
        ("[factors.nodes]", "[factors.plot]", 23, "name-taken", &["cannot be named 'plot'"]),
        ("[factors.nodes]", "[factors.\"no des\"]", 23, "name-shape", &["'no des'", "letters, digits"]),
        ("[factors.nodes]", "[factors.Yield]", 40, "name-taken", &["'yield' has the name of the factor 'Yield'"]),
        ("unit = \"nodes/vine\"", "column = \"block\"", 25, "column-twice", &["block of [design] and as the factor nodes"]),
    ]);
}

#[test]
#[rustfmt::skip]
fn data_files() {
    assert_each(&[
        ("\"harvest.csv\"", "\"havrest.csv\"", 29, "data-file", &["no file 'havrest.csv'", "write \"harvest.csv\""]),
        ("\"harvest.csv\"", "\"pruning.csv\"", 32, "data-file", &["named twice"]),
        ("\"harvest.csv\"", "\"./pruning.csv\"", 32, "data-file", &["named twice"]),
        ("\"harvest.csv\"", "\"/etc/harvest.csv\"", 29, "data-file", &["outside"]),
        ("\"harvest.csv\"", "'C:\\harvest.csv'", 29, "data-file", &["outside"]),
        ("\"harvest.csv\"", "\"../harvest.csv\"", 29, "data-file", &["leads out"]),
        ("\"harvest.csv\"", "\"notes.pdf\"", 29, "data-file", &["not a kind of file", "CSV"]),
        ("\"harvest.csv\"", "\"plots.parquet\"", 29, "data-file", &["no file 'plots.parquet'"]),
        ("\"harvest.csv\"", "\"harvest.csv\"\nsheet = \"winter\"", 30, "sheets", &["is a text and has no sheets"]),
        ("\"harvest.csv\"", "\"harvest.csv\"\nheader_row = 0", 30, "wrong-type", &["whole number from 1", "header_row = 3"]),
        ("\"harvest.csv\"", "\"harvest.csv\"\nunits_row = 1", 30, "wrong-type", &["true or false"]),
        ("\"harvest.csv\"", "\"harvest.csv\"\ndecimal = \";\"", 30, "unknown-word", &["mark before decimals", "\",\""]),
        ("\"harvest.csv\"", "\"harvest.csv\"\nheadrow = 3", 30, "unknown-key", &["write header_row"]),
        ("\"harvest.csv\"", "\"harvest.csv\"\nseasons_in_headings = \"crop_{season}\"", 30, "headings-pattern", &["{column} and {season}"]),
        ("\"after harvest\"", "\"after\"", 33, "unknown-word", &["\"after harvest\"", "\"before harvest\""]),
        ("[[data]]\nfile = \"harvest.csv\"\n\n[[data]]", "[data]", 28, "wrong-type", &["list of tables", "[[data]]"]),
    ]);
}

#[test]
#[rustfmt::skip]
fn sheets_are_said_in_one_way() {
    let book = |keys: &str| {
        let folder = folder(&with("file = \"harvest.csv\"", &format!("file = \"book.ods\"\n{keys}")));
        fs::write(folder.path().join("book.ods"), "").unwrap();
        read(folder.path())
    };
    let rule = |keys: &str| book(keys).unwrap_err()[0].rule;
    assert_eq!(rule("sheet = \"a\"\nsheets = [\"b\"]"), "sheets");
    assert_eq!(rule("sheets = []"), "sheets");
    assert_eq!(rule("season_from = \"sheet\""), "sheets");
    assert_eq!(rule("sheet = \"a\"\nseason_from = \"name\""), "unknown-word");
    assert_eq!(rule("sheets = [\"a\", \"a\"]"), "data-file");
    let trial = book("sheets = [2021, \"2022\"]\nseason_from = \"sheet\"").unwrap();
    let seasons: Vec<&str> = trial.data[..2].iter().map(|data| data.season.as_ref().unwrap().value.as_str()).collect();
    assert_eq!(seasons, ["2021", "2022"]);
}

#[cfg(unix)]
#[test]
fn a_link_out_of_the_folder_is_refused() {
    let folder = folder(&with("harvest.csv", "linked.csv"));
    let elsewhere = TempDir::new().unwrap();
    let far = elsewhere.path().join("far.csv");
    fs::write(&far, "").unwrap();
    std::os::unix::fs::symlink(far, folder.path().join("linked.csv")).unwrap();
    let faults = read(folder.path()).unwrap_err();
    assert!(
        faults[0].message.contains("link that leads out"),
        "{}",
        faults[0]
    );
}

#[test]
#[rustfmt::skip]
fn responses() {
    assert_each(&[
        ("unit = \"Brix\"", "unit = \"Brixx\"", 51, "unit", &["'Brixx'", "write \"Brix\""]),
        ("unit = \"Brix\"", "unit = \"kg\"", 51, "unit", &["kg is a mass", "in degrees Brix"]),
        ("unit = \"kg/vine\"\nreport_in = \"t/ha\"", "unit = \"kg\"", 42, "unit", &["\"kg/vine\" if", "\"kg/plot\" if"]),
        ("unit = \"kg/vine\"\nreport_in", "unit = \"kgg/vine\"\nreport_in", 42, "unit", &["write \"kg/vine\""]),
        ("report_in = \"t/ha\"", "report_in = \"Brix\"", 43, "unit", &["cannot become °Brix"]),
        ("report_in = \"t/ha\"", "report_in = \"ton/ha\"", 43, "unit", &["can mean t or US ton"]),
        ("of = \"buds_left\"", "of = \"buds_left\"\nunit = \"%\"", 56, "count", &["has no unit"]),
        ("of = \"buds_left\"", "of = \"buds_broken\"", 55, "count", &["one column"]),
        ("of = \"buds_left\"", "of = \"buds_left\"\nis = \"yield\"", 55, "count", &["a yield is not a share"]),
        ("of = \"buds_left\"", "of = \"plot\"", 55, "column-twice", &["plot of [design]", "total of broken_buds"]),
        ("unit = \"Brix\"", "unit = \"Brix\"\nis = \"soluble solid\"", 52, "unknown-word", &["write \"soluble solids\""]),
        ("column = \"prunings_kg\"", "column = \"crop_kg\"", 47, "column-twice", &["the response yield", "the response pruning_weight"]),
    ]);
}

#[test]
fn a_record_of_winter_must_say_what_it_is() {
    for (name, part) in [
        ("cut_wood", "wood"),
        ("pruned", "prun"),
        ("cane_mass", "cane"),
    ] {
        let unnamed = format!("[responses.{name}]\nunit = \"g/vine\"");
        let text = with("[responses.brix]\nunit = \"Brix\"", &unnamed);
        let faults = mistakes_of(&text);
        assert_eq!(faults.len(), 1);
        assert_eq!(faults[0].rule, "quantity");
        assert!(faults[0].message.contains(part));
        assert!(
            faults[0]
                .help
                .as_ref()
                .unwrap()
                .contains("is = \"pruning weight\"")
        );
        let said = text.replace("unit = \"g/vine\"", "unit = \"g/vine\"\nis = \"other\"");
        assert!(read(folder(&said).path()).is_ok());
    }
    // A name that is a quantity's says enough, whatever the column is called.
    let labour = "[responses.labour]\ncolumn = \"prune_min\"\nunit = \"min/vine\"";
    let text = with("[responses.brix]\nunit = \"Brix\"", labour);
    assert!(read(folder(&text).path()).is_ok());
}

#[test]
fn winter_must_be_told_where_seasons_and_records_of_winter_meet() {
    let text = with("winter = \"after harvest\"\n", "");
    let faults = mistakes_of(&text);
    assert_eq!(faults.len(), 1);
    assert_eq!(faults[0].rule, "winter");
    let help = faults[0].help.as_ref().unwrap();
    assert!(help.contains("after harvest") && help.contains("before harvest"));
    assert!(help.contains("2021/22"));
    // The files that may be meant are shown too.
    assert_eq!(faults[0].places.len(), 3);
    // Without seasons there is nothing to put into the wrong one.
    let one = text
        .replace("seasons = \"2021-2023\"\n", "")
        .replace("season = \"season\"\n", "");
    assert!(read(folder(&one).path()).is_ok());
}

#[test]
#[rustfmt::skip]
fn ratios_and_status() {
    assert_each(&[
        ("of = \"yield\"", "of = \"yeild\"", 58, "ratio", &["no response 'yeild'", "write \"yield\""]),
        ("per = \"pruning_weight\"", "per = \"yield\"", 58, "ratio", &["always 1"]),
        (", per = \"pruning_weight\"", "", 58, "missing-key", &["[ratios.load] lacks 'per'"]),
        ("\"pruning_weight\"", "\"pruning_weight\", unit = \"Brix\"", 58, "unit", &["cannot become °Brix"]),
        ("load =", "brix =", 58, "name-taken", &["the ratio 'brix'", "the response 'brix'"]),
        ("[\"dead\", \"kaput\"]", "[\"x\"]\nmissing = [\"X\"]", 38, "status", &["both missing and dead"]),
        ("column = \"state\"\n", "", 36, "missing-key", &["[status] lacks 'column'"]),
        ("column = \"state\"", "column = \"crop_kg\"", 41, "column-twice", &["[status]"]),
    ]);
}

#[test]
fn ten_mistakes_of_one_file_are_ten_diagnostics_in_its_order() {
    let text = with("title = ", "titel = ")
        .replace("\"2021-2023\"", "\"2023-2021\"")
        .replace("\"2.4 m\"", "2.4")
        .replace("\"randomised block\"", "\"randomised blocks\"")
        .replace("control = 24", "control = 25")
        .replace("\"harvest.csv\"", "\"harvets.csv\"")
        .replace("\"after harvest\"", "\"after harvst\"")
        .replace("possible = [0, 30]", "possible = [30, 0]")
        .replace("\"Brix\"", "\"Bricks\"")
        .replace("per = \"pruning_weight\"", "per = \"pruning_wieght\"");
    let faults = mistakes_of(&text);
    let found: Vec<(usize, &str)> = faults
        .iter()
        .map(|fault| (fault.places[0].line_column().unwrap().0, fault.rule))
        .collect();
    assert_eq!(
        found,
        [
            (2, "unknown-key"),
            (4, "seasons"),
            (11, "length"),
            (17, "unknown-word"),
            (26, "levels"),
            (29, "data-file"),
            (33, "unknown-word"),
            (44, "possible"),
            (51, "unit"),
            (58, "ratio"),
        ]
    );
}

#[test]
fn an_empty_file_is_told_every_table_it_lacks() {
    let faults = mistakes_of("");
    let lacks: Vec<&str> = faults.iter().map(|fault| fault.message.as_str()).collect();
    assert_eq!(
        lacks,
        ["trial", "design", "factors", "data", "responses"]
            .map(|table| format!("trial.toml lacks '{table}'"))
    );
}

#[test]
fn a_file_broken_anywhere_is_read_or_refused_with_a_reason() {
    let folder = folder(GOOD);
    let path = folder.path().join("trial.toml");
    let assert_told = |text: &str| {
        fs::write(&path, text).unwrap();
        if let Err(faults) = read(folder.path()) {
            assert!(!faults.is_empty(), "{text}");
            for fault in faults {
                assert!(fault.help.is_some() && !fault.places.is_empty(), "{fault}");
            }
        }
    };
    for at in 0..GOOD.len() {
        assert_told(&GOOD[..at]);
    }
    let lines: Vec<&str> = GOOD.lines().collect();
    let with_line = |at: usize, line: Option<String>| {
        let (before, after) = (lines[..at].join("\n"), lines[at + 1..].join("\n"));
        [before, line.unwrap_or_default(), after].join("\n")
    };
    for (at, line) in lines.iter().enumerate() {
        assert_told(&with_line(at, None));
        // Any value can be of any type.
        let Some((key, _)) = line.split_once('=') else {
            continue;
        };
        for value in [
            "3",
            "\"\"",
            "\"é\"",
            "[]",
            "[[]]",
            "{}",
            "true",
            "nan",
            "1979-05-27",
            "[{}]",
        ] {
            assert_told(&with_line(at, Some(format!("{key} = {value}"))));
        }
    }
}

/// A covariate in front of the ratios, which begin at line 56.
#[test]
#[rustfmt::skip]
fn covariates() {
    assert_each(&[
        ("[ratios]\n", "[covariates.wood]\nunit = \"kg/vine\"\nof = \"all\"\n[ratios]\n", 59, "unknown-key", &["[covariates.wood] has no key", "take it out"]),
        ("[ratios]\n", "[covariates.wood]\ncolumn = \"w\"\n[ratios]\n", 57, "missing-key", &["[covariates.wood] lacks 'unit'"]),
        ("[ratios]\n", "[covariates]\n[ratios]\n", 57, "missing-key", &["[covariates] lacks", "[covariates.prunings_before]"]),
        ("[ratios]\n", "[covariates.wood]\nunit = \"kilo\"\n[ratios]\n", 58, "unit", &["kilo"]),
        ("[ratios]\n", "[covariates.yield_before]\nis = \"yield\"\nunit = \"Brix\"\n[ratios]\n", 59, "unit", &["[covariates.yield_before]", "mass per vine"]),
        ("[ratios]\n", "[covariates.wood]\nunit = \"kg/vine\"\nreport_in = \"g\"\n[ratios]\n", 59, "unit", &["kg/vine", "a mass"]),
        ("[ratios]\n", "[covariates.wood]\nis = \"wood\"\nunit = \"kg/vine\"\n[ratios]\n", 58, "unknown-word", &["'wood'", "pruning weight"]),
        ("[ratios]\n", "[covariates.brix]\ncolumn = \"b\"\nunit = \"Brix\"\n[ratios]\n", 57, "name-taken", &["the covariate 'brix'", "the response 'brix'"]),
        ("[ratios]\n", "[covariates.plot]\ncolumn = \"b\"\nunit = \"index\"\n[ratios]\n", 57, "name-taken", &["a covariate cannot be named 'plot'"]),
        ("[ratios]\n", "[covariates.crop_before]\ncolumn = \"crop_kg\"\nunit = \"kg/vine\"\n[ratios]\n", 58, "column-twice", &["the response yield", "the covariate crop_before"]),
        ("[ratios]\n", "[covariates.wood]\nunit = \"kg/vine\"\npossible = [5, 1]\n[ratios]\n", 59, "possible", &["from 5 to 1"]),
        ("[responses.brix]", "[covariats.wood]\nunit = \"kg/vine\"\n[responses.brix]", 50, "unknown-key", &["write covariates"]),
    ]);
}

#[test]
#[rustfmt::skip]
fn days_measure_bud_break_and_nothing_else_of_buds() {
    assert_each(&[
        ("[ratios]\n", "[responses.bud_break]\nunit = \"h\"\n[ratios]\n", 58, "unit", &["h is a time", "the day on which buds broke"]),
        ("[ratios]\n", "[responses.bud_survival]\nunit = \"day\"\n[ratios]\n", 58, "unit", &["day is a time"]),
    ]);
    let folder = folder(&with("[ratios]\n", "[responses.bud_break]\nunit = \"day\"\n[ratios]\n"));
    assert!(read(folder.path()).is_ok_and(|trial| trial.responses[4].takes_dates()));
}

#[test]
#[rustfmt::skip]
fn places_in_the_field() {
    let field = "[status]";
    assert_each(&[
        (field, "[field]\nposition = \"p\"\n[status]", 36, "missing-key", &["[field] lacks 'row'", "vineyard_row"]),
        (field, "[field]\nrow = \"r\"\n[status]", 36, "missing-key", &["[field] lacks 'position'", "first = "]),
        (field, "[field]\nrow = \"r\"\nfirst = \"f\"\n[status]", 36, "missing-key", &["[field] lacks 'last'"]),
        (field, "[field]\nrow = \"r\"\nlast = \"f\"\n[status]", 36, "missing-key", &["[field] lacks 'first'"]),
        (field, "[field]\nrow = \"r\"\nfrist = \"f\"\nlast = \"l\"\n[status]", 38, "unknown-key", &["write first"]),
        (field, "[field]\nrow = \"r\"\nposition = \"p\"\nlast = \"l\"\n[status]", 38, "field", &["keep either position"]),
        (field, "[field]\nrow = 3\nposition = \"p\"\n[status]", 37, "wrong-type", &["'row' of [field]"]),
        (field, "[field]\nrow = \"p\"\nposition = \"p\"\n[status]", 38, "column-twice", &["'p' is declared as the row of [field] and as the position of [field]"]),
        (field, "[field]\nrow = \"r\"\nposition = \"crop_kg\"\n[status]", 44, "column-twice", &["crop_kg"]),
    ]);
}
